"""The doors for time and places: true lengths of nights, one key a laptop, the right site."""

from __future__ import annotations

import json
import os
import re
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from threading import Barrier
from uuid import uuid4

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tankwalk import paths
from tankwalk.clock import (
    FixedClock,
    Instant,
    RehearsalClock,
    SystemClock,
    ago,
    ago_short,
    at,
    instant,
    parse_instant,
    zone,
)
from tankwalk.errors import Refusal

CHICAGO = zone("America/Chicago")
SPRING, FALL = date(2026, 3, 8), date(2026, 11, 1)


def hours(start: Instant, end: Instant) -> float:
    """Hours that passed."""
    return end.hours_since(start)


# ---- nights on which the clock changes


@pytest.mark.parametrize(
    ("day", "length"), [(SPRING, 23.0), (FALL, 25.0), (date(2026, 3, 9), 24.0)]
)
def test_a_day_on_which_the_clock_changes_has_its_true_length(day: date, length: float) -> None:
    assert hours(at(day, 0, 0, CHICAGO), at(day + timedelta(days=1), 0, 0, CHICAGO)) == length


def test_the_night_the_clock_goes_forward_is_an_hour_shorter() -> None:
    evening = at(date(2026, 3, 7), 22, 0, CHICAGO)
    morning = at(SPRING, 6, 30, CHICAGO)
    assert hours(evening, morning) == 7.5
    assert (evening.iso(), morning.iso()) == ("2026-03-07T22:00-06:00", "2026-03-08T06:30-05:00")


def test_the_night_the_clock_goes_back_is_an_hour_longer() -> None:
    evening = at(date(2026, 10, 31), 22, 0, CHICAGO)
    morning = at(FALL, 6, 30, CHICAGO)
    assert hours(evening, morning) == 9.5
    assert (evening.iso(), morning.iso()) == ("2026-10-31T22:00-05:00", "2026-11-01T06:30-06:00")


def test_the_hour_that_comes_twice_is_told_apart_by_its_offset() -> None:
    first = parse_instant("2026-11-01T01:30-05:00", CHICAGO)
    second = parse_instant("2026-11-01T01:30-06:00", CHICAGO)
    assert (first.hm(), second.hm()) == ("01:30", "01:30")
    assert hours(first, second) == 1.0
    assert (first.iso(), second.iso()) == ("2026-11-01T01:30-05:00", "2026-11-01T01:30-06:00")
    assert first < second
    assert parse_instant("2026-11-01T01:30", CHICAGO) == first


@pytest.mark.parametrize("minute", [0, 30, 59])
def test_a_time_that_the_clock_skips_is_shown_as_the_clock_then_stands(minute: int) -> None:
    skipped = at(SPRING, 2, minute, CHICAGO)
    assert skipped == parse_instant(f"2026-03-08T02:{minute:02d}", CHICAGO)
    assert skipped.iso() == f"2026-03-08T03:{minute:02d}-05:00"
    assert hours(at(SPRING, 1, minute, CHICAGO), skipped) == 1.0


@given(st.integers(40_000_000, 2_145_000_000))
@example(1_772_956_800)  # 2026-03-08T08:00Z, when the clock goes forward
@example(1_793_516_400)  # 2026-11-01T07:00Z, when it goes back
def test_an_instant_written_and_read_again_is_the_same_instant(utc: int) -> None:
    moment = datetime.fromtimestamp(utc, UTC)
    one = instant(moment, CHICAGO)
    assert parse_instant(one.iso(), CHICAGO) == one
    assert one.utc == utc
    local = moment.astimezone(CHICAGO)
    assert one.wall == local.replace(tzinfo=None)
    assert one.day == local.date()
    assert one.hm() == local.strftime("%H:%M")


@given(st.integers(0, 2_000_000_000), st.integers(0, 2_000_000_000))
def test_time_that_passed_does_not_depend_on_the_wall_clock(one: int, two: int) -> None:
    start, end = (
        instant(datetime.fromtimestamp(utc, UTC), zone(name))
        for utc, name in ((one, "America/Chicago"), (two, "Asia/Kolkata"))
    )
    assert hours(start, end) == (two - one) / 3600
    assert hours(end, start) == -hours(start, end)


# ---- how an instant is written


