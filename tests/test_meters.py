"""Meters: checked in moist air, and a check that fails says which readings not to trust.

The outside check of the value of air is the table of EN 25814 / ISO 5814, as printed in the
manuals of two meters: 9.09 mg/L at 20 degC and 760 mmHg (see tests/outside_gases.py).
"""

from __future__ import annotations

import re
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import partial
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from demo_support import STATION, until, with_a_crew_of_twelve
from demo_support import opened as opened_demo
from ledger_support import at, fresh, temp, void
from page_support import due_said, section
from site_support import (
    SMALL,
    clock_shows,
    go_to,
    moment,
    tankwalk,
    walk_drawn,
    walking,
    write_plan,
)
from site_support import opened as opened_in
from tankwalk import text
from tankwalk.clock import FixedClock, Instant, parse_instant, zone
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Calibration, Entry, Reading
from tankwalk.ledger.follow_up_kinds import MayClose
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.store import FILE, Ledger
from tankwalk.pages import glossary, meter_words
from tankwalk.pages import meters as page
from tankwalk.pages.lines import TONES, plain
from tankwalk.practice.board import board
from tankwalk.practice.due import all_due
from tankwalk.practice.meters import meter_checks, moist_air, suspects
from tankwalk.practice.meters.check_talk import Checking, how, typed_check
from tankwalk.practice.meters.meter_checks import check, leave
from tankwalk.practice.meters.meter_view import Shown, check_view
from tankwalk.practice.meters.meter_view import shown as shown_now
from tankwalk.practice.meters.suspects import lift
from tankwalk.practice.site import SITE, Site, open_site
from tankwalk_demo.room import plan
from test_screens import Room, at_the_screen

METER = """
[[instrument]]
code = "A"
kind = "oxygen meter"
check = "moist air"
checks = "do"
reference = 100
within = 2
check_unit = "%"
check_every = "1 d"
[[instrument]]
code = "B"
kind = "oxygen meter"
tanks = ["T02"]
check = "moist air"
checks = "do"
reference = 100
within = 2
check_unit = "%"
check_every = "1 d"
[[instrument]]
code = "S1"
kind = "scale"
check = "100 g weight"
reference = 100
within = 0.02
check_unit = "g"
[[instrument]]
code = "OLD"
kind = "pH meter"
[[instrument]]
code = "M"
kind = "oxygen meter"
check = "moist air"
checks = "do"
reference = 9
within = 0.2
check_unit = "mg/L"
"""

_OLD_METERS = SMALL[SMALL.index("[[instrument]]") : SMALL.index("[[item]]")]

