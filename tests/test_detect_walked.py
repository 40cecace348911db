"""The bench of walked seasons: what a band told in truth, and a run that is stopped."""

from __future__ import annotations

import pickle
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random
from typing import Any, NamedTuple, cast

import pytest
from detect_ideal import AtRound, Scored
from detect_series import series
from detect_walked import Walked, kept, levels, taken_up
from detecting import told_apart_by

import chance_hall_water
import chance_water
from chance_faults import Dead, Fault, Maker, Waters
from chance_seasons import Cry, Outcome, died_faster, outcome_of, schedule
from chance_site import Stop
from chance_truth import Out, out
from chance_walk import Said, Season, Stood
from site_support import SMALL, go_to, opened, walking
from tankwalk.ledger.entries import Entry, Movement
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.site import Site

# ---- what the water was in truth


class Still(NamedTuple):
    """Water of one temperature, as its maker knows it."""

    stops: tuple[Stop, ...]
    temp: float

    @property
    def room(self) -> Still:
        return self

    def holds(self, place: str, item: str, index: int, utc: int) -> float:
        return self.temp


def told_of(site: Site, temp: float) -> Out:
    """What is told of T01's temperature on the board, in water of this temperature."""
    newest = site.reader.readings.newest_of_all()
    one = next(w for w in wrong_now(site, newest, site.now()).wrong if w.place == "T01")
    stop = Stop(0, "am", site.now())
    return out(site, cast(Waters, Still((stop,), temp)), one)


def test_a_value_out_of_band_is_false_only_where_the_water_was_inside(tmp_path: Path) -> None:
    with opened(tmp_path / "room", SMALL, "2026-05-10T07:00") as site:
        walk = go_to(walking(site), "T01", "temp")
        walk.answer("20.4")
        walk.answer("20.4")
        assert told_of(site, 20.4) is Out.TRUTH
        assert told_of(site, 18.0) is Out.NOISE


def test_a_share_of_the_book_that_died_is_so_many_in_truth(tmp_path: Path) -> None:
    with opened(tmp_path / "room", SMALL, "2026-05-10T07:00") as site:
        now = site.now()
        site.record(Entry("movement", "AB", now, now, "T01"), Movement("stocked", 100))
        walk = go_to(walking(site), "T01", "morts")
        walk.answer("10")
        walk.answer("10")
        newest = site.reader.readings.newest_of_all()
        one = next(w for w in wrong_now(site, newest, site.now()).wrong if w.place == "T01")
        assert one.rule is Rule.SHARE
        assert out(site, cast(Waters, Still((), 0.0)), one) is Out.TRUTH


@pytest.mark.parametrize("make", [chance_water.water, chance_hall_water.water])
@pytest.mark.parametrize("item", ["temp", "do", "flow"])
def test_water_holds_what_many_looks_at_it_show_in_the_middle(make: Maker, item: str) -> None:
    water = make(Random(4), Fault.QUIET, 8)
    tank, at = water.room.tanks[0], water.room.stops[2].at.utc
    shown = [water.shows(tank, item, 2, None, at) for _ in range(400)]
    sd = water.truth(tank, item, 2, None, at).sd
    # Five standard errors of a mean of 400.
    assert sum(shown) / 400 == pytest.approx(water.holds(tank, item, 2, at), abs=5 * sd / 20)


def test_a_treatment_that_is_made_to_die_faster_is_told_in_truth() -> None:
    def dead(times: float) -> list[Dead]:
        return [
            Dead(tank, "L1", arm, day, "am", 86400 * day, day, 20, 10,
                 10.0 * (times if arm == "M14" and day > 6 else 1.0), 2.0)
            for day in range(10) for tank, arm in (("T01", "E10"), ("T02", "M14"))
        ]  # fmt: skip

    key = Key("treatment", "M14", "morts")
    stood = Stood(86400 * 9, key, 2, "treatment", "", ("T02",), True)
    assert died_faster(dead(1.5), stood) is Out.TRUTH
    assert died_faster(dead(1.1), stood) is Out.NOISE
    lot = stood._replace(rule="lot", tanks=("T01", "T02"))
    assert died_faster(dead(1.6), lot) is Out.TRUTH
    assert died_faster(dead(1.1), lot) is Out.NOISE


# ---- what could be told apart by then


