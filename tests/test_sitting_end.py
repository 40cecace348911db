"""A sample fish by fish to its end: what leaves the tank, rations, baths, bulk, and the pages."""

from __future__ import annotations

import signal
import sys
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from demo_support import STATION
from demo_support import opened as demo_opened
from site_support import clock_shows, moment, opened
from sitting_support import BOTH, NOW, PLAN, TRAY, anew, before, lengths, typed
from sitting_support import site_fixture as site_fixture
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry, Movement
from tankwalk.ledger.samples import Fate
from tankwalk.pages import sample as page
from tankwalk.pages import sample_words
from tankwalk.pages.due_words import told
from tankwalk.pages.lines import plain
from tankwalk.practice.dialog import Asking, Hand, Talk
from tankwalk.practice.due.owed import samples_left
from tankwalk.practice.samples import bulk, growth_table, sampling, sitting_talk, sitting_view
from tankwalk.practice.samples.fish import Look
from tankwalk.practice.samples.sitting import FishSitting, begin, going_on
from tankwalk.practice.site import Site, open_site
from terminal import Terminal
from test_screens import Room, at_the_screen

# ---- the end


def stocked(site: Site, many: int = 400) -> None:
    at = moment("2026-05-05T09:00")
    entry = Entry("movement", "AB", at, at, "T01")
    site.record(entry, Movement("stocked", many, 16.0, "5 sub-samples"), sure=True)


def held(site: Site) -> int:
    """Fish the tank holds by what its movements say."""
    moved = site.reader.stock.all_movements(["T01"]).get("T01", [])
    return sum(one.fish if one.what == "stocked" else -one.fish
               for one in moved if one.what in ("stocked", "sampled"))  # fmt: skip


def test_fish_that_are_kept_leave_the_number_of_the_tank(site: Site) -> None:
    stocked(site)
    sitting = lengths(site)
    said = typed(sitting_talk.ending(sitting, sample_words.ended), "2", "2")
    assert "11 kept: the number of the tank is 11 lower" in said
    assert held(site) == 389
    [kept] = [one for one in site.reader.feeding.samples(0) if one.what == "length"]
    assert kept.looked_at == 11
    assert kept.mean == pytest.approx(float(np.mean(TRAY)), abs=0.005)
    assert kept.sd == pytest.approx(float(np.std(TRAY, ddof=1)), abs=0.005)
    assert going_on(site) == []


def test_fish_that_are_put_back_stay_in_the_number_and_those_that_died_leave_it(
    site: Site,
) -> None:
    stocked(site)
    said = typed(sitting_talk.ending(lengths(site), sample_words.ended), "2", "1")
    assert "All 11 put back" in said
    assert held(site) == 400
    said = typed(sitting_talk.ending(lengths(site), sample_words.ended), "2", "3", "2")
    assert "9 put back, 2 died" in said
    assert held(site) == 398
    moved = site.reader.stock.all_movements(["T01"])["T01"]
    assert [(one.what, one.fish) for one in moved[1:]] == [
        ("returned", 11), ("sampled", 2), ("returned", 9),
    ]  # fmt: skip


def test_of_a_sample_some_are_kept_and_the_others_go_back(site: Site) -> None:
    stocked(site)
    said = typed(sitting_talk.ending(lengths(site), sample_words.ended), "2", "4", "5")
    assert "6 put back, 5 kept: the number of the tank is 5 lower" in said
    assert held(site) == 395
    moved = site.reader.stock.all_movements(["T01"])["T01"]
    assert [(one.what, one.fish) for one in moved[1:]] == [("sampled", 5), ("returned", 6)]


def test_a_sample_that_was_not_ended_stands_on_the_board_until_it_is(site: Site) -> None:
    sitting = lengths(site)

    def said() -> list[str]:
        return [" | ".join(told(one, site.now())) for one in samples_left(site, site.now())]

    assert said() == ["T01 sample, 11 of 20 fish, go on | begun 13:05 by AB, not ended"]
    sitting.end(Fate.RETURNED, 11, 0)
    assert said() == []


