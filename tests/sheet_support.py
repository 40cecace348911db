"""A paper round typed in for tests: every question of it answered as a sheet would have it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from record_round import SECOND
from tankwalk.practice.round.paper_questions import AskSecond, AskStopTime, AskWhich
from tankwalk.practice.round.questions import AskAgain, AskReason, AskSign
from tankwalk.practice.transcribing.sheet_walk import SheetWalk
from terminal import Terminal

Slot = tuple[str, str]


def key_of(walk: SheetWalk) -> Slot:
    return walk.slot.place, walk.slot.item.code


def typed_in(
    walk: SheetWalk,
    values: Mapping[Slot, str],
    time_of: Callable[[str], str],
    second: Mapping[Slot, str] = SECOND,
    slips: Mapping[Slot, str] | None = None,
) -> Iterator[str]:
    """What is typed until the sheet is through, an answer at a time; the walk takes each.

    `time_of` gives the time of a stop by its title, `second` what a second reading was, `slips`
    second entries with a slip of the finger, found out by a look at the sheet.
    """
    slipped = dict(slips or {})
    while not walk.at_end or not isinstance(walk.question, AskSign):
        asked, here = walk.question, key_of(walk)
        match asked:
            case AskStopTime():
                typed = time_of(asked.title)
            case AskSecond():
                typed = slipped.pop(here, asked.first.typed)
            case AskWhich():
                typed = "1"
            case AskAgain():
                typed = second.get(here, "/")
            case AskReason():
                typed = values[here][1:]
            case None:
                typed = values[here]
                if typed.startswith("/"):
                    typed = "/"
            case _:
                raise AssertionError(f"not expected: {asked}")
        reply = walk.answer(typed)
        assert reply.understood, (here, typed, reply)
        yield typed


def begun(terminal: Terminal) -> None:
    """From "Which round is on the sheet?" to its first stop: PB walked it at 06:50, JQ types."""
    terminal.press("1")
    terminal.wait("Whose initials")
    terminal.press("5")
    terminal.wait("Who types it in?")
    terminal.press("1")
    terminal.wait("When was it begun")
    terminal.press(*"0650", "enter")
    terminal.wait("its time on the sheet")
