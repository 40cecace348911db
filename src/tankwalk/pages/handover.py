"""The page of the handover: five sections, and who gave and who took the room."""

from __future__ import annotations

from tankwalk import text
from tankwalk.clock import ago
from tankwalk.pages.lines import Line, Span, blank, line, spread, wrapped
from tankwalk.practice.handover import Draft

MEANING = {
    "STOCK": "tanks that are not steady, worst first",
    "TASKS": "not done, half done, skipped with reason",
    "ALTERED": "anything not as normal, and until when",
    "TO DO": "open actions: who, by when",
    "EXPECT": "if this, then that",
}


def draw(draft: Draft, width: int) -> list[Line]:
    """The whole page, as many lines as it needs."""
    title, when = f" HANDOVER  {draft.site}", f"{draft.now.short()} "
    if text.width(title) + text.width(when) + 2 <= width:
        lines = [spread(width, [title], [when], "head")]
    else:
        lines = [spread(width, [each], [], "head") for each in (title, f" {when}")]
    lines += wrapped(width, room(draft), "watch" if _waiting(draft) else "plain", 2)
    for section in draft.sections:
        lines.append(blank(width))
        lines.append(
            line(width, Span(f" {section.name}", "bold"), Span(f"  {MEANING[section.name]}", "dim"))
        )
        for words in section.lines:
            lines += _hanging(width, words)
    lines.append(blank(width))
    lines.append(
        line(width, Span(f" Drafted from the record up to entry {draft.last_entry}.", "dim"))
    )
    return lines


def _hanging(width: int, words: str) -> list[Line]:
    first, *rest = wrapped(width, words, tone_of(words), 400, indent="   ")
    return [first, *rest]


def tone_of(words: str) -> str:
    """The tone of a line of a section, by the mark in it."""
    for mark, name in (("!!! ", "urgent"), ("!! ", "act"), ("! ", "watch"), ("OVER", "watch")):
        if mark in words[:14] or (mark == "OVER" and mark in words):
            return name
    return "plain"


def _waiting(draft: Draft) -> bool:
    return draft.last is not None and draft.last.taken is None


def room(draft: Draft) -> str:
    """Who gave the room, and who took it when."""
    last = draft.last
    if last is None:
        return "No handover has been given yet."
    if last.taken is None:
        waited = ago(draft.now.hours_since(last.at))
        return f"Given {last.at.short()} by {last.who}, NOT TAKEN for {waited}."
    how = f", {last.how}" if last.how else ""
    return f"Responsibility passed {last.taken.short()}, {last.who} to {last.taken_by}{how}."
