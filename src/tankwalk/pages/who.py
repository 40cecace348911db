"""The page that asks who does the round, before a round is begun or taken up again."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import AHEAD, Instant, is_ahead, past
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.pages import hazard_words
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, Span, filled, line, spread, wrapped
from tankwalk.plan.model import Checklist, Hazard, Person


def draw(
    people: tuple[Person, ...],
    checklist: Checklist,
    unsigned: RoundSeen | None,
    last: str,
    typed: str,
    said: str,
    now: Instant,
    size: tuple[int, int],
    hazards: Sequence[Hazard] = (),
) -> list[Line]:
    """The list of people by number; `last` is whose initials go on with an unsigned round.

    What can hurt on the round stands at the foot, once, before anybody walks.
    """
    width, height = size
    lines = [spread(width, [f" {checklist.label}"], [f"{now.short()} "], "head")]
    if unsigned is not None:
        words = f"Begun by {unsigned.who} {_begun(unsigned.opened, now)}, not signed yet."
        lines += wrapped(width, words, "plain", 2)
        if last:
            lines += wrapped(
                width, f"Enter goes on as {last}; or choose who does it now.", "bold", 2
            )
    else:
        words = "Who is doing this round? Your initials go on every entry."
        lines += wrapped(width, words, "bold", 2)
    lines.append(line(width))
    for number, person in enumerate(people, 1):
        words = f"{person.initials}  {person.name}  {person.role}".rstrip()
        lines.append(line(width, Span(f"  {number:>2} ", "key"), Span(words)))
    if len(people) > 9:
        lines.append(line(width, Span(f"  number, then Enter: {typed}_", "entry")))
    if said:
        lines += wrapped(width, said, "check", 6)
    begun = [("Enter", f"go on as {last}")] if last else []
    below = hazard_words.lines(hazards, width)
    room = height - 1 - len(lines)
    if len(below) < room:
        lines = [*filled(lines, width, height - 1 - len(below)), *below]
    else:
        lines += below[:room]
    return [*filled(lines, width, height - 1), footer("who", width, begun)]


def choose_round(
    checklists: tuple[Checklist, ...],
    signed: dict[str, RoundSeen],
    now: Instant,
    size: tuple[int, int],
) -> list[Line]:
    """The list of rounds by number."""
    width, height = size
    lines = [spread(width, [" Which round?"], [f"{now.short()} "], "head"), line(width)]
    for number, checklist in enumerate(checklists, 1):
        at = f"{checklist.at.hour:02d}:{checklist.at.minute:02d}"
        seen = signed.get(checklist.code)
        done = f", signed {seen.signed.hm()} by {seen.signed_by}" if seen and seen.signed else ""
        lines.append(
            line(width, Span(f"  {number:>2} ", "key"), Span(f"{at}  {checklist.label}{done}"))
        )
    return [*filled(lines, width, height - 1), footer("ask", width)]


def _begun(opened: Instant, now: Instant) -> str:
    """When a round was begun; how long ago only where the clock is past it."""
    hours = now.hours_since(opened)
    if is_ahead(hours):
        return f"on {opened.long()}, which is {AHEAD}"
    return f"at {opened.hm()}, {past(hours)}"
