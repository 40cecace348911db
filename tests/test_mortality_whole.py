"""The dead of a whole round: the tank walked first, a treatment, a lot; age is quiet."""

from __future__ import annotations

from pathlib import Path

from mortality_support import NOW, days_before
from site_support import SMALL, moment, opened
from tankwalk.ledger.entries import Entry, Reading, Round
from tankwalk.plan.judging import JudgingLimits
from tankwalk.practice.judging.dead.counts import Counted, LaidOut, Tally, laid_out
from tankwalk.practice.judging.dead.mortality import judge_count
from tankwalk.practice.judging.dead.whole import of_lot, of_treatments, whole_round
from tankwalk.practice.judging.rules import Rule, Shared
from tankwalk.practice.judging.standing.flags import standing
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.judging.whole import judge_whole
from tankwalk.practice.site import Site

LIMITS = JudgingLimits()
CALM = (9, 11, 10, 8, 10, 12, 9, 10, 11, 10)
RISEN = (9, 11, 10, 8, 10, 12, 21, 19, 22, 20)


def room(age: int | None, *tanks: tuple[str, tuple[int, ...]]) -> LaidOut:
    """Tanks T01 on, each with its treatment and its mornings, the last of them today's."""
    tallies = [
        Tally(
            f"T{nth:02}",
            arm,
            tuple(
                Counted(days_before(NOW, len(counts) - 1 - day), "am", fish, "JQ")
                for day, fish in enumerate(counts)
            ),
        )
        for nth, (arm, counts) in enumerate(tanks, 1)
    ]
    return laid_out(tallies, NOW, "am", age, LIMITS.clip)


def treatments(*tanks: tuple[str, tuple[int, ...]]) -> list[tuple[str, tuple[str, ...]]]:
    return [(one.sentence, one.places) for one in of_treatments(room(20, *tanks), LIMITS)]


# ---- a treatment


def test_a_treatment_of_which_most_tanks_die_faster_is_one_flag() -> None:
    found = treatments(
        *[("E10", CALM)] * 4, ("M14", RISEN), ("M14", CALM), *[("M14", RISEN)] * 2,
        *[("L18", CALM)] * 4,
    )  # fmt: skip
    assert found == [
        (
            "M14: 3 of 4 tanks lose more than they should beside the other treatments since "
            "Thu 7 May 06:58: 286 dead in 4 rounds, 1.7 times the usual 165.",
            ("T05", "T07", "T08"),
        )
    ]


def test_one_tank_of_four_is_no_treatment_and_all_tanks_are_none_either() -> None:
    assert not treatments(*[("E10", CALM)] * 4, ("M14", RISEN), *[("M14", CALM)] * 3)
    assert not treatments(*[("E10", RISEN)] * 4, *[("M14", RISEN)] * 4)
    assert not treatments(*[("M14", RISEN)] * 4), "nobody to hold it against"


def test_what_is_usual_of_a_treatment_is_told_by_four_rounds_at_least() -> None:
    laid = room(20, *[("E10", CALM)] * 4, *[("M14", CALM)] * 4)
    assert [one.first for one in laid.room.of_arm(1)] == [9, 8, 7, 6, 5, 4]


def test_a_treatment_that_always_loses_more_is_usual_at_that() -> None:
    twice = tuple(2 * fish for fish in CALM)
    assert not treatments(*[("E10", CALM)] * 4, *[("M14", twice)] * 4)


# ---- a lot


def lot(age: int | None, *tanks: tuple[int, ...]) -> tuple[Rule, str] | None:
    found = of_lot("YP-1", room(age, *[("", counts) for counts in tanks]), LIMITS)
    return None if found is None else (found.rule, found.sentence)


LEAPT = (9, 11, 10, 8, 10, 12, 26, 29, 31, 30)


def test_a_lot_of_which_most_tanks_die_faster_is_one_flag() -> None:
    assert lot(20, *[LEAPT] * 5, CALM) == (
        Rule.LOT,
        "Lot YP-1: 5 of 6 tanks lose more than their age explains since Fri 8 May 06:58: "
        "481 dead in 3 rounds, 2.7 times the usual 180.",
    )
    assert Rule.LOT.shared is Shared.LOT


def test_a_lot_that_leapt_today_alone_is_told_of_one_round() -> None:
    today = (*CALM[:-1], 60)
    found = lot(20, *[today] * 5, CALM)
    assert found is not None
    assert "dead in 1 round, " in found[1]


