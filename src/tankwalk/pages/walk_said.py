"""What the walk says above its keys: headline, reason, action; menus; and what was just kept."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.pages.lines import Line, Span, blank, flag_tone, line, spread, wrapped
from tankwalk.pages.readings import meanwhile, state_words
from tankwalk.pages.walk_list import Canvas
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.paper_questions import AskSecond, AskStopTime, AskWalker, AskWhich
from tankwalk.practice.round.questions import (
    AskAgain,
    AskCorrection,
    AskLimit,
    AskMeter,
    AskMove,
    AskName,
    AskProblem,
    AskReason,
    AskSlip,
    AskTank,
    Message,
    Option,
    Pinned,
    Question,
)
from tankwalk.practice.round.view import StopView, WalkView
from tankwalk.practice.workings.derived import State

if TYPE_CHECKING:
    from tankwalk.practice.incidents.incident import Incident

FIGURES = 3
"""Rows of the figures."""

MENUS = AskMeter | AskReason | AskCorrection | AskMove | AskName | AskProblem | AskWalker | AskWhich
"""Questions whose answers stand in a list, in the place of the figures."""


def listed(asked: Question | None) -> bool:
    """Whether the answers stand in a list above the keys: they are too many for the last row."""
    return isinstance(asked, MENUS)


def is_menu(view: WalkView) -> bool:
    return not view.signed and isinstance(view.question, MENUS)


def said_rows(view: WalkView, width: int, most: int) -> list[Line]:
    """What the program says: headline, reason, action; else what is worked out here.

    Reasons give way, the last first, where all would take more rows than `most`.
    """
    asked, said = view.question, view.said
    if view.signed:
        return []
    if isinstance(asked, AskAgain):
        return message_rows(asked.message, Flag(asked.first.flag), width, most)
    if isinstance(asked, MENUS):
        return menu_rows(asked.words, asked.options(), width, FIGURES + most)
    if isinstance(asked, AskSlip):
        return _both_readings(asked, width)
    if isinstance(asked, AskSecond):
        return [*wrapped(width, asked.words, "bold", 2), *wrapped(width, asked.why, "plain", 2)]
    if isinstance(asked, AskLimit | AskTank | AskStopTime):
        return wrapped(width, asked.words, "bold", 3)
    pinned = view.pinned if asked is None else ()
    told = said.message is None or any(one.message == said.message for one in pinned)
    if pinned and told:
        return _pinned(view, width, most)
    if asked is None and said.message is not None:
        return message_rows(said.message, said.flag, width, most)
    if asked is None and said.flag >= Flag.CHECK and not _beside(view):
        return wrapped(width, said.sentence, flag_tone(said.flag), 4)
    if asked is None and isinstance(view.here, StopView):
        return [
            *_open_here(view, view.here, width, most - 1),
            *wrapped(width, meanwhile(view.here, view.now), "watch", 2),
            *_worked(view.here.worked, width),
        ]
    return []


def _beside(view: WalkView) -> bool:
    """Whether what was refused is said below, so that what stands open here stays in sight."""
    here = view.here
    return bool(view.pinned) or (isinstance(here, StopView) and bool(here.open.flags))


def _worse_here(view: WalkView, here: StopView) -> tuple[Incident, ...]:
    """Flags that stand here and weigh more than all that is to be done first."""
    level = view.pinned[0].flag if view.pinned else Flag.URGENT
    return tuple(one for one in here.open.flags if one.flag > level)


def _open_here(view: WalkView, here: StopView, width: int, room: int) -> list[Line]:
    """What stands open where one stands, worst first: flags, what is shelved, what is altered.

    Each is told whole or counted; what is pinned is told already, and so is what is worse.
    """
    if not any(here.open):
        return []
    from tankwalk.pages.incident_words import open_words

    told = {(one.slot.place, one.slot.item.code) for one in view.pinned}
    told |= {(one.behind.place, one.item.code) for one in _worse_here(view, here)}
    flags = tuple(one for one in here.open.flags if (one.behind.place, one.item.code) not in told)
    every = open_words(here.open._replace(flags=flags), view.now)
    lines: list[Line] = []
    for shown, (words, tone) in enumerate(every):
        rows = wrapped(width, words, tone, len(words))
        rest = len(every) - shown
        if len(lines) + len(rows) + (rest > 1) > room:
            if len(lines) < room:
                lines.append(line(width, Span(f" {rest} more open here   o open list", "dim")))
            break
        lines += rows
    return lines


def _pinned(view: WalkView, width: int, most: int) -> list[Line]:
    """The worst of what is to be done first, and the keys that answer it or put it aside.

    A WATCH of another place is its headline alone where what stands open here needs the rows.
    """
    pinned, here = view.pinned, view.here
    worst = pinned[0]
    at_it = isinstance(here, StopView) and worst.slot.place == here.entry.line.slot.place
    rows, more = _told_first(view, worst.message, width, most)
    if worst.flag < Flag.ACT and not at_it:
        head, here_whole = _told_first(view, Message(worst.message.headline), width, most)
        if len(rows) + 1 + len(here_whole) > most:
            rows, more = head, here_whole
    keys = [Span("    "), Span("Enter", "key"), Span(" done, look, call   ", "dim"),
            Span("Esc", "key"), Span(" put aside", "dim")]  # fmt: skip
    if len(pinned) > 1:
        keys.append(Span(f"   {len(pinned) - 1} more", "watch"))
    return [*rows, line(width, *keys), *more[: max(0, most - len(rows) - 1)]]


def _told_first(
    view: WalkView, message: Message, width: int, most: int
) -> tuple[list[Line], list[Line]]:
    """A message of what is to be done first; and what stands open here, as far as has room."""
    from tankwalk.pages.incident_words import open_words

    worst, here = view.pinned[0], view.here
    rows = message_rows(message, worst.flag, width, min(most - 1, FIGURES), least=0)
    rows = _with_call(rows, _call_of(view, worst), width)
    if isinstance(here, StopView):
        worse = here.open._replace(flags=_worse_here(view, here), shelved=(), altered=())
        said = open_words(worse, view.now, brief=True)
        rows = [one for words, tone in said for one in wrapped(width, words, tone, 2)] + rows
    more: list[Line] = []
    if isinstance(here, StopView):
        room = most - len(rows) - 1
        more = wrapped(width, meanwhile(here, view.now), "watch", 2)
        more += _open_here(view, here, width, room - len(more))
        more += _worked(here.worked, width)
    return rows, more


def _call_of(view: WalkView, worst: Pinned) -> str:
    """Whom to call about an URGENT, as long as nobody was reached."""
    if worst.flag is not Flag.URGENT or view.open is None:
        return ""
    from tankwalk.pages.incident_words import to_call

    here = view.open.at(worst.slot.place).flags
    return next((words for one in here if (words := to_call(one.call))), "")


def _with_call(rows: list[Line], call: str, width: int) -> list[Line]:
    """The call beside the headline, in its bar, where it has the room; else in a row of its own."""
    if not call or not rows:
        return rows
    tone = flag_tone(Flag.URGENT)
    said = "".join(span.text for span in rows[0]).rstrip()
    if text.width(said) + text.width(call) + 4 <= width:
        first = spread(width, [Span(said, tone)], [Span(f"{call} ", tone)], tone)
        return [first, *rows[1:]]
    own = line(width, Span(" ", tone), Span(call, tone), fill=tone)
    return [rows[0], own, *rows[1:]]


def message_rows(message: Message, flag: Flag, width: int, most: int, least: int = 1) -> list[Line]:
    """Headline, reason, action: a flag's color is as long as its words, URGENT fills its rows.

    Reasons give way where all take more than `most` rows, the last first, down to `least` of them.
    """
    rows = _message(message, flag, width)
    if len(rows) > most and len(message.reasons) > least:
        less = message._replace(reasons=message.reasons[:-1])
        return message_rows(less, flag, width, most, least)
    return rows


def _message(message: Message, flag: Flag, width: int) -> list[Line]:
    tone = flag_tone(flag) if flag else "bold"
    rows = []
    for words in text.wrap(
        f"{flag.mark}  {message.headline}" if flag else message.headline, width - 2
    ):
        fill = tone if flag is Flag.URGENT else "plain"
        rows.append(line(width, Span(" ", fill), Span(words, tone), fill=fill))
    if message.reasons:
        reason = "; ".join(message.reasons)
        rows += wrapped(width, f"{reason[:1].upper()}{reason[1:]}.", "plain", 4, "    ")
    if message.action:
        rows += wrapped(width, message.action, "bold", 4, "    ")
    return rows


def kept_rows(view: WalkView, width: int) -> list[Line]:
    """What was just kept, or what is said beside a question. One row at least."""
    said, asked = view.said, view.question
    if not said.sentence:
        return [blank(width)]
    refused = said.message is None and said.flag >= Flag.CHECK
    if asked is None and refused and not view.signed and not _beside(view):
        return [blank(width)]
    if said.message is not None:
        words, tone = said.kept, "ok"
    else:
        kept = not said.flag or isinstance(asked, AskAgain)
        words, tone = said.sentence, "ok" if kept else flag_tone(said.flag)
    return wrapped(width, words, tone, 3) or [blank(width)]


def menu_rows(words: str, options: Sequence[Option], width: int, rows: int) -> list[Line]:
    """A question, and under it its numbered answers: two abreast where a column has not the rows.

    Where two abreast are too wide it is one column, and takes the rows it needs.
    """
    asked = wrapped(width, words, "bold", 2, "   ")
    room = max(1, rows - len(asked))
    size = [text.width(key) + text.width(answer) + 5 for key, answer in options]
    second = 3 + max(size[:room])
    if len(options) > 2 * room or second + max(size[room:], default=0) > width:
        room, second = len(options), width
    lines = [Canvas(width) for _ in range(min(room, len(options)))]
    for place, (key, answer) in enumerate(options):
        row = lines[place % room]
        row.put(3 if place < room else second, Span(key, "key"), Span(f"  {answer}"))
    return [*asked, *(row.line() for row in lines)]


def _both_readings(asked: AskSlip, width: int) -> list[Line]:
    """A number that can be read two ways: each with its number, how so, and what it would mean.

    What cannot be kept has no number before it.
    """
    item = asked.slot.item
    rows = wrapped(width, f"? {asked.words}", "check", 3)
    shown = [one.shown(item) for one in asked.meant]
    longest = max(map(text.width, shown))
    how = max(text.width(one.how) for one in asked.meant)
    for one, words in zip(asked.meant, shown, strict=True):
        flag = one.judged.flag
        row = Canvas(width)
        row.put(4, Span(one.key if one.possible else " ", "key"))
        row.put(8, Span(words.ljust(longest), "bold" if one.possible else "dim"))
        apart = 8 + longest + 2 + text.width(one.how) >= width
        if not apart:
            row.put(row.at + 2, Span(one.how))
        told, first = one.lies, f"{item.kind.verb.lower()} again first"
        if asked.lowers(one):
            told = f"{told}, {first}" if told else first
        if not one.possible:
            spans = [Span("cannot be", "dim")]
        else:
            spans = [Span(flag.mark, flag_tone(flag)), Span(f"  {told}" if told else "")]
        size = sum(text.width(span.text) for span in spans)
        column = 8 + longest + 2 + how + 3
        if column + size < width and not apart:
            row.put(column, *spans)
            rows.append(row.line())
            continue
        rows.append(row.line())
        if apart:
            rows += wrapped(width, one.how, "plain", 2, " " * 8)
        under = Canvas(width)
        under.put(8, *spans)
        rows.append(under.line())
    return rows


def _worked(states: Sequence[State], width: int) -> list[Line]:
    """What is worked out at this stop, one after another: value and mark, or why there is none."""
    made: list[list[Span]] = []
    used = width
    for state in states:
        words, tone = state_words(state)
        size = text.width(state.item.label) + text.width(words) + 3
        if size > width - 5:
            rows = text.wrap(f"{state.item.label} {words}", width - 5)
            made += [[Span(f"    {row}", tone)] for row in rows]
            used = width
            continue
        if used + size > width - 1:
            made.append([Span("  = " if not made else "    ", "dim")])
            used = 4
        made[-1] += [Span(f"{state.item.label} ", "dim"), Span(words, tone), Span("  ")]
        used += size
    return [line(width, *spans) for spans in made]