def test_a_sample_of_days_ago_stands_on_the_board_and_is_ended_with_the_fish_of_its_day(
    site: Site,
) -> None:
    sitting = lengths(site)
    clock_shows(site, "2026-05-13T09:00")
    [due] = samples_left(site, site.now())
    assert " | ".join(told(due, site.now())).endswith("begun Sun 13:05 by AB, not ended")
    setup = Asking(sitting_talk.setup(site, Hand(), "T01"))  # type: ignore[arg-type]
    assert "Fish of now are not fish of that day" in setup.step.told
    assert setup.step.enter == "go on there"
    again = anew(sitting)
    assert sitting_talk.on_where_it_was(again).endswith("what it comes to is of Sun 10 May 13:05.")
    again.end(Fate.KEPT, 11, 0)
    [kept] = site.reader.feeding.samples(0)
    assert kept.at == moment(NOW), "dated when its fish were looked at"
    gone = site.reader.stock.all_movements(["T01"])["T01"][-1]
    assert (gone.what, gone.fish, gone.at) == ("sampled", 11, moment(NOW))
    assert samples_left(site, site.now()) == []


def test_a_sample_that_is_let_go_is_none_and_leaves_the_board(site: Site) -> None:
    sitting = begin(site, "AB", "T01", (Look.LENGTH,), 20)
    clock_shows(site, "2026-05-13T09:00")
    assert len(samples_left(site, site.now())) == 1
    said = typed(sitting_talk.setup(site, Hand(), "T01"), "2", "1")  # type: ignore[arg-type]
    assert said == "T01: no sample of these 0 fish; they stay in the record."
    assert samples_left(site, site.now()) == []
    assert going_on(site) == []
    assert sitting.fish == []


def test_short_of_what_was_planned_one_is_asked_and_can_look_on(site: Site) -> None:
    sitting = lengths(site)
    assert typed(sitting_talk.ending(sitting, sample_words.ended), "1") == ""
    assert [one.n for one in going_on(site)] == [sitting.seen.n]
    assert site.reader.feeding.samples(0) == []


def test_a_number_in_doubt_stays_out_at_the_end_and_says_so(site: Site) -> None:
    sitting = lengths(site)
    sitting.enter("131")
    typed(sitting_talk.ending(sitting, sample_words.ended), "2", "1")
    [kept] = site.reader.feeding.samples(0)
    assert kept.looked_at == 11
    [last] = [one for one in site.reader.samples.fish(sitting.seen.n) if one.nth == 12]
    assert last.left_out == "no second number"


def test_nothing_measured_is_no_sample(site: Site) -> None:
    sitting = begin(site, "AB", "T01", (Look.LENGTH,), 20)
    with pytest.raises(Refusal):
        sitting.end(Fate.KEPT, 0, 0)
    assert going_on(site) != []


def test_the_ration_by_what_fish_weigh_is_refreshed_at_once(tmp_path: Path) -> None:
    site = demo_opened(tmp_path)
    clock_shows(site, "2026-05-11T13:05")
    sitting = begin(site, "TS", "T01", BOTH, 3)
    for length, mass in ((17.0, 33.0), (17.6, 36.0), (18.1, 39.0)):
        sitting.enter(f"{length}")
        sitting.enter(f"{mass}")
    ended = sitting.end(Fate.RETURNED, 3, 0)
    [ration] = ended.rations
    assert ration.before is not None
    assert ration.after != ration.before
    from tankwalk.practice.feeding import rations

    known = rations.known_now(site, site.now())["T01"]
    assert known.weighed is not None
    assert known.weighed.mg == 36.0
    tank = site.plan.find_tank("T01")
    assert tank is not None
    days = [one.day for one in rations.owed(site.plan, tank, site.now().day, known)]
    assert ration.after in days
    assert "refreshed" in sample_words.ended(sitting, ended)
    site.close()


# ---- the bath