CHECKED = SMALL.replace(_OLD_METERS, METER).replace(
    'initials = "EF"', 'initials = "EF"\nduty = "lead"'
)
"""The small room with meters that are checked, and EF as the lead."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened_in(tmp_path, CHECKED) as found:
        yield found


def read(site: Site, when: str, value: float = 9.2, meter: str = "B", place: str = "T02") -> int:
    """An oxygen reading with a meter."""
    at = moment(when)
    return site.record(
        Entry("reading", "AB", at, at, place, "do", "mg/L"), Reading(value, "", instrument=meter)
    )


def checked(
    site: Site, when: str, found: float, who: str = "AB", code: str = "B"
) -> meter_checks.Checked:
    """A check of a meter at a moment."""
    clock_shows(site, when)
    return check(site, who, code, found)


def suspect(site: Site) -> list[int]:
    """Entries that the view of the record shows as suspect, as any tool reads them."""
    with closing(sqlite3.connect(site.folder / FILE)) as db:
        return [
            n for (n,) in db.execute("SELECT n FROM readings_judged WHERE suspect = 1 ORDER BY n")
        ]


def state(site: Site, code: str) -> meter_checks.MeterState:
    """How a meter stands now."""
    return next(s for s in meter_checks.states(site, site.now()) if s.meter.code == code)


# ---- a check


def test_a_meter_within_its_limits_passes_and_nothing_else_happens(site: Site) -> None:
    read(site, "2026-05-09T07:00")
    found = checked(site, "2026-05-09T08:00", 101.6)
    assert found.sentence == "Meter B, moist air: 101.6 %, within 98 to 102 %: passed."
    assert (found.passed, found.fit, found.failure) == (True, True, meter_checks.Failure())
    assert suspect(site) == []
    assert site.reader.follow_ups.open() == []
    [kept] = site.reader.meters.checks("B")
    assert (kept.what, kept.reference, kept.as_found, kept.unit, kept.passed, kept.who) == (
        "moist air", 100.0, 101.6, "%", True, "AB",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("code", "found", "passes"),
    [
        ("B", 102.0, True),
        ("B", 98.0, True),
        ("B", 102.1, False),
        ("B", 97.9, False),
        ("S1", 100.02, True),
        ("S1", 99.979, False),
        ("b", 100.0, True),
    ],
)
def test_a_value_at_the_limit_passes_and_one_beyond_it_does_not(
    site: Site, code: str, found: float, passes: bool
) -> None:
    assert check(site, "AB", code, found).passed == passes


def test_a_failed_check_marks_what_was_read_since_the_last_pass(site: Site) -> None:
    before = read(site, "2026-05-08T07:00")
    checked(site, "2026-05-08T08:00", 100.4)
    bad = [read(site, f"2026-05-0{day}T{hour}:00") for day in (8, 9) for hour in (10, 15)]
    with_a = read(site, "2026-05-09T15:05", meter="A")
    found = checked(site, "2026-05-09T16:00", 110.0)
    after = read(site, "2026-05-09T16:30")
    assert suspect(site) == bad
    assert found.sentence == (
        "Meter B, moist air: 110.0 %, outside 98 to 102 %: failed. 4 readings of meter B since "
        "Fri 8 May 08:00 are marked suspect; none was changed."
    )
    assert not found.fit
    for n in (before, *bad, with_a, after):
        seen = site.reader.readings.seen(n)
        assert seen is not None
        assert seen.value == 9.2
        assert (suspects.suspect_of(site, seen) is not None) == (n in bad)


def test_a_second_reading_is_marked_with_the_first_and_counted_apart(site: Site) -> None:
    read(site, "2026-05-09T07:00")
    at = moment("2026-05-09T07:01")
    site.record(
        Entry("reading", "AB", at, at, "T02", "do", "mg/L"),
        Reading(9.2, "", instrument="B", recheck=True),
    )
    found = checked(site, "2026-05-09T08:00", 95.0)
    assert "1 reading of meter B (1 taken twice) since" in found.sentence
    assert "is marked suspect; none was changed" in found.sentence
    assert len(suspect(site)) == 2


def test_without_an_earlier_pass_all_it_ever_read_is_suspect(site: Site) -> None:
    first = read(site, "2026-04-30T07:00")
    second = read(site, "2026-05-09T07:00", place="T01")
    found = checked(site, "2026-05-09T08:00", 95.0)
    assert suspect(site) == [first, second]
    assert "2 readings of meter B since Thu 30 Apr 07:00 are marked suspect" in found.sentence


def test_a_meter_that_never_read_anything_gets_a_mark_of_nothing(site: Site) -> None:
    assert "read nothing since Sun 10 May 07:00, so no" in check(site, "AB", "B", 95.0).sentence
    assert suspect(site) == []


def test_a_reading_typed_in_late_from_paper_is_suspect_by_when_it_was_seen(site: Site) -> None:
    checked(site, "2026-05-08T08:00", 100.0)
    checked(site, "2026-05-09T08:00", 90.0)
    late = read(site, "2026-05-08T15:00")
    assert suspect(site) == [late]
    assert state(site, "B").readings == 1


def test_a_scale_that_fails_marks_no_reading_and_is_still_an_action(site: Site) -> None:
    found = check(site, "AB", "S1", 100.5)
    assert found.failure.mark is None
    assert "names no reading that this check concerns: none is marked." in found.sentence
    [action] = site.reader.follow_ups.open()
    assert "Meter S1 failed its check (100 g weight 100.500 g" in action.text


def test_the_lead_gets_one_action_for_a_meter_however_often_it_fails(site: Site) -> None:
    read(site, "2026-05-09T07:00")
    first = checked(site, "2026-05-09T08:00", 95.0)
    second = checked(site, "2026-05-09T08:30", 94.0)
    other = checked(site, "2026-05-09T08:40", 94.0, code="A")
    [one, two] = site.reader.follow_ups.open()
    assert (one.owner, one.rule, one.about, one.opened) == (
        "EF", MayClose.METER, "B", first.failure.follow_up,
    )  # fmt: skip
    assert one.text == (
        "Meter B failed its check (moist air 95.0 %, outside 98 to 102 %): mend it and check it "
        "again; look at its 1 reading since Sat 9 May 07:00"
    )
    assert second.failure.follow_up is None
    assert (two.about, two.opened) == ("A", other.failure.follow_up)


def test_a_check_and_what_follows_are_kept_together_or_not_at_all(site: Site) -> None:
    site.ledger.db.execute(
        "CREATE TEMP TRIGGER broken BEFORE INSERT ON main.closing BEGIN "
        "SELECT RAISE(ABORT, 'the disk broke'); END"
    )
    with pytest.raises(Refusal, match="nothing was kept"):
        check(site, "AB", "B", 95.0)
    site.ledger.db.execute("DROP TRIGGER broken")
    assert site.reader.meters.checks("B") == []
    assert site.reader.meters.marks() == []
    check(site, "AB", "B", 95.0)
    assert len(site.reader.meters.marks()) == 1


@pytest.mark.parametrize(
    ("who", "code", "value", "words"),
    [
        ("AB", "X", 100.0, "'X' is not among the meters of the plan (A, B, S1, OLD, M)"),
        ("ZZ", "B", 100.0, "'ZZ' is not among the people"),
        ("AB", "B", float("nan"), "no number"),
        ("AB", "OLD", 7.0, "The plan says not when meter OLD passes its check"),
    ],
)
def test_what_is_no_check_is_refused_and_nothing_is_kept(
    site: Site, who: str, code: str, value: float, words: str
) -> None:
    with pytest.raises(Refusal) as refused:
        check(site, who, code, value)
    assert words in str(refused.value)
    assert site.ledger.db.execute("SELECT count(*) FROM entry").fetchone()[0] == 0


# ---- as left


def test_a_meter_mended_at_once_is_back_in_service_and_reads_on_trusted(site: Site) -> None:
    bad = read(site, "2026-05-09T07:00")
    clock_shows(site, "2026-05-09T08:00")
    found = check(site, "AB", "B", 93.0, 100.1)
    good = read(site, "2026-05-09T08:10")
    assert (found.passed, found.fit) == (False, True)
    assert found.sentence.endswith(
        "Left at 100.1 %, within 98 to 102 %: meter B is in service, what it reads from now on "
        "counts."
    )
    assert suspect(site) == [bad]
    now = state(site, "B")
    assert (now.off, now.passed, now.as_found, now.readings) == (False, True, 93.0, 1)
    later = checked(site, "2026-05-10T08:00", 90.0)
    assert suspect(site) == [bad, good]
    assert later.failure.readings == 1


def test_a_meter_left_out_of_its_limits_stays_out_of_use(site: Site) -> None:
    found = check(site, "AB", "B", 93.0, 97.0)
    assert not found.fit
    assert "meter B stays out of use" in found.sentence
    assert state(site, "B").off
    clock_shows(site, "2026-05-10T08:00")
    assert leave(site, "CD", "B", 99.5).fit
    assert not state(site, "B").off


def test_as_found_and_as_left_of_a_meter_that_passes_are_one_check(site: Site) -> None:
    assert check(site, "AB", "B", 101.2, 100.0).fit
    [kept] = site.reader.meters.checks("B")
    assert (kept.as_found, kept.as_left, kept.passed) == (101.2, 100.0, True)


def test_a_meter_that_passed_and_was_set_wrong_is_out_of_use_without_a_mark(site: Site) -> None:
    found = check(site, "AB", "B", 101.2, 90.0)
    assert (found.passed, found.fit) == (True, False)
    assert site.reader.meters.marks() == []
    assert state(site, "B").off


# ---- taking a mark back


def test_somebody_else_takes_a_mark_back_and_its_readings_count_again(site: Site) -> None:
    n = read(site, "2026-05-09T07:00")
    found = checked(site, "2026-05-09T08:00", 93.0)
    mark = found.failure.mark
    assert mark is not None
    with pytest.raises(Refusal, match="somebody else takes the mark back"):
        lift(site, "ab", mark, "the cup was dry")
    with pytest.raises(Refusal, match="No reason was given"):
        lift(site, "EF", mark, " \t ")
    with pytest.raises(Refusal, match="no mark that stands"):
        lift(site, "EF", found.entry, "the cup was dry")
    assert suspect(site) == [n]
    lift(site, "EF", mark, "the cup was dry")
    assert suspect(site) == []
    assert state(site, "B").off, "the meter itself has to pass a check"
    with pytest.raises(Refusal, match="no mark that stands"):
        lift(site, "EF", mark, "again")
    kept = site.ledger.db.execute(
        "SELECT kind, who, reason FROM entries WHERE amends = ?", (mark,)
    ).fetchall()
    assert kept == [("void", "EF", "the cup was dry")]


# ---- what stands


def test_a_meter_is_overdue_by_days_of_the_calendar(site: Site) -> None:
    assert state(site, "B").overdue, "never checked, though the plan wants it every day"
    assert meter_words.altered(state(site, "B"), site.now()) == (
        "oxygen meter B has not been checked yet"
    )
    assert meter_checks.altered(site, site.now()) == (), "what is planned is told as due"
    checked(site, "2026-05-08T18:00", 100.0)
    clock_shows(site, "2026-05-09T23:00")
    assert not state(site, "B").overdue, "due today"
    clock_shows(site, "2026-05-10T06:00")
    assert state(site, "B").overdue
    late = due_said(all_due.due_meters(site, site.now()), site.now())[-1]
    assert late == ("oxygen meter B moist air check", "overdue 1 d, last Fri 8 May 18:00")
    assert meter_checks.altered(site, site.now()) == ()
    assert not state(site, "S1").overdue, "the plan does not say how often"


def test_a_meter_that_is_off_is_told_with_what_is_suspect_for_it(site: Site) -> None:
    checked(site, "2026-05-08T08:00", 100.0)
    read(site, "2026-05-08T15:00")
    checked(site, "2026-05-09T08:00", 93.0)
    [off] = [s for s in meter_checks.states(site, site.now(), counting=False) if s.off]
    assert meter_checks.altered(site, site.now()) == (off,)
    assert meter_words.altered(off, site.now()) == (
        "oxygen meter B failed its check Sat 9 May 08:00: 1 reading since Fri 8 May 08:00 suspect"
    )
    checked(site, "2026-05-09T09:00", 100.0)
    assert [s for s in meter_checks.states(site, site.now(), counting=False) if s.off] == []
    assert state(site, "B").readings == 1, "the mark stands on"


def test_an_old_mark_is_not_that_of_a_new_failure(site: Site) -> None:
    read(site, "2026-05-08T07:00")
    checked(site, "2026-05-08T08:00", 93.0)
    checked(site, "2026-05-08T09:00", 100.0)
    again = checked(site, "2026-05-09T09:00", 93.0)
    assert again.failure.mark is not None
    lift(site, "EF", again.failure.mark, "the cup was dry")
    now = state(site, "B")
    assert (now.off, now.mark, now.readings) == (True, None, 1)
    assert meter_words.altered(now, site.now()).endswith("failed its check Sat 9 May 09:00")


def test_what_two_marks_cover_is_counted_once(site: Site) -> None:
    read(site, "2026-05-08T07:00")
    checked(site, "2026-05-08T08:00", 93.0)
    checked(site, "2026-05-08T09:00", 92.0)
    now = state(site, "B")
    assert (len(now.marks), now.readings) == (2, 1)


def test_a_check_typed_in_late_from_paper_is_not_the_newest(site: Site) -> None:
    checked(site, "2026-05-09T08:00", 93.0)
    clock_shows(site, "2026-05-09T09:00")
    before, now = moment("2026-05-08T08:00"), site.now()
    site.record(
        Entry("calibration", "AB", before, now, SITE),
        Calibration("B", "moist air", 100, 100.2, None, "%", True),
    )
    assert state(site, "B").off


def test_drift_is_what_was_found_over_time(site: Site) -> None:
    for day, value in ((6, 100.1), (7, 100.9), (8, 101.7)):
        checked(site, f"2026-05-0{day}T08:00", value)
    clock_shows(site, "2026-05-09T08:00")
    check(site, "AB", "B", 102.6, 100.0)
    found = meter_checks.drift(site, "B")
    assert [(f.value, f.passed) for f in found] == [
        (100.1, True), (100.9, True), (101.7, True), (102.6, False),
    ]  # fmt: skip
    assert [f.at for f in found] == sorted(f.at for f in found)
    assert {f.reference for f in found} == {100.0}


# ---- what air should read


def test_air_at_20_degrees_and_760_mmhg_holds_what_the_printed_table_says(site: Site) -> None:
    air = moist_air.expected_air(site, 20.0, 760.0)
    assert (air.percent, round(air.mg_l, 2)) == (100.0, 9.09)


def test_air_is_by_the_barometer_of_the_room_or_by_the_elevation_and_says_which(
    site: Site,
) -> None:
    typed = moist_air.expected_air(site, 20.0, 741.0)
    assert typed.sentence == (
        "Moist air should read 100 %, or 8.86 mg/L at 20.0 degC and 741 mmHg (by the barometer "
        "of this room)."
    )
    by_height = moist_air.expected_air(site, 20.0)
    assert by_height.pressure == pytest.approx(736.8, abs=0.1)  # 260 m, standard atmosphere
    assert "from the site's elevation of 260 m" in by_height.sentence
    assert by_height.mg_l < 9.0


def test_a_weather_report_s_pressure_is_asked_about_and_one_that_cannot_be_is_refused(
    site: Site,
) -> None:
    assert "is it a weather report's?" in moist_air.expected_air(site, 20.0, 758.0).sentence
    with pytest.raises(Refusal, match="sea-level figure: at 260 m the air has about 737"):
        moist_air.expected_air(site, 20.0, 770.0)
    with pytest.raises(Refusal):
        moist_air.expected_air(site, 20.0, 29.9)  # inches of mercury


def test_a_meter_in_mg_l_is_judged_by_the_air_of_the_day(site: Site) -> None:
    air = moist_air.expected_air(site, 20.0, 741.0)
    assert check(site, "AB", "M", 8.9, reference=air.mg_l).passed
    found = check(site, "AB", "M", 9.2, reference=air.mg_l)
    assert found.sentence.startswith(
        "Meter M, moist air: 9.20 mg/L, outside 8.66 to 9.06 mg/L: failed."
    )


def test_a_check_in_one_line_in_mg_l_goes_by_the_temperature_that_is_typed(site: Site) -> None:
    words = {"found": "8.9", "who": "AB", "temp": "20", "barometer": "741"}
    assert typed_check(site, "M", words).passed
    with pytest.raises(Refusal, match="goes by temperature: add --temp"):
        typed_check(site, "M", {**words, "temp": None})


@pytest.mark.parametrize("value", [float("inf"), float("nan")])
def test_what_no_meter_shows_is_asked_for_again_as_it_shows_it(site: Site, value: float) -> None:
    with pytest.raises(Refusal, match="Type what the meter shows"):
        check(site, "AB", "B", value)


# ---- any order of checks


Act = tuple[str, float]

ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("read"), st.sampled_from((0.0, 1.0))),
        st.tuples(st.just("check"), st.sampled_from((100.0, 110.0))),
        st.tuples(st.just("left"), st.sampled_from((100.0, 110.0))),
    ),
    max_size=14,
)


@contextmanager
def room() -> Iterator[Site]:
    """A site of its own for one draw."""
    with tempfile.TemporaryDirectory() as folder, opened_in(Path(folder), CHECKED) as found:
        yield found


@settings(max_examples=40, deadline=None)
@given(ACTS)
def test_whatever_the_order_the_suspect_are_those_between_the_last_pass_and_a_failure(
    acts: list[Act],
) -> None:
    with room() as site:
        start = moment("2026-05-08T06:00")
        since_pass: list[int] = []
        expected: set[int] = set()
        off = False
        for nth, (kind, value) in enumerate(acts):
            at = Instant(start.utc + 600 * (nth + 1), start.offset)
            site.clock = FixedClock(at)
            if kind == "read":
                place = ("T01", "T02")[int(value)]
                entry = Entry("reading", "AB", at, at, place, "do", "mg/L")
                since_pass.append(site.record(entry, Reading(9.0, "", instrument="B")))
                continue
            if kind == "check":
                passed = check(site, "AB", "B", value).passed
                if not passed:
                    expected |= set(since_pass)
            else:
                passed = leave(site, "AB", "B", value).fit
            off = not passed
            if passed:
                since_pass.clear()
        assert suspect(site) == sorted(expected)
        now = state(site, "B")
        assert now.readings == len(expected)
        assert now.off == off


# ---- the questions behind it


def test_each_meter_has_its_newest_check_that_stands() -> None:
    with fresh() as ledger:
        for minutes, code, passed in ((0, "M1", True), (1, "M2", True), (2, "M1", False)):
            entry = Entry("calibration", "AB", at(minutes), at(minutes))
            kept = Calibration(code, "temp", 20.0, 20.1, None, "degC", passed)
            last = ledger.append(entry, kept)

        def newest() -> dict[str, list[tuple[Instant, bool]]]:
            found = ledger.reader.meters.newest_checks(("M1", "M2", "M3"))
            return {code: [(one.at, one.passed) for one in late] for code, late in found.items()}

        assert newest() == {"M1": [(at(2), False), (at(0), True)], "M2": [(at(1), True)], "M3": []}
        ledger.append(void(3, last))
        assert newest()["M1"] == [(at(0), True)]


def test_readings_with_a_meter_are_those_of_the_item_between_two_seconds_that_stand() -> None:
    def put(minutes: float, meter: str, place: str = "T01") -> int:
        entry, reading = temp(minutes, 17.0, place=place)
        return ledger.append(entry, reading._replace(instrument=meter))

    with fresh() as ledger:
        kept = [put(minutes, "M1") for minutes in (0, 10, 20, 30)]
        put(15, "M2")
        put(16, "M1", "T02")
        ledger.append(void(40, kept[2]))
        found = ledger.reader.meters.readings_with(
            "M1", "temp", "degC", ("T01",), at(0).utc, at(20).utc
        )
        assert [(f.n, f.place, f.value, f.at) for f in found] == [
            (kept[0], "T01", 17.0, at(0)), (kept[1], "T01", 17.0, at(10)),
        ]  # fmt: skip
        assert ledger.reader.meters.first_with("M1", "temp", "degC", ("T02", "T01")) == at(0).utc
        assert ledger.reader.meters.first_with("M3", "temp", "degC", ("T01",)) is None


# ---- the demo's drifting meter (job: DO meter B drifts up, its check is skipped, then fails)

FAILED = "2026-05-02T16:00"


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    """The demo up to the minute of the check that fails, and not the check."""
    saturday = until(parse_instant(FAILED, zone(plan().zone)))
    found = open_site(Path(shutil.copytree(saturday, tmp_path / "site")), STATION, FAILED)
    yield found
    found.close()


def looks_of_b(site: Site) -> list[tuple[int, int]]:
    """Oxygen read with meter B since its last pass: entry, and whether it was a second reading."""
    return site.ledger.db.execute(
        "SELECT n, recheck FROM readings WHERE item = 'do' AND instrument = 'B' AND observed_local "
        "> '2026-04-29 06:40:40' ORDER BY n"
    ).fetchall()


def test_the_failed_check_marks_exactly_the_48_readings_of_meter_b(demo: Site) -> None:
    looks = looks_of_b(demo)
    assert sum(not again for _, again in looks) == 48
    before = demo.ledger.db.execute("SELECT * FROM readings_ever ORDER BY n").fetchall()
    found = check(demo, "PB", "B", 110.0)
    assert found.failure.readings == 48
    assert found.sentence.startswith("Meter B, moist air: 110.0 %, outside 98 to 102 %: failed.")
    assert "48 readings of meter B" in found.sentence
    assert found.sentence.endswith("since Wed 29 Apr 06:40 are marked suspect; none was changed.")
    assert suspect(demo) == [n for n, _ in looks]
    assert demo.ledger.db.execute("SELECT * FROM readings_ever ORDER BY n").fetchall() == before
    assert inspect(demo.folder / FILE).sound
    [action] = [f for f in demo.reader.follow_ups.open() if f.rule is MayClose.METER]
    assert (action.owner, action.about) == ("MV", "B")
    assert found.failure.mark is not None
    lift(demo, "MV", found.failure.mark, "another meter read the same tanks alike")
    assert suspect(demo) == []
    assert inspect(demo.folder / FILE).sound


def test_the_demo_keeps_of_its_failed_check_what_the_program_would(demo: Site) -> None:
    made = until(parse_instant("2026-05-02T16:00:01", zone(plan().zone)))
    check(demo, "PB", "B", 110.0)
    with Ledger.open(made / FILE, STATION) as ledger:
        told, kept = (
            db.execute("SELECT n, digest FROM entry ORDER BY n").fetchall()
            for db in (ledger.db, demo.ledger.db)
        )
    assert told == kept


def test_board_handover_and_walk_say_which_meter_is_off_and_what_is_suspect(demo: Site) -> None:
    check(demo, "PB", "B", 110.0)
    words = (
        "oxygen meter B failed its check Sat 2 May 16:00: 48 readings since Wed 29 Apr 06:40 "
        "suspect"
    )
    assert words in [meter_words.altered(one, demo.now()) for one in board(demo).meters]
    assert words in section(demo, "ALTERED")
    clock_shows(demo, "2026-05-03T06:50")
    walk = go_to(walking(demo, "PB"), "T08", "do")
    for width in (60, 80, 120):
        shown = plain(walk_drawn(walk, "", width, 24))
        [row] = [r for r in shown.split("\n") if r.startswith(" > Oxygen")]
        assert re.search(r" 10\.\d +\? ", row), "what was last seen bears the mark of a suspect"
        assert re.search(r"10\.\d ?\?( |$)", shown, re.M), "and so do the looks beside the scale"
        assert "meter B is OFF: m takes another" in shown
        [above] = [r for r in shown.split("\n") if r.startswith("   Temperature")]
        assert "?" not in above, "the check in air says nothing of temperature"
    assert (
        "? at a number",
        "read by a meter that failed its check later; nothing is changed or lost",
    ) in [(one.word, one.means) for one in glossary.general("walk")]
    go_to(walk, "T02", "do")
    rows = plain(walk_drawn(walk, "", 80, 24)).split("\n")
    assert not any(re.search(r"\d +\?", row) for row in rows[3:-1])


# ---- the pages


def every(site: Site) -> list[Shown]:
    return shown_now(site, site.now())


def printed(site: Site, code: str | None) -> str:
    return plain(page.draw(shown_now(site, site.now(), only=code), "Room", site.now(), 80, None))


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
def test_the_pages_fit_their_size_in_every_step_of_a_check(
    demo: Site, size: tuple[int, int]
) -> None:
    width, height = size
    checking = Checking(demo, "B")
    seen = []
    for answer in ("", "5", "+", "110", "110", "103", "100.2", ""):
        checking.answer(answer)
        one = next(s for s in every(demo) if s.state.meter.code == "B")
        rows = page.draw_one(check_view(checking), one, demo.now(), "99.9", size)
        assert len(rows) == height
        for row in (*rows, *page.draw(every(demo), "Room", demo.now(), width, height, 1)):
            assert sum(text.width(span.text) for span in row) == width
            assert {span.tone for span in row} <= set(TONES)
        shown = plain(rows)
        assert " ".join(checking.asks().words.split()) in " ".join(shown.split())
        assert ".." not in "\n".join(shown.split("\n")[1:])
        seen.append(checking.step)
    assert seen == ["who", "ready", "found", "again", "left", "left", "over", "over"]


def test_the_row_of_drift_has_the_limits_the_older_and_the_newest() -> None:
    scale = page.scale_of([0.0, 0.5, 0.5, 10.0], 2.0, 20)
    assert page.track([0.0, 0.5, 0.5, 10.0], 2.0, scale, out=True) == " |  .: |           X"
    scale = page.scale_of([-1.0], 2.0, 11)
    assert page.track([-1.0], 2.0, scale, out=False) == " | o     | "


def test_the_printed_page_is_whole_and_of_one_meter_where_one_is_named(demo: Site) -> None:
    check(demo, "PB", "B", 110.0)
    whole = printed(demo, None)
    for words in ("A    oxygen meter", "B    oxygen meter", "P1   pH meter", "S1   scale"):
        assert words in whole
    assert "48 readings from Wed 29 Apr 06:40 to Sat 2 May 16:00 suspect" in whole
    only = printed(demo, "b")
    assert "B    oxygen meter" in only
    assert "P1" not in only
    with pytest.raises(Refusal, match="not among the meters"):
        printed(demo, "X")


def test_several_marks_are_counted_together_and_the_newest_is_told(site: Site) -> None:
    read(site, "2026-05-08T07:00")
    checked(site, "2026-05-08T08:00", 93.0)
    checked(site, "2026-05-08T09:00", 100.0)
    read(site, "2026-05-08T15:00")
    checked(site, "2026-05-09T08:00", 93.0)
    assert page.suspect_words(state(site, "B"), site.now()) == (
        "2 readings suspect by 2 marks, the newest from Fri 8 May 09:00 to Sat 9 May 08:00"
    )


def test_a_meter_in_use_says_when_it_passed_and_whether_it_is_due(site: Site) -> None:
    def words(cells: int = 60) -> tuple[str, str]:
        return page.state_words(state(site, "B"), site.now(), cells)

    assert words() == ("never checked", "watch")
    checked(site, "2026-05-08T08:00", 100.0)
    assert words() == ("passed 08:00, just now", "ok")
    clock_shows(site, "2026-05-09T08:00")
    assert words() == ("passed Fri 8 May 08:00, 24 h ago, due today", "plain")
    assert words(20) == ("due today", "plain")
    clock_shows(site, "2026-05-10T08:00")
    assert words() == ("OVERDUE, passed Fri 8 May 08:00, 48 h ago", "watch")
    checked(site, "2026-05-10T09:00", 90.0)
    assert words(20) == ("OFF since 09:00", "act")
    assert page.state_words(state(site, "OLD"), site.now(), 60)[0].startswith("the plan names no")


# ---- a check, step by step


def test_a_value_out_of_limits_is_asked_again_and_the_second_is_kept(site: Site) -> None:
    checking = Checking(site, "B")
    for answer in ("1", "+", "104"):
        checking.answer(answer)
    assert checking.step == "again"
    assert site.reader.meters.checks("B") == [], "nothing is judged by one unsteady figure"
    checking.answer("101,5")
    [kept] = site.reader.meters.checks("B")
    assert (kept.as_found, kept.passed, kept.what) == (101.5, True, "moist air (first 104)")
    assert checking.step == "left"
    checking.answer("")
    assert checking.step == "over"
    assert len(site.reader.meters.checks("B")) == 1


def test_nothing_is_kept_by_silence_by_words_or_in_the_wrong_unit(site: Site) -> None:
    checking = Checking(site, "B")
    for answer, said in (
        ("9", "There is no number 9 in the list."),
        ("", "By number."),
        ("1", ""),
        ("", "Read it, then + when the probe is ready."),
        ("+", ""),
        ("", "Nothing was typed, and nothing is kept by silence."),
        ("abc", "'abc' is not a number."),
        ("9.1 mg/L", "mg/L measures concentration"),
        ("/", "'/' is not a number."),
    ):
        checking.answer(answer)
        assert said in checking.said
    assert checking.step == "found"
    assert site.reader.meters.checks("B") == []


def test_a_meter_that_is_not_mended_is_left_out_of_use(site: Site) -> None:
    checking = Checking(site, "B")
    for answer in ("2", "+", "90", "90", "/"):
        checking.answer(answer)
    assert checking.said == "Meter B is out of use until it passes. Take another one."
    assert state(site, "B").off


def test_a_meter_in_mg_l_is_asked_for_temperature_and_barometer_first(site: Site) -> None:
    checking = Checking(site, "M")
    for answer in ("1", "+", "20", "988 hPa"):
        checking.answer(answer)
    assert "8.86 mg/L at 20.0 degC and 741 mmHg (by the barometer of this room)" in checking.said
    checking.answer("8.9")
    [kept] = site.reader.meters.checks("M")
    assert kept.passed
    assert kept.reference == pytest.approx(8.86, abs=0.005)
    other = Checking(site, "M")
    for answer in ("1", "+", "20", "30.4 inHg"):
        other.answer(answer)
    assert "sea-level figure" in other.said
    assert other.step == "pressure"
    other.answer("/")
    assert "from the site's elevation" in other.said
    assert other.step == "found"


def test_a_meter_whose_plan_says_no_limits_is_not_checked(site: Site) -> None:
    checking = Checking(site, "OLD")
    checking.answer("1")
    assert checking.step == "who"
    assert "The plan says not when meter OLD passes" in checking.said


def test_every_kind_of_check_says_what_to_mind_before_its_first_step(site: Site) -> None:
    told = {code: how(meter_checks.find(site.plan, code)) for code in ("B", "S1", "OLD")}
    assert "not the airport's" in told["B"]
    assert "pan" in told["S1"]
    for words in told.values():
        assert "as found" in words
        assert words.endswith("Your lab's procedure and the maker's instructions come first.")


# ---- with the number pad, and from the command line


def test_a_check_is_entered_with_the_number_pad_alone(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("6")
        assert room.text.startswith(" METERS")
        await room.press("down", "enter", "5", "add", "1", "1", "0", "enter")
        assert "Is it steady, the cup moist?" in room.text
        await room.press("1", "1", "0", "enter")
        assert "are marked suspect; none was changed." in room.flowing
        await room.press("divide", "enter")
        assert "OFF: failed 16:00, just now" in room.text
        await room.press("enter", "subtract", "5")
        assert "somebody else takes the mark back" in room.flowing
        await room.press("4", "1")
        assert "The mark is taken back" in room.flowing
        await room.press("escape", "escape")
        assert "TANKS  oxygen" in room.text

    at_the_screen(demo, act)
    assert suspect(demo) == []
    assert state(demo, "B").off


def test_esc_leaves_a_check_without_a_trace_until_a_value_is_kept(demo: Site) -> None:
    last = demo.ledger.db.execute("SELECT max(n) FROM entry").fetchone()

    async def act(room: Room) -> None:
        await room.press("6", "enter", "1", "plus", "9", "9", "backspace", "escape")
        assert "As found" in room.text
        await room.press("escape")
        assert room.text.startswith(" METERS")
        await room.press("d", "question_mark", "right")
        assert "OFF is a meter that failed" in room.flowing

    at_the_screen(demo, act)
    assert demo.ledger.db.execute("SELECT max(n) FROM entry").fetchone() == last


def test_the_command_prints_the_meters_and_enters_a_check(tmp_path: Path) -> None:
    folder = write_plan(tmp_path / "site", CHECKED)
    with opened_in(folder, CHECKED):
        pass
    run = partial(tankwalk, tmp_path, "--site", str(folder), "meters")
    assert "B    oxygen meter" in run().stdout.decode()
    done = run("B", "--found", "100.2", "--who", "ab")
    assert (done.returncode, done.stdout.decode().strip()) == (
        0, "Meter B, moist air: 100.2 %, within 98 to 102 %: passed.",
    )  # fmt: skip
    failed = run("B", "--found", "93", "--who", "AB")
    assert failed.returncode == 1
    assert "Meter B, moist air: 93.0 %, outside 98 to 102 %: failed." in failed.stdout.decode()
    mended = run("B", "--found", "93", "--left", "100", "--who", "AB")
    assert mended.returncode == 0
    air = run("M", "--found", "8.9", "--who", "AB", "--temp", "68f", "--barometer", "29.2 inHg")
    assert air.returncode == 0
    check_of_m = ["M", "--found", "9", "--who", "AB"]
    no_meter, no_code = ["X", "--found", "9", "--who", "AB"], ["--found", "9", "--who", "AB"]
    for words in (["B", "--found", "93"], no_meter, ["X"], check_of_m, no_code):
        refused = run(*words)
        assert (refused.returncode, refused.stdout) == (2, b"")
        assert refused.stderr.decode().count("\n") == 1


def test_a_crew_of_twelve_is_chosen_from_with_two_digits_or_with_enter(tmp_path: Path) -> None:
    site = opened_demo(tmp_path, with_a_crew_of_twelve)

    async def act(room: Room) -> None:
        await room.press("6", "enter", "1")
        assert "1_" in room.text
        await room.press("2")
        assert "moist air 98 to 102 %  XL" in room.text
        await room.press("escape", "enter", "3", "enter")
        assert "moist air 98 to 102 %  TS" in room.text

    at_the_screen(site, act)
    site.close()
