"""The page of the handover: five sections, who gave and took the room, and what is said back."""

from __future__ import annotations

from tankwalk import text
from tankwalk.clock import ago
from tankwalk.pages import steps
from tankwalk.pages.lines import Line, Span, blank, filled, line, spread, wrapped
from tankwalk.practice.dialog import Asking
from tankwalk.practice.handover.drafting import HandoverDraft, Section

MEANING = {
    "STOCK": "tanks that are not steady, worst first",
    "TASKS": "not done, half done, skipped with reason",
    "ALTERED": "anything not as normal, and until when",
    "TO DO": "open actions: who, by when",
    "EXPECT": "if this, then that",
}


def draw(draft: HandoverDraft, width: int) -> list[Line]:
    """The whole page, as many lines as it needs."""
    lines = _head(draft, width)
    for section in draft.sections:
        lines += [blank(width), *_section(section, width)]
    for heading, added in draft.under():
        lines += [blank(width), line(width, Span(f" {heading}", "bold"))]
        for words in added:
            lines += _hanging(width, words)
    lines.append(blank(width))
    lines.append(
        line(width, Span(f" Drafted from the record up to entry {draft.last_entry}.", "dim"))
    )
    return lines


def draw_said_back(draft: HandoverDraft, asking: Asking, width: int, height: int) -> list[Line]:
    """The page while it is said back: out of sight, but for the section that is read again."""
    below = steps.draw(asking, width)
    room = height - len(below)
    lines = [*_head(draft, width), blank(width)]
    if asking.step.shown:
        lines += wrapped(width, asking.step.told, "watch", 3)
        lines += [blank(width), *_section(draft.section(asking.step.shown), width)]
    else:
        lines += wrapped(width, "Say back what the page says. It is out of sight now.", "plain", 2)
    return [*filled(lines, width, room), *below][-height:]


def _head(draft: HandoverDraft, width: int) -> list[Line]:
    title, when = f" HANDOVER  {draft.site}", f"{draft.now.short()} "
    if text.width(title) + text.width(when) + 2 <= width:
        lines = [spread(width, [title], [when], "head")]
    else:
        lines = [spread(width, [each], [], "head") for each in (title, f" {when}")]
    return [*lines, *wrapped(width, room(draft), "watch" if _waiting(draft) else "plain", 4)]


def _section(section: Section, width: int) -> list[Line]:
    meaning = Span(f"  {MEANING[section.name]}", "dim")
    lines = [line(width, Span(f" {section.name}", "bold"), meaning)]
    for words in section.lines:
        lines += _hanging(width, words)
    return lines


def _hanging(width: int, words: str) -> list[Line]:
    first, *rest = wrapped(width, words, tone_of(words), 400, indent="   ")
    return [first, *rest]


def tone_of(words: str) -> str:
    """The tone of a line of a section, by the mark in it."""
    for mark, name in (("!!! ", "urgent"), ("!! ", "act"), ("! ", "watch")):
        if mark in words[:14]:
            return name
    return "watch" if LATE in words or NEVER_TAKEN in words else "plain"


LATE = "LATE "
NEVER_TAKEN = " was never taken"
"""What makes a line stand out."""


def _waiting(draft: HandoverDraft) -> bool:
    return draft.last is not None and draft.last.taken is None


def room(draft: HandoverDraft) -> str:
    """Who gave the room, who took it when and how, and how well it was said back."""
    last = draft.last
    if last is None:
        return "No handover has been given yet."
    if last.taken is None:
        waited = ago(draft.now.hours_since(last.at))
        words = "not taken yet" if waited == "now" else f"NOT TAKEN for {waited}"
        return f"Given {last.at.short()} by {last.who}, {words}."
    how = f", {last.how}" if last.how else ""
    passed = f"Responsibility passed {last.taken.short()}, {last.who} to {last.taken_by}{how}."
    if not last.said:
        return passed
    again = sum(one.tries > 1 for one in last.said)
    first = f"{again} not at the first try" if again else "right at the first try"
    return f"{passed} Said back: {len(last.said)} answers, {first}."
