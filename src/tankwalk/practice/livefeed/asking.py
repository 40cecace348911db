"""What talks about batches share: numbers as they are typed, the last look before one is kept."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from typing import TYPE_CHECKING

from tankwalk import quantity, text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.practice import times
from tankwalk.practice.dialog import Answer, Step
from tankwalk.practice.site import SITE, Site

if TYPE_CHECKING:
    from tankwalk.ledger.entries import Detail

Asks = Generator[Step, Answer, float | None]

NOT_MEASURED = "not measured"

AGAIN = "measure again"
KEEP = "keep it"
KEEP_ALL_THE_SAME = "it is right: keep it"
EARLIER = "it was earlier"


def number(
    ask: str,
    unit: str,
    low: float,
    high: float,
    *,
    proposed: float | None = None,
    as_what: str = "as proposed",
    skip: str = "",
    told: str = "",
) -> Asks:
    """Ask for a number from `low` to `high` in `unit`; None where `/` left it out.

    `+` takes what is `proposed`; an empty Enter takes nothing.
    """
    keys = []
    if proposed is not None:
        keys.append(("+", f"{proposed:.10g} {unit} {as_what}".replace("  ", " ")))
    if skip:
        keys.append(("/", skip))
    while True:
        asked = f"{ask}, {unit}?" if unit else f"{ask}?"
        answer = yield Step(asked, writes=True, told=told, figure=True, quick=tuple(keys))
        if answer.words == "+" and proposed is not None:
            return proposed
        if answer.words == "/" and skip:
            return None
        try:
            value = quantity.read(answer.words, unit, most=high).value
        except Refusal as refusal:
            told = str(refusal)
            continue
        if low <= value <= high:
            return value
        told = f"{value:g} {unit} cannot be meant: {low:g} to {high:,g} can.".replace("  ", " ")


def wanted(asks: Asks) -> Generator[Step, Answer, float]:
    """A number that was not offered to be left out."""
    value = yield from asks
    if value is None:
        raise Refusal("No number was typed: nothing was kept.")
    return value


def whole(ask: str, high: int) -> Generator[Step, Answer, int]:
    """Ask for a count."""
    told = ""
    while True:
        value = yield from wanted(number(ask, "", 0, high, told=told))
        if value == int(value):
            return int(value)
        told = f"{value:g} is no count: type a whole number."


def kept(
    site: Site,
    who: str,
    words: str,
    details: Sequence[Detail],
    doubts: Sequence[str] = (),
    more: Sequence[str] = (),
) -> Generator[Step, Answer, str]:
    """The last look: keep it now, keep it for an earlier time, measure again, or one of `more`.

    Returns "" when it is kept, else what was chosen. Where there are doubts, 1 measures again.
    """
    at = site.now()
    while True:
        when = "" if at.utc >= site.now().utc - 60 else f" at {at.told(site.now())}"
        first = (AGAIN, KEEP_ALL_THE_SAME) if doubts else (KEEP,)
        last = () if doubts else (AGAIN,)
        choices = (*first, *more, EARLIER, *last)
        answer = yield Step(f"{words}{when}. By {who}.", choices, told=" ".join(doubts))
        if answer.words in (KEEP, KEEP_ALL_THE_SAME):
            record(site, who, at, details)
            return ""
        if answer.words != EARLIER:
            return answer.words
        at = yield from earlier(site)


def earlier(site: Site) -> Generator[Step, Answer, Instant]:
    """A time that is past, as typed: today, or yesterday where it is later than now."""
    told = ""
    while True:
        answer = yield Step("When was it? A time of day, as 0830:", writes=True, told=told)
        try:
            return times.past(site, answer.words)
        except Refusal as refusal:
            told = str(refusal)


def record(site: Site, who: str, at: Instant, details: Sequence[Detail]) -> int:
    """Keep one entry of a batch."""
    from tankwalk.ledger.entries import Entry

    return site.record(Entry("batch", site.signs(who), at, site.now(), SITE), *details)


def name(site: Site, proposed: str) -> Generator[Step, Answer, str]:
    """A name for a tape label: as proposed, or typed; not one that is in use."""
    told = ""
    while True:
        answer = yield Step(
            "Name for the tape label:", writes=True, told=told, quick=(("+", proposed),)
        )
        said = proposed if answer.words == "+" else text.clean(answer.words, limit=12)
        if said.isdecimal():
            told = f"{said} alone reads as an amount: a label has a letter in it."
            continue
        if said == proposed or not site.reader.feeding.batch(said):
            return said
        told = f"{said} is the name of another batch: type one that is free."
