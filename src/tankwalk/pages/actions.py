"""Every key of the program, declared once: for the keyboard, the footer, the palette and help."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from tankwalk import text
from tankwalk.pages.lines import Line, Span, line


class Action(NamedTuple):
    """One act: where it works, the keys for it, its word in the footer, and what it does.

    `keys` are what the keyboard sends; `shown` is how the key is written; `rank` says who gives
    way when the footer is narrow (low stays).
    """

    name: str
    scopes: tuple[str, ...]
    keys: tuple[str, ...]
    shown: str
    word: str
    does: str
    rank: int = 5
    in_footer: bool = True


EVERYWHERE = (
    "board", "walk", "ask", "sign", "handover", "open", "help", "who", "workings", "working",
    "meters", "meter", "flag", "clock",
)  # fmt: skip

ACTIONS: tuple[Action, ...] = (
    Action("keep", ("walk",), ("enter", "ctrl+j"), "Enter", "keep",
           "keep what is typed and go on", 0),
    Action("right", ("walk",), ("plus", "add"), "+", "right",
           "all right: a tick or a setting is as it should be", 1),
    Action("problem", ("walk",), ("minus", "subtract"), "-", "problem",
           "something is wrong here, or a note", 4),
    Action("again", ("walk",), ("asterisk", "multiply"), "*", "again",
           "measure again; both values are kept", 5),
    Action("skip", ("walk",), ("slash", "divide"), "/", "skip",
           "not taken, with a reason by number", 2),
    Action("undo", ("walk",), ("u",), "u", "undo",
           "take back your newest entry (the record keeps both)", 6),
    Action("meter", ("walk",), ("m",), "m", "meter",
           "take the next meter of this kind for the readings that follow", 9, in_footer=False),
    Action("note", ("walk",), ("n",), "n", "note",
           "a note in your own words", 9, in_footer=False),
    Action("find", ("workings",), (), "a-z", "find",
           "letters find a calculator by its name", 2),
    Action("choose", ("workings",), ("enter", "ctrl+j"), "Enter", "open",
           "open the calculator the list stands at", 0),
    Action("on", ("working",), ("enter", "ctrl+j", "down"), "Enter", "next",
           "on to the next field, and from the last one to the answer", 0),
    Action("readings", ("working",), ("asterisk", "multiply"), "*", "take readings",
           "fill the fields from the newest readings here and from the plan", 1),
    Action("place", ("working", "workings"), ("slash", "divide"), "/", "place",
           "the next tank, loop or site (in an empty field)", 4),
    Action("record", ("working",), ("plus", "add"), "+", "record",
           "keep the answer in the record, as a note or as a dose", 1),
    Action("word_on", ("working",), ("right",), "right", "next word",
           "the next word of a choice; in an empty field the next place", 9, in_footer=False),
    Action("word_back", ("working",), ("left",), "left", "word before",
           "the word before; in an empty field the place before", 9, in_footer=False),
    Action("up", ("walk", "board", "handover", "open", "help", "workings", "working"), ("up",),
           "up", "back an item", "one line or item back", 9, in_footer=False),
    Action("down", ("walk", "board", "handover", "open", "help", "workings"), ("down",), "down",
           "on an item", "one line or item on", 9, in_footer=False),
    Action("page", ("workings", "working"), ("pagedown",), "PgDn", "page on",
           "a page on, in the list or in what was worked out", 9, in_footer=False),
    Action("page_back", ("workings", "working"), ("pageup",), "PgUp", "page back",
           "a page back", 9, in_footer=False),
    Action("page", ("help",), ("right", "space", "pagedown"), "right", "page on",
           "a page on", 6),
    Action("page", ("handover", "open"), ("right", "space", "pagedown"), "right", "page on",
           "a page on", 9, in_footer=False),
    Action("page_back", ("handover", "open", "help"), ("left", "pageup"), "left", "page back",
           "a page back", 9, in_footer=False),
    Action("left", ("walk",), ("left",), "left", "tank before", "the stop before", 9,
           in_footer=False),
    Action("next", ("walk",), ("right",), "right", "next tank", "the next stop", 9,
           in_footer=False),
    Action("walk", ("board",), ("enter", "ctrl+j", "2"), "Enter", "walk the round",
           "begin the round that is due, or go on with it", 0),
    Action("walk", ("handover",), ("2",), "2", "walk", "go to the round", 9, in_footer=False),
    Action("handover", ("board",), ("3", "h"), "3", "handover",
           "read, give or take the handover", 1),
    Action("workings", ("board",), ("4", "w"), "4", "workings",
           "every calculator, with its working", 5),
    Action("workings", ("handover",), ("4", "w"), "4", "workings",
           "every calculator, with its working", 9, in_footer=False),
    Action("workings", ("walk",), ("w",), "w", "workings",
           "every calculator, with its working, for this tank", 9, in_footer=False),
    Action("flag", ("board",), ("asterisk", "multiply"), "*", "worst flag",
           "the worst flag: what to do, when to look again, whom to call", 9, in_footer=False),
    Action("look", ("flag",), ("enter", "ctrl+j"), "Enter", "look now",
           "look again now: a small round of its own, of what is out of band", 0,
           in_footer=False),
    Action("done", ("flag",), (), "1-9", "done",
           "say by number which step was done, or that somebody was called; 0 in other words", 1,
           in_footer=False),
    Action("note", ("flag",), ("minus", "subtract", "n"), "-", "note", "a note about it", 2),
    Action("close", ("flag",), ("slash", "divide"), "/", "shelve, close",
           "shelve it, close it, or make it an action", 3),
    Action("up", ("flag",), ("up",), "up", "story", "back in its story", 4),
    Action("down", ("flag",), ("down",), "down", "on", "on in its story", 9, in_footer=False),
    Action("open", ("board",), ("5", "o"), "5", "open list",
           "what is open: flags, what is altered, what is to do", 4),
    Action("open", ("walk",), ("o",), "o", "open list",
           "what is open: flags, what is altered, what is to do", 9, in_footer=False),
    Action("choose", ("open",), ("enter", "ctrl+j"), "Enter", "choose",
           "choose a row by its number: done, closed, put back, given to, later", 0),
    Action("new_action", ("open",), ("plus", "add"), "+", "new action",
           "write something to be done", 1),
    Action("new_altered", ("open",), ("minus", "subtract"), "-", "new altered",
           "write down what is not as normal, and until when", 1),
    Action("meters", ("board",), ("6", "c"), "6", "meters",
           "every meter with its checks and its drift; check one", 6),
    Action("choose", ("meters",), ("enter", "ctrl+j"), "Enter", "check it",
           "open the meter the list stands at, and check it", 0),
    Action("up", ("meters",), ("up",), "up", "meter before", "the meter before", 9,
           in_footer=False),
    Action("down", ("meters",), ("down",), "down", "next meter", "the next meter", 2),
    Action("keep", ("meter",), ("enter", "ctrl+j"), "Enter", "keep",
           "keep what is typed and go on", 0),
    Action("lift", ("meter",), ("minus", "subtract"), "-", "take a mark back",
           "take the newest mark back, so that its readings count again; by somebody else", 2),
    Action("board", ("meters", "meter"), ("escape",), "Esc", "back",
           "back one step; what was kept stays kept", 3),
    Action("board1", ("meters",), ("b",), "b", "board", "to the board", 8, in_footer=False),
    Action("night", ("meters",), ("d",), "d", "day/night",
           "day, night (red on black) or plain look", 8),
    Action("palette", ("meters",), ("p",), "p", "palette", "every act by name", 8,
           in_footer=False),
    Action("give", ("handover",), ("plus", "add", "g"), "+", "give",
           "give the room with this page", 1),
    Action("take", ("handover",), ("asterisk", "multiply", "t"), "*", "take over",
           "take the room: say that you have read it", 1),
    Action("todo", ("handover",), ("minus", "subtract", "a"), "-", "add an action",
           "write down something to be done by the next shift", 4),
    Action("line", ("handover",), ("slash", "divide", "l"), "/", "line",
           "a line of your own in a section, or under a page just given; 0 takes it back", 5),
    Action("open", ("handover",), ("5", "o"), "5", "open list",
           "what is open: flags, what is altered, what is to do", 6),
    Action("undo", ("handover",), ("u",), "u", "undo",
           "take the last line of your own back", 9, in_footer=False),
    Action("note", ("handover",), ("full_stop", "decimal", "n"), ".", "note",
           "the lead notes a handover that nobody took", 9, in_footer=False),
    Action("other", ("who",), ("slash", "divide"), "/", "another round",
           "choose another round than the one that is due", 2),
    Action("go", ("who",), ("enter", "ctrl+j"), "Enter", "go on",
           "go on with the round as the person named", 0, in_footer=False),
    Action("choose", ("who", "ask"), (), "0-9", "choose", "choose by number", 1),
    Action("board",
           ("walk", "handover", "open", "help", "who", "ask", "sign", "workings", "working",
            "flag", "clock"),
           ("escape",), "Esc", "back",
           "back one step; nothing is lost", 3),
    Action("board1", ("walk", "handover", "open", "flag"), ("b",), "b", "board", "to the board", 8,
           in_footer=False),
    Action("help", EVERYWHERE, ("question_mark",), "?", "help",
           "what this is for, and every key", 2),
    Action("night", ("board", "handover", "open", "walk", "flag"), ("d",), "d", "day/night",
           "day, night (red on black) or plain look", 8),
    Action("palette", ("board", "walk", "handover", "open", "flag"), ("p",), "p", "palette",
           "every act by name", 8, in_footer=False),
    Action("quit", ("board",), ("q", "escape"), "q", "quit", "leave; everything is kept", 4),
)  # fmt: skip


def in_scope(scope: str) -> list[Action]:
    """The actions that work in a scope, in the order declared."""
    return [a for a in ACTIONS if scope in a.scopes]


def by_key(scope: str, key: str) -> Action | None:
    """The action a key stands for in a scope."""
    return next((a for a in ACTIONS if scope in a.scopes and key in a.keys), None)


def footer(scope: str, width: int, extra: Sequence[tuple[str, str]] = ()) -> Line:
    """The keys that work now, in one line.

    A narrow line sets them closer; where that is not enough, those of high rank give way.
    """
    shown = [(key, word, 0) for key, word in extra]
    shown += [(a.shown, a.word, a.rank) for a in in_scope(scope) if a.in_footer]
    while len(shown) > 1 and _length(shown, 1) > width:
        shown.remove(max(reversed(shown), key=lambda s: s[2]))
    gap = " " * (2 if _length(shown, 2) <= width else 1)
    spans: list[Span] = []
    for key, word, _ in shown:
        spans += [Span(gap if spans else " "), Span(key, "key"), Span(f" {word}", "dim")]
    return line(width, *spans)


def _length(shown: Sequence[tuple[str, str, int]], gap: int) -> int:
    words = sum(text.width(key) + 1 + text.width(word) for key, word, _ in shown)
    return 1 + words + gap * (len(shown) - 1)
