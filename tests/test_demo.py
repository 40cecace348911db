"""The demo's season: what its scenario says happened is in the record, and nothing else flags.

The scenario (job.md section 8) is invented, and so is every expected figure here; the figures
of the survival table come from there too. They check the demo, not any fish.
"""

from __future__ import annotations

import shutil
from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

import demo_support
from demo_support import STATION, Season, until
from page_support import due_said
from tankwalk import clock
from tankwalk.clock import FixedClock, Instant
from tankwalk.errors import Refusal
from tankwalk.ledger import chain
from tankwalk.ledger.entries import (
    Batch,
    Calibration,
    Detail,
    Dose,
    Entry,
    FollowUp,
    JudgedAs,
    Meal,
    Movement,
    Note,
    Reading,
    Round,
)
from tankwalk.ledger.follow_up_kinds import FollowUpWhat
from tankwalk.ledger.store import FILE, Ledger
from tankwalk.plan.file import load
from tankwalk.practice.board import board
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round import rounds
from tankwalk.practice.round.questions import AskAgain
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site, open_site
from tankwalk.practice.workings import derived, working_out
from tankwalk_demo import make, morning_answers
from tankwalk_demo.answers import lines
from tankwalk_demo.room import plan
from tankwalk_demo.scenario import rehearsal
from tankwalk_demo.stock import STOCKED, book, fates

Rows = list[tuple[Entry, Reading]]


@pytest.fixture(scope="session")
def season() -> Season:
    return demo_support.season()


@pytest.fixture(scope="session")
def readings(season: Season) -> Rows:
    return readings_of(season)


def readings_of(season: Season) -> Rows:
    return [(e, d) for e, details in season for d in details if isinstance(d, Reading)]


@pytest.fixture(scope="session")
def whole() -> Path:
    """The demo with all thirty days."""
    return demo_support.whole()


@pytest.fixture(scope="session")
def sunday() -> Path:
    """The demo as it is opened: Sunday 10 May, 06:50."""
    return until(rehearsal())


@pytest.fixture
def ledger(whole: Path) -> Iterator[Ledger]:
    with Ledger.open(whole / FILE, STATION) as opened:
        yield opened


@pytest.fixture
def site(sunday: Path) -> Iterator[Site]:
    opened = open_site(sunday, STATION, "2026-05-10T06:50")
    yield opened
    opened.close()


def on(month: int, day: int) -> date:
    return date(2026, month, day)


def of(rows: Rows, place: str, item: str, day: date, hour: int | None = None) -> Rows:
    """Readings of one item at one place on a day, in the order they were entered."""
    return [
        (e, r)
        for e, r in rows
        if e.place == place
        and e.item == item
        and e.observed.day == day
        and (hour is None or e.observed.wall.hour == hour)
    ]


def details_of(season: Season, kind: str) -> list[tuple[Entry, Detail]]:
    return [(e, d) for e, details in season for d in details if e.kind == kind]


# ---- the record as a whole


def test_the_record_verifies_and_the_plan_in_it_is_the_one_in_the_folder(whole: Path) -> None:
    with Ledger.open(whole / FILE, STATION) as opened:
        assert chain.verify(opened.db) is None
        assert opened.reader.spine.last_plan_digest() == load(whole / "plan.toml").digest