@pytest.mark.parametrize(
    ("offset", "written"),
    [
        (-300, "2026-05-10T03:00-05:00"),
        (0, "2026-05-10T08:00+00:00"),
        (330, "2026-05-10T13:30+05:30"),
        (-570, "2026-05-09T22:30-09:30"),
        (-30, "2026-05-10T07:30-00:30"),
        (840, "2026-05-10T22:00+14:00"),
    ],
)
def test_the_offset_is_written_with_sign_hours_and_minutes(offset: int, written: str) -> None:
    one = Instant(1_778_400_000, offset)
    assert one.iso() == written
    assert datetime.fromisoformat(written).timestamp() == one.utc


def test_seconds_are_written_where_there_are_any() -> None:
    assert Instant(1_778_400_007, -300).iso() == "2026-05-10T03:00:07-05:00"
    assert Instant(1_778_400_007, -300).short() == "Sun 10 May 03:00"
    assert Instant(1_777_620_000, -300).short() == "Fri 1 May 02:20"


def test_a_moment_of_today_is_told_by_its_time_and_another_with_its_day() -> None:
    moment = Instant(1_778_400_007, -300)
    assert moment.told(moment._replace(utc=moment.utc + 20 * 3600)) == "03:00"
    assert moment.told(moment._replace(utc=moment.utc + 22 * 3600)) == "Sun 10 May 03:00"


@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("2026-05-10T06:50", "2026-05-10T06:50-05:00"),
        (" 2026-05-10 06:50:30 ", "2026-05-10T06:50:30-05:00"),
        ("2026-05-10", "2026-05-10T00:00-05:00"),
        ("2026-05-10T11:50Z", "2026-05-10T06:50-05:00"),
        ("2026-01-10T06:50", "2026-01-10T06:50-06:00"),
        ("2026-05-10T06:50+02:00", "2026-05-09T23:50-05:00"),
    ],
)
def test_an_instant_without_an_offset_is_on_the_clock_of_the_site(text: str, iso: str) -> None:
    assert parse_instant(text, CHICAGO).iso() == iso


@pytest.mark.parametrize(
    "text",
    [
        "", "now", "06:50", "2026-13-01", "2026-05-10T25:00", "10/05/2026", "2026-02-29T06:00",
        "0001-01-01T00:00+14:00", "0001-01-01T00:00", "9999-12-31T23:59-12:00", "x" * 999,
        "1926-05-10T06:50", "0202-05-10T06:50", "20266-05-10T06:50",
        "2026-05-10T06:50+99:00",
    ],
)  # fmt: skip
def test_what_is_no_instant_is_refused_in_words(text: str) -> None:
    with pytest.raises(Refusal) as refusal:
        parse_instant(text, zone("Asia/Tokyo"))
    assert str(refusal.value).endswith(
        "is not a date and time; write one such as 2026-05-10T06:50."
    )
    assert len(str(refusal.value)) < 120


@given(st.text(max_size=30) | st.datetimes().map(str) | st.datetimes().map(datetime.isoformat))
@example("0001-01-01")
@example("9999-12-31T23:59:59")
def test_no_text_for_an_instant_ends_in_anything_but_an_instant_or_words(text: str) -> None:
    for tz in (CHICAGO, zone("Pacific/Kiritimati")):
        try:
            words = parse_instant(text, tz).iso()
        except Refusal as refusal:
            words = str(refusal)
        assert re.search(r"T\d\d:\d\d(:\d\d)?[+-]\d\d:\d\d$|is not a date and time; write", words)


@pytest.mark.parametrize(
    "name", ["", "Chicago", "America", "../etc", "/etc/passwd", "a\x00b", "CET2"]
)
def test_a_time_zone_nobody_knows_is_refused_in_words(name: str) -> None:
    with pytest.raises(Refusal, match=r"is not known here; write one such as America/Chicago\."):
        zone(name)


# ---- how long ago


@pytest.mark.parametrize(
    ("minutes", "words", "short"),
    [
        (0, "now", "0m"),
        (0.4, "now", "0m"),
        (1, "1 min", "1m"),
        (4, "4 min", "4m"),
        (59, "59 min", "59m"),
        (59.7, "1 h", "60m"),
        (60, "1 h", "1h"),
        (65, "1 h 05 min", "1h"),
        (950, "15 h 50 min", "16h"),
        (1439.8, "24 h", "24h"),
        (1440, "24 h", "24h"),
        (1500, "25 h", "25h"),
        (4319, "72 h", "72h"),
        (4320, "3 d", "3d"),
        (14_400, "10 d", "10d"),
    ],
)
def test_a_length_of_time_is_said_as_people_say_it(minutes: float, words: str, short: str) -> None:
    assert ago(minutes / 60) == words
    assert ago(-minutes / 60) == words
    assert ago_short(minutes / 60) == short


