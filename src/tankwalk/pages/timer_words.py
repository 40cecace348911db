"""What runs by the clock, in words: in the first row of every page, on the board, handed over."""

from __future__ import annotations

import re
from collections.abc import Sequence

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.pages.lines import Line, Span
from tankwalk.practice.tasks import Runs, TimerDue

NAMES = {Runs.BATH: "Bath", Runs.GEAR: "Gear", Runs.HYDRATE: "Cysts", Runs.ENRICH: "Enrich"}
ENDS = {
    Runs.BATH: ("stop by", "STOP, since"),
    Runs.GEAR: ("out at", "take out, since"),
    Runs.HYDRATE: ("hydrated at", "look, since"),
    Runs.ENRICH: ("ready at", "ready since"),
}
"""How each ends, while it runs and when its time is over."""

LEAST_NAME = 3
"""Cells of a page's name that stay where it has to give way."""

LEAST = 2
"""Blanks that stay on either side, where there is room for them."""


def what(timer: TimerDue) -> str:
    """What runs: "Bath S0510"."""
    return f"{NAMES[timer.what]} {timer.batch}"


def ends(timer: TimerDue, now: Instant) -> str:
    """When it ends, or that it should have: a time of day, as a page does not count by itself."""
    runs, over = ENDS[timer.what]
    return f"{over if timer.over(now) else runs} {timer.at.told(now)}"


def tone(timer: TimerDue, now: Instant) -> str:
    """What is over asks for a hand at once where it burns or kills, else for a look."""
    if not timer.over(now):
        return "entry"
    return "act" if timer.what is Runs.BATH else "watch"


def ways(timers: Sequence[TimerDue], now: Instant) -> tuple[str, ...]:
    """The first to end, in words from long to short; how many more run is told where it fits."""
    first = timers[0]
    name, hm = NAMES[first.what], first.at.hm()
    long = f"{name}: {ends(first, now)}"
    more = f" +{len(timers) - 1}" if len(timers) > 1 else ""
    late = ""
    if first.over(now):
        late = "STOP " if first.what is Runs.BATH else "! "
    short = f"{late}{name} {hm}"
    return tuple(dict.fromkeys((f"{long}{more}", long, f"{short}{more}", short)))


def in_head(row: Line, timers: Sequence[TimerDue], now: Instant) -> Line:
    """The first row of a page with what runs in its widest blank; as it is where none fits."""
    if not timers:
        return row
    spans = _joined(row)
    blanks = [
        (found.end() - found.start(), nth, found.start())
        for nth, span in enumerate(spans)
        for found in re.finditer(" +", span.text)
    ]
    size, nth, start = max(blanks, default=(0, 0, 0))
    for words, least in ((words, least) for least in (LEAST, 1) for words in ways(timers, now)):
        wide = text.width(words)
        if wide + 2 * least <= size:
            # At the right of the blank: beside the time, where a clock is looked for.
            at = start + size - least - wide
            before, after = spans[nth].text[:at], spans[nth].text[at + wide :]
            tone_of_row = spans[nth].tone
            put = (
                Span(before, tone_of_row), Span(words, tone(timers[0], now)),
                Span(after, tone_of_row),
            )  # fmt: skip
            return (*spans[:nth], *put, *spans[nth + 1 :])
    return _narrow(spans, timers, now) or row


def _narrow(spans: Line, timers: Sequence[TimerDue], now: Instant) -> Line | None:
    """Where no blank is wide enough, what stands left of the last one gives way."""
    words = ways(timers, now)[-1]
    needed = text.width(words) + 2
    for nth in reversed(range(len(spans))):
        whole, row_tone = spans[nth]
        gaps = list(re.finditer(" {2,}", whole))
        if not gaps:
            continue
        left, right = whole[: gaps[-1].start()], whole[gaps[-1].end() :]
        room = text.width(whole) - text.width(right) - 2 - needed
        if room < LEAST_NAME:
            continue
        kept = text.fit(left, room)
        if kept.endswith("  .."):  # nothing is left of the last word: no sign of it either
            kept = kept.removesuffix("..")
        kept = text.pad(kept, room)
        put = (Span(kept + "  ", row_tone), Span(words, tone(timers[0], now)),
               Span("  " + right, row_tone))  # fmt: skip
        return (*spans[:nth], *put, *spans[nth + 1 :])
    return None


def _joined(row: Line) -> Line:
    """A row with neighbors of one tone as one span."""
    found: list[Span] = []
    for span in row:
        if found and found[-1].tone == span.tone:
            found[-1] = Span(found[-1].text + span.text, span.tone)
        else:
            found.append(span)
    return tuple(found)
