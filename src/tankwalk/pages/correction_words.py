"""Corrections, late entries and what came from paper in words: both times, who, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.clock import Instant, ago
from tankwalk.ledger.corrections import LATE_S, Corrected, Late
from tankwalk.ledger.readings import Seen
from tankwalk.pages.when import at_words
from tankwalk.plan.model import Item
from tankwalk.practice.judging.verdict import left_out, value_words

if TYPE_CHECKING:  # a board tells of no looks of the past
    from tankwalk.practice.handover.lines import LateLine
    from tankwalk.practice.past.series import LookAt


def amended(one: Corrected, item: Item | None, now: Instant, *, where: bool = False) -> str:
    """A correction: "Oxygen was 4.2 mg/L, amended 07:10 PB: mis-keyed; now 8.4".

    `where` names the place as well.
    """
    label = one.item if item is None else item.label
    place = f"{one.place} " if where else ""
    was = one.was.typed if item is None else value_words(item, one.was)
    how = "taken back" if one.now is None else "amended"
    why = f": {one.reason}" if one.reason else ""
    said = f"{place}{label} was {was}, {how} {at_words(one.at, now)} {one.who}{why}"
    if one.now is None:
        return said
    stands = one.now.typed if item is None else value_words(item, one.now, bare=True)
    if one.to:
        return f"{said}; it is of {one.to}, {stands}"
    return f"{said}; now {stands}"


def late(one: Late, item: Item | None, now: Instant, *, where: bool = False) -> str:
    """A late entry: "Oxygen 6.1 mg/L seen 07:30, entered 09:30: late 2 h"."""
    label = one.item if item is None else item.label
    place = f"{one.place} " if where else ""
    value = one.read.typed if item is None else value_words(item, one.read)
    seen, entered = at_words(one.at, now), at_words(one.entered, now)
    return f"{place}{label} {value} seen {seen}, entered {entered}: {late_by(one.late_s)}"


def late_by(seconds: int) -> str:
    """How late: "late 2 h"."""
    return f"late {ago(seconds / 3600)}"


def beside(seen: Seen, now: Instant, item: Item | None = None) -> str:
    """What stands beside a value that was not entered as it was seen; "" for one that was.

    "was 4.2, amended 07:10 PB: mis-keyed", "transcribed by JQ 09:30", "late 2 h".
    """
    entered = at_words(seen.at._replace(utc=seen.at.utc + seen.late_s), now)
    said = [f"transcribed by {seen.typist} {entered}"] if seen.typist is not None else []
    if seen.was is not None:
        was = seen.was.typed or left_out(seen.was.qualifier)
        was = was if item is None else value_words(item, seen.was, bare=True)
        where = f" at {seen.was_of}" if seen.was_of != seen.place else ""
        why = f": {seen.reason}" if seen.reason else ""
        by = f"amended{why}" if said else f"amended {entered} {seen.who}{why}"
        said.insert(0, f"was {was}{where}, {by}")
    elif not said and seen.late_s > LATE_S and seen.amends is None:
        said = [late_by(seen.late_s)]
    return "; ".join(said)


def of_look(look: LookAt, now: Instant) -> str:
    """The same of a look of the past."""
    if look.typist is not None:
        entered = look.at._replace(utc=look.at.utc + look.late_s)
        return f"transcribed by {look.typist} {at_words(entered, now)}"
    return late_by(look.late_s) if look.late_s else ""


def in_a_word(look: LookAt) -> str:
    """How a look of the past came into the record, in one word; "" as it was seen.

    Each begins with a letter of its own, for where no word fits.
    """
    if look.typist is not None:
        return "paper"
    return "amended" if look.amended else "late" if look.late_s else ""


OUT_NAMED = 4
"""So many values out of band a line of values entered late names, the worst first."""


def entered_late(one: LateLine, now: Instant) -> str:
    """Values that were entered later, what of them is out, and which page did not have them."""
    values = "1 value" if one.values == 1 else f"{one.values} values"
    of = f"{one.label} of {at_words(one.seen, now)}" if one.label else at_words(one.seen, now)
    how = "typed in from paper" if one.paper else "entered late,"
    words = f"{values} of {of} {how} {at_words(one.entered, now)} by {one.by}"
    shown = [
        f"{late.place} {late.item} {late.read.typed}"
        if item is None
        else f"{late.place} {item.label} {value_words(item, late.read)}"
        for late, item in zip(one.out[:OUT_NAMED], one.items, strict=False)
    ]
    more = len(one.out) - len(shown)
    shown += [f"{more} more"] * bool(more)
    words += f"; {len(one.out)} out of band: {', '.join(shown)}" if one.out else "; all in band"
    if one.lacks is not None:
        gave = f"{one.lacks.who} gave {at_words(one.lacks.at, now)}"
        words += f"; the handover that {gave} did not have {'it' if one.values == 1 else 'them'}"
    return words