@given(st.floats(0, 1e6))
def test_the_words_for_a_length_of_time_are_about_as_long_as_it_is(length: float) -> None:
    words = ago(length).split()
    units = {"min": 1 / 60, "h": 1, "d": 24}
    said = sum(
        int(number) * units[unit] for number, unit in zip(words[::2], words[1::2], strict=False)
    )
    assert abs(said - length) <= max(1 / 60, length * 0.17)


# ---- clocks


def test_the_computers_clock_is_read_in_the_zone_of_the_site() -> None:
    before = int(datetime.now(UTC).timestamp())
    now = SystemClock(CHICAGO).now()
    after = int(datetime.now(UTC).timestamp())
    assert before <= now.utc <= after
    assert now.offset in (-300, -360)


def test_a_fixed_clock_stands_still() -> None:
    moment = at(FALL, 6, 30, CHICAGO)
    clock = FixedClock(moment)
    assert clock.now() == clock.now() == moment


def test_a_rehearsal_clock_starts_where_it_is_set() -> None:
    start = at(date(2026, 5, 10), 6, 50, CHICAGO)
    clock = RehearsalClock(start, CHICAGO)
    one, two = clock.now(), clock.now()
    assert start.utc <= one.utc <= two.utc <= start.utc + 60
    assert one.offset == -300


# ---- this laptop


def environment(home: Path) -> dict[str, str]:
    """An environment with this program's own folder in it."""
    return {"TANKWALK_HOME": str(home)}


def test_the_station_key_is_made_once_and_stays(tmp_path: Path) -> None:
    environ = environment(tmp_path / "deep" / "home")
    first = paths.station(environ, lambda: str(uuid4()))
    assert paths.station(environ, lambda: str(uuid4())) == first
    assert first[0]
    assert first[1]
    assert [p.name for p in (tmp_path / "deep" / "home").iterdir()] == ["station.json"]


def test_two_laptops_have_two_keys(tmp_path: Path) -> None:
    keys = {paths.station(environment(tmp_path / n), lambda: str(uuid4()))[0] for n in "ab"}
    assert len(keys) == 2


def test_programs_started_at_one_moment_on_a_new_laptop_agree_on_its_key(tmp_path: Path) -> None:
    environ = environment(tmp_path / "home")
    together = Barrier(8)

    def start(n: int) -> tuple[str, str]:
        def key() -> str:
            together.wait(10)  # everyone has found no key before anyone writes one
            return f"key-{n}"

        return paths.station(environ, key)

    with ThreadPoolExecutor(8) as programs:
        found = set(programs.map(start, range(8)))
    assert found == {paths.station(environ, lambda: "late")}
    assert [p.name for p in (tmp_path / "home").iterdir()] == ["station.json"]


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'"x"', b'{"key": "k"}', b"\xff\xfe", b"1"])
def test_a_station_file_cut_off_by_a_pulled_plug_is_made_anew(
    tmp_path: Path, content: bytes
) -> None:
    (tmp_path / "station.json").write_bytes(content)
    environ = environment(tmp_path)
    made = paths.station(environ, lambda: "new-key")
    assert made[0] == "new-key"
    assert paths.station(environ, lambda: "another") == made
    assert json.loads((tmp_path / "station.json").read_text("utf-8"))["key"] == "new-key"


