"""Counts of the dead as the record holds them: what is gathered, the demo's season, chance."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from mortality_support import Found, chance_seasons, replay
from site_support import SMALL, asked_of, moment, opened, standing_at
from tankwalk.ledger.entries import Entry, Movement, Reading, Round
from tankwalk.practice.judging.dead.counts import gather
from tankwalk.practice.judging.dead.mortality import fitted, judge_count
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.past.dead_usual import usual_now, usual_then
from tankwalk.practice.site import Site

# ---- what the record holds

MORE_TANKS = "".join(
    f'[[tank]]\ncode = "{code}"\nloop = "L1"\nvolume = "{volume} L"\nlot = "{lot}"\n{more}'
    for code, volume, lot, more in (
        ("T03", 200, "YOUNG", ""),
        ("T04", 220, "YOUNG", ""),
        ("BIG", 900, "YOUNG", ""),
        ("AGED", 220, "OLD", ""),
        ("SICK", 220, "YOUNG", "quarantine = true\n"),
        ("BARE", 220, "EGGS", ""),
    )
)
SIPHON = (
    '[[item]]\ncode = "siphoned"\nlabel = "Siphoned"\nkind = "choice"\nchoices = ["yes", "no"]\n'
)
PLAN = SMALL.replace('[[instrument]]\ncode = "A"', f'{MORE_TANKS}[[instrument]]\ncode = "A"', 1)
PLAN = PLAN.replace('[[item]]\ncode = "morts"', f'{SIPHON}[[item]]\ncode = "morts"', 1)


@contextmanager
def room(folder: Path) -> Iterator[Site]:
    """Tanks of one lot, and some that are no sisters of theirs."""
    with opened(folder / "site", PLAN) as site:
        yield site


def begun(site: Site, number: int, when: str, code: str = "am") -> None:
    """A round that was opened."""
    at = moment(when)
    site.record(Entry("round", "AB", at, at, "site", round=number), Round(number, code, "open"))


def dead(site: Site, place: str, fish: int | None, when: str, number: int | None = None) -> int:
    """A count in the record."""
    at, unit = moment(when), site.plan.item("morts").unit
    why = None if fish is not None else "not looked"
    entry = Entry("reading", "CD", at, at, place, "morts", unit, number)
    return site.record(entry, Reading(fish, "", qualifier=why))


def test_own_counts_are_those_of_other_rounds_and_the_last_of_each(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        begun(site, 1, "2026-05-09T07:00")
        dead(site, "T01", 99, "2026-04-24T07:00")
        dead(site, "T01", 60, "2026-05-09T07:05", 1)
        dead(site, "T01", 6, "2026-05-09T07:06", 1)
        dead(site, "T01", None, "2026-05-09T15:00")
        dead(site, "T01", 2, "2026-05-09T16:00")
        begun(site, 2, "2026-05-10T06:50")
        dead(site, "T01", 64, "2026-05-10T06:58", 2)
        dead(site, "T01", 70, "2026-05-10T07:30")
        here = gather(site, "T01", moment("2026-05-10T07:00"), 2)
        assert here is not None
        assert [(one.part, one.fish, one.who) for one in here.own] == [
            ("am", 6, "CD"),
            ("after noon", 2, "CD"),
        ]
        assert (here.part, here.age, here.first_feeding) == ("am", 9, True)
        assert (here.best, here.siphoned) == (None, None)


def test_first_feeding_is_over_by_the_profile_of_the_lots_own_species(tmp_path: Path) -> None:
    other = PLAN.replace('"walleye"', '"pikeperch"')  # first feeding from 5 to 14 dph, not 2 to 12
    with opened(tmp_path / "site", other) as site:
        begun(site, 1, "2026-05-14T06:50")
        here = gather(site, "T01", moment("2026-05-14T07:00"), 1)
        assert here is not None
        assert (here.age, here.first_feeding) == (13, False)


def test_sisters_are_tanks_of_one_age_and_size_in_this_round(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        for number, day in ((1, "09"), (2, "10")):
            begun(site, number, f"2026-05-{day}T06:50")
            for nth, place in enumerate(("T02", "T03", "T04", "BIG", "AGED", "SICK", "BARE")):
                dead(site, place, 10 * number + nth, f"2026-05-{day}T07:00", number)
        dead(site, "T04", 5, "2026-05-10T07:30", 2)
        here = gather(site, "T01", moment("2026-05-10T08:00"), 2)
        assert here is not None
        assert {one.code: [c.fish for c in one.counts] for one in here.sisters} == {
            "T02": [10, 20], "T03": [11, 21], "T04": [12, 5],
        }  # fmt: skip
        early = gather(site, "T01", moment("2026-05-10T06:55"), 2)
        assert early is not None
        assert [[c.fish for c in one.counts] for one in early.sisters] == [[10], [11], [12]]


def test_whether_a_tank_was_siphoned_is_what_was_answered_last_today(tmp_path: Path) -> None:
    with room(tmp_path) as site:

        def answered(choice: int | None, when: str) -> None:
            at, why = moment(when), None if choice is not None else "not looked"
            entry = Entry("reading", "CD", at, at, "T01", "siphoned", "")
            site.record(entry, Reading(choice, "", qualifier=why))

        def siphoned(when: str) -> bool | None:
            here = gather(site, "T01", moment(when), None)
            assert here is not None
            return here.siphoned

        assert siphoned("2026-05-09T06:50") is None
        answered(1, "2026-05-09T07:00")
        assert siphoned("2026-05-09T07:01") is False
        answered(0, "2026-05-09T15:00")
        assert siphoned("2026-05-09T15:01") is True
        assert siphoned("2026-05-10T06:50") is None
        answered(None, "2026-05-10T07:00")
        assert siphoned("2026-05-10T07:01") is None


def test_the_book_is_that_of_the_morning(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        at = moment("2026-05-08T09:00")
        site.record(Entry("movement", "AB", at, at, "T01"), Movement("stocked", 1000))
        dead(site, "T01", 10, "2026-05-09T07:00")
        begun(site, 2, "2026-05-10T06:50")
        dead(site, "T01", 30, "2026-05-10T06:58", 2)
        here = gather(site, "T01", moment("2026-05-10T09:00"), 2)
        assert here is not None
        assert (here.best, here.best_days) == (990, 2.0)


def test_what_was_answered_to_siphoned_today_is_known(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        for day, value, expected in (("09", 0.0, None), ("10", 1.0, False), ("10", 0.0, True)):
            at = moment(f"2026-05-{day}T07:00")
            unit = site.plan.item("siphoned").unit
            site.record(Entry("reading", "CD", at, at, "T01", "siphoned", unit), Reading(value, ""))
            here = gather(site, "T01", moment("2026-05-10T08:00"), None)
            assert here is not None
            assert here.siphoned is expected


def test_what_is_no_tank_of_the_plan_is_not_judged(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        assert judge_count(site, "L1", 500, moment("2026-05-10T07:00"), None) is None
        assert judge_count(site, "BARE", 500, moment("2026-05-10T07:00"), None) is None


def test_a_walk_can_ask_before_it_keeps(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        for day in ("07", "08", "09"):
            begun(site, int(day), f"2026-05-{day}T06:50")
            dead(site, "T01", 9, f"2026-05-{day}T07:10", int(day))
        walk = standing_at(site, "T01", "morts")
        found = judge_count(site, "T01", 64, site.now(), walk.round.number)
        assert found is not None
        assert (found.rule, found.flag) == (Rule.JUMP, Flag.WATCH), "9 dph, no sisters yet"
        assert judge_count(site, "T01", 9, site.now(), walk.round.number) is None


# ---- what is usual, as the walk and the tank's page show it


def test_what_is_shown_as_usual_is_what_a_count_is_judged_against(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        for day in ("05", "06", "07", "08", "09"):
            begun(site, int(day), f"2026-05-{day}T06:50")
            for place, fish in (("T01", 9), ("T02", 8), ("T03", 10)):
                dead(site, place, fish, f"2026-05-{day}T07:10", int(day))
        begun(site, 10, "2026-05-10T06:50")
        dead(site, "T02", 30, "2026-05-10T06:55", 10)
        now = moment("2026-05-10T07:00")
        known = gather(site, "T01", now, 10)
        shown = usual_now(site, "T01", now, 10)
        assert known is not None
        assert shown is not None
        held = fitted(12, known, site.plan.judging).windows[0].expected.mean
        assert shown.mean == pytest.approx(held, rel=0.02)
        assert shown.low < shown.mean < shown.high
        assert shown.mean > 12, "the tank beside it has thirty today"
        dead(site, "T01", 64, "2026-05-10T07:01", 10)
        assert usual_now(site, "T01", now, 10) == shown, "its own count has no say"
        dead(site, "T03", 31, "2026-05-10T07:02", 10)
        then = usual_then(site, "T01", moment("2026-05-10T12:00"))
        assert then is not None
        assert then.mean > shown.mean, "the whole round is known"
        before = usual_then(site, "T01", moment("2026-05-09T12:00"))
        assert before is not None
        assert before.low <= 9 <= before.high


def test_what_is_usual_of_a_day_is_that_of_its_rounds_together(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        for day in range(1, 10):
            for number, (hour, fish) in enumerate((("07", 4), ("15", 20))):
                when = f"2026-05-{day:02}T{hour}:10"
                begun(site, 2 * day + number, when, ("am", "pm")[number])
                dead(site, "T01", fish, when, 2 * day + number)
        morning = usual_then(site, "T01", moment("2026-05-09T12:00"))
        evening = usual_then(site, "T01", moment("2026-05-09T20:00"))
        assert morning is not None
        assert evening is not None
        assert morning.mean == pytest.approx(4, abs=1)
        assert evening.mean == pytest.approx(24, abs=3)


def test_nothing_is_usual_where_nothing_is_known(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        begun(site, 1, "2026-05-10T06:50")
        assert usual_now(site, "T01", moment("2026-05-10T07:00"), 1) is None
        assert usual_then(site, "T01", moment("2026-05-10T07:00")) is None
        assert usual_then(site, "L1", moment("2026-05-10T07:00")) is None


def test_the_walk_reads_what_is_usual_once_until_another_tank_is_counted(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        for day in ("07", "08", "09"):
            begun(site, int(day), f"2026-05-{day}T06:50")
            dead(site, "T01", 9, f"2026-05-{day}T07:10", int(day))
        walk = standing_at(site, "T01", "morts")
        slot = walk.slots[walk.at]
        first = walk.usual_dead(slot)
        assert first is not None
        with asked_of(site.ledger.db) as asked:
            assert walk.usual_dead(slot) is first
        assert asked == []


# ---- the demo's season


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> list[Found]:
    """Everything said of the demo's 710 counts as they were entered, over thirty days."""
    return replay(tmp_path_factory.mktemp("season"))


