"""The end of the walk: what is out of band, what was not taken and why, and what is still open."""

from __future__ import annotations

from tankwalk.pages.lines import Line, Span, flag_tone, line, wrapped
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.round.view import EndView


def end(here: EndView, width: int, rows: int) -> list[Line]:
    """The gaps with their reasons, and what is out of band: at most `rows` lines."""
    lines: list[Line] = []
    for one in here.flagged:
        flag, slot = Flag(one.seen.flag), one.slot
        again = ", second reading not taken" if one.again else ""
        words = f" {flag.mark}  {slot.place} {slot.item.label} "
        said = words + value_words(slot.item, one.seen) + again
        lines.append(line(width, Span(said, flag_tone(flag))))
    for slot, seen in here.left_out:
        what = " second reading" if seen.recheck else ""
        words = f" not taken  {slot.place} {slot.item.label}{what}: {seen.qualifier}"
        lines.append(line(width, Span(words)))
    if here.open:
        places = ", ".join(f"{slot.place} {slot.item.label}" for slot in here.open)
        lines += wrapped(width, f"open: {places}", "check", max(1, rows - len(lines)))
    if not lines:
        lines.append(line(width, Span(" Everything was taken, and everything is in band.", "ok")))
    if len(lines) > rows:
        more = len(lines) - rows + 1
        lines = [*lines[: rows - 1], line(width, Span(f" and {more} more", "dim"))]
    return lines
