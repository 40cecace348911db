"""The one door for time: what "now" is, in the site's zone, always handed in."""

from __future__ import annotations

import time as _time
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import Protocol
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple

Zone = ZoneInfo
"""A time zone, as `zone` finds it."""

_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001
_FIRST_DAY = _EPOCH.toordinal()


class Instant(NamedTuple):
    """A moment as the record keeps it: whole UTC seconds, and the wall clock's offset then.

    Differences are taken in UTC, so a night with a clock change has its true length.
    """

    utc: int
    offset: int
    """Minutes the wall clock was ahead of UTC."""

    @property
    def wall(self) -> datetime:
        """Wall-clock time, naive on purpose: for showing, never for subtracting."""
        return _EPOCH + timedelta(seconds=self.utc + self.offset * 60)

    @property
    def day(self) -> date:
        """Local calendar day."""
        return date.fromordinal(_FIRST_DAY + (self.utc + self.offset * 60) // 86400)

    def iso(self) -> str:
        """ISO 8601 with offset, to the second when there are seconds."""
        sign = "-" if self.offset < 0 else "+"
        hours, minutes = divmod(abs(self.offset), 60)
        form = "%Y-%m-%dT%H:%M:%S" if self.utc % 60 else "%Y-%m-%dT%H:%M"
        return f"{self.wall.strftime(form)}{sign}{hours:02d}:{minutes:02d}"

    def hm(self) -> str:
        """Wall clock as 06:50."""
        return self.wall.strftime("%H:%M")

    def short(self) -> str:
        """Day and wall clock, as "Sun 10 May 06:50"; the day's number without a zero."""
        wall = self.wall
        return f"{wall.strftime('%a')} {wall.day} {wall.strftime('%b %H:%M')}"

    def long(self) -> str:
        """Day, year and wall clock, as "Sun 10 May 2026, 06:50"."""
        wall = self.wall
        return f"{wall.strftime('%a')} {wall.day} {wall.strftime('%b %Y, %H:%M')}"

    def told(self, now: Instant) -> str:
        """The wall clock of a moment of today, with its day where it is another."""
        return self.hm() if self.day == now.day else self.short()

    def hours_since(self, earlier: Instant) -> float:
        """Hours from `earlier` to this instant."""
        return (self.utc - earlier.utc) / 3600


def zone(name: str) -> ZoneInfo:
    """A time zone by its name; Refusal when this machine does not know it."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise Refusal(
            f"The time zone {name!r} is not known here; write one such as America/Chicago."
        ) from None


def instant(moment: datetime, tz: ZoneInfo) -> Instant:
    """An aware datetime as an Instant with the offset of `tz` at that moment."""
    # By way of UTC: a wall-clock time that a change skipped is not a time of this zone.
    offset = moment.astimezone(UTC).astimezone(tz).utcoffset() or timedelta(0)
    return Instant(int(moment.timestamp()), int(offset.total_seconds() // 60))


def parse_instant(text: str, tz: ZoneInfo) -> Instant:
    """An ISO 8601 instant; without an offset it is wall-clock time in `tz`."""
    try:
        moment = datetime.fromisoformat(text.strip())
        if not 1970 < moment.year < 3000:
            raise ValueError
        return instant(moment if moment.tzinfo else moment.replace(tzinfo=tz), tz)
    except ValueError:
        raise Refusal(
            f"{text[:40]!r} is not a date and time; write one such as 2026-05-10T06:50."
        ) from None


@lru_cache(512)  # a board asks for the meals of some days a dozen times
def at(day: date, hour: int, minute: int, tz: ZoneInfo) -> Instant:
    """Wall-clock time of a local day."""
    return instant(datetime(day.year, day.month, day.day, hour, minute, tzinfo=tz), tz)


def ago(hours: float) -> str:
    """A length of time as people say it: "4 min", "15 h 50 min", "3 d"."""
    minutes = round(abs(hours) * 60)
    if minutes < 1:
        return "now"
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 24 * 60:
        return f"{minutes // 60} h" + (f" {minutes % 60:02d} min" if minutes % 60 else "")
    if minutes < 72 * 60:
        return f"{round(minutes / 60)} h"
    return f"{round(minutes / 1440)} d"


BACK_MINUTES = 2
"""An entry may be so much later than the clock: clocks are set by seconds, and laptops drift.

Common practice, no source.
"""


AHEAD = "ahead of this clock"
"""What is said in place of a length where the record is later than the clock reads."""


def is_ahead(hours: float) -> bool:
    """Whether something that is so long ago lies ahead of the clock: no length is true then."""
    return hours * 60 < -BACK_MINUTES


def past(hours: float, word: str = "ago") -> str:
    """How long ago something was: "just now", "4 min ago", "4 min old", "ahead of this clock"."""
    if is_ahead(hours):
        return AHEAD
    said = ago(max(0.0, hours))
    return "just now" if said == "now" else f"{said} {word}"


def ago_short(hours: float) -> str:
    """A length of time in a table's narrow cell: "25m", "16h", "3d".

    "?" is what lies ahead of the clock: nobody can tell by it how long ago that was.
    """
    if is_ahead(hours):
        return "?"
    if hours < 1:
        return f"{max(0, round(hours * 60))}m"
    return f"{round(hours)}h" if hours < 72 else f"{round(hours / 24)}d"


class Clock(Protocol):
    """Whatever can say what time it is at the site."""

    def now(self) -> Instant: ...


class SystemClock(NamedTuple):
    """The computer's clock, read in the site's zone."""

    tz: ZoneInfo

    def now(self) -> Instant:
        return instant(datetime.now(UTC), self.tz)


class FixedClock(NamedTuple):
    """A clock that stands still, for rehearsal, tests and printed examples."""

    at: Instant

    def now(self) -> Instant:
        return self.at


class RehearsalClock:
    """A clock that starts at a given moment and runs on while the program does."""

    def __init__(self, start: Instant, tz: ZoneInfo) -> None:
        self._start = start
        self._tz = tz
        self._began = _time.monotonic()

    def now(self) -> Instant:
        passed = int(_time.monotonic() - self._began)
        return instant(datetime.fromtimestamp(self._start.utc + passed, UTC), self._tz)


def running() -> float:
    """Seconds since some moment, for how long something takes: no clock that is set goes back."""
    return _time.monotonic()
