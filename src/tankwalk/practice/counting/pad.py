"""The counting pad: sub-samples as they are typed, what they come to, and whether they are enough.

Nothing here touches a record: a `Count` is a value, and each act gives another one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science import livefeed
from tankwalk.science.livefeed import Aliquots
from tankwalk.science.samples import SafeLimits, safe_limits

CV_LIMIT = 15.0
"""Sub-samples that scatter more than this, in %, are counted again. Common practice, no source."""

FEWEST = 3
"""Sub-samples below this are few, however well they agree. Common practice, no source."""

HALF_RANGE = 0.2
"""Half of the 95 % range as a part of the mean that is narrow enough. Common practice, no source.

A cone that is fed by a number 20 % off is fed a meal in five too many or too few.
"""

MORE = 2
"""How many more sub-samples are held up as a choice."""

MOST_COUNTED = 100_000
"""The most that one sub-sample can hold: nobody counts more by eye."""

SQUARE_ML = 0.0001
"""A square of a counting chamber, 1 mm x 1 mm x 0.1 mm deep, in mL."""


class Sort(Enum):
    """What kind of count it is."""

    NAUPLII = "nauplii"
    ROTIFERS = "rotifers"
    CELLS = "cells"
    HATCH = "hatch"
    LARVAE = "larvae"
    EGGS = "eggs"
    FISH = "fish"
    DEAD = "dead fish"

    @property
    def columns(self) -> tuple[str, ...]:
        """What is counted in each sub-sample, one number after the other."""
        return _COLUMNS.get(self, (self.value,))

    @property
    def ml(self) -> float:
        """The usual size of a sub-sample, in mL."""
        return _USUAL_ML[self]


_COLUMNS = {
    Sort.ROTIFERS: ("rotifers", "eggs"),
    Sort.HATCH: ("nauplii", "umbrella", "embryos"),
    Sort.DEAD: ("fish",),
}
_USUAL_ML = {
    Sort.NAUPLII: 0.1,
    Sort.ROTIFERS: 1.0,
    Sort.CELLS: SQUARE_ML,
    Sort.HATCH: 0.25,
    Sort.LARVAE: 100.0,
    Sort.EGGS: 1.0,
    Sort.FISH: 10_000.0,
    Sort.DEAD: 100.0,
}


class About(NamedTuple):
    """What a count is for: a batch or a place, the size of a sub-sample, and what it is part of.

    `ml` of one sub-sample, diluted `dilution` times, of `liters` in all; `grams` of cysts that
    would be `per_gram` nauplii each if all of them hatched.
    """

    sort: Sort
    ml: float
    dilution: float = 1.0
    liters: float | None = None
    batch: str | None = None
    place: str | None = None
    lot: str | None = None
    grams: float | None = None
    per_gram: float | None = None

    @property
    def of(self) -> str:
        """The batch or place it is of, "" where it is of neither."""
        return self.batch or self.place or ""


class Out(Enum):
    """Why a sub-sample does not count; it stays in sight and in the record."""

    AGAIN = "counted again"
    BUBBLE = "bubble or spilled"
    CLUMP = "clump or dirt"
    LOST = "lost count"
    SIZE = "not the right amount"


REASONS = (Out.BUBBLE, Out.CLUMP, Out.LOST, Out.SIZE)
"""Reasons by number, from 1."""


class SubSample(NamedTuple):
    """One sub-sample as counted, a number for each column, and why it was left out if it was."""

    counts: tuple[int, ...]
    out: Out | None = None


class Count(NamedTuple):
    """A count under way: the sub-samples so far, and the numbers of the one being counted.

    `at` is the sub-sample the arrows stand at, None at the new one.
    """

    about: About
    samples: tuple[SubSample, ...] = ()
    part: tuple[int, ...] = ()
    at: int | None = None

    @property
    def taken(self) -> tuple[SubSample, ...]:
        """The sub-samples that count."""
        return tuple(one for one in self.samples if one.out is None)

    @property
    def empty(self) -> bool:
        """Whether nothing was counted yet."""
        return not self.samples and not self.part


def add(count: Count, number: int) -> Count:
    """One more number: the next column of a sub-sample, or the last one of it."""
    if not 0 <= number <= MOST_COUNTED:
        raise Refusal(f"A sub-sample holds 0 to {MOST_COUNTED:,}: {number} was not kept.")
    part = (*count.part, number)
    if len(part) < len(count.about.sort.columns):
        return count._replace(part=part, at=None)
    return count._replace(samples=(*count.samples, SubSample(part)), part=(), at=None)


def standing_at(count: Count) -> int:
    """The sub-sample an act is about: where the arrows stand, else the newest that counts."""
    if count.at is not None:
        return count.at
    newest = [nth for nth, one in enumerate(count.samples) if one.out is None]
    if not newest:
        raise Refusal("Nothing is counted yet.")
    return newest[-1]


def leave_out(count: Count, why: Out) -> Count:
    """Leave one sub-sample out of the sum; it stays, with the reason."""
    nth = standing_at(count)
    before = count.samples[nth].out
    if before is not None:
        raise Refusal(f"That one is left out already: {before.value}.")
    kept = list(count.samples)
    kept[nth] = kept[nth]._replace(out=why)
    return count._replace(samples=tuple(kept), part=(), at=None)


def again(count: Count) -> Count:
    """Count one sub-sample again: the first number stays in sight, the next one counts."""
    return leave_out(count, Out.AGAIN)


def undo(count: Count) -> Count:
    """Take the newest number back."""
    if count.part:
        return count._replace(part=count.part[:-1], at=None)
    if not count.samples:
        raise Refusal("Nothing is counted yet.")
    return count._replace(samples=count.samples[:-1], at=None)


def move(count: Count, way: int) -> Count:
    """To the sub-sample before (-1) or after (1); after the last one stands the new one."""
    many = len(count.samples)
    at = (many if count.at is None else count.at) + way
    return count._replace(at=None if at >= many else max(0, at))


# ---- what it comes to


class State(Enum):
    """How a count stands."""

    NONE = "nothing counted"
    FEW = "few"
    UNEVEN = "not well mixed"
    SCATTERED = "scattered by chance"
    WIDE = "wide"
    ENOUGH = "enough"


class Narrower(NamedTuple):
    """The range that so many more sub-samples would give, in per mL, were they like those so far.

    `of` is the Poisson count it goes by, None where Student's t does; `wanted` how many more make
    the range narrow enough, None where no number anybody counts does.
    """

    more: int
    low: float
    high: float
    of: int | None
    wanted: int | None


class Worked(NamedTuple):
    """What the sub-samples come to; `total`, `low` and `high` are of all liters, where known.

    `exact` says which range it is: exact Poisson of all that was counted, or Student's t.
    """

    aliquots: Aliquots
    many: int
    found: int
    exact: bool
    per_ml: float
    low_ml: float
    high_ml: float
    total: float | None
    low: float | None
    high: float | None
    state: State
    narrower: Narrower | None
    odd: int | None
    """Which sub-sample (of all) lies farthest from the mean, where they are not well mixed."""
    hatch_percent: float | None
    egg_ratio: float | None


def work(count: Count) -> Worked | None:
    """What was counted comes to; None before the first sub-sample."""
    about, taken = count.about, count.taken
    if not taken:
        return None
    counts = [one.counts[0] for one in taken]
    liters = about.liters
    whole = max(liters or 1.0, about.ml / 1000)
    found = livefeed.aliquots(counts, about.ml, whole, about.dilution)
    to_total = about.dilution / about.ml * 1000 * whole
    of_all = liters is not None
    exact = found.mixed is not False
    per_ml = about.dilution / about.ml
    state = _state(found, counts)
    return Worked(
        aliquots=found,
        many=len(counts),
        found=sum(counts),
        exact=exact,
        per_ml=found.density,
        low_ml=found.low / to_total * per_ml,
        high_ml=found.high / to_total * per_ml,
        total=found.total if of_all else None,
        low=found.low if of_all else None,
        high=found.high if of_all else None,
        state=state,
        narrower=None if state is State.ENOUGH else _narrower(counts, per_ml, exact=exact),
        odd=_odd(count) if found.mixed is False else None,
        hatch_percent=_hatch(about, taken, found.total if of_all else None),
        egg_ratio=_eggs(about, taken),
    )


def fish_error(count: Count) -> SafeLimits:
    """95 % limits of all fish that sub-samples are of: the wider of chance and spread.

    What is entered of fish leans on it, so it must not look surer than it is; at least one
    sub-sample counts.
    """
    about = count.about
    limits = safe_limits([one.counts[0] for one in count.taken])
    to_all = about.dilution / about.ml * 1000 * max(about.liters or 1.0, about.ml / 1000)
    return SafeLimits(limits.low * to_all, limits.high * to_all, limits.by_spread)


def _state(found: Aliquots, counts: Sequence[int]) -> State:
    if found.mixed is False:
        return State.UNEVEN
    if len(counts) < FEWEST:
        return State.FEW
    if found.cv is not None and found.cv > CV_LIMIT:
        return State.SCATTERED
    low, high = livefeed.aliquots_with(counts, 0)
    mean = sum(counts) / len(counts)
    wide = mean == 0 or (high - low) / 2 > HALF_RANGE * mean
    return State.WIDE if wide else State.ENOUGH


def _narrower(counts: Sequence[int], per_ml: float, *, exact: bool) -> Narrower:
    """What the range of some counts would be with a few more of the same mean and spread."""
    low, high = livefeed.aliquots_with(counts, MORE)
    of = round(sum(counts) / len(counts) * (len(counts) + MORE)) if exact else None
    wanted = livefeed.aliquots_more(counts, HALF_RANGE)
    return Narrower(MORE, low * per_ml, high * per_ml, of, wanted)


def _odd(count: Count) -> int:
    """The sub-sample that lies farthest from the mean of the others."""
    taken = [(nth, one.counts[0]) for nth, one in enumerate(count.samples) if one.out is None]
    total = sum(found for _, found in taken)

    def apart(one: tuple[int, int]) -> float:
        return abs(one[1] - (total - one[1]) / (len(taken) - 1))

    return max(taken, key=apart)[0]


def _hatch(about: About, taken: Sequence[SubSample], total: float | None) -> float | None:
    """Percent hatched: of all that was counted in a test, else of what the grams could give."""
    sums = _sums(about, taken)
    if about.sort is Sort.HATCH:
        return livefeed.hatch_percent(*sums) if sum(sums) else None
    if about.sort is not Sort.NAUPLII or not about.grams or not about.per_gram or total is None:
        return None
    return livefeed.hatch_yield(total, about.grams, about.per_gram)


def _eggs(about: About, taken: Sequence[SubSample]) -> float | None:
    if about.sort is not Sort.ROTIFERS:
        return None
    females, eggs = _sums(about, taken)
    return livefeed.egg_ratio(eggs, females) if females else None


def _sums(about: About, taken: Sequence[SubSample]) -> list[int]:
    """What was counted of each column in all."""
    return [sum(one.counts[nth] for one in taken) for nth in range(len(about.sort.columns))]


# ---- as the record keeps it


def written(count: Count, *, whole: bool = False) -> list[tuple[str, str]]:
    """Each column as the record keeps it: what, and the numbers with blanks between.

    Only what counts; `whole`: also what was left out, and an unfinished sub-sample.
    """
    rows = [one.counts for one in (count.samples if whole else count.taken)]
    found = []
    for nth, what in enumerate(count.about.sort.columns):
        numbers = [row[nth] for row in rows]
        if whole and nth < len(count.part):
            numbers.append(count.part[nth])
        if numbers:
            found.append((what, " ".join(map(str, numbers))))
    return found


def marks(count: Count) -> str:
    """Which sub-samples are left out and why, for a count under way: "2:AGAIN 3:BUBBLE"."""
    return " ".join(
        f"{nth}:{one.out.name}" for nth, one in enumerate(count.samples) if one.out is not None
    )


def read_back(about: About, columns: Mapping[str, tuple[int, ...]], marked: str) -> Count:
    """A count under way as `written` (whole) and `marks` kept it."""
    rows = [columns.get(what, ()) for what in about.sort.columns]
    many = min(len(row) for row in rows)
    out = dict(word.split(":", 1) for word in marked.split())
    samples = tuple(
        SubSample(tuple(row[nth] for row in rows), Out[out[str(nth)]] if str(nth) in out else None)
        for nth in range(many)
    )
    return Count(about, samples, tuple(row[many] for row in rows if len(row) > many))
