"""The list of pages: every page by its key, what it is for, and what waits there."""

from __future__ import annotations

from tankwalk import text
from tankwalk.pages import due_words
from tankwalk.pages.lines import Line, Span, blank, filled, flag_tone, spread
from tankwalk.practice.board import Board
from tankwalk.practice.tasks import DueKind, MetersDue

NAME = 15
"""Cells of a page's name."""

KEY = 10
"""Cells of its key, with the margin."""


def draw(board: Board, width: int, height: int) -> list[Line]:
    """The page, exactly `height` rows."""
    waits = _waiting(board)
    rows = (
        ("Enter", "Board", "what is wrong, what is next, every tank"),
        ("+", "Round", "walk the tanks, take the readings"),
        ("1", "Tank", "one tank: its past, flags, what was done"),
        ("2", "Feed", "what each tank gets, and giving it"),
        ("3", "Handover", "read, give, take over"),
        ("4", "Workings", "every sum, with its working"),
        ("5", "Open list", "flags, what is altered, what is to do"),
        ("6", "Meters", "checks, drift, suspect readings"),
        ("7", "Live feed", "cones, cold store, cultures, stock"),
        ("8", "Stock", "book, census, unaccounted; count or move"),
        ("9", "Trial", "treatments compared on tank values"),
        ("*", "Samples", "lengths, masses, guts, swim bladders"),
        (".", "Judging", "flags of a month, what came of them"),
        ("/", "Guided", "shells off cysts, gear disinfected"),
        ("-", "From paper", "a round walked on paper, typed in"),
        ("c", "Count", "drops, cells, larvae: enough yet?"),
        ("f", "Find", "words in notes, handovers, what was done"),
        ("e", "Season", "what went in, came out, went wrong"),
    )
    head = spread(width, [" PAGES"], [f"{board.now.short()} "], "head")
    lines = [_row(width, key, name, does, waits.get(name)) for key, name, does in rows]
    last = [_row(width, "d", "Look", "day, night (red on black), plain", None),
            _row(width, "q", "Leave", "asks if a round is open", None)]  # fmt: skip
    spare = height - 1 - len(lines) - len(last)
    lines = [head, *[blank(width)] * (spare > 0), *lines, *[blank(width)] * (spare > 1)]
    if spare < 0:  # the keys that stand in the foot of this page or of most go first
        last = last[1:]
    if spare < -1:
        lines.pop(1)
    lines += last
    return filled(lines, width, height)


def _row(width: int, key: str, name: str, does: str, waits: Span | None) -> Line:
    """A page: its key and name, at the right what waits there; what it is for if there is room."""
    left = [Span(f"   {key}".ljust(KEY), "key"), Span(name.ljust(NAME), "bold")]
    right = [] if waits is None else [Span(f"{waits.text} ", waits.tone)]
    used = KEY + NAME + sum(text.width(span.text) + 2 for span in right)
    if used + text.width(does) <= width:
        left.append(Span(does, "dim"))
    return spread(width, left, right, "plain")


def _waiting(board: Board) -> dict[str, Span]:
    """What waits at each page, in a few words; nothing where nothing does."""
    found = {}
    if board.wrong:
        worst = board.wrong[0].flag
        many = len(board.wrong)
        found["Board"] = Span(f"{worst.short} {many} flag{'s' * (many != 1)}", flag_tone(worst))
    rounds = [one for one in board.due if one.kind in (DueKind.ROUND, DueKind.UNSIGNED)]
    if rounds:
        _, when = due_words.told(rounds[0], board.now)
        found["Round"] = Span(when, "watch" if rounds[0].overdue else "plain")
    meals = [one for one in board.due if one.kind is DueKind.MEAL]
    if meals:
        _, when = due_words.told(meals[0], board.now)
        found["Feed"] = Span(when, "watch" if meals[0].overdue else "plain")
    cones = [one for one in board.due if one.kind in (DueKind.HARVEST, DueKind.CONE)]
    if cones:
        _, when = due_words.told(cones[0], board.now)
        found["Live feed"] = Span(when, "watch" if cones[0].overdue else "plain")
    given = board.handover
    if given is not None and given.taken is None:
        found["Handover"] = Span("! not taken over", "watch")
    counted = ((len(board.wrong), "flags"), (len(board.altered), "altered"),
               (len(board.actions), "to do"))  # fmt: skip
    words = ", ".join(f"{word} {many}" for many, word in counted if many)
    if words:
        found["Open list"] = Span(words)
    samples = [one for one in board.due if one.kind in (DueKind.SAMPLE, DueKind.SITTING)]
    if samples:
        found["Samples"] = Span("due", "watch" if any(one.overdue for one in samples) else "plain")
    due = sum(len(one.facts.meters) for one in board.due if isinstance(one.facts, MetersDue))
    off = sum(state.off for state in board.meters)
    if off:
        found["Meters"] = Span(f"! {off} out of use", "watch")
    elif due:
        found["Meters"] = Span(f"{due} due for a check", "plain")
    return found