def test_a_home_that_cannot_be_made_is_refused_in_words(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(Refusal) as refusal:
        paths.station(environment(tmp_path / "file" / "home"), lambda: "key")
    assert "cannot be written" in str(refusal.value)
    assert "nothing was changed" in str(refusal.value)
    assert "TANKWALK_HOME" in str(refusal.value)


def test_this_programs_folder_is_the_users_where_nothing_else_is_said(tmp_path: Path) -> None:
    assert paths.home(environment(tmp_path)) == tmp_path
    assert paths.home({}).name == "tankwalk"
    assert paths.home({"TANKWALK_HOME": ""}).is_absolute()


# ---- which site


def site(folder: Path) -> Path:
    """A folder that looks like a site."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / paths.PLAN).touch()
    return folder


def test_the_site_named_comes_before_the_environments_before_the_last(tmp_path: Path) -> None:
    named, told, last = (site(tmp_path / name) for name in ("named", "told", "last"))
    environ = environment(tmp_path / "home")
    paths.remember_site(last, environ)
    with_both = {**environ, "TANKWALK_SITE": str(told)}
    assert paths.choose_site(str(named), with_both) == named
    assert paths.choose_site(None, with_both) == told
    assert paths.choose_site(None, environ) == last
    assert paths.choose_site("", {**environ, "TANKWALK_SITE": ""}) == last


def test_a_site_chosen_by_a_short_name_is_found_again_from_anywhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    environ = environment(tmp_path / "home")
    monkeypatch.chdir(site(tmp_path / "room").parent)
    paths.remember_site(paths.choose_site("room", environ), environ)
    monkeypatch.chdir("/")
    assert paths.choose_site(None, environ) == (tmp_path / "room").resolve()


def test_without_a_site_it_says_how_to_get_one(tmp_path: Path) -> None:
    for content in (None, b"", b"  \n", b"\xff"):
        if content is not None:
            (tmp_path / "last-site").write_bytes(content)
        with pytest.raises(Refusal, match=r"No site is chosen yet.*tankwalk demo.*tankwalk start"):
            paths.choose_site(None, environment(tmp_path))


@pytest.mark.parametrize("name", ["gone", "empty", "file", "x" * 300, "a\x00b"])
def test_a_folder_that_is_no_site_is_refused_in_words(tmp_path: Path, name: str) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "file").touch()
    with pytest.raises(Refusal) as refusal:
        paths.choose_site(str(tmp_path / name), environment(tmp_path))
    assert "There is no plan.toml in" in str(refusal.value) or (
        "cannot be opened" in str(refusal.value) and "nothing was changed" in str(refusal.value)
    )


def test_a_site_that_cannot_be_remembered_is_no_fault(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    paths.remember_site(tmp_path, environment(tmp_path / "file" / "home"))
    assert sorted(p.name for p in tmp_path.iterdir()) == ["file"]


def test_the_time_zone_is_the_laptops_where_it_is_known() -> None:
    assert paths.local_zone({"TZ": "America/Chicago"}) == "America/Chicago"
    assert paths.local_zone({"TZ": ":Europe/Oslo"}) == "Europe/Oslo"
    assert zone(paths.local_zone({})).key
    assert paths.local_zone({"TZ": "CST6CDT"}) == paths.local_zone({})


# ---- folders that other machines write to as well


@pytest.mark.parametrize(
    "name",
    ["OneDrive", "OneDrive - A Lab", "Dropbox", "Google Drive", "GoogleDrive", "iCloud Drive",
     "Nextcloud", "Syncthing", "Box Sync"],
)  # fmt: skip
def test_a_synced_folder_gets_a_warning_that_says_what_to_do(tmp_path: Path, name: str) -> None:
    folder = tmp_path / name / "hatchery"
    folder.mkdir(parents=True)
    warning = paths.shared_folder(folder)
    assert warning is not None
    assert warning.startswith(f"{folder} looks like a synced folder")
    assert "Keep the site on this laptop's own disk" in warning


def test_a_link_into_a_synced_folder_gets_the_warning_too(tmp_path: Path) -> None:
    (tmp_path / "Dropbox").mkdir()
    (tmp_path / "site").symlink_to(tmp_path / "Dropbox")
    assert paths.shared_folder(tmp_path / "site") is not None


def test_a_folder_on_the_laptops_own_disk_gets_no_warning(tmp_path: Path) -> None:
    assert paths.shared_folder(tmp_path) is None
    assert paths.shared_folder(tmp_path / "drop box" / "boxsync.d") is None


def test_every_mounted_folder_is_known_by_the_file_system_that_holds_it(tmp_path: Path) -> None:
    mounts = Path("/proc/mounts")
    if not mounts.exists():
        assert paths._mount_type(str(tmp_path)) is None
        return
    last = {}
    for line in mounts.read_text("utf-8").splitlines():
        _, point, kind = line.split(" ")[:3]
        last[point.replace("\\040", " ")] = kind
    for point, kind in last.items():
        assert paths._mount_type(point) == kind
        if all(not other.startswith(point + "/") for other in last) and "\\" not in point:
            assert paths._mount_type(os.path.join(point, "a", "b")) == kind
        expected = kind in paths._NETWORK
        if os.path.realpath(point) == point and not re.search(paths._SYNCED, point):
            assert (paths.shared_folder(Path(point)) is not None) == expected