def test_a_meter_and_a_loop_the_ideal_finds_as_likely_are_not_told_apart_by_then() -> None:
    season = series("1", Fault.METER_STEP, 8)
    bad = season.planted
    assert bad is not None
    tanks, at = frozenset(bad.tanks), bad.started + 600

    def could(loop: float) -> list[list[AtRound]]:
        meter = Scored("meter", bad.code, "do", tanks, 9.0)
        return [[AtRound(bad.first, at, (meter, Scored("loop", "L1", "do", tanks, loop)))]]

    assert told_apart_by(season, could(7.0), at)
    assert not told_apart_by(season, could(7.5), at)
    assert not told_apart_by(season, could(12.0), at)
    assert not told_apart_by(season, could(0.0), at + 7200)


def test_as_at_another_tank_is_no_question() -> None:
    began = Season(QUIET.kept.room, None, (), (), (), 0, (), (), ())
    said = Said(1778400000, 3, "T05", "do", 1, "meter up", "suspect oxygen meter B")
    both = began._replace(said=(said, said._replace(place="T06", asked=False)))
    assert [cry.rule for cry in outcome_of("1", Fault.QUIET, both).false] == ["meter"]


# ---- a run that is stopped and taken up again


def outcome_with(*cries: Cry, true: tuple[Cry, ...] = ()) -> Outcome:
    return Outcome(
        "1", Fault.QUIET, "", "", "", None, None, False, "", False, None, False, 0, cries, true, 12,
        ("quiet",), {"quiet": 120.0}, (), 100,
    )  # fmt: skip


QUIET = Walked(outcome_with(), series("1", Fault.QUIET, 8), [], True)
WANTED = schedule(4, 1)
HEAD = ("1", "8", "room", "code")
NEVER = 1e12


def seasons(wanted: Sequence[tuple[str, Fault]]) -> Iterator[Walked]:
    for seed, _ in wanted:
        yield QUIET._replace(told=QUIET.told._replace(seed=seed))


def seeds(found: Sequence[Walked]) -> list[str]:
    return [one.told.seed for one in found]


def nobody(wanted: Any) -> Iterator[Walked]:
    raise AssertionError(wanted)


def test_a_run_that_is_cut_gives_the_first_of_its_seasons_and_is_taken_up(tmp_path: Path) -> None:
    file = tmp_path / "kept"
    soon = time.monotonic() + 0.01

    def slowly(wanted: Sequence[tuple[str, Fault]]) -> Iterator[Walked]:
        for one in seasons(wanted):
            time.sleep(0.02)
            yield one

    first = taken_up(file, HEAD, WANTED, slowly, soon)
    assert seeds(first) == ["1/0"]
    assert seeds(taken_up(file, HEAD, WANTED, seasons, NEVER)) == ["1/0", "1/1", "1/2", "1/3"]
    assert seeds(taken_up(file, HEAD, WANTED, nobody, NEVER)) == ["1/0", "1/1", "1/2", "1/3"]


def test_a_season_that_was_cut_while_it_was_written_is_walked_again(tmp_path: Path) -> None:
    file = tmp_path / "kept"
    taken_up(file, HEAD, WANTED[:2], seasons, NEVER)
    file.write_bytes(file.read_bytes()[:-40])
    assert seeds(kept(file, HEAD)) == ["1/0"]
    assert seeds(taken_up(file, HEAD, WANTED, seasons, NEVER)) == ["1/0", "1/1", "1/2", "1/3"]


def test_seasons_of_other_code_are_not_counted_with_these(tmp_path: Path) -> None:
    file = tmp_path / "kept"
    file.write_bytes(pickle.dumps(HEAD))
    with pytest.raises(SystemExit, match="other code"):
        kept(file, ("1", "8", "room", "newer"))


# ---- the table of false alarms


def test_what_a_band_told_in_truth_stands_apart_from_the_false() -> None:
    noise = Cry("quiet", 0, "band", "do", 2, Out.NOISE)
    jump = Cry("quiet", 0, "morts: jump", "morts", 2)
    true = Cry("quiet", 0, "band", "do", 2, Out.TRUTH)
    shown = levels([QUIET._replace(told=outcome_with(noise, jump, true=(true, true)))])
    # Exact limits of a Poisson count of 2 and 1: 0.242 to 7.225, 0.0253 to 5.572 (Garwood 1936,
    # from memory), here in 120 tank-days.
    assert "| **WATCH** | all that are false | 2 | 0.200 (0.024 to 0.722) |" in shown
    assert "| WATCH | band, out by noise | 1 | 0.100 (0.003 to 0.557) |" in shown
    assert "| WATCH | band, out in truth: not false | 2 | 0.200 (0.024 to 0.722) |" in shown