def test_before_an_anesthetic_bath_stands_the_caution_and_one_deliberate_key(site: Site) -> None:
    def begun() -> Talk:
        yield from sitting_talk.setup(site, Hand(), "T01")
        return ""

    asking = Asking(begun())
    asking.type("3")
    assert "never leave the bath" in asking.step.told
    assert "vet" in asking.step.ask
    asking.enter()
    assert asking.said == "Choose by number: nothing is kept by silence."
    asking.type("1")
    for character in "12":
        asking.type(character)
    asking.enter()
    assert "in bath 12" in asking.step.ask
    asking.enter()
    asking.type("1")
    assert asking.over
    [seen] = going_on(site)
    sitting = FishSitting(site, "AB", seen)
    sitting.enter("14.0")
    typed(sitting_talk.ending(sitting, sample_words.ended), "2", "3", "1", "3", "4.5")
    notes = [one.text for one in site.reader.notes.since(0) if one.place == "T01"]
    assert notes == [
        "Anesthetic bath 12: first fish in at 13:05; longest 3 min, last out by 13:05; "
        "all that lived swam again within 4.5 min; 1 died."
    ]


# ---- setting up


def test_what_is_due_and_how_many_last_time_is_proposed(site: Site) -> None:
    assert sitting_talk.due_looks(site, "T01") == (Look.LENGTH, Look.MASS, Look.GUT)
    assert sitting_talk.proposed(site, "T01", BOTH) == 30
    assert sitting_talk.proposed(site, "T01", (Look.LENGTH,)) == 20
    sitting = lengths(site, planned=12)
    sitting.end(Fate.RETURNED, 11, 0)
    assert sitting_talk.proposed(site, "T01", BOTH) == 12
    assert sitting_talk.due_looks(site, "T01") == (Look.MASS, Look.GUT)


def test_a_blind_order_is_another_one_and_the_same_all_day(site: Site) -> None:
    walking = [row.tank.code for row in sampling.view(site).rows]
    by_lot = [row.tank.code for row in sampling.view(site, blind=True).rows]
    assert sorted(by_lot) == sorted(walking)
    assert by_lot == [row.tank.code for row in sampling.view(site, blind=True).rows]


# ---- weighed together


def mass_cell(site: Site) -> sampling.Cell:
    [row] = [row for row in sampling.view(site).rows if row.tank.code == "T01"]
    [cell] = [cell for cell in row.cells if cell.sampling.what == "mass"]
    return cell


def test_lots_weighed_together_are_kept_one_by_one_and_come_to_a_mean(site: Site) -> None:
    asking = Asking(bulk.enter(site, Hand(), "T01", mass_cell(site)))
    asking.type("1")
    for words in ("20", "364"):
        for character in words:
            asking.type(character)
        asking.enter()
    asking.type("1")
    asking.type("+")
    for character in "371":
        asking.type(character)
    asking.enter()
    _, lots = bulk.under_way(site, "T01")
    assert lots == ((20, 364), (20, 371)), "on disk before the end"
    said = typed(bulk.enter(site, Hand(), "T01", mass_cell(site)), "1", "1", "20", "369", "2")
    assert "60 fish in 3 lots, mean 18.4 mg, 95 %" in said
    [kept] = site.reader.feeding.samples(0)
    assert (kept.what, kept.looked_at, kept.mean, kept.sd) == ("mass", 60, 18.4, None)
    assert bulk.under_way(site, "T01") == (None, ())


# ---- the page


def flat(view: sitting_view.SittingView, width: int, height: int) -> str:
    return plain(page.draw(view, width, height))


def test_the_page_has_five_fish_a_row_and_their_dots_over_the_last_sample(site: Site) -> None:
    before(site, "length", 11.9, 0.9, "mm", "2026-05-03T13:00")
    drawn = flat(sitting_view.view(lengths(site)), 80, 23)
    assert "SAMPLE  T01 length, fish by fish, AB" in drawn
    assert "11 of 20" in drawn
    rows = drawn.splitlines()
    first = next(row for row in rows if row.startswith("    1 "))
    assert first.split() == ["1", "13.1", "14.8", "12.2", "15.6", "14.0"]
    assert "mean, SD" in drawn
    assert "grew 2.1 mm in 7 d, 0.30 mm/d" in drawn
    assert "wanted 5 %" in drawn