def test_the_dead_of_t07_are_acted_on_and_the_copied_count_is_asked(season: list[Found]) -> None:
    at_t07 = [(f.at.hm(), f.signal.rule, f.signal.flag) for f in season if f.day == 21]
    assert at_t07 == [
        ("06:58", Rule.JUMP, Flag.ACT),
        ("06:58", Rule.JUMP, Flag.ACT),  # counted again: the same, and not "counted twice"
        ("15:20", Rule.TWICE, Flag.ACT),
    ]
    assert all(found.place == "T07" for found in season if found.day == 21)
    words = [found.signal.sentence for found in season if found.day == 21]
    assert words[0] == "64 dead, 7 times its usual 10 a round; too few other tanks counted."
    assert words[2].startswith("64 dead again: already counted at 06:58 by PB? If these are others")


def test_the_die_off_raises_nothing_but_the_count_that_was_mis_keyed_there(
    season: list[Found],
) -> None:
    """5 keyed for what the sisters have, 40, in the die-off of 7 to 12 dph; corrected at 07:55."""
    asked = [found for found in season if found.day in range(4, 10)]
    assert [(f.day, f.place, f.fish, f.signal.rule, f.signal.flag) for f in asked] == [
        (9, "T08", 5, Rule.TOO_FEW, Flag.CHECK)
    ]


