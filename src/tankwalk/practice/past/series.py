"""The past of one item at one place: its looks in order, and the band that was in force by day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from tankwalk.clock import Instant
from tankwalk.ledger.corrections import LATE_S
from tankwalk.ledger.feeding import SampleSeen
from tankwalk.ledger.meters import MarkSeen
from tankwalk.ledger.readings import PastSeen
from tankwalk.plan import kinds
from tankwalk.plan.bands import band_at
from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import Item, Limits, Plan
from tankwalk.practice.judging.standing.life import looks_of
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meters.suspects import mark_of
from tankwalk.practice.past.window import Window
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

BAND_STEPS = 120
"""A band is worked out for so many days of a window at most; between them it is that of before."""


class LookAt(NamedTuple):
    """One look. `value` is None where it was not taken, and `why` says why not.

    `first` is the first reading where this is the second of two; `suspect` that its meter failed
    its check; `late_s` how many seconds after `at` it was entered, 0 where that was at once.
    """

    n: int
    at: Instant
    value: float | None
    why: str
    below: bool
    """Below what the kit can see: the value is what it sees."""
    flag: Flag
    first: float | None
    suspect: bool
    late_s: int
    instrument: str | None
    who: str
    least: float | None = None
    most: float | None = None
    """Ends of the spread that `value` is the middle of, where it is of a sample."""
    typist: str | None = None
    """Who typed it in from paper, where it was."""
    amended: bool = False
    """Whether it stands in the place of a value that was corrected."""

    @property
    def confirmed(self) -> bool:
        """Whether a second reading found what the first had found."""
        return self.first is not None and self.flag >= Flag.WATCH

    @property
    def not_confirmed(self) -> float | None:
        """A first reading that the second did not find again."""
        return self.first if self.first is not None and self.flag < Flag.WATCH else None


class BandDay(NamedTuple):
    """The band in force from a day on; None where there is none."""

    day: date
    limits: Limits | None


class Series(NamedTuple):
    """The looks of one item at one place in a window, oldest first, and its band by day."""

    place: str
    item: Item
    window: Window
    looks: tuple[LookAt, ...]
    bands: tuple[BandDay, ...]
    planned: bool
    """Whether the band moves by a ramp, stages or treatment: it differs within the window."""

    def limits_on(self, day: date) -> Limits | None:
        """The band in force on a day of the window."""
        nth, days = (day - self.window.first).days, self.window.days
        if not self.bands or not 0 <= nth < days:
            return None
        return self.bands[nth * len(self.bands) // days].limits

    @property
    def taken(self) -> tuple[LookAt, ...]:
        """The looks that have a value."""
        return tuple(one for one in self.looks if one.value is not None)


def series(site: Site, place: str, item: Item, window: Window) -> Series:
    """The past of an item at a tank, a loop or the site."""
    seen = site.reader.readings.past(place, item.code, item.unit, window.since, window.until)
    parts = {code for _, code in BY_CODE[item.code].items} if item.code in BY_CODE else set()
    every = site.reader.meters.marks(window.since)
    marks = [mark for mark in every if mark.item in parts | {item.code}]
    told = looks(item, seen, marks)
    if parts:
        told = tuple(one._replace(suspect=_worked_from(site, one, marks)) for one in told)
    bands = bands_of(site.plan, item, place, window) if item.kind.by_band else ()
    planned = len({band.limits for band in bands}) > 1
    return Series(place, item, window, told, bands, planned)


def looks(item: Item, seen: Sequence[PastSeen], marks: Sequence[MarkSeen]) -> tuple[LookAt, ...]:
    """Readings, oldest first, as looks; `marks` of this item say which are suspect."""
    every: list[LookAt] = []
    run: list[PastSeen] = []
    for one in seen:
        if one.value is None:
            every += _looks(item, run)
            run = []
            every.append(_look(one, None))
        else:
            run.append(one)
    every += _looks(item, run)
    return tuple(
        one._replace(
            suspect=mark_of(marks, one.instrument, item.code, one.at.utc) is not None,
        )
        if marks and one.instrument is not None
        else one
        for one in every
    )


def _worked_from(site: Site, look: LookAt, marks: Sequence[MarkSeen]) -> bool:
    """Whether a look was worked out from what a meter read that failed its check."""
    if not any(mark.since <= look.at.utc <= mark.until for mark in marks):
        return False
    working = site.reader.readings.working(look.n)
    parts = () if working is None else map(site.reader.readings.seen, working.parts.values())
    return any(
        mark_of(marks, part.instrument, part.item, part.at.utc) is not None
        for part in parts
        if part is not None
    )


def _looks(item: Item, seen: Sequence[PastSeen]) -> list[LookAt]:
    found = looks_of(item, seen, lambda one, other: one.round == other.round)
    return [_look(one.reading, one.first) for one in found]


def _look(one: PastSeen, first: PastSeen | None) -> LookAt:
    return LookAt(
        one.n,
        one.at,
        one.value,
        "" if one.value is not None else one.qualifier or "",
        one.value is not None and one.qualifier == "<",
        Flag(one.flag),
        None if first is None else first.value,
        suspect=False,
        late_s=one.late_s if one.late_s > LATE_S and one.amends is None else 0,
        instrument=one.instrument,
        who=one.who,
        typist=one.typist,
        amended=one.amends is not None,
    )


def bands_of(plan: Plan, item: Item, place: str, window: Window) -> tuple[BandDay, ...]:
    """The band by the plan on so many days, evenly over the window."""
    many = min(window.days, BAND_STEPS)
    found = []
    for step in range(many):
        day = window.day(step * window.days // many)
        band = band_at(plan, item, place, day)
        found.append(BandDay(day, None if band is None else band.limits))
    return tuple(found) if any(one.limits is not None for one in found) else ()


def grown(
    place: str, samples: Sequence[SampleSeen], what: str, unit: str, window: Window
) -> Series | None:
    """The means of samples of one kind as a series, each with its spread (mean -/+ SD).

    None where there is none in the window.
    """
    looks = tuple(
        LookAt(
            one.n, one.at, one.mean, "", False, Flag.OK, None, False, 0, None, one.who,
            None if one.sd is None else one.mean - one.sd,
            None if one.sd is None else one.mean + one.sd,
        )
        for one in samples
        if one.place == place and one.what == what and one.mean is not None
        and window.since <= one.at.utc <= window.until
    )  # fmt: skip
    if not looks:
        return None
    item = Item(f"sample {what}", what.capitalize(), kinds.NUMBER, unit=unit)
    return Series(place, item, window, looks, (), planned=False)