@pytest.mark.parametrize("size", [(60, 19), (80, 23), (120, 39)])
def test_what_is_asked_and_what_is_in_doubt_is_in_sight_at_every_size(
    site: Site, size: tuple[int, int]
) -> None:
    sitting = lengths(site)
    for nth in range(12, 45):
        sitting.enter(f"{TRAY[nth % 11]:g}")
    drawn = flat(sitting_view.view(sitting), *size)
    assert "> _" in drawn
    assert "Fish 45, length, mm" in drawn
    sitting.enter("131")
    drawn = flat(sitting_view.view(sitting), *size)
    assert "1   131 mm   as typed" in drawn
    assert "2   13.1 mm   if the decimal mark was left out" in drawn
    assert all(len(row) <= size[0] for row in drawn.splitlines())
    assert len(page.draw(sitting_view.view(sitting), *size)) == size[1]


@pytest.mark.parametrize("width", [60, 80, 120])
def test_a_sample_that_is_printed_cuts_neither_its_name_nor_what_was_typed_of_each_fish(
    site: Site, width: int
) -> None:
    looks = (Look.LENGTH, Look.MASS, Look.BLADDER, Look.GUT)
    sitting = begin(site, "AB", "T05", looks, 10)
    sitting.enter("14.7")
    sitting.enter("22.4")
    sitting.is_right(True)
    sitting.is_right(False)
    told = plain(page.printed(sitting_view.view(sitting), width))
    head = " ".join(told.split("\n\n")[0].split())
    assert "length, mass, swim bladder and gut fill, fish by fish" in head.casefold()
    assert "else + as it should be, - not." in head
    assert "1 of 10" in head
    assert ".." not in head


def test_a_wide_page_has_a_histogram_and_the_days_before(tmp_path: Path) -> None:
    site = demo_opened(tmp_path)
    clock_shows(site, "2026-05-11T13:05")
    sitting = begin(site, "TS", "T01", BOTH, 30)
    for length, mass in ((17.0, 33.0), (17.6, 36.0), (18.1, 39.0)):
        sitting.enter(f"{length}")
        sitting.enter(f"{mass}")
    points = growth_table.points(site, ["T01"])["T01"]
    drawn = flat(sitting_view.view(sitting, points), 120, 39)
    assert "SGR" in drawn
    assert "17.5 - 18" in drawn or "17 - 18" in drawn or "17.4 - 17.6" in drawn
    # K = 100 * 39 mg / 18.1^3 mm, in 100 g/cm3: each fish has its own, the newest first.
    rows = [row.split()[-4:] for row in drawn.splitlines()]
    newest = rows.index(["3", "18.1", "39.0", f"{100 * 39.0 / 18.1**3:.2f}"])
    assert rows[newest + 1] == ["2", "17.6", "36.0", f"{100 * 36.0 / 17.6**3:.2f}"]
    site.close()


# ---- at the screen


def test_from_the_samples_page_by_enter_a_sitting_is_begun_kept_and_ended(tmp_path: Path) -> None:
    site = demo_opened(tmp_path)
    clock_shows(site, "2026-05-14T12:55")

    async def act(room: Room) -> None:
        await room.press("s", "enter", "enter")
        assert "T01: length, mass and gut fill of 30 fish, no bath." in room.text
        await room.press("enter", "3")
        assert "> _" in room.text
        await room.press(*"19.2", "enter", *"45.1", "enter", "plus")
        await room.press(*"18.4", "enter", *"40.2", "enter", "minus")
        await room.press("1", "9")
        await room.press("plus")
        assert "Enter keeps 19 first" in room.text
        await room.press("enter")
        await room.press("escape")
        assert "3 fish of T01 are kept" in room.flowing
        await room.press("enter", "enter", "enter", "3")
        assert "On where it was: 3 fish" in room.flowing
        await room.press(*"42", "enter", "plus", "plus", "2", "2")
        assert "3 kept: the number of the tank is 3 lower" in room.flowing
        assert "SAMPLES" in room.text

    at_the_screen(site, act)
    seen = [one for one in site.reader.feeding.samples(moment("2026-05-14T12:00").utc)
            if one.place == "T01"]  # fmt: skip
    kept = {one.what: (one.looked_at, one.mean, one.with_it) for one in seen}
    assert kept["length"] == (3, 18.87, None)
    assert kept["gut fill"] == (3, None, 2)
    site.close()


