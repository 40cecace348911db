"""Looks of the past, drawn: a sign a look in one row, or by half days in rows of half blocks.

In one row `▁` to `█` is the place in the band of today, low to high, `▼` and `▲` were out of it,
`x` is a look whose first reading was not confirmed, `?` one of a meter that then failed its check,
`-` one that was not taken. In rows a value stands at its height, on one scale for all.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tankwalk.clock import Instant
from tankwalk.pages.glyphs import ABOVE, BELOW, STEPS, UNKNOWN
from tankwalk.pages.lines import Span, flag_tone
from tankwalk.pages.strips import DOT, NOW, Scale
from tankwalk.plan.model import Item
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.past.series import LookAt
from tankwalk.rows import NamedTuple

NOT_TAKEN, SUSPECT, UNCONFIRMED = "-", "?", "x"

MIXED = ("\u2584", "\u2582", "\u2583", "\u2585", "\u2586")
"""Signs of words that are neither the first of an item nor one to act on."""

HALF_DAY_S = 43_200

UPPER, LOWER, BOTH = "\u2580", "\u2584", "\u2588"


class Mark(NamedTuple):
    """One cell: its sign, and its tone."""

    sign: str
    tone: str


def mark(look: LookAt, item: Item, scale: Scale | None) -> Mark:
    """The sign of one look in a row; what was judged out has that of its side."""
    if look.value is None:
        return Mark(NOT_TAKEN, "plain")
    if look.suspect:
        return Mark(SUSPECT, "dim")
    if look.not_confirmed is not None:
        return Mark(UNCONFIRMED, "check")
    out = look.flag >= Flag.WATCH
    tone = _flagged(look.flag) if out else "trend"
    return Mark(_sign(look.value, item, scale, out=out), tone)


def _flagged(flag: Flag) -> str:
    """A block of the tone of ACT would hide its sign: the sign takes the color of WATCH."""
    return "watch" if flag <= Flag.ACT else flag_tone(flag)


def of_value(value: float, item: Item, scale: Scale | None) -> str:
    """The sign of a value that is being entered: out where it lies outside the band of today."""
    side = 0 if scale is None or item.kind.by_words else scale.side(value)
    return _sign(value, item, scale, out=side != 0)


def _sign(value: float, item: Item, scale: Scale | None, *, out: bool) -> str:
    if item.kind.by_words:
        return word_sign(item, int(value))
    if scale is None:
        return NOW if out else UNKNOWN
    side = scale.side(value)
    if out:
        return BELOW if side < 0 else ABOVE if side > 0 else NOW
    # What was in the band of its day and is not in that of today stands at its end.
    return STEPS[0] if side < 0 else STEPS[-1] if side > 0 else STEPS[scale.cell(value, len(STEPS))]


def word_sign(item: Item, place: int) -> str:
    """The sign of a word: `·` the first, `█` one to act on, something between for the rest."""
    if place == 0:
        return DOT
    if not 0 <= place < len(item.choices):
        return NOW
    if item.choices[place] in item.act_on:
        return STEPS[-1]
    rest = [word for word in item.choices[1:] if word not in item.act_on]
    return MIXED[rest.index(item.choices[place]) % len(MIXED)]


def in_row(looks: Sequence[LookAt], item: Item, scale: Scale | None, cells: int) -> list[Span]:
    """The last looks, so many cells of them at most, the newest last."""
    return merged(mark(one, item, scale) for one in looks[-cells:])


def merged(marks: Iterable[Mark]) -> list[Span]:
    """Cells in as few spans as their tones need."""
    spans: list[Span] = []
    for sign, tone in marks:
        if spans and spans[-1].tone == tone:
            spans[-1] = Span(spans[-1].text + sign, tone)
        else:
            spans.append(Span(sign, tone))
    return spans


# ---- rows of half blocks


class Shape(NamedTuple):
    """Rows of a picture: so many of the band, and beyond it above and below."""

    band: int
    above: int
    below: int

    @property
    def rows(self) -> int:
        return self.above + self.band + self.below


def half_day(at: Instant) -> int:
    """Which half of a local day a moment lies in, counted on."""
    return (at.utc + at.offset * 60) // HALF_DAY_S


class Spot(NamedTuple):
    """Where a value stands: its row from the top, and its sign there."""

    row: int
    sign: str


def spot(value: float, scale: Scale, shape: Shape, *, out: bool) -> Spot:
    """Where a value stands in a picture; what is out and has no row there stands at its end."""
    side = scale.side(value)
    if side == 0:
        step = scale.cell(value, 2 * shape.band)  # from the low limit
        row = shape.above + shape.band - 1 - step // 2
        return Spot(row, NOW if out else UPPER if step % 2 else LOWER)
    if side > 0:
        free = shape.above - 1
        far = free > 0 and scale.act_high is not None and value > scale.act_high
        row = 0 if far or free < 0 else free
        return Spot(row, (NOW if out else LOWER) if free >= 0 else ABOVE)
    free = shape.below
    far = free > 1 and scale.act_low is not None and value < scale.act_low
    row = shape.rows - 1 if far or free == 0 else shape.above + shape.band
    return Spot(row, (NOW if out else UPPER) if free > 0 else BELOW)


class Picture:
    """Looks by half days, the last cell that of now; made once, and drawn with what is typed.

    With `whole_days` the last cell is the afternoon of today.
    """

    def __init__(
        self,
        looks: Sequence[LookAt],
        scale: Scale,
        now: Instant,
        cells: int,
        shape: Shape,
        *,
        whole_days: bool = False,
    ) -> None:
        self.scale, self.shape = scale, shape
        last = half_day(now) | whole_days
        inside = ([Mark(DOT, "band"), Mark(" ", "band")] * cells)[:cells]
        outside = [Mark(" ", "plain")] * cells
        grid = [[*(inside if self._in_band(row) else outside)] for row in range(shape.rows)]
        self._empty = [row[-1] for row in grid]
        taken: dict[tuple[int, int], int] = {}
        for look in looks:
            cell = cells - 1 - (last - half_day(look.at))
            if not 0 <= cell < cells:
                continue
            for row, sign, tone, weight in self._of(look):
                if weight >= taken.get((row, cell), 0):
                    taken[row, cell] = weight
                    grid[row][cell] = Mark(sign, tone)
        self.before = [merged(row[:-1]) for row in grid]
        self.last = [row[-1] for row in grid]

    def _in_band(self, row: int) -> bool:
        return self.shape.above <= row < self.shape.above + self.shape.band

    def _of(self, look: LookAt) -> list[tuple[int, str, str, int]]:
        """Row, sign, tone and weight of each mark of a look: what weighs more hides the other."""
        found = []
        if look.not_confirmed is not None:
            row = spot(look.not_confirmed, self.scale, self.shape, out=True).row
            found.append((row, UNCONFIRMED, "check", 3))
        if look.value is None:
            lowest = self.shape.rows - 1
            found.append((lowest, NOT_TAKEN, "plain", 2))
            return found
        out = look.flag >= Flag.WATCH
        row, sign = spot(look.value, self.scale, self.shape, out=out)
        inside = self._in_band(row)
        if look.suspect:
            found.append((row, SUSPECT, "band" if inside else "dim", 2))
        else:
            tone = _flagged(look.flag) if out else "inside" if inside else "plain"
            found.append((row, sign, tone, 4 if out else 1))
        return found

    def rows(self, value: float | None = None) -> list[list[Span]]:
        """Each row of the picture; `value` is what is typed, in the cell of now."""
        last = self.last
        if value is not None:
            out = self.scale.side(value) != 0
            row, sign = spot(value, self.scale, self.shape, out=out)
            last = [*self._empty]
            last[row] = Mark(NOW if out else sign, "entry")
        return [[*before, Span(*now)] for before, now in zip(self.before, last, strict=True)]
