"""A meter that fails its check takes its flags with it: one line names it, none is born later."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import NOW, moment, opened
from tankwalk.ledger.entries import Entry, Reading
from tankwalk.pages.board import draw
from tankwalk.practice.board import board
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.standing import condemned, flags
from tankwalk.practice.judging.standing.found import Found, Key, keep_found
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meters import meter_checks, suspects
from tankwalk.practice.round.rounds import begin, sign
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site
from weighing_support import BY_B, PLAN, TANKS, checked, later, remembered

CHECKS = """
check = "moist air"
checks = "do"
reference = 100
within = 2
check_unit = "%"
"""
METER_B = 'code = "B"\nkind = "oxygen meter"\n'
KNOWN = PLAN.replace(METER_B, f"{METER_B.rstrip()}{CHECKS}")
WORKED = KNOWN.replace('tank = ["do"]', 'tank = ["temp", "do"]') + (
    '\n[[band]]\nitem = "sat"\nwatch_below = 80\nact_below = 60\n'
)
LOW = 6.4
"""What meter B shows where the water has 8.6: below the band."""
IN_BAND = 7.9
"""Lower than any tank was, and still in band: only the model of changes tells it."""


@pytest.fixture(params=[KNOWN, WORKED], ids=["read", "worked out too"])
def site(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Site]:
    with opened(tmp_path / "room", request.param, NOW) as one:
        for hours in (96, 88, 72, 64, 48, 40, 24, 16):
            for tank in TANKS:
                remembered(one, tank, "temp", 16.5, hours)
                remembered(one, tank, "do", 8.6, hours)
        for meter in "AB":
            checked(one, meter, hours_ago=70)
        yield one


def a_round(site: Site, shows: dict[str, float]) -> int:
    """The morning round: oxygen as `shows`, else as usual; a second reading reads the same.

    Returns its number.
    """
    walk = Walk(site, begin(site, site.plan.checklist("am"), "AB"), "AB")
    while not walk.at_end:
        oxygen = walk.slot.item.code == "do"
        walk.answer(f"{shows.get(walk.slot.place, 8.6):.1f}" if oxygen else "16.5")
    sign(site, walk.round, "AB")
    return walk.round.number


def wrong(site: Site) -> list[tuple[str, str]]:
    return [(one.place, one.sentence) for one in board(site).wrong]


def test_a_meter_that_drifts_fails_is_mended_and_passes_leaves_no_flag_of_a_tank(
    site: Site,
) -> None:
    a_round(site, dict.fromkeys(BY_B, LOW))
    assert [place for place, _ in wrong(site)] == ["meter B"]
    later(site, 1)
    meter_checks.check(site, "MV", "B", as_found=74.0)
    unknown = (
        "meter B",
        "oxygen meter B failed its check 08:00: Oxygen of T04 T05 T06 T10 T11 T12 is not known",
    )
    assert wrong(site) == [unknown]
    [one] = board(site).incidents
    assert [step.words for step in one.steps] == [condemned.DO]
    later(site, 1)
    meter_checks.leave(site, "MV", "B", as_left=100.0)
    mended = (
        "oxygen meter B passed its check 09:00: read Oxygen of T04 T05 T06 T10 T11 T12 again, "
        "it had failed 08:00"
    )
    assert wrong(site) == [("meter B", mended)]  # nobody knows the tanks yet
    later(site, 8)
    a_round(site, {})
    assert wrong(site) == []
    assert "in band once" not in str(draw(board(site), 80, 40))


def test_the_line_names_the_kind_of_the_meter_that_failed_and_of_no_other(tmp_path: Path) -> None:
    plan = KNOWN.replace(
        '[[instrument]]\ncode = "A"', '[[instrument]]\ncode = "P"\nkind = "pH meter"\n'
        '[[instrument]]\ncode = "A"', 1,
    )  # fmt: skip
    with opened(tmp_path / "room", plan, NOW) as site:
        a_round(site, dict.fromkeys(BY_B, LOW))
        later(site, 1)
        meter_checks.check(site, "MV", "B", as_found=74.0)
        [(place, sentence)] = wrong(site)
    assert place == "meter B"
    assert sentence.startswith("oxygen meter B failed its check 08:00: Oxygen of ")


def test_what_is_worked_out_from_a_flagged_value_is_no_second_flag(site: Site) -> None:
    a_round(site, {"T05": LOW, "T08": IN_BAND})
    assert sorted(place for place, _ in wrong(site)) == ["T05", "T08"]
    assert all(sentence.startswith("Oxygen") for _, sentence in wrong(site))


def test_a_tank_that_is_low_by_the_mended_meter_too_is_a_flag_of_its_own(site: Site) -> None:
    a_round(site, dict.fromkeys(BY_B, LOW))
    later(site, 1)
    meter_checks.check(site, "MV", "B", as_found=74.0, as_left=100.0)
    later(site, 8)
    a_round(site, {"T05": LOW})
    [(place, sentence)] = wrong(site)
    assert place == "T05"
    assert "saturation" in sentence or sentence == "Oxygen 6.4 mg/L"


def test_the_flag_of_before_stays_and_what_the_bad_meter_read_since_does_not_end_it(
    site: Site,
) -> None:
    a_round(site, {"T05": 5.6} | dict.fromkeys(("T01",), 8.6))  # B, before anything is marked
    later(site, 1)
    now = site.now()
    for _ in range(2):
        later(site, 1)
        now = site.now()
        site.record(
            Entry("reading", "AB", now, now, "T01", "do", "mg/L"),
            Reading(6.5, "6.5", instrument="A", flag=2),
        )
    before = wrong(site)
    later(site, 1)
    meter_checks.check(site, "MV", "B", as_found=74.0)
    assert ("T01", "Oxygen 6.5 mg/L") in before
    assert ("T01", "Oxygen 6.5 mg/L") in wrong(site)
    assert not [place for place, _ in wrong(site) if place == "T05"]


def test_what_a_meter_read_before_it_failed_ten_days_ago_is_not_known_to_this_day(
    site: Site,
) -> None:
    a_round(site, dict.fromkeys(BY_B, LOW))
    later(site, 1)
    meter_checks.check(site, "MV", "B", as_found=74.0)
    later(site, 10 * 24)
    [(place, sentence)] = wrong(site)
    assert place == "meter B"
    assert sentence.endswith("Oxygen of T04 T05 T06 T10 T11 T12 is not known")


def test_taking_the_mark_back_brings_the_flags_back(site: Site) -> None:
    a_round(site, {"T05": LOW})
    before = wrong(site)
    assert [place for place, _ in before] == ["T05"]
    later(site, 1)
    meter_checks.check(site, "MV", "B", as_found=74.0, as_left=100.0)
    assert [place for place, _ in wrong(site)] == ["meter B"]
    [mark] = site.reader.meters.marks()
    suspects.lift(site, "AB", mark.n, "the cap was on")
    assert wrong(site) == before


def test_a_person_closes_the_line_of_what_is_not_known(site: Site) -> None:
    a_round(site, {"T05": LOW})
    later(site, 1)
    meter_checks.check(site, "MV", "B", as_found=74.0)
    [one] = [w for w in flags.standing(site) if w.key.kind == "meter"]
    assert (one.flag, one.tanks) == (Flag.WATCH, BY_B)
    flags.close(site, one, "MV", "read by eye, fish are fine")
    assert wrong(site) == []


def test_what_a_meter_read_before_it_passed_as_found_is_not_born_in_band_once(site: Site) -> None:
    a_round(site, dict.fromkeys(BY_B, LOW))
    later(site, 8)
    a_round(site, {})
    assert [place for place, _ in wrong(site)] == ["meter B"]
    later(site, 1)
    meter_checks.check(site, "MV", "B", as_found=100.0)
    assert wrong(site) == []
    assert moment(NOW).utc < site.now().utc


def test_what_a_whole_round_told_in_band_goes_too(site: Site) -> None:
    a_round(site, {"T05": IN_BAND})
    before = wrong(site)
    assert [place for place, _ in before] == ["T05"]
    assert "down 0.7" in before[0][1]
    later(site, 1)
    meter_checks.check(site, "MV", "B", as_found=92.0, as_left=100.0)
    assert [place for place, _ in wrong(site)] == ["meter B"]
    later(site, 8)
    a_round(site, {})
    assert wrong(site) == []


def test_tanks_of_which_only_a_whole_round_told_are_not_known_either(site: Site) -> None:
    number = a_round(site, {})
    told = Found(
        Key("place", "T04", "do"), Rule.TANK_DOWN, Flag.WATCH, "T04 sinks", "", ("T04",), "do"
    )
    keep_found(site, "AB", told, number)
    assert wrong(site) == [("T04", "T04 sinks")]
    later(site, 1)
    meter_checks.check(site, "MV", "B", as_found=92.0)
    unknown = "oxygen meter B failed its check 08:00: Oxygen of T04 T05 T06 T10 T11 T12"
    assert wrong(site) == [("meter B", f"{unknown} is not known")]


def test_the_mended_meter_that_finds_the_same_raises_it_anew(site: Site) -> None:
    for hours in (168, 160, 144, 136, 120, 112):  # looks enough from before B passed last
        for tank in TANKS:
            remembered(site, tank, "do", 8.6, hours)
    a_round(site, {"T05": IN_BAND})
    later(site, 1)
    meter_checks.check(site, "MV", "B", as_found=92.0, as_left=100.0)
    later(site, 8)
    begun = site.now()
    a_round(site, {"T05": IN_BAND})
    [one] = board(site).wrong
    assert (one.place, one.flag) == ("T05", Flag.WATCH)
    assert one.raised.utc >= begun.utc
    [look] = site.reader.readings.looks("T05", "do", "mg/L", 1)
    assert look.flag == Flag.WATCH  # at the tank it is news: what was told before counts no more


def test_what_a_good_meter_bore_out_before_the_check_failed_stays(site: Site) -> None:
    a_round(site, {"T05": IN_BAND})
    later(site, 1)
    now = site.now()
    site.record(
        Entry("reading", "AB", now, now, "T05", "do", "mg/L"),
        Reading(IN_BAND, "7.9", instrument="A", flag=1),
    )
    later(site, 1)
    meter_checks.check(site, "MV", "B", as_found=92.0, as_left=100.0)
    assert "T05" in [place for place, _ in wrong(site)]


def test_a_look_after_the_check_failed_does_not_bring_back_what_was_told_before(
    site: Site,
) -> None:
    a_round(site, {"T05": IN_BAND})
    later(site, 1)
    meter_checks.check(site, "MV", "B", as_found=92.0)
    later(site, 1)
    now = site.now()
    site.record(
        Entry("reading", "AB", now, now, "T05", "do", "mg/L"),
        Reading(8.6, "8.6", instrument="A", flag=1),
    )
    assert "T05" not in [place for place, _ in wrong(site)]


def test_what_was_worked_out_is_condemned_by_a_part_that_nobody_asked_about(
    tmp_path: Path,
) -> None:
    with opened(tmp_path / "room", WORKED, NOW) as site:
        a_round(site, dict.fromkeys(BY_B, LOW))
        later(site, 1)
        meter_checks.check(site, "MV", "B", as_found=74.0)
        newest = site.reader.readings.newest_of_all()
        known = condemned.Condemned(site, 0)
        marked = {tank for tank in TANKS if known.of(newest[tank, "sat"]) is not None}
        assert marked == set(BY_B)