def test_what_is_written_is_what_was_told(ledger: Ledger, readings: Rows) -> None:
    taken = ledger.db.execute("SELECT count(*) FROM entry WHERE kind = 1").fetchone()[0]
    assert taken == len(readings)
    for entry, reading in readings[:: len(readings) // 50]:
        kept = ledger.db.execute(
            "SELECT typed, flag FROM readings_ever WHERE place = ? AND item = ? "
            "AND observed_utc = datetime(?, 'unixepoch') AND recheck = ?",
            (entry.place, entry.item, entry.observed.utc, int(reading.recheck)),
        ).fetchone()
        assert kept is not None
        assert kept[1] == ("ok", "check", "watch", "act", "urgent")[reading.flag]


@pytest.mark.long
def test_until_only_cuts_the_tail_and_the_same_seed_makes_the_same_record(
    sunday: Path, whole: Path, tmp_path: Path
) -> None:
    """So the tests may cut the whole record where they want the demo of an earlier moment."""
    make(tmp_path / "again", STATION)
    short, long = digests(tmp_path / "again"), digests(whole)
    assert long[: len(short)] == short
    assert len(long) > len(short)
    assert views(tmp_path / "again") == views(sunday)


def views(folder: Path) -> dict[str, list[Any]]:
    """All rows of every view, which are what can be asked of a record, and its guards."""
    with Ledger.open(folder / FILE, STATION) as opened:
        db = opened.db
        found = {
            name: db.execute(f"SELECT * FROM {name}").fetchall()
            for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'view'")
        }
        found["tables and guards"] = sorted(db.execute("SELECT name, sql FROM sqlite_master"))
        return found


def test_another_seed_makes_another_season_with_the_same_story(
    readings: Rows, tmp_path: Path
) -> None:
    told: Season = []
    noon = clock.at(on(5, 10), 12, 0, clock.zone(plan().zone))
    make(tmp_path / "site", STATION, until=noon, seed=9, told=lambda *one: told.append(one))
    other = readings_of(told)
    assert len(other) > 4_000
    assert [r.typed for _, r in other] != [r.typed for _, r in readings[: len(other)]]
    assert of(other, "T07", "morts", on(5, 10), 6)[0][1].value == 64


def test_nothing_is_recorded_at_or_after_the_moment_the_demo_starts(site: Site) -> None:
    last = site.reader.spine.last_moment()
    assert last is not None
    assert last.utc < rehearsal().utc
    assert rehearsal().short() == "Sun 10 May 06:50"


def test_a_make_that_is_stopped_leaves_nothing(tmp_path: Path) -> None:
    def stop(_: float) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make(tmp_path / "demo", STATION, progress=stop)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_holds_something_is_refused(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", "utf-8")
    with pytest.raises(Refusal, match="not empty"):
        make(tmp_path, STATION)
    assert [f.name for f in tmp_path.iterdir()] == ["mine.txt"]


def test_an_empty_folder_is_filled_and_progress_is_told(tmp_path: Path) -> None:
    told: list[float] = []
    two_days = Instant(rehearsal().utc - 18 * 86400, -300)
    make(tmp_path, STATION, until=two_days, progress=told.append)
    assert sorted(f.name for f in tmp_path.iterdir()) == [FILE, "plan.toml"]
    assert told == sorted(told)
    assert told[-1] == 1.0


def digests(folder: Path) -> list[bytes]:
    with Ledger.open(folder / FILE, STATION) as opened:
        return [row[0] for row in opened.db.execute("SELECT digest FROM entry ORDER BY n")]


# ---- the fish


@pytest.mark.parametrize(
    ("treatment", "living", "booked", "unseen"),
    [
        ("E10", (3117, 2431, 2116, 1951), 3621, 38),
        ("M14", (3265, 2633, 2333, 2175), 3687, 34),
        ("L18", (3365, 2774, 2488, 2335), 3736, 32),
    ],
)
def test_the_survival_table_comes_out(
    treatment: str, living: tuple[int, ...], booked: int, unseen: int
) -> None:
    """Section 8's table, within 3 %: its tanks give no samples away and lose none to a screen."""
    tanks = [fates(8)[t.code] for t in plan().tanks if t.treatment == treatment]
    found = [sum(t[dph - 3].living for t in tanks) / 4 for dph in (10, 18, 26, 33)]
    assert found == pytest.approx(living, rel=0.03)
    on_book = sum(book(t, 30) for t in tanks) / 4
    assert on_book == pytest.approx(booked, rel=0.03)
    assert 100 * (on_book - found[-1]) / STOCKED == pytest.approx(unseen, abs=1.5)


def test_the_book_made_from_the_record_is_the_model_s(ledger: Ledger) -> None:
    """Stocked, less dead counted once, less sampled."""
    for tank in plan().tanks:
        stocked, sampled = (
            ledger.db.execute(
                "SELECT sum(m.fish) FROM movement m JOIN entries e ON e.n = m.entry "
                "WHERE e.place = ? AND m.what = ?",
                (tank.code, what),
            ).fetchone()[0]
            for what in ("stocked", "sampled")
        )
        dead = ledger.db.execute(
            "SELECT sum(value) FROM readings WHERE place = ? AND item = 'morts' AND recheck = 0",
            (tank.code,),
        ).fetchone()[0]
        skipped = fates(8)["T11"][18].afternoon if tank.code == "T11" else 0
        assert stocked - dead - sampled == book(fates(8)[tank.code], 30) + skipped


def test_a_tank_is_counted_at_the_end_and_the_unseen_gap_is_large(
    season: Season,
) -> None:
    counted = {
        e.place: d.fish
        for e, d in details_of(season, "movement")
        if isinstance(d, Movement) and d.what == "census"
    }
    assert len(counted) == 12
    for tank, count in counted.items():
        gap = book(fates(8)[tank or ""], 30) - count
        assert 0.25 < gap / STOCKED < 0.45


# ---- the six incidents


def test_incident_1_units_are_kept_as_typed_and_as_meant(readings: Rows) -> None:
    [(entry, temp)] = of(readings, "T03", "temp", on(4, 22), 7)
    assert (entry.who, entry.observed.hm()) == ("PB", "07:20")
    assert (temp.typed, temp.typed_unit) == ("62.1", "degF")
    assert temp.value == pytest.approx(16.72, abs=0.005)
    [(entry, flow)] = of(readings, "T04", "flow", on(4, 22), 7)
    assert (entry.who, flow.typed, flow.typed_unit) == ("PB", "0.66", "gal/min")
    assert flow.value == pytest.approx(2.5, abs=0.005)
    assert temp.flag == flow.flag == Flag.OK


@pytest.mark.parametrize(
    ("place", "item", "day", "hour", "minute", "name"),
    [("T03", "temp", 22, 7, 20, "degF"), ("T04", "flow", 22, 7, 27, "gal/min")],
)
def test_incident_1_the_walk_names_the_slip(
    tmp_path: Path, place: str, item: str, day: int, hour: int, minute: int, name: str
) -> None:
    """The number typed is one the walk asks about, by the name of that slip."""
    typed = {"temp": "62.1", "flow": "0.66"}[item]
    moment = clock.at(on(4, day), hour, minute, clock.zone("America/Chicago"))
    before = until(clock.at(on(4, day), 6, 45, clock.zone(plan().zone)))
    opened = open_site(Path(shutil.copytree(before, tmp_path / "demo")), STATION, None)
    opened.clock = FixedClock(moment)
    walk = Walk(opened, rounds.begin(opened, plan().checklist("am"), "PB"), "PB")
    walk.at = next(i for i, s in enumerate(walk.slots) if (s.place, s.item.code) == (place, item))
    walk.answer(typed)
    asked = getattr(walk.question, "slip", None)
    opened.close()
    assert asked is not None
    assert asked.name == name


def test_incident_2_meter_b_rises_and_meter_a_does_not(readings: Rows) -> None:
    means = {}
    for meter in "AB":
        for day in (*range(27, 31), 31, 32):
            when = on(4, day) if day <= 30 else on(5, day - 30)
            values = [
                r.value or 0.0
                for e, r in readings
                if e.item == "do" and r.instrument == meter and e.round and not r.recheck
                if e.observed.day == when and e.observed.wall.hour < 12
            ]
            means[meter, day] = sum(values) / len(values)
    flat, risen = ([means[m, d] - means[m, 28] for d in (29, 30, 31, 32)] for m in "AB")
    assert flat == pytest.approx([0, 0, 0, 0], abs=0.1)
    assert risen == pytest.approx([0.2, 0.4, 0.7, 1.0], abs=0.1)
    top = of(readings, "T07", "do", on(5, 2), 7)
    assert top[0][1].value == 10.2


def test_incident_2_forty_eight_readings_since_the_last_pass(
    season: Season, readings: Rows
) -> None:
    checks = [
        (e.observed, d)
        for e, d in details_of(season, "calibration")
        if isinstance(d, Calibration) and d.instrument == "B"
    ]
    failed = next(i for i, (_, d) in enumerate(checks) if not d.passed)
    (passed_at, _), (failed_at, check) = checks[failed - 1], checks[failed]
    assert passed_at.day == on(4, 29)
    assert failed_at.day == on(5, 2)
    assert check.as_found == 110.0
    suspect = [
        e
        for e, r in readings
        if e.item == "do" and r.instrument == "B" and not r.recheck
        if passed_at.utc < e.observed.utc < failed_at.utc
    ]
    assert len(suspect) == 48


def test_incident_2_names_the_meter_two_days_early_and_flags_no_tank(
    season: Season,
) -> None:
    named = [
        (entry.observed, entry.place, detail.rule, detail.sentence)
        for entry, details in season
        for detail in details
        if isinstance(detail, JudgedAs)
        and entry.item == "do"
        and on(4, 29) <= entry.observed.day <= on(5, 2)
    ]
    assert {rule for _, _, rule, _ in named} == {"meter up", "meter passed"}
    asked = [(at, sentence) for at, _, rule, sentence in named if rule == "meter passed"]
    assert {at.day for at, _ in asked} == {on(4, 29)}, "its check was of that morning"
    passed = "meter B read, though it passed its check Wed 29 Apr 06:40"
    assert all(passed in said for _, said in asked)
    told = [(at, sentence) for at, _, rule, sentence in named if rule == "meter up"]
    assert told[0][0].short() == "Wed 29 Apr 15:18"
    assert all("oxygen meter B" in said for _, said in told)
    assert all(
        "T12 since Wed 29 Apr 08:10, one meter, same direction: suspect oxygen meter B" in said
        for at, said in told
        if at.day == on(4, 29)
    )
    assert all(
        said.startswith("oxygen meter B is suspected since Wed 29 Apr 15:18: Oxygen up")
        for at, said in told
        if at.day > on(4, 29)
    )
    watched = [e for e, d in flags_of(season, Flag.WATCH) if e.item == "do"]
    assert {e.observed.day for e in watched} == {on(4, 29), on(5, 6), on(5, 10)}


def test_meter_a_is_never_told_of_while_b_is_mended_and_swapped_back(season: Season) -> None:
    """A read all tanks for two days while B was away, and oxygen fell: that is no change of A."""
    told = [
        detail.sentence
        for entry, details in season
        for detail in details
        if isinstance(detail, JudgedAs) and entry.item == "do"
    ]
    assert not [said for said in told if "meter A" in said]


def flags_of(season: Season, least: Flag) -> list[tuple[Entry, Reading]]:
    """Readings that were flagged so when they were taken."""
    return [(e, d) for e, ds in season for d in ds if isinstance(d, Reading) and d.flag >= least]


def test_incident_3_feed_of_t04_goes_into_t05(
    season: Season,
) -> None:
    given: dict[tuple[str | None, str], list[str]] = defaultdict(list)
    for entry, meal in details_of(season, "meal"):
        if isinstance(meal, Meal) and entry.observed.day == on(4, 27) and meal.amount:
            given[entry.place, meal.feed].append(entry.observed.hm())
    assert given["T05", "D1"] == ["08:10"]
    assert all(at >= "12:00" for at in given["T04", "Artemia"] + given["T04", "D1"])
    closed = [d for e, d in details_of(season, "follow-up") if isinstance(d, FollowUp)]
    assert any(d.event == "close" and "T05 stays in" in d.text for d in closed)


def test_incident_4_cone_is_cold_late_and_thin(
    season: Season,
) -> None:
    cone = [
        (e, d)
        for e, d in details_of(season, "batch")
        if isinstance(d, Batch) and d.batch == "A0503"
    ]
    (set_at, was_set), (checked_at, checked), (harvested_at, harvest) = cone[:3]
    assert [d.event for _, d in cone[3:]] == ["chill", "discard"]
    assert set_at.observed.short() == "Sun 3 May 09:30"
    assert (was_set.temperature, was_set.ph) == (23.0, 7.6)
    assert was_set.due_at == clock.at(on(5, 4), 8, 30, clock.zone(plan().zone)).utc
    assert checked_at.observed.hm() == "21:00"
    assert checked.temperature == 23.0
    assert harvested_at.observed.short() == "Mon 4 May 13:10"
    assert harvest.hatch_percent == 46.0


def test_incident_4_live_feed_is_short_by_42_percent(
    season: Season,
) -> None:
    shares: dict[str, set[float]] = defaultdict(set)
    for entry, meal in details_of(season, "meal"):
        if isinstance(meal, Meal) and meal.feed == "Artemia" and meal.planned:
            day = entry.observed.day.day if entry.observed.day in (on(5, 4), on(5, 5)) else 0
            part = day and f"{day} {'early' if entry.observed.hm() < '08:30' else 'later'}"
            shares[str(part)].add(round(meal.amount / meal.planned, 2))
    # The first meal is from the cone before; the poor one feeds until the next one is out.
    assert shares["4 early"] == shares["5 later"] == shares["0"] == {1.0}
    assert shares["4 later"] | shares["5 early"] <= {0.57, 0.58, 0.59}


def test_incident_4_sunday_s_handover_is_never_taken(ledger: Ledger) -> None:
    rows = ledger.db.execute(
        "SELECT e.observed_local, e.who FROM handover h JOIN entries e ON e.n = h.entry "
        "WHERE h.event = 'give' AND NOT EXISTS (SELECT 1 FROM handover t WHERE t.given = h.entry)"
    ).fetchall()
    assert rows == [("2026-05-03 16:10:00", "PB")]


def test_incident_5_saturday_level_and_a_screen_nobody_looked_at(readings: Rows) -> None:
    level, again = of(readings, "T07", "level", on(5, 9), 15)
    assert (level[0].observed.hm(), level[0].who) == ("15:05", "RO")
    assert (level[1].value, level[1].flag) == (4.5, Flag.WATCH)
    assert again[1].recheck
    [(_, screen)] = of(readings, "T07", "screen", on(5, 9), 15)
    assert (screen.value, screen.qualifier) == (None, "not looked")


def test_incident_5_sunday_oxygen_and_dead(readings: Rows) -> None:
    oxygen, again = of(readings, "T07", "do", on(5, 10), 6)
    assert (oxygen[0].observed.hm(), oxygen[0].who) == ("06:55", "PB")
    assert (oxygen[1].value, again[1].value) == (6.1, 6.1)
    assert oxygen[1].flag == again[1].flag == Flag.ACT
    dead, recounted = of(readings, "T07", "morts", on(5, 10), 6)
    assert (dead[0].observed.hm(), dead[0].who) == ("06:58", "PB")
    assert dead[1].value == recounted[1].value == 64
    assert dead[1].flag == Flag.ACT
    before = [of(readings, "T07", "morts", on(5, day))[0][1].value for day in (7, 8, 9)]
    assert sorted(v or 0 for v in before)[1] == 9


def test_incident_5_the_warning_was_there_15_h_50_min_before(readings: Rows) -> None:
    level = of(readings, "T07", "level", on(5, 9), 15)[0][0].observed
    oxygen = of(readings, "T07", "do", on(5, 10), 6)[0][0].observed
    assert clock.ago(oxygen.hours_since(level)) == "15 h 50 min"


def test_incident_5_a_copied_count_is_struck_and_the_count_stays_64(
    readings: Rows, ledger: Ledger
) -> None:
    copied, _, struck = of(readings, "T07", "morts", on(5, 10), 15)
    assert (copied[0].observed.hm(), copied[0].who, copied[1].value) == ("15:20", "RO", 64)
    assert "06:58" in (struck[0].reason or "")
    counts = ledger.db.execute(
        "SELECT value FROM readings WHERE place = 'T07' AND item = 'morts' AND recheck = 0 "
        "AND observed_local LIKE '2026-05-10%'"
    ).fetchall()
    assert counts == [(64.0,), (2.0,)]


def test_incident_6_ten_times_the_dose(season: Season, readings: Rows) -> None:
    [(entry, dose)] = [(e, d) for e, d in details_of(season, "dose") if e.observed.day == on(5, 13)]
    assert isinstance(dose, Dose)
    assert (entry.observed.hm(), dose.amount) == ("10:05", 2500.0)
    assert dose.expected == pytest.approx(414, abs=1)
    after = [of(readings, t.code, "ph", on(5, 13), 10)[0][1] for t in plan().tanks]
    assert [r.value for r in after] == pytest.approx([8.3] * 12, abs=0.03)
    assert all(r.flag >= Flag.WATCH for r in after)
    tan = [r for _, r in of(readings, "L1", "tan", on(5, 13))]
    assert [r.value for r in tan] == pytest.approx([0.55, 0.55, 0.53, 0.50], abs=0.011)
    assert [r.flag for r in tan] == [Flag.OK, Flag.CHECK, Flag.OK, Flag.OK], "in band all day"
    [asked] = [
        d
        for e, ds in season
        for d in ds
        if isinstance(d, JudgedAs) and (e.item, e.observed.day) == ("tan", on(5, 13))
    ]
    assert asked.rule == "unchanged", "0.55 the fourth time: asked about, not out of band"


def test_incident_6_is_one_flag_of_nh3n_for_the_loop_while_tan_is_in_band() -> None:
    now = clock.parse_instant("2026-05-13T11:00", clock.zone(plan().zone))
    site = open_site(until(now), STATION, "2026-05-13T11:00")
    [one] = [w for w in board(site).wrong if "NH3-N" in w.sentence]
    assert (one.place, one.flag, len(one.tanks)) == ("L1", Flag.ACT, 12)
    assert one.sentence == (
        "NH3-N 0.0344 to 0.0388 mg/L as N, 12 of 12 tanks; TAN 0.55 mg/L as N in band"
    )
    name, typed = derived.inputs_of(site, one.seen) or ("", {})
    assert name == "ammonia"
    assert working_out.work(name, typed).value == pytest.approx(one.seen.value)
    site.close()


def test_ordinary_doses_are_250_g_for_41_mg_per_l(
    season: Season,
) -> None:
    doses = [d for _, d in details_of(season, "dose") if isinstance(d, Dose)]
    usual = [d for d in doses if d.amount == 250.0]
    assert len(usual) == len(doses) - 1 >= 5
    assert {d.expected for d in usual} == {41.4}


# ---- the decoys, and the budget of flags


def test_non_feeders_dying_raise_no_flag(readings: Rows) -> None:
    """8 to 12 dph, all tanks."""
    days = {on(4, day) for day in range(24, 29)}
    counts = [r for e, r in readings if e.item == "morts" and e.observed.day in days]
    assert max(r.value or 0 for r in counts) > 50
    asked = [
        (e.place, e.observed.day, r.typed, r.flag)
        for e, r in readings
        if e.item == "morts" and e.observed.day in days and r.flag
    ]
    assert asked == [("T08", on(4, 28), "5", Flag.CHECK)], "40 mis-keyed, and corrected later"


def test_the_cooler_block_raises_no_flag(readings: Rows) -> None:
    temps = [(e.place, r) for e, r in readings if e.item == "temp" and r.value is not None]
    cooler = [r.value or 0 for place, r in temps if place in ("T10", "T11", "T12")]
    others = [r.value or 0 for place, r in temps if place not in ("T10", "T11", "T12")]
    assert sum(others) / len(others) - sum(cooler) / len(cooler) == pytest.approx(0.3, abs=0.05)
    assert {r.flag for place, r in temps if place in ("T10", "T11", "T12")} == {Flag.OK}
    assert max(r.flag for _, r in temps) == Flag.CHECK  # one that never moved was asked about


def test_one_low_oxygen_is_not_confirmed(readings: Rows) -> None:
    first, second = of(readings, "T02", "do", on(5, 6), 7)
    assert (first[1].value, first[1].flag, first[1].recheck) == (6.8, Flag.WATCH, False)
    assert (second[1].value, second[1].flag, second[1].recheck) == (8.3, Flag.OK, True)


def test_light_footbath_and_planned_pause_are_quiet(season: Season, readings: Rows) -> None:
    [(_, lux)] = [(e, r) for e, r in readings if e.item == "light" and r.typed == "138"]
    [(_, bath)] = [(e, r) for e, r in readings if r.typed == "renewed"]
    assert lux.flag == bath.flag == Flag.OK
    pauses = [d for _, d in details_of(season, "meal") if isinstance(d, Meal) and d.event]
    assert any("planned pause, 40 min" in (d.event or "") for d in pauses)
    notes = [d.text for _, d in details_of(season, "note") if isinstance(d, Note)]
    assert any("Power blip, 5 min" in text for text in notes)


def test_one_tank_is_skipped_with_a_reason(readings: Rows) -> None:
    skipped = [(e.place, e.observed.day) for e, r in readings if r.qualifier == "unsafe"]
    assert skipped == [("T11", on(5, 7))] * 10


STORIES = {on(5, 2), on(5, 10), on(5, 13)}
"""The tops of incidents 2, 5 and 6."""


def test_an_ordinary_day_has_three_watches_at_most_and_nothing_to_act_on(readings: Rows) -> None:
    """Section 5.2's budget, counted as first readings of 12 tanks, their loop and the site."""
    watches: Counter[date] = Counter()
    for entry, reading in readings:
        if reading.flag >= Flag.WATCH and not reading.recheck:
            watches[entry.observed.day] += 1
            assert reading.flag == Flag.WATCH or entry.observed.day in STORIES
    ordinary = {day: n for day, n in watches.items() if day not in STORIES}
    assert max(ordinary.values()) <= 3
    assert 5 <= sum(ordinary.values()) <= 30


# ---- also there


def test_two_struck_corrections_and_one_late_entry(readings: Rows) -> None:
    struck = [(e.place, e.reason) for e, _ in readings if e.amends is not None]
    assert struck[:2] == [("T08", "mis-keyed"), ("T06", "wrong tank")]
    late = [e for e, _ in readings if e.amends is None and e.recorded.utc - e.observed.utc > 3600]
    assert [(e.place, e.observed.hm(), e.recorded.hm()) for e in late] == [
        ("T09", "10:15", "13:40")
    ]


def test_every_round_is_signed(season: Season) -> None:
    seen: dict[int, list[str]] = defaultdict(list)
    for _, detail in details_of(season, "round"):
        if isinstance(detail, Round):
            seen[detail.number].append(detail.event)
    assert list(seen) == list(range(1, len(seen) + 1))
    assert all(events_of == ["open", "sign"] for events_of in seen.values())


def test_every_reading_has_the_band_that_judged_it(readings: Rows) -> None:
    banded = {rule.item for rule in plan().bands}
    assert all(r.band for e, r in readings if e.item in banded)


def test_references_lead_to_what_they_name(ledger: Ledger) -> None:
    same = "a.place IS b.place AND a.item IS b.item AND a.observed_at = b.observed_at"
    for sql in (
        f"SELECT {same} FROM entry a JOIN entry b ON b.n = a.amends WHERE a.kind = 1",
        "SELECT b.kind = 12 FROM follow_up f JOIN entry b ON b.n = f.opened",
        "SELECT b.kind = 13 FROM handover h JOIN entry b ON b.n = h.given",
    ):
        found = ledger.db.execute(sql).fetchall()
        assert found
        assert {row[0] for row in found} == {1}


# ---- the Sunday morning the demo opens on


def test_the_board_shows_what_stands_and_an_overdue_generator(site: Site) -> None:
    seen = board(site)
    assert [(w.place, w.flag, w.at.short()) for w in seen.wrong] == [
        ("T07", Flag.WATCH, "Sat 9 May 15:05"),
    ], "the flow of T12 was throttled on purpose, and stands with what is altered"
    assert seen.wrong[0].sentence == "Water below rim 4.5 cm; Outlet screen not checked (15:05)"
    said = dict(due_said(seen.due, seen.now))
    assert "overdue 9 d" in next(said[what] for what in said if what.startswith("Generator"))
    assert (len(seen.actions), len(seen.altered)) == (3, 2)
    assert seen.unsigned is None
    assert seen.meters == ()
    assert seen.longest is not None
    assert seen.longest.tank.code == "T01", "the first that was fed, and seen to eat, last"


def test_three_actions_are_carried_four_shifts(site: Site) -> None:
    actions = [f for f in site.reader.follow_ups.open() if f.what is FollowUpWhat.ACTION]
    assert [int(site.now().hours_since(f.at) // 8) for f in actions] == [4, 4, 4]


def test_saturday_s_handover_is_not_taken_yet_and_names_the_standing_flag(site: Site) -> None:
    given = site.reader.handovers.last()
    assert given is not None
    assert (given.who, given.at.short(), given.taken) == ("RO", "Sat 9 May 16:05", None)
    assert "T07" in given.text
    assert "4.5 cm" in given.text


def test_the_morning_round_can_be_walked_with_its_answers(
    sunday: Path, tmp_path: Path, readings: Rows
) -> None:
    """Every slot has an answer; typed into the walk they leave what the season's round holds."""
    shutil.copytree(sunday, tmp_path / "copy")
    opened = open_site(tmp_path / "copy", STATION, "2026-05-10T06:50")
    walk = Walk(opened, rounds.begin(opened, plan().checklist("am"), "PB"), "PB")
    answers = morning_answers()
    assert set(answers) == {(s.place, s.item.code) for s in walk.slots}
    while not walk.at_end:
        slot = walk.slot
        for line in lines(answers[slot.place, slot.item.code]):
            assert walk.answer(line).understood, (slot.place, slot.item.code, line)
        if isinstance(walk.question, AskAgain):
            walk.answer(answers[slot.place, slot.item.code])
    walk.answer("+")
    opened.close()
    assert walk.signed
    flagged = {(s.place, s.item.code): seen.flag for s, seen in walk.flags()}
    typed = [
        (s.place, s.item, s.value, s.flag, s.recheck) for kept in walk.kept.values() for s in kept
    ]
    assert flagged == {
        ("T07", "glance"): Flag.WATCH,
        ("T07", "do"): Flag.ACT,
        ("T07", "level"): Flag.WATCH,
        ("T07", "screen"): Flag.ACT,
        ("T07", "morts"): Flag.ACT,
    }
    told = [
        (e.place, e.item, r.value, r.flag, r.recheck)
        for e, r in readings
        if e.round == walk.round.number
    ]
    assert sorted(typed, key=str) == sorted(told, key=str)
