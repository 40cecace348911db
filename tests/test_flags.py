"""A flag has a life: it is raised, stands, goes on the shelf, and ends by two looks or a person."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger_support import full_content, opened, record
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger import chain
from tankwalk.ledger.readings import ValueSeen
from tankwalk.plan import kinds
from tankwalk.plan.model import Item, Limits
from tankwalk.practice.board import board
from tankwalk.practice.judging.standing import flags
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.standing.life import Life, life, looks_of, well_inside
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.rounds import begin
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site
from weighing_support import later, remembered, room, walked

OXYGEN = Item("do", "Oxygen", unit="mg/L", deadband=0.3)
SCREEN = Item("screen", "Outlet screen", kinds.CHOICE, choices=("clean", "fouled"))
BAND = Limits(watch_below=7.0, watch_above=10.0)


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with room(tmp_path / "room") as opened_room:
        yield opened_room


def look(n: int, value: float, *, recheck: bool = False, number: int | None = None) -> ValueSeen:
    """The n-th look, flagged where it is out of band; each in a round of its own."""
    out = not 7.0 <= value <= 10.0
    return ValueSeen(n, value, n * 3600, 2 * out, recheck, n if number is None else number, None)


def lived(*values: float) -> Life:
    return life(OXYGEN, [look(n, value) for n, value in enumerate(values, 1)], lambda _: BAND)


def standing(site: Site) -> list[Standing]:
    return list(flags.standing(site))


# ---- raised, standing, cleared


def test_a_value_out_of_band_raises_a_flag_and_two_in_band_clear_it() -> None:
    assert lived(8.6).raised is None
    assert lived(8.6, 6.5).raised == 2 * 3600
    assert lived(6.5, 8.6).in_band == 1
    assert lived(6.5, 8.6).raised == 3600
    assert lived(6.5, 8.6, 8.6) == Life()


def test_a_value_only_just_inside_does_not_clear() -> None:
    assert lived(6.5, 7.2, 7.2, 7.2).raised == 3600
    assert lived(6.5, 7.3, 7.2, 7.3) == Life()


def test_out_again_starts_the_count_anew() -> None:
    assert lived(6.5, 8.6, 6.5, 8.6).in_band == 1
    assert lived(6.5, 8.6, 6.5, 8.6).raised == 3600


def test_a_flag_is_as_serious_as_its_newest_look_out_of_band() -> None:
    worse = look(1, 5.0)._replace(flag=3)
    assert life(OXYGEN, [worse, look(2, 6.5)], lambda _: BAND).newest == look(2, 6.5)
    assert life(OXYGEN, [look(2, 6.5), worse, look(3, 8.6)], lambda _: BAND).newest == worse


def test_a_first_value_that_the_second_does_not_confirm_raises_nothing() -> None:
    pair = [look(1, 6.5), look(2, 8.6, recheck=True, number=1)]
    assert life(OXYGEN, pair, lambda _: BAND) == Life()
    assert [one.reading.value for one in looks_of(OXYGEN, pair)] == [8.6]


def test_a_setting_is_well_again_when_it_is_seen_to_be_so_once() -> None:
    fouled = ValueSeen(1, 1.0, 3600, 3, False, 1, None)
    clean = ValueSeen(2, 0.0, 7200, 0, False, 2, None)
    assert life(SCREEN, [fouled], lambda _: None).raised == 3600
    assert life(SCREEN, [fouled, clean], lambda _: None) == Life()


def test_without_a_deadband_of_its_own_an_item_has_a_tenth_of_its_band() -> None:
    item = Item("ph", "pH", decimals=2)
    limits = Limits(watch_below=7.0, watch_above=8.0)
    assert well_inside(item, 7.10, limits)
    assert not well_inside(item, 7.09, limits)
    assert not well_inside(item, 7.95, limits)
    assert well_inside(item, 99.0, None)


@given(st.lists(st.sampled_from([5.0, 6.9, 7.0, 7.2, 7.3, 8.6, 10.0]), max_size=12))
def test_a_flag_stands_as_long_as_no_two_looks_were_well_inside_since_it_was_out(
    values: list[float],
) -> None:
    out = [n for n, value in enumerate(values) if value < 7.0]
    after = values[out[-1] + 1 :] if out else []
    well = sum(7.3 <= value <= 9.7 for value in after)
    assert (lived(*values).raised is not None) == (bool(out) and well < 2)


# ---- on the board


def test_a_flag_is_shown_until_the_second_look_in_band(site: Site) -> None:
    walked(site, lambda _: 6.5, tanks=["T01"])
    assert [(one.place, one.state) for one in standing(site)] == [("T01", "standing")]
    later(site, 8)
    walked(site, lambda _: 8.6, tanks=["T01"])
    [one] = standing(site)
    assert (one.state, one.sentence) == (
        "in band once", "Oxygen 8.6 mg/L in band once, was 6.5 mg/L"
    )  # fmt: skip
    later(site, 16)
    walked(site, lambda _: 8.6, tanks=["T01"])
    assert standing(site) == []


def test_a_correction_of_the_reading_takes_its_flag_along(site: Site) -> None:
    n = remembered(site, "T02", "do", 6.5, 1.0)
    row = site.ledger.db.execute("SELECT flag FROM reading WHERE entry = ?", (n,)).fetchone()
    assert row == (0,)  # entered without a walk, so nobody judged it
    walked(site, lambda _: 6.5, tanks=["T01"], signed=False)
    walk = Walk(site, begin(site, site.plan.checklist("am"), "AB"), "AB")
    walk.undo()
    for typed in ("1", "1"):  # mis-keyed, says the person of the round
        walk.answer(typed)
    assert standing(site) == []


def test_a_flag_of_a_fortnight_ago_is_a_gap_and_stands_no_more(site: Site) -> None:
    walked(site, lambda _: 6.5, tanks=["T01"])
    later(site, 24 * 15)
    assert standing(site) == []


# ---- what people do


def until(site: Site, hours: float) -> Instant:
    now = site.now()
    return Instant(now.utc + int(3600 * hours), now.offset)


def one_flag(site: Site) -> Standing:
    walked(site, lambda _: 6.5, tanks=["T01"])
    return standing(site)[0]


def test_a_flag_is_closed_by_a_person_with_a_reason_and_a_new_value_raises_it_anew(
    site: Site,
) -> None:
    flag = one_flag(site)
    with pytest.raises(Refusal, match="reason is needed"):
        flags.close(site, flag, "AB", "  ")
    flags.close(site, flag, "AB", "stone in the cup")
    assert standing(site) == []
    later(site, 8)
    walked(site, lambda _: 6.4, tanks=["T01"])
    assert [one.place for one in standing(site)] == ["T01"]
    assert chain.verify(site.ledger.db) is None


def test_a_shelved_flag_is_out_of_sight_with_its_reason_until_its_time(site: Site) -> None:
    flags.shelve(site, one_flag(site), "AB", until(site, 4), "pump being mended")
    [one] = standing(site)
    assert (one.state, one.reason) == ("shelved", "pump being mended (AB)")
    assert one.until == until(site, 4)
    assert board(site).wrong == ()
    assert [w.place for w in board(site).shelved] == ["T01"]
    later(site, 4)
    [back] = board(site).wrong
    assert "back from the shelf" in back.sentence


def test_a_shelved_flag_that_gets_worse_comes_back_by_itself(site: Site) -> None:
    flags.shelve(site, one_flag(site), "AB", until(site, 6), "pump being mended")
    later(site, 3)
    walked(site, lambda _: 5.5, tanks=["T01"])
    [back] = board(site).wrong
    assert back.flag is Flag.ACT
    assert "worse since it was shelved" in back.sentence


def test_a_shelved_flag_can_be_taken_back(site: Site) -> None:
    with pytest.raises(Refusal, match="on no shelf"):
        flags.take_back(site, one_flag(site), "AB")
    flags.shelve(site, standing(site)[0], "AB", until(site, 6), "pump being mended")
    flags.take_back(site, standing(site)[0], "MV")
    assert [one.state for one in standing(site)] == ["standing"]


def test_a_shelf_has_an_end_within_a_shift_or_a_week_for_the_lead(site: Site) -> None:
    flag = one_flag(site)
    with pytest.raises(Refusal, match="8 h, the lead for 7 days"):
        flags.shelve(site, flag, "AB", until(site, 9), "later")
    with pytest.raises(Refusal, match="is past"):
        flags.shelve(site, flag, "AB", until(site, -1), "later")
    with pytest.raises(Refusal, match="7 days"):
        flags.shelve(site, flag, "MV", until(site, 24 * 8), "later")
    flags.shelve(site, flag, "MV", until(site, 24 * 6), "part is ordered")
    assert [one.state for one in standing(site)] == ["shelved"]


def test_what_is_urgent_is_never_shelved(site: Site) -> None:
    walked(site, lambda _: 4.5, tanks=["T01"])
    with pytest.raises(Refusal, match="cannot be shelved"):
        flags.shelve(site, standing(site)[0], "MV", until(site, 1), "later")


def test_a_meters_flag_is_closed_by_a_person_too(site: Site) -> None:
    walked(site, lambda tank: 9.4 if tank >= "T10" or "T04" <= tank <= "T06" else 8.6)
    [one] = board(site).wrong
    flags.close(site, one, "MV", "new cap on, check follows")
    assert board(site).wrong == ()


# ---- the questions behind it


def test_the_record_says_what_was_flagged_and_what_was_done_then() -> None:
    with record(full_content()) as path, opened(path) as ledger:
        ask = ledger.reader
        assert [(row.place, row.flag, row.rule) for row in ask.flags.flagged(0)][-2:] == [
            ("T02", 2, None),
            ("T01", 2, "band"),
        ]
        assert [(one.event, one.instrument) for one in ask.flags.done(0)] == [("shelve", None)]
        assert ask.flags.why(38) == ("band", "Temperature 19.9")
        assert ask.flags.why(3) is None
        assert ask.meters.newest_passes(["M1", "M2"]).keys() == {"M1"}
        told = ask.readings.not_taken("T99", "temp", "degC")
        assert told is None
