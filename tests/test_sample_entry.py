"""A sample of fish entered from the board by number: asked, doubted, kept, and taken back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from scipy import stats

from demo_support import opened as demo_opened
from fed_support import FED, sampled
from site_support import clock_shows, opened
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Sample
from tankwalk.ledger.feeding import SampleSeen
from tankwalk.pages import samples
from tankwalk.pages.lines import plain
from tankwalk.plan.load import read_plan
from tankwalk.practice.dialog import Asking, Hand
from tankwalk.practice.samples import entering, sampling
from tankwalk.practice.samples.sampling import Odd
from tankwalk.practice.site import Site
from tankwalk.science.growth import mean_limits
from test_screens import Room, at_the_screen

PLAN = FED + (
    '\n[[sampling]]\nwhat = "length"\nlabel = "Length"\nevery = "7 d"\ndph = [5, 60]\n'
    '\n[[sampling]]\nwhat = "gut fill"\nlabel = "Gut fill"\nevery = "1 d"\ndph = [5, 60]\n'
    '\n[[sampling]]\nwhat = "eye"\nlabel = "Eye"\nevery = "1 d"\nunit = "um"\ndph = [30, 60]\n'
)
NOW = "2026-05-10T13:05"


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, PLAN, NOW) as open_now:
        yield open_now


def asked_about(site: Site, tank: str, what: str, hand: Hand) -> Asking:
    view = sampling.view(site)
    [row] = [row for row in view.rows if row.tank.code == tank]
    [cell] = [cell for cell in row.cells if cell.sampling.what == what]
    return Asking(entering.enter(site, hand, tank, cell))


def typed(talk: Asking, *lines: str) -> str:
    """Each line typed and entered; a line of one sign is a key alone. What the talk says then."""
    for words in lines:
        if words in ("+", "/") or (talk.step.choices and not talk.writing):
            talk.type(words)
            continue
        for character in words:
            talk.type(character)
        talk.enter()
    return talk.said if talk.over else talk.step.told or talk.said


def ab() -> Hand:
    return Hand()


def seen(what: str = "length", at: str = "", **had: object) -> SampleSeen:
    from site_support import moment

    numbers: dict[str, object] = {"with_it": None, "mean": None, "sd": None, "unit": None}
    numbers |= had
    when = moment(at or "2026-05-03T13:00")
    return SampleSeen(1, "T01", what, 20, at=when, who="AB", **numbers)  # type: ignore[arg-type]


# ---- the plan


def test_what_has_a_unit_is_measured_and_anything_else_is_counted() -> None:
    units = {one.what: one.unit for one in read_plan(PLAN).samplings}
    assert units == {"length": "mm", "gut fill": None, "eye": "um"}


def test_a_unit_nobody_knows_is_a_fault() -> None:
    with pytest.raises(Refusal, match=r'unit "cubits" is not known'):
        read_plan(PLAN.replace('unit = "um"', 'unit = "cubits"'))


# ---- what is owed


def test_the_page_holds_every_tank_with_fish_and_marks_what_is_due(site: Site) -> None:
    sampled(site, "T01", "length", "2026-05-09T13:00")
    view = sampling.view(site)
    assert view.kinds == ("length", "gut fill", "eye")
    first = next(row for row in view.rows if row.tank.code == "T01")
    assert [cell.due for cell in first.cells] == [False, True, False]
    assert [cell.late for cell in first.cells] == [-6, 4, None]
    assert view.due == 2 * len(view.rows) - 1


def test_the_same_fish_are_done_in_one_go_before_the_next_tank(site: Site) -> None:
    view = sampling.view(site)
    assert view.next_due((0, 0)) == (0, 0)
    assert view.next_due((0, 1)) == (0, 1)
    assert view.next_due((0, 2)) == (1, 0)
    assert view.next_due((len(view.rows) - 1, 2)) == (0, 0)


# ---- entered


def test_a_mean_is_kept_with_its_spread_and_said_back_with_its_interval(site: Site) -> None:
    said = typed(asked_about(site, "T01", "length", ab()), "1", "20", "8.45", "0,62")
    low, high = stats.t.interval(0.95, 19, loc=8.45, scale=0.62 / 20**0.5)
    assert said == (
        f"Kept 13:05 (AB): T01 length, 20 fish, mean 8.45 mm, SD 0.62, 95 % {low:.2f} - {high:.2f}."
    )
    [kept] = site.reader.feeding.samples(0)
    assert kept[1:8] == ("T01", "length", 20, None, 8.45, 0.62, "mm")
    assert kept.who == "AB"
    [row] = [row for row in sampling.view(site).rows if row.tank.code == "T01"]
    assert not row.cells[0].due


def test_a_count_is_kept_as_how_many_of_how_many(site: Site) -> None:
    said = typed(asked_about(site, "T02", "gut fill", ab()), "1", "20", "18")
    # Wilson's limits of 18 of 20, 0.699 to 0.972: Newcombe 1998, method 3, by scipy.
    found = stats.binomtest(18, 20).proportion_ci(0.95, "wilson")
    assert (round(100 * found.low), round(100 * found.high)) == (70, 97)
    assert said == "Kept 13:05 (AB): T02 gut fill, 18 of 20 (90 %, limits 70 - 97 %)."
    assert site.reader.feeding.samples(0)[0][3:6] == (20, 18, None)


def test_plus_takes_as_many_fish_as_last_time_and_one_fish_has_no_spread(site: Site) -> None:
    sampled(site, "T01", "gut fill", "2026-05-09T13:00")
    hand = ab()
    typed(asked_about(site, "T01", "gut fill", hand), "1", "+", "19")
    assert site.reader.feeding.samples(0)[-1][3:5] == (20, 19)
    said = typed(asked_about(site, "T02", "length", hand), "1", "8.1")
    assert said == "Kept 13:05 (AB): T02 length, 1 fish, mean 8.1 mm."


def test_more_than_were_looked_at_is_asked_again_and_nothing_is_kept(site: Site) -> None:
    talk = asked_about(site, "T01", "gut fill", ab())
    assert "cannot be meant" in typed(talk, "1", "20", "21")
    assert not talk.over
    assert site.reader.feeding.samples(0) == []


def test_a_number_far_from_the_last_is_asked_about_and_the_easy_key_types_it_again(
    site: Site,
) -> None:
    talk = asked_about(site, "T01", "length", ab())
    typed(talk, "1", "20", "8.5", "0.6")
    clock_shows(site, "2026-05-10T13:20")
    hand = Hand()
    talk = asked_about(site, "T01", "length", hand)
    told = typed(talk, "1", "+", "85", "6")
    assert told == "It was 8.5 mm on Sun 10 May: is the decimal mark right?"
    assert typed(talk, "1") == "Nothing was kept: type it again."
    assert len(site.reader.feeding.samples(0)) == 1
    assert typed(talk, "+", "8.6", "0.6").startswith("Kept 13:20 (AB)")
    talk = asked_about(site, "T01", "length", hand)
    typed(talk, "+", "85", "6", "2")
    assert site.reader.feeding.samples(0)[-1].mean == 85


@pytest.mark.parametrize(
    ("mean", "sd", "odd"),
    [
        (10.0, 0.8, []),
        (9.5, 0.8, []),  # 95 % of the last
        (9.49, 0.8, [Odd.SHRANK]),
        (19.4, 1.5, []),  # 1.1 a day for 7 days: 19.487
        (19.5, 1.5, [Odd.LEAPT]),
        (1.5, 0.1, [Odd.TENFOLD]),
        (1.51, 0.1, [Odd.SHRANK]),
        (69.9, 5.0, [Odd.LEAPT]),
        (70.0, 5.0, [Odd.TENFOLD]),
        (10.0, 5.0, []),
        (10.0, 5.01, [Odd.SPREAD]),
        (10.0, 0.0, [Odd.EVEN]),
    ],
)
def test_what_is_odd_of_a_length_at_its_edges(mean: float, sd: float, odd: list[Odd]) -> None:
    """Held against 10 mm seven days before."""
    from site_support import moment

    last = seen(mean=10.0, sd=0.8, unit="mm")
    sample = Sample("length", 20, mean=mean, sd=sd, unit="mm")
    assert sampling.oddities(sample, last, moment("2026-05-10T13:00")) == odd


def test_a_mass_may_grow_faster_than_a_length_and_spread_wider() -> None:
    from site_support import moment

    last, now = seen("mass", mean=10.0, sd=3.0, unit="mg"), moment("2026-05-10T13:00")
    for mean, sd, odd in (
        (81.0, 30.0, []),  # 1.35 a day for 7 days: 81.7
        (82.0, 30.0, [Odd.TENFOLD]),
        (10.0, 12.0, []),
        (10.0, 12.1, [Odd.SPREAD]),
    ):
        assert sampling.oddities(Sample("mass", 30, mean=mean, sd=sd, unit="mg"), last, now) == odd


@pytest.mark.parametrize(("had", "odd"), [(19, []), (14, []), (7, [Odd.UNLIKE]), (2, [Odd.UNLIKE])])
def test_a_share_apart_from_the_last_by_more_than_chance_is_odd(had: int, odd: list[Odd]) -> None:
    """Of 20, after 18 of 20: 18/20 has 0.699 as its lower limit, 14/20 0.854 and 7/20 0.567
    as upper ones."""
    from site_support import moment

    last, now = seen("gut fill", with_it=18), moment("2026-05-10T13:00")
    assert sampling.oddities(Sample("gut fill", 20, with_it=had), last, now) == odd


def test_another_unit_or_nothing_before_is_no_reason_to_doubt() -> None:
    from site_support import moment

    now = moment("2026-05-10T13:00")
    sample = Sample("length", 20, mean=10, sd=1, unit="mm")
    assert sampling.oddities(sample, None, now) == []
    assert sampling.oddities(sample, seen(mean=10000.0, sd=1.0, unit="um"), now) == []


# ---- taken back


def test_one_s_own_newest_sample_is_taken_back_and_both_entries_stay(site: Site) -> None:
    hand = ab()
    typed(asked_about(site, "T01", "gut fill", hand), "1", "20", "18")
    typed(asked_about(site, "T02", "gut fill", hand), "20", "17")
    talk = Asking(entering.take_back(site, hand, sampling.view(site)))
    assert talk.step.ask == "T02 gut fill, 17 of 20, 13:05 AB:"
    assert typed(talk, "1") == "Taken back: T02 gut fill, 17 of 20, 13:05."
    assert [one.place for one in site.reader.feeding.samples(0)] == ["T01"]
    assert site.ledger.db.execute("SELECT count(*) FROM sample").fetchone() == (2,)


def test_nobody_takes_back_what_another_entered(site: Site) -> None:
    typed(asked_about(site, "T01", "gut fill", ab()), "1", "20", "18")
    talk = Asking(entering.take_back(site, Hand(), sampling.view(site)))
    assert "CD entered no sample" in typed(talk, "2")


# ---- at the screen


def test_from_the_board_by_enter_a_tank_is_done_on_the_pad(tmp_path: Path) -> None:
    site = demo_opened(tmp_path)
    clock_shows(site, "2026-05-14T13:05")
    before = len(site.reader.feeding.samples(0))

    async def act(room: Room) -> None:
        await room.press("s")
        assert "SAMPLES  36 due" in room.text
        assert "> T01" in room.text
        await room.press("enter", "1", "3", "plus", *"16.2", "enter", *"1.5", "enter")
        assert "Kept 13:05 (TS): T01 length, 20 fish, mean 16.2 mm" in room.flowing
        assert "T01 Mass of 30 fish: due today" in room.text
        await room.press("enter", "1", "plus", *"33", "enter", *"9", "enter")
        await room.press("enter", "1", "plus", *"19", "enter")
        assert "T02 Length of 20 fish: due today" in room.text
        assert "SAMPLES  33 due" in room.text
        await room.press("u", "1")
        assert "Taken back: T01 gut fill, 19 of 20, 13:05." in room.flowing
        await room.press("down", "down", "right", "left", "up", "escape")
        assert "BOARD" in room.text

    at_the_screen(site, act)
    assert len(site.reader.feeding.samples(0)) == before + 2
    site.close()


def test_what_was_found_last_is_whole_on_a_narrow_page_too(tmp_path: Path) -> None:
    site = demo_opened(tmp_path)
    clock_shows(site, "2026-05-14T13:05")
    seen = sampling.view(site)
    for width in (60, 80):
        said = plain(samples.draw(seen, (4, 0), width, 19))
        assert "7 May: 20 fish, mean 14.07 mm" in said, said
    site.close()


def test_a_board_s_line_of_samples_leads_there_by_enter(tmp_path: Path) -> None:
    site = demo_opened(tmp_path)
    clock_shows(site, "2026-05-14T13:05")

    async def act(room: Room) -> None:
        for _ in range(40):
            marked = next((one for one in room.text.splitlines() if one.startswith(" > ")), "")
            if "Sample:" in marked:
                break
            await room.press("down")
        await room.press("enter")
        assert "SAMPLES" in room.text

    at_the_screen(site, act)
    site.close()


# ---- limits


def test_limits_of_a_mean_are_student_s() -> None:
    for mean, sd, n in ((8.45, 0.62, 20), (14.0, 2.0, 2), (33.0, 9.1, 300)):
        low, high = stats.t.interval(0.95, n - 1, loc=mean, scale=sd / n**0.5)
        assert mean_limits(mean, sd, n) == pytest.approx((low, high), rel=1e-9)
    for bad, named in (((-1, 1, 2), "mean"), ((1, -1, 2), "sd"), ((1, 1, 1), "number")):
        with pytest.raises(Refusal, match=rf"^{named}\b"):
            mean_limits(*bad)