def test_a_rise_that_age_explains_is_quiet() -> None:
    """7 to 12 dph: larvae that never fed die, in all tanks."""
    assert lot(10, *[LEAPT] * 6) is None
    assert lot(None, *[LEAPT] * 6) is not None


def test_less_than_twice_is_no_lot_nor_are_two_tanks() -> None:
    assert lot(20, *[(9, 11, 10, 8, 10, 12, 15, 14, 16, 15)] * 6) is None
    assert lot(20, LEAPT, LEAPT) is None


# ---- in the record

TANKS = "".join(
    f'[[tank]]\ncode = "{code}"\nloop = "L1"\nvolume = "220 L"\nlot = "YOUNG"\n'
    for code in ("T03", "T04", "T05")
)
PLAN = SMALL.replace('[[instrument]]\ncode = "A"', f'{TANKS}[[instrument]]\ncode = "A"', 1)


def counted(site: Site, number: int, when: str, fish: dict[str, int], flag: Flag = Flag.OK) -> None:
    """A round of the morning and what each tank had, in this order; `flag` what the last is."""
    at = moment(when)
    site.record(Entry("round", "AB", at, at, "site", round=number), Round(number, "am", "open"))
    unit = site.plan.item("morts").unit
    for nth, (place, dead) in enumerate(fish.items()):
        seen = at._replace(utc=at.utc + 60 * (nth + 1))
        entry = Entry("reading", "AB", seen, seen, place, "morts", unit, number)
        last = nth == len(fish) - 1
        site.record(entry, Reading(dead, "", flag=flag if last else Flag.OK))


def test_the_tank_that_is_walked_first_is_judged_when_all_are_counted(tmp_path: Path) -> None:
    """At 9 dph nobody knows before the others are counted what this day is: 30 may be its age."""
    with opened(tmp_path / "site", PLAN) as site:
        calm = {"T01": 9, "T02": 10, "T03": 9, "T04": 11, "T05": 10}
        for number, day in enumerate(("05", "06", "07", "08", "09"), 1):
            counted(site, number, f"2026-05-{day}T07:00", calm)
        counted(site, 6, "2026-05-10T06:50", {"T01": 32, **dict(list(calm.items())[1:])})
        assert judge_count(site, "T01", 32, moment("2026-05-10T06:51"), 6) is None
        [found] = whole_round(site, 6)
        assert (found.key.code, found.rule, found.flag) == ("T01", Rule.JUMP, Flag.ACT)
        assert found.sentence == (
            "32 dead, 3 times its usual 9 a round; other tanks 9 to 11, with the whole round "
            "counted."
        )
        assert [one.key.code for one in judge_whole(site, 6, "AB")] == ["T01"]
        assert [(one.place, one.flag) for one in standing(site)] == [("T01", Flag.ACT)]


def test_what_was_said_at_the_tank_is_told_again_by_the_whole_round_only_where_it_is_worse(
    tmp_path: Path,
) -> None:
    """T05 is walked last: all others were counted when it was judged."""
    with opened(tmp_path / "site", PLAN) as site:
        calm = {"T01": 9, "T02": 10, "T03": 9, "T04": 11, "T05": 10}
        for number, day in enumerate(("05", "06", "07", "08", "09"), 1):
            counted(site, number, f"2026-05-{day}T07:00", calm)
        for number, flag in enumerate((Flag.WATCH, Flag.ACT), 6):
            counted(site, number, "2026-05-10T06:50", calm | {"T05": 40}, flag)
            found = [(one.key.code, one.flag) for one in whole_round(site, number)]
            assert found == ([("T05", Flag.ACT)] if flag is Flag.WATCH else [])


def test_a_calm_round_and_a_round_without_counts_show_nothing(tmp_path: Path) -> None:
    with opened(tmp_path / "site", PLAN) as site:
        calm = {"T01": 9, "T02": 10, "T03": 9, "T04": 11, "T05": 10}
        for number, day in enumerate(("08", "09"), 1):
            counted(site, number, f"2026-05-{day}T07:00", calm)
        assert whole_round(site, 2) == ()
        counted(site, 3, "2026-05-10T06:50", {})
        assert whole_round(site, 3) == ()
        assert whole_round(site, 99) == ()