def test_a_number_in_doubt_typed_once_more_is_no_choice_of_the_list(tmp_path: Path) -> None:
    """Most lengths begin with 1 or 2, as the choices do: a choice takes an Enter."""
    site = demo_opened(tmp_path)
    clock_shows(site, "2026-05-14T12:55")

    async def act(room: Room) -> None:
        await room.press("s", "enter", "enter", "enter", "3")
        await room.press(*"162", "enter")
        assert "2   16.2 mm" in room.text
        await room.press(*"16.2", "enter")
        await room.press(*"33", "enter", "plus", *"1.59", "enter", *"15.4", "enter")
        assert "two numbers that do not agree" in room.flowing
        await room.press(*"15.4", "enter")

    at_the_screen(site, act)
    [seen] = going_on(site)
    found = site.reader.samples.fish(seen.n)
    assert [(one.length, one.left_out) for one in found] == [(16.2, None), (15.4, None)]
    site.close()


def test_samples_are_opened_at_the_tank_whose_stock_one_reads(tmp_path: Path) -> None:
    site = demo_opened(tmp_path)
    clock_shows(site, "2026-05-10T07:52")

    async def act(room: Room) -> None:
        await room.press("8", "down", "down", "down", "down", "right", "minus")
        assert "> T05" in room.text
        await room.press("enter", "enter")
        assert "T05: length" in room.text

    at_the_screen(site, act)
    site.close()


# ---- killed in the middle


def test_a_program_that_is_killed_loses_no_fish_and_goes_on_at_the_very_one(tmp_path: Path) -> None:
    """kill -9 between the length and the mass of the fourth fish, in a real terminal."""
    folder = tmp_path / "site"
    folder.mkdir()
    with opened(folder, PLAN, NOW):
        pass
    command = [
        sys.executable, "-m", "tankwalk", "--site", str(folder), "--now", NOW, "sample", "T01",
    ]  # fmt: skip
    home = {"TANKWALK_HOME": str(tmp_path / "home")}
    with Terminal(command, home) as terminal:
        terminal.wait("Enter begin", 30)
        terminal.press("enter")
        terminal.wait("Who looks")
        terminal.press("1")
        for nth, (mm, mg) in enumerate(((14.1, 18.2), (13.9, 17.5), (14.8, 20.1)), 1):
            terminal.wait(f"Fish {nth}, length")
            terminal.press(*f"{mm}", "enter", *f"{mg}", "enter", "+")
        terminal.wait("Fish 4, length")
        terminal.press(*"14.3", "enter")
        terminal.wait("Fish 4, mass")
        terminal.kill(signal.SIGKILL)
    with Terminal(command, home) as terminal:
        terminal.wait("4 of 30 fish looked at", 30)
        terminal.press("enter")
        terminal.wait("Who looks")
        terminal.press("2")
        terminal.wait("Fish 4, mass")
        assert "On where it was: 4 fish are on the disk." in terminal.text()
        assert "14.8 20.1 +" in terminal.text()
    with closing(open_site(folder, STATION, NOW)) as site:
        [sitting] = going_on(site)
        seen = site.reader.samples.fish(sitting.n)
    assert [(one.length, one.mass, one.gut) for one in seen] == [
        (14.1, 18.2, 1), (13.9, 17.5, 1), (14.8, 20.1, 1), (14.3, None, None),
    ]  # fmt: skip
    assert sitting.who == "AB"
