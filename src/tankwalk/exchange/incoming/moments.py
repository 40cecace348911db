"""Dates and times as files write them: understood whole, or refused; never guessed."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from enum import StrEnum

from tankwalk.clock import Zone, instant, zone
from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple


class Order(StrEnum):
    """In which order a date of numbers alone is written; year first needs none."""

    DAY = "day-first"
    MONTH = "month-first"


MONTHS = {
    name: nth
    for nth, name in enumerate(
        ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"), 1
    )
}

OFFSETS = {
    "z": 0, "utc": 0, "gmt": 0, "est": -300, "edt": -240, "cst": -360, "cdt": -300, "mst": -420,
    "mdt": -360, "pst": -480, "pdt": -420, "akst": -540, "akdt": -480, "hst": -600, "wet": 0,
    "west": 60, "met": 60, "cet": 60, "cest": 120, "eet": 120, "eest": 180,
}  # fmt: skip
"""Minutes that words for a zone are ahead of UTC."""

_ZONE = r"(?P<zone>Z|[A-Za-z]{3,4}|(?:UTC|GMT)?\s?[-+\u2212]\d{1,2}(?::?\d{2})?)"
_CLOCK = (
    r"(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2})(?:[.,]\d+)?)?"
    r"\s*(?P<half>[AaPp]\.?[Mm]\.?)?"
)
_DATE = (
    r"(?P<date>(?P<y1>\d{4})[-/.](?P<m1>\d{1,2}|[A-Za-z]{3,9})[-/.](?P<d1>\d{1,2})"
    r"|(?P<a>\d{1,2})(?P<mark>[-/.])(?P<b>\d{1,2})(?P=mark)(?P<y2>\d{4}|\d{2})"
    r"|(?P<d3>\d{1,2})[-\s.]+(?P<m3>[A-Za-z]{3,9})\.?[-\s,]+(?P<y3>\d{4}|\d{2})"
    r"|(?P<m4>[A-Za-z]{3,9})\.?\s+(?P<d4>\d{1,2}),?\s+(?P<y4>\d{4})"
    r"|(?P<y5>(?:19|20)\d{2})(?P<m5>0[1-9]|1[0-2])(?P<d5>[0-3]\d))"
)
_WHOLE = re.compile(rf"(?:[A-Za-z]{{3,9}},?\s+)?{_DATE}(?:(?:\s*T\s*|[\s,]+){_CLOCK})?\s*{_ZONE}?")
_HOUR = re.compile(rf"{_CLOCK}\s*{_ZONE}?")
_SECONDS = re.compile(r"\d{9,10}(?:\.\d+)?|\d{13}")
_OFFSET = re.compile(r"(?:UTC|GMT)?\s?(?P<sign>[-+\u2212])(?P<h>\d{1,2})(?::?(?P<m>\d{2}))?", re.I)

_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001


def is_date(cell: str) -> bool:
    """Whether a cell is a date, with a time of day or without."""
    return _WHOLE.fullmatch(cell) is not None


def has_clock(cell: str) -> bool:
    """Whether a date has a time of day beside it."""
    found = _WHOLE.fullmatch(cell)
    return found is not None and found["hour"] is not None


def is_clock(cell: str) -> bool:
    """Whether a cell is a time of day."""
    return _HOUR.fullmatch(cell) is not None


def is_seconds(cell: str) -> bool:
    """Whether a cell may be seconds (or milliseconds) since 1970."""
    return _SECONDS.fullmatch(cell) is not None


def order_of(cell: str) -> Order | bool | None:
    """In which order a date is written, where it shows that; True where both are possible.

    None where it is no date of three short numbers.
    """
    found = _WHOLE.fullmatch(cell)
    if found is None or found["a"] is None:
        return None
    a, b = int(found["a"]), int(found["b"])
    if a > 12 >= b:
        return Order.DAY
    if b > 12 >= a:
        return Order.MONTH
    return True if a != b else None


def offset_of(words: str) -> int | None:
    """Minutes ahead of UTC that words such as "GMT-05:00", "+02" or "CEST" say; None for others."""
    plain = words.strip()
    known = OFFSETS.get(plain.lower())
    if known is not None:
        return known
    found = _OFFSET.fullmatch(plain)
    if found is None:
        return None
    minutes = int(found["h"]) * 60 + int(found["m"] or 0)
    if minutes > 14 * 60:
        return None
    return minutes if found["sign"] == "+" else -minutes


class When(NamedTuple):
    """How moments of a file are read: the order of dates, the zone or its offset, time of day."""

    order: Order | None
    tz: Zone
    offset: int | None = None
    """Minutes ahead of UTC, where the file says so for all; else `tz` holds."""
    hour: str = ""
    """The time of day that is meant where a file has dates alone."""


class Moments:
    """Reads the moments of one file, in the order of its lines."""

    def __init__(self, when: When) -> None:
        self.when = when
        self._days: dict[str, date] = {}
        self._hours: dict[tuple[date, int], tuple[int, int]] = {}
        self._before = 0
        self.twice = 0
        """How many fell into an hour that the wall clock passed twice."""

    def read(self, words: str, hour: str = "", its_zone: str = "") -> int:
        """The UTC second of a cell; `hour` and `its_zone` where they have columns of their own."""
        if _SECONDS.fullmatch(words):
            number = float(words)
            return int(number / 1000 if number > 1e11 else number)
        found = _WHOLE.fullmatch(words)
        if found is None:
            raise Refusal("This is no date that is understood.")
        clock: re.Match[str] | None = found if found["hour"] is not None else None
        if clock is None:
            if not (hour or self.when.hour):
                raise Refusal("There is no time of day.")
            clock = _HOUR.fullmatch(hour or self.when.hour)
            if clock is None:
                raise Refusal("This is no time of day that is understood.")
        day = self._day(found)
        seconds, later = _of_day(clock)
        said = found["zone"] or clock["zone"] or its_zone
        offset = self.when.offset
        if said:
            offset = offset_of(said)
            if offset is None:
                raise Refusal(f"The time zone {said!r} is not known here.")
        at = (
            (day.toordinal() - _EPOCH.toordinal() + later) * 86400 + seconds - offset * 60
            if offset is not None
            else self._local(day + timedelta(days=later), seconds)
        )
        self._before = at
        return at

    def _day(self, found: re.Match[str]) -> date:
        key = found["date"]
        known = self._days.get(key)
        if known is not None:
            return known
        parts = found.groupdict()
        if parts["a"]:
            order = self.when.order
            if order is None and parts["a"] != parts["b"]:
                raise Refusal("Day first or month first? Both are possible here.")
            day, month = parts["a"], parts["b"]
            if order is Order.MONTH:
                day, month = month, day
            year = parts["y2"]
        else:
            nth = next(n for n in "1345" if parts[f"y{n}"])
            year, month, day = (parts[f"{part}{nth}"] for part in "ymd")
        number = MONTHS.get(month[:3].lower()) if month.isalpha() else int(month)
        try:
            if not 1970 < int(year) + (2000 if len(year) == 2 else 0) < 3000:
                raise ValueError
            made = date(int(year) + (2000 if len(year) == 2 else 0), number or 0, int(day))
        except ValueError:
            raise Refusal("There is no such day.") from None
        if len(self._days) > 5000:
            self._days.clear()
        self._days[key] = made
        return made

    def _local(self, day: date, seconds: int) -> int:
        """The UTC second of a wall clock: refused where the clock skipped it.

        Of an hour that was passed twice it is the first, or the second where the line before is
        later than the first.
        """
        hour, rest = divmod(seconds, 3600)
        known = self._hours.get((day, hour))
        if known is None:
            ends = []
            for fold in (0, 1):
                wall = datetime(day.year, day.month, day.day, hour, fold=fold)  # noqa: DTZ001
                ends.append(instant(wall.replace(tzinfo=self.when.tz), self.when.tz))
            first, second = ends
            skipped = first.wall.hour != hour
            if len(self._hours) > 5000:
                self._hours.clear()
            known = self._hours[day, hour] = (-1 if skipped else first.utc, second.utc)
        first_at, second_at = known
        if first_at < 0:
            raise Refusal("The clock skipped this hour: there was no such time.")
        if first_at == second_at:
            return first_at + rest
        self.twice += 1
        return first_at + rest if first_at + rest >= self._before else second_at + rest


def _of_day(clock: re.Match[str]) -> tuple[int, int]:
    """Seconds of the day, and whether it is 24:00, which is the next one."""
    hour, minute = int(clock["hour"]), int(clock["minute"])
    second = int(clock["second"] or 0)
    half = (clock["half"] or "")[:1].lower()
    if half and not 1 <= hour <= 12:
        raise Refusal("There is no such time of day.")
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    if (hour, minute, second) == (24, 0, 0):
        return 0, 1
    if hour > 23 or minute > 59 or second > 59:
        raise Refusal("There is no such time of day.")
    return hour * 3600 + minute * 60 + second, 0


def zone_named(words: str) -> tuple[Zone | None, int | None]:
    """A zone by its name, or an offset such as "-05:00" or "UTC"; Refusal where it is neither."""
    offset = offset_of(words)
    return (None, offset) if offset is not None else (zone(words), None)