def test_a_tank_not_siphoned_that_was_counted_later_raises_nothing(season: list[Found]) -> None:
    """T01 on day 16: "siphoned: no" is flagged as itself; the count, 13 as ever, is no signal.

    0 would have been asked about, with "The record says no."
    """
    assert not [found for found in season if found.day == 16]


def test_ordinary_days_are_quiet(season: list[Found]) -> None:
    """Of 30 days, 28 say nothing.

    The first afternoon counted the dead of a whole day, so that the next morning had as many by
    chance: after a night nobody is asked whether it is the same count.
    """
    days = {day: [f for f in season if f.day == day] for day in range(1, 31)}
    print({day: len(found) for day, found in days.items() if found})
    loud = [day for day, found in days.items() if found]
    assert loud == [9, 21]


# ---- chance


@pytest.mark.long
def test_by_chance_few_cry_and_most_trebled_counts_are_found() -> None:
    """40 seasons by chance, variance twice the mean: see docs/mortality.md for the figures."""
    tally = chance_seasons(range(40), 2.0)
    print(tally, tally.a_tank_day)
    assert tally.days > 12_000
    assert 12 * tally.a_tank_day < 0.12
    assert tally.found / tally.planted > 0.45
    assert tally.caught / tally.risen > 0.75


def test_a_band_of_the_dead_holds_what_share_of_the_fish_left_is_watched(tmp_path: Path) -> None:
    ours = 'item = "morts"\nwatch_share_percent = 1\nact_share_percent = 4\n'
    with opened(
        tmp_path / "site", PLAN.replace('item = "morts"\nwatch_above', f"{ours}watch_above")
    ) as site:
        known = gather(site, "T01", site.now(), None)
        assert known is not None
        assert known.shares == (1.0, 4.0)
