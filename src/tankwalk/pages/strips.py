"""Where a value lies in its band, drawn: the short strip of a list and the long scale of an entry.

The band is always in the same place. `[···●·····]` is the band of today; a value that is out
leaves the brackets. The long form adds the action limits, `├` and `┤`, always as far outside, and
what is beyond them stands beyond. A value on a limit is inside it, as judging has it.
"""

from __future__ import annotations

from tankwalk.pages.lines import Span
from tankwalk.plan.bands import open_side
from tankwalk.plan.model import Item, Limits
from tankwalk.rows import NamedTuple

SHORT = 9
"""Cells of the band in a list."""

STRIP = SHORT + 4
"""Cells of a whole strip: the brackets, and a cell outside each."""

NOW, LAST = "\u25cf", "\u25cb"
DOT, LEFT, RIGHT = "\u00b7", "\u25c4", "\u25ba"
ACT_LOW, ACT_HIGH = "\u251c", "\u2524"


class Scale(NamedTuple):
    """The ends of a band as drawn, in the item's unit, and the action limits outside them."""

    low: float
    high: float
    act_low: float | None = None
    act_high: float | None = None
    open_low: bool = False
    """Whether there is no limit on this side: the end is only as far as it is drawn."""
    open_high: bool = False

    def side(self, value: float) -> int:
        """-1 below the band, 1 above it, 0 inside."""
        if round(value, 9) < round(self.low, 9) and not self.open_low:
            return -1
        return 1 if round(value, 9) > round(self.high, 9) and not self.open_high else 0

    def cell(self, value: float, cells: int) -> int:
        """Which of so many cells between the brackets a value inside lies in, from 0."""
        reach = self.high - self.low
        part = 0.5 if reach <= 0 else (value - self.low) / reach
        return max(0, min(cells - 1, int(part * cells + 1e-9)))


def scale_of(item: Item, limits: Limits) -> Scale | None:
    """How a band is drawn; None where it has no limits.

    Each side goes by its first limit: watch, else act, else urgent. A side without one ends at 0
    where the item cannot be less, else a way from the other.
    """
    low = _first(limits.watch_below, limits.act_below, limits.urgent_below)
    high = _first(limits.watch_above, limits.act_above, limits.urgent_above)
    act_low = limits.act_below if limits.act_below != low else None
    act_high = limits.act_above if limits.act_above != high else None
    if low is not None and high is not None:
        return Scale(low, high, act_low, act_high)
    if high is not None:
        floor = item.plausible[0] if item.plausible is not None else None
        if floor == 0 < high:
            return Scale(0.0, high, None, act_high)
        return Scale(high - open_side(high, act_high), high, None, act_high, open_low=True)
    if low is not None:
        return Scale(low, low + open_side(low, act_low), act_low, None, open_high=True)
    return None


def _first(*limits: float | None) -> float | None:
    return next((limit for limit in limits if limit is not None), None)


def strip(scale: Scale | None, value: float | None, tone: str) -> list[Span]:
    """The nine cells with a value's point; `tone` is that of a point outside."""
    if scale is None or value is None:
        return [Span(" " * STRIP)]
    side = scale.side(value)
    opens = DOT if scale.open_low else "["
    closes = DOT if scale.open_high else "]"
    if side == 0:
        at = scale.cell(value, SHORT)
        inner = [Span(DOT * at, "band"), Span(NOW, "point"), Span(DOT * (SHORT - 1 - at), "band")]
    else:
        inner = [Span(DOT * SHORT, "band")]
    return [
        Span(LEFT, tone) if side < 0 else Span(" "),
        Span(opens, "rule"),
        *(span for span in inner if span.text),
        Span(closes, "rule"),
        Span(RIGHT, tone) if side > 0 else Span(" "),
    ]


class Size(NamedTuple):
    """How long a scale is drawn: cells between the brackets, and from a bracket to `├` or `┤`."""

    inner: int
    outer: int

    @property
    def cells(self) -> int:
        """The whole of it: brackets, action limits, and a cell beyond each."""
        return self.inner + 2 * self.outer + 6

    @property
    def opens(self) -> int:
        """Cell of the left bracket."""
        return self.outer + 2

    @property
    def closes(self) -> int:
        """Cell of the right bracket."""
        return self.opens + self.inner + 1


LONG = Size(21, 5)
NARROW = Size(13, 2)


def place(scale: Scale, value: float, size: Size) -> int:
    """Which cell of a long scale a value stands in; never on a bracket or an action limit."""
    side = scale.side(value)
    if side == 0:
        return size.opens + 1 + scale.cell(value, size.inner)
    limit = scale.low if side < 0 else scale.high
    act = scale.act_low if side < 0 else scale.act_high
    # Without an action limit what is outside goes on as it is inside the band.
    steps = (scale.high - scale.low) * (size.outer / size.inner)
    end = act if act is not None else limit + side * steps
    beyond = abs(value - limit) > abs(end - limit) + 1e-9
    part = abs(value - limit) / (abs(end - limit) or 1.0)
    out = size.outer + 2 if beyond else 1 + min(size.outer - 1, int(part * size.outer))
    return size.opens - out if side < 0 else size.closes + out


def long_scale(
    scale: Scale, points: dict[str, float], size: Size, tones: dict[str, str]
) -> list[Span]:
    """The scale with its points, the mark of each drawn over those before it.

    `tones` are those of the marks; what has none is drawn as a point of the past.
    """
    cells = [" "] * size.cells
    look = ["plain"] * size.cells
    for at in range(size.opens + 1, size.closes):
        cells[at], look[at] = DOT, "band"
    for at, end in ((size.opens, "["), (size.closes, "]")):
        cells[at], look[at] = end, "rule"
    if scale.open_low:
        cells[size.opens] = DOT
    if scale.open_high:
        cells[size.closes] = DOT
    for act, mark, at in (
        (scale.act_low, ACT_LOW, 1),
        (scale.act_high, ACT_HIGH, size.cells - 2),
    ):
        if act is not None:
            ends = sorted((at, size.opens if at == 1 else size.closes))
            for between in range(ends[0] + 1, ends[1]):
                cells[between], look[between] = DOT, "rule"
            cells[at], look[at] = mark, "rule"
    for mark, value in points.items():
        at = place(scale, value, size)
        inside = look[at] == "band"
        cells[at] = mark
        look[at] = tones.get(mark, "band" if inside else "dim")
    return _spans(cells, look)


def _spans(cells: list[str], tones: list[str]) -> list[Span]:
    """Cells in as few spans as their tones need."""
    spans: list[Span] = []
    for cell, tone in zip(cells, tones, strict=True):
        if spans and spans[-1].tone == tone:
            spans[-1] = Span(spans[-1].text + cell, tone)
        else:
            spans.append(Span(cell, tone))
    return spans
