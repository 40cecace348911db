"""What is worked out from readings: NH3-N, saturation, CO2, exchanges, stocking density."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest

from ledger_support import plainly
from plan_texts import ALKALINITY, PH
from site_support import SMALL, clock_shows, go_to, moment, opened, walk_drawn, walking, worked_out
from tankwalk.ledger import chain
from tankwalk.ledger.entries import Entry, Movement, Reading
from tankwalk.pages.lines import plain
from tankwalk.plan.derived import DERIVATIONS
from tankwalk.plan.faults import PlanFaults
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Level
from tankwalk.practice.board import board
from tankwalk.practice.clock_check import keep_mark
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.practice.stock.numbers import Best, best
from tankwalk.practice.workings import derived, deriving, working_out
from tankwalk.science.calculators import ALL

CHEMISTRY = (
    SMALL.replace('\n[[item]]\ncode = "sump"\n', f'{PH}{ALKALINITY}[[item]]\ncode = "sump"\n')
    .replace('loop = ["tan"]', 'loop = ["tan", "alk"]')
    .replace('tank = ["temp", "do", "flow", "screen", "morts"]',
             'tank = ["temp", "do", "ph", "flow", "screen", "morts"]')
)  # fmt: skip
"""The small room, with pH in the tanks and alkalinity in the loop."""


def kept(site: Site, place: str, item: str) -> list[float]:
    """Values of a derived item that stand, in order of entry."""
    return [v for p, i, v in worked_out(site) if (p, i) == (place, item)]


def enter(site: Site, place: str, item: str, typed: str, who: str = "AB") -> str:
    """One value, as a person walking types it; what the walk said."""
    walk = go_to(walking(site, who), place, item)
    walk.answer(typed)
    if walk.question is not None:  # out of band: the same once more, with the probe still in
        walk.answer(typed)
    return walk.said.sentence


def measured(site: Site, place: str, item: str, value: float, when: str) -> None:
    """A reading of another hour, as it stands in the record."""
    unit, at = site.plan.item(item).unit, moment(when)
    site.record(Entry("reading", "CD", at, at, place, item, unit), Reading(value, ""))


# ---- which there are


def test_every_derived_item_names_a_calculator_and_inputs_that_it_has() -> None:
    for one in DERIVATIONS:
        asked = ALL[one.calculator]
        keys = {i.key for i in asked.inputs}
        assert set(one.facts) <= keys
        if one.calculator != "stocking-density":  # the dead change the number, and are no input
            assert {key for key, _ in one.items} <= keys
        assert asked.output.unit == one.unit


def test_what_is_worked_out_is_there_when_its_parts_are_asked_and_is_never_asked() -> None:
    plan = read_plan(CHEMISTRY)
    levels = {i.code: i.level for i in plan.items if i.derived}
    assert set(levels) == {"sat", "nh3n", "co2", "exch", "density"}
    assert set(levels.values()) == {Level.TANK}
    assert {i.code for i in read_plan(SMALL).items if i.derived} == {"sat", "exch", "density"}


def test_a_site_that_measures_it_has_its_own() -> None:
    own = CHEMISTRY.replace(
        "[[item]]\ncode = \"alk\"", '[[item]]\ncode = "sat"\nlabel = "Saturation"\nunit = "%"\n'
        '[[item]]\ncode = "alk"')  # fmt: skip
    item = read_plan(own).item("sat")
    assert (item.label, item.derived) == ("Saturation", "")


def test_loop_chemistry_alone_is_worked_out_for_the_loop() -> None:
    loop_only = CHEMISTRY.replace('label = "pH"', 'label = "pH"\nlevel = "loop"').replace(
        '"do", "ph", "flow"', '"do", "flow"').replace('"tan", "alk"', '"tan", "alk", "ph"').replace(
        'label = "Temperature"', 'label = "Temperature"\nlevel = "loop"').replace(
        'tank = ["temp", "do"]', 'tank = ["do"]').replace(
        'tank = ["temp", "do", "flow"', 'tank = ["do", "flow"').replace(
        '"tan", "alk", "ph"]', '"tan", "alk", "ph", "temp"]')  # fmt: skip
    assert read_plan(loop_only).item("nh3n").level is Level.LOOP


def test_a_checklist_cannot_ask_what_is_worked_out() -> None:
    with pytest.raises(PlanFaults, match="nh3n"):
        read_plan(CHEMISTRY.replace('loop = ["tan", "alk"]', 'loop = ["tan", "alk", "nh3n"]'))


def test_a_band_may_be_set_for_it() -> None:
    own = CHEMISTRY + '\n[[band]]\nitem = "nh3n"\nact_above = 0.01\nsource = "our plan"\n'
    assert [b.limits.act_above for b in read_plan(own).bands if b.item == "nh3n"] == [0.01]


@pytest.mark.parametrize("age", ['"1 min"', '"3 d"', '"2 kg"'])
def test_an_age_of_parts_that_makes_no_sense_is_a_fault_of_the_plan(age: str) -> None:
    with pytest.raises(PlanFaults, match="parts_age"):
        read_plan(CHEMISTRY.replace("[site]", f"[site]\nparts_age = {age}"))


# ---- kept with its parts


def test_nh3n_is_kept_the_moment_its_parts_are_there_with_them_and_the_equation(
    tmp_path: Path,
) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "L1", "tan", "0.4")
        enter(site, "T01", "temp", "16.5")
        assert kept(site, "T01", "nh3n") == []
        enter(site, "T01", "ph", "7.60")
        [value] = kept(site, "T01", "nh3n")
        done = working_out.work("ammonia", {"tan": "0.4", "ph": "7.6", "temperature": "16.5"})
        assert value == pytest.approx(done.value, rel=1e-9)
        [row] = site.ledger.db.execute(
            "SELECT calculator, equation, parts FROM derived_readings WHERE item = 'nh3n'"
        ).fetchall()
        assert row[0] == "ammonia"
        assert row[1] == ALL["ammonia"].equation
        assert [part.split(" = ")[0] for part in row[2].split(", ")] == ["ph", "tan", "temperature"]
        seen = site.reader.readings.newest("T01", "nh3n", "mg/L as N")
        assert seen is not None
        assert derived.inputs_of(site, seen) == (
            "ammonia",
            {"tan": "0.4 mg/L as N", "ph": "7.6", "temperature": "16.5 degC"},
        )


@pytest.mark.parametrize("order", list(permutations(["tan", "temp", "ph"])))
def test_the_order_in_which_parts_come_makes_no_difference(
    tmp_path: Path, order: tuple[str, ...]
) -> None:
    values = {"tan": ("L1", "0.4"), "temp": ("T01", "16.5"), "ph": ("T01", "7.60")}
    with opened(tmp_path, CHEMISTRY) as site:
        for item in order:
            enter(site, values[item][0], item, values[item][1])
        expected = working_out.work("ammonia", {"tan": "0.4", "ph": "7.6", "temperature": "16.5"})
        assert kept(site, "T01", "nh3n") == [pytest.approx(expected.value)]


def test_a_reading_of_the_loop_is_a_part_in_every_tank_of_it(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        for tank in ("T01", "T02"):
            enter(site, tank, "temp", "16.5")
            enter(site, tank, "ph", "7.60")
        enter(site, "L1", "tan", "0.4")
        assert len(kept(site, "T01", "nh3n")) == len(kept(site, "T02", "nh3n")) == 1


def test_saturation_goes_by_the_elevation_of_the_site(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "do", "8.0")
        typed = {"oxygen": "8", "temperature": "16.5", "elevation": "260"}
        expected = working_out.work("oxygen-percent", typed)
        assert kept(site, "T01", "sat") == [pytest.approx(expected.value)]


def test_exchanges_go_by_the_volume_of_the_tank(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "T01", "flow", "2.5")
        assert kept(site, "T01", "exch") == [pytest.approx(2.5 * 60 / 220)]


def test_density_goes_by_the_book(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        at = moment("2026-05-09T08:00")
        site.record(Entry("movement", "CD", at, at, "T01"), Movement("stocked", 4400))
        enter(site, "T01", "morts", "3")
        assert kept(site, "T01", "density") == [pytest.approx(4397 / 220)]
        enter(site, "T02", "morts", "3")  # nobody entered fish there
        assert kept(site, "T02", "density") == []


def test_below_detection_stays_below_detection(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "L1", "tan", "<0.02")
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "ph", "7.60")
        seen = site.reader.readings.newest("T01", "nh3n", "mg/L as N")
        assert seen is not None
        assert seen.qualifier == "<"


def test_what_is_worked_out_holds_in_the_chain(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "L1", "tan", "0.4")
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "ph", "7.60")
    with plainly(tmp_path / "ledger.sqlite") as db:
        assert chain.verify(db) is None


# ---- stale parts are refused in words


def test_stale_parts_are_not_used_and_the_page_says_which(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        measured(site, "L1", "tan", 0.4, "2026-05-10T02:00")
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "ph", "7.60")
        assert kept(site, "T01", "nh3n") == []
        said = {s.item.code: s.why for s in derived.states(site, "T01", site.now())}
        assert said["nh3n"] == "TAN is 5 h old"
        walk = go_to(walking(site), "T01", "do")
        assert "NH3-N" not in plain(walk_drawn(walk, "", 120, 40)), (
            "TAN is still asked in this round"
        )
        go_to(walk, "L1", "tan").answer("/")
        walk.answer("3")  # could not
        go_to(walk, "T01", "do")
        assert "NH3-N cannot compute: TAN is 5 h" in plain(walk_drawn(walk, "", 120, 40))


def test_the_site_may_set_how_old_a_part_may_be(tmp_path: Path) -> None:
    longer = CHEMISTRY.replace("[site]", '[site]\nparts_age = "6 h"')
    with opened(tmp_path, longer) as site:
        measured(site, "L1", "tan", 0.4, "2026-05-10T02:00")
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "ph", "7.60")
        assert len(kept(site, "T01", "nh3n")) == 1


def test_after_the_clock_was_set_back_a_reading_still_to_come_is_no_part(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        measured(site, "L1", "tan", 0.4, "2026-05-10T12:00")
        keep_mark(site, "AB")  # the clock is right, says AB: only then is anything kept
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "ph", "7.60")
        assert kept(site, "T01", "nh3n") == []
        said = {s.item.code: s.why for s in derived.states(site, "T01", site.now())}
        assert said["nh3n"] == "TAN is dated 5 h from now: look at the clock"


def test_a_value_from_before_is_not_shown_as_if_it_were_of_now(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "do", "8.0")
        clock_shows(site, "2026-05-10T12:00")
        [state] = [s for s in derived.states(site, "T01", site.now()) if s.item.code == "sat"]
        assert state.why == "Oxygen is 5 h old"


def test_a_number_outside_the_range_of_the_equation_is_not_kept(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "L1", "tan", "0.4")
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "ph", "5.20")  # Emerson's table begins at pH 6
        assert kept(site, "T01", "nh3n") == []
        [state] = [s for s in derived.states(site, "T01", site.now()) if s.item.code == "nh3n"]
        assert "outside 6 to 10" in state.why


def test_a_late_entry_of_an_older_reading_works_nothing_out_anew(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "do", "8.0")
        at = moment("2026-05-10T06:00")
        n = site.record(Entry("reading", "CD", at, site.now(), "T01", "do", "mg/L"),
                        Reading(7.0, "7"))  # fmt: skip
        late = site.reader.readings.seen(n)
        assert late is not None
        assert deriving.follow(site, late, "CD", None) == []


# ---- corrections and undo


def test_a_corrected_part_works_it_out_anew_and_both_stay(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "L1", "tan", "0.4")
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "ph", "7.60")
        [first] = kept(site, "T01", "nh3n")
        walk = go_to(walking(site), "T01", "ph")
        walk.answer("7.40")
        walk.answer("1")  # mis-keyed
        [value] = kept(site, "T01", "nh3n")
        done = working_out.work("ammonia", {"tan": "0.4", "ph": "7.4", "temperature": "16.5"})
        assert value == pytest.approx(done.value)
        ever = worked_out(site, "place, item, value, reason", "readings_ever")
        assert [v for p, i, v, _ in ever if (p, i) == ("T01", "nh3n")] == [first, value]
        assert [r for _, i, _, r in ever if i == "nh3n"] == [None, deriving.CORRECTED]


def test_a_corrected_part_of_the_loop_works_out_every_tank_anew(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        for tank in ("T01", "T02"):
            enter(site, tank, "temp", "16.5")
            enter(site, tank, "ph", "7.60")
        enter(site, "L1", "tan", "0.4")
        walk = go_to(walking(site), "L1", "tan")
        walk.answer("0.2")
        walk.answer("1")
        half = working_out.work("ammonia", {"tan": "0.2", "ph": "7.6", "temperature": "16.5"})
        for tank in ("T01", "T02"):
            assert kept(site, tank, "nh3n") == [pytest.approx(half.value)]


def test_an_undone_part_takes_what_was_worked_out_with_it(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "T01", "temp", "16.5")
        walk = go_to(walking(site), "T01", "do")
        walk.answer("8.0")
        assert len(kept(site, "T01", "sat")) == 1
        walk.undo()
        assert "Undone: T01 Oxygen 8.0" in walk.said.sentence
        assert kept(site, "T01", "sat") == []


def test_a_part_that_was_not_taken_after_all_takes_it_along_too(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "do", "8.0")
        walk = go_to(walking(site), "T01", "do")
        walk.answer("/")
        walk.answer("3")  # could not
        assert kept(site, "T01", "sat") == []


# ---- banded and flagged like a reading


def test_a_flag_of_nh3n_is_said_at_once_with_the_first_response_while_tan_is_in_band(
    tmp_path: Path,
) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        assert "!" not in enter(site, "L1", "tan", "0.45")
        enter(site, "T01", "temp", "16.5")
        said = enter(site, "T01", "ph", "8.30")
        assert said.startswith("!! ACT T01 NH3-N 0.02")
        assert "keep the pH down" in said
        [one] = [w for w in board(site).wrong if w.place == "T01"]
        assert one.flag is Flag.ACT
        assert one.sentence.startswith("NH3-N 0.02")


@pytest.mark.parametrize(("item", "response"), [("temp", " First: Check the heater."), ("ph", "")])
def test_an_item_without_a_first_response_is_told_without_one(
    tmp_path: Path, item: str, response: str
) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        at, unit = site.now(), site.plan.item(item).unit
        entry = Entry("reading", "AB", at, at, "T01", item, unit)
        seen = site.reader.readings.seen(site.record(entry, Reading(9.9, "9.9", flag=3)))
        assert seen is not None
        flag, words = (found := derived.alarm(site, [seen])).flag, found.words
        assert flag is Flag.ACT
        assert words.removesuffix(response).endswith(".")
        assert ("First" in words) == bool(response)


def test_a_measurement_is_one_message_the_worse_of_itself_and_what_follows_from_it(
    tmp_path: Path,
) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "do", "5.9")  # ACT, and 62 % saturation, ACT too
        assert [w.sentence for w in board(site).wrong] == ["Oxygen 5.9 mg/L"]
        enter(site, "T02", "temp", "16.5")
        enter(site, "T02", "do", "7.5")  # in its band, and 79 % of saturation is not
        said = [w.sentence for w in board(site).wrong if w.place == "T02"]
        assert said == ["O2 saturation 79 %"]


@pytest.mark.parametrize(
    ("oxygen", "flag"),
    [("8.1", Flag.OK), ("8.0", Flag.OK), ("7.9", Flag.OK), ("7.8", Flag.WATCH), ("6.6", Flag.ACT)],
)
def test_what_is_worked_out_is_watched_once_it_is_beyond_its_limit_by_more_than_its_parts_shake(
    tmp_path: Path, oxygen: str, flag: Flag
) -> None:
    """85.6, 84.5, 83.5, 82.4 and 69.7 % of saturation, watched below 85 and acted on below 70.

    Oxygen shakes by 0.15 mg/L, half its deadband: 1.6 % of saturation. 69.7 is acted on at once.
    """
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "do", oxygen)
        [state] = [s for s in derived.states(site, "T01", site.now()) if s.item.code == "sat"]
        assert state.seen is not None
        assert Flag(state.seen.flag) is flag


def test_nobody_looked_at_a_tank_because_something_was_worked_out_for_it(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        measured(site, "T01", "temp", 16.5, "2026-05-10T06:10")
        measured(site, "T01", "ph", 7.6, "2026-05-10T06:10")
        enter(site, "L1", "tan", "0.4")
        assert len(kept(site, "T01", "nh3n")) == 1
        [tile] = [t for t in board(site).tiles if t.tank.code == "T01"]
        assert tile.looked == moment("2026-05-10T06:10")


def test_the_walk_shows_what_is_worked_out_under_the_items(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        enter(site, "T01", "temp", "16.5")
        enter(site, "T01", "do", "8.0")
        walk = go_to(walking(site), "T01", "flow")
        for size in ((80, 24), (60, 20), (120, 40)):
            assert "O2 saturation 85 % " in plain(walk_drawn(walk, "", *size))


# ---- the best estimate


def test_two_counts_of_one_round_are_one_count_and_a_census_starts_anew(tmp_path: Path) -> None:
    with opened(tmp_path, CHEMISTRY) as site:
        morts = site.plan.item("morts")
        assert best(site, ["T01"]) == {}

        def moved(what: str, fish: int, when: str) -> None:
            at = moment(when)
            site.record(Entry("movement", "CD", at, at, "T01"), Movement(what, fish))

        def dead(count: int, when: str, number: int) -> None:
            at = moment(when)
            site.record(Entry("reading", "CD", at, at, "T01", "morts", morts.unit, number),
                        Reading(float(count), ""))  # fmt: skip

        dead(7, "2026-04-30T07:00", 9)  # of fish that were there before
        moved("stocked", 1000, "2026-05-01T08:00")
        dead(64, "2026-05-02T07:00", 1)
        dead(60, "2026-05-02T07:01", 1)  # counted again
        dead(5, "2026-05-02T15:00", 2)
        moved("sampled", 20, "2026-05-03T13:00")
        stocked = Best(1000 - 60 - 5 - 20, moment("2026-05-01T08:00"), None, by_census=False)
        assert best(site, ["T01"]) == {"T01": stocked}
        moved("census", 900, "2026-05-04T08:00")
        dead(2, "2026-05-04T15:00", 3)
        assert best(site, ["T01"])["T01"].fish == 898
        dead(1000, "2026-05-05T07:00", 4)  # more than there were by the book
        assert best(site, ["T01"])["T01"].fish == 0
