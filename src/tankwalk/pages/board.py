"""The page of the board: what comes next, what is wrong, every tank, what is altered."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tankwalk import text
from tankwalk.clock import ago, is_ahead
from tankwalk.pages import (
    board_tanks,
    board_worst,
    due_words,
    flag_story,
    follow_up_words,
)
from tankwalk.pages.lines import Line, Span, blank, flag_tone, line, plain, spread, wrapped
from tankwalk.pages.room_words import room, title, untaken
from tankwalk.pages.when import at_words
from tankwalk.practice.board import Board
from tankwalk.practice.budget import DAYS, Budget
from tankwalk.practice.doing.follow_ups import Carried
from tankwalk.practice.incidents.incident import Incident
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.stories import Story
from tankwalk.practice.tasks import Due
from tankwalk.rows import NamedTuple

CROWDED = 6
"""More flags than these are told one line per place, where the page has an end."""

WIDE = 72
"""On a page that is narrower a line says no more than what is done."""


class Part(NamedTuple):
    """A section: its heading and its rows by item.

    `more` says how one gets at the items that are not in sight; `first` is the item to begin with.
    Of what `folds` only the heading is left where rows are short: the open list has it too. `short`
    makes rows of one line, for where not one of the `items` has room.
    """

    head: Line
    items: list[list[Line]]
    more: str
    first: int = 0
    folds: str = ""
    short: Callable[[], list[list[Line]]] | None = None

    def rows(self, width: int, shown: int) -> list[Line]:
        """The heading and so many items, with what is left out."""
        if shown >= len(self.items):
            return [self.head, *(row for item in self.items for row in item)]
        if shown == 0:
            return [self.head]
        start = max(0, min(self.first, len(self.items) - shown)) if self.first >= shown else 0
        rows = [row for item in self.items[start : start + shown] for row in item]
        left = len(self.items) - shown
        return [self.head, *rows, line(width, Span(f"   and {left} more   {self.more}", "dim"))]


def draw(board: Board, width: int, height: int | None, at: int = 0) -> list[Line]:
    """The page; `height` None gives all of it (for print), else what fits; `at` is the line of NEXT
    that Enter does."""
    whole = height is None
    worst = board_worst.urgent(board)
    head, last = [*title(board.name, board.now, width, whole=whole)], []
    if board.clock is not None:
        from tankwalk.pages.clock_words import clock_lines

        head += clock_lines(board.clock, width)
    waits = _untaken(board, width)
    if worst is not None:
        head += board_worst.block(board, worst, width)
        last = [*room(board.handover, board.now, "", width), *waits]
    else:
        head += [*room(board.handover, board.now, board_worst.on_call(board), width), *waits]
    tanks = Part(*board_tanks.draw(board, width), "down")
    wrong = _wrong(board, width, whole=whole)
    parts = [_next(board, width, at, whole=whole), wrong, tanks]
    if whole and board.expected:
        parts.insert(1, _expected(board, width))
    lists = _altered(board, width, whole=whole), _to_do(board, width, whole=whole)
    parts += [part for part in lists if part is not None]
    if height is None:
        found = [row for part in parts for row in (blank(width), *part.rows(width, 999))]
        end = wrapped(width, f"Emergency: {board.emergency}", "bold", 4) if board.emergency else []
        return [*head, *found, *[blank(width)] * bool(last or end), *last, *end]
    if board.plots:
        wide = _wide(board, width, height, at, head, last, wrong)
        if wide is not None:
            return wide
    return _fit(width, height, head, parts, last)


def _wide(
    board: Board, width: int, height: int, at: int, head: list[Line], last: list[Line], wrong: Part
) -> list[Line] | None:
    """The page with the past of its tanks, what is next beside what is open; None without room."""
    from tankwalk.pages import board_wide

    left, right = board_wide.half(width)
    comes = _next(board, left, at, whole=False)
    lists = [_altered(board, right, whole=False), _to_do(board, right, whole=False)]
    over = [*head, blank(width), *wrong.rows(width, min(len(wrong.items), WRONG_WIDE))]
    below = (
        lambda room: _within([comes], left, room),
        lambda room: _within([part for part in lists if part is not None], right, room),
    )
    return board_wide.arranged(board, width, height, over, below, last)


def _within(parts: list[Part], width: int, room: int) -> list[Line]:
    """Parts below each other in so many rows, the last giving way first; each keeps its heading."""
    shown = [len(part.items) for part in parts]

    def rows() -> list[Line]:
        both = zip(parts, shown, strict=True)
        return [row for part, many in both for row in part.rows(width, many)]

    for nth in reversed(range(len(parts))):
        while len(rows()) > room and shown[nth] > 0:
            shown[nth] -= 1
    return rows()


WRONG_WIDE = 2
"""So many flags stand over the tanks in a wide window: each tank has its mark as well."""

GIVE_WAY = ((0, 3), (1, 3), (1, 1), (0, 2), (1, 0), (0, 1))
"""Of NEXT (0) and WRONG (1), how many rows are kept, one step after another."""


def _fit(
    width: int, height: int, head: list[Line], parts: list[Part], last: list[Line]
) -> list[Line]:
    """All parts if they fit; else blank rows go, then rows of the mildest parts, the last first."""
    shown = [len(part.items) for part in parts]
    air = len(parts) + 1

    def rows() -> list[Line]:
        found, folded = list(head), []
        for nth, (part, many) in enumerate(zip(parts, shown, strict=True)):
            if part.folds and many == 0:
                folded.append(f"{part.folds} {len(part.items)}")
            else:
                found += [blank(width)] * (nth < air) + part.rows(width, many)
        end = _ended(width, folded, last)
        return [*found, *[blank(width)] * bool(end and air > len(parts)), *end]

    folding = [nth for nth, part in enumerate(parts) if part.folds]
    steps = [(nth, 0) for nth in reversed(folding)]
    # What is wrong gives way before what is next: the tiles still have its marks.
    steps += [(nth, min(keeps, len(parts[nth].items))) for nth, keeps in GIVE_WAY]
    if folding:  # what is to do gives way before the air between parts does
        steps = [*steps[:1], *steps]
    for nth, least in steps[:1] if folding else ():
        while len(rows()) > height and shown[nth] > least:
            shown[nth] -= 1
    while len(rows()) > height and air > 1:
        air -= 1
    for nth, least in steps:
        while len(rows()) > height and shown[nth] > least:
            shown[nth] -= 1
    for nth, part in enumerate(parts):
        if part.short is not None and shown[nth] == 0 and len(rows()) < height:
            parts[nth] = part._replace(items=part.short())
            shown[nth] = len(parts[nth].items)
            while len(rows()) > height and shown[nth] > 0:
                shown[nth] -= 1
    if len(rows()) > height:
        air, last = 0, last[:1]
    found = rows()
    if len(found) > height:
        rest = len(found) - height + 1
        found = [*found[: height - 1], line(width, Span(f"   {rest} more below   down", "dim"))]
    return [*found, *[blank(width)] * (height - len(found))][:height]


def _ended(width: int, folded: list[str], last: list[Line]) -> list[Line]:
    """The last rows: whose the room is, and at the right how much there is of what has no rows."""
    if not folded:
        return last
    counts = [Span(f"{'   '.join(folded)} ", "bold")]
    if not last:
        return [line(width, Span(" "), *counts, Span("  5 open list", "dim"))]
    words = plain([last[0]]).rstrip()
    if text.width(words) + text.width(counts[0].text) + 2 <= width:
        return [spread(width, list(last[0]), counts, "plain"), *last[1:]]
    return [*last[:1], line(width, Span(" "), *counts), *last[1:]]


# ---- who has the room


def never_taken(board: Board) -> str:
    """That a handover was never taken, until the lead notes it; "" where there is none."""
    if not board.never_taken:
        return ""
    more = len(board.never_taken) - 1
    words = f"Never taken: {untaken(board.never_taken[-1])}"
    return words + (f" and {more} before" if more else "")


def _untaken(board: Board, width: int) -> list[Line]:
    """One line, with the keys by which the lead notes it."""
    words = never_taken(board)
    if not words:
        return []
    long, short = f" {words}; lead: press 3, then the point key", f" {words} (3, then .)"
    return [line(width, Span(long if text.width(long) <= width else short, "watch"))]


# ---- what comes next


def _heading(width: int, words: str, right: str = "") -> Line:
    return spread(width, [Span(f" {words}", "bold")], [Span(right, "dim")], "plain")


def _next(board: Board, width: int, at: int, *, whole: bool) -> Part:
    """What is overdue or due soon, each a line that Enter does; on paper all that is due."""
    shown = board.owed if whole else board.next
    items = [_due(one, board, width, here=nth == at and not whole) for nth, one in enumerate(shown)]
    if items:
        named = f"DUE  {len(items)}" if whole else "NEXT"
        return Part(_heading(width, named), items, "down", at)
    later = board.owed[0] if board.owed else None
    words = "nothing is due" if later is None else "  ".join(due_words.told(later, board.now))
    head = line(width, Span(" NEXT", "bold"), Span(f"  {words}", "dim"))
    return Part(head, [], "down")


def _expected(board: Board, width: int) -> Part:
    """On paper: what comes by itself."""
    items = [_due(one, board, width, here=False) for one in board.expected]
    return Part(_heading(width, f"EXPECT  {len(items)}"), items, "down")


def _due(one: Due, board: Board, width: int, *, here: bool) -> list[Line]:
    words, when = due_words.told(one, board.now, short=width < WIDE)
    tone = "watch" if one.overdue and when else "plain"
    mark = Span(" > " if here else "   ", "key")
    return two_ended(width, words, when, mark, "bold" if here else "plain", tone)


def two_ended(
    width: int, words: str, end: str, mark: Span, tone: str = "plain", end_tone: str = "dim"
) -> list[Line]:
    """Words at the left, going on below themselves, and their end at the right of the first row."""
    indent = text.width(mark.text)
    room = max(12, width - indent - 1 - (text.width(end) + 2 if end else 0))
    first, *rest = text.wrap(words, room) or [""]
    right = [Span(f"{end} ", end_tone)] if end else []
    lines = [spread(width, [mark, Span(first, tone)], right, "plain")]
    return lines + [line(width, Span(" " * indent), Span(more, tone)) for more in rest]


# ---- what is wrong

OPEN_LIST = "5 open list"


def _wrong(board: Board, width: int, *, whole: bool) -> Part:
    crowded = not whole and len(board.wrong) > CROWDED
    longest = longest_unchecked(board)
    right = f"{longest} " if longest else ""
    worst = board_worst.urgent(board)
    rest = [one for one in board.wrong if not _in_block(worst, one)]
    skip = len(board.wrong) - len(rest)
    back = _taken_back(board, width)
    if not board.wrong:
        words = Span(f"  {nothing_wrong(board)}", "ok")
        left = [Span(" WRONG", "bold"), words]
        return Part(spread(width, left, [Span(right, "dim")], "plain"), back, OPEN_LIST)
    many = f"WRONG  {len(board.wrong)}"
    many += ", one line per place" if crowded and not skip else ""
    many += f", {skip} of them above" if skip else ""
    fits = text.width(many) + text.width(right) + 3 <= width
    head = _heading(width, many, right if fits else "")
    if crowded:
        return Part(head, [*_by_place(rest, width), *back], OPEN_LIST)
    told = [one for one in board.stories if one.worst in rest]
    items = [*(_story(board, one, width, whole=whole) for one in told), *back]
    return Part(head, items, OPEN_LIST, short=lambda: [*_by_place(rest, width), *back])


def _taken_back(board: Board, width: int) -> list[list[Line]]:
    if not board.withdrawn:
        return []
    from tankwalk.pages.readings import withdrawn_words

    return [
        wrapped(width, withdrawn_words(one, board.now), "dim", 2, "   ") for one in board.withdrawn
    ]


def _in_block(worst: Incident | None, one: Standing) -> bool:
    return worst is not None and (one == worst.standing or one in worst.also)


def longest_unchecked(board: Board) -> str:
    """The tank that was looked at longest ago, and how long that is."""
    longest = board.longest
    if longest is None:
        return ""
    if longest.looked is None:
        return f"never checked  {longest.tank.code}"
    hours = board.now.hours_since(longest.looked)
    if is_ahead(hours):
        return "longest unchecked  not known by this clock"
    long = ago(hours)
    return "" if long == "now" else f"longest unchecked  {longest.tank.code}  {long}"


def nothing_wrong(board: Board) -> str:
    """Why no value is out of band."""
    if all(tile.looked is None for tile in board.tiles):
        return "nothing has been read yet"
    return "nothing" if board.clock is None else "nothing, by this clock"


def level(flag: Flag) -> list[Span]:
    """A mark right-aligned in three cells and its word: WATCH colors it, ACT fills it."""
    tone = flag_tone(flag)
    word = flag.mark.split()[-1]
    return [Span(f" {flag.short:>3} ", "bold"), Span(word, tone), Span(" " * (7 - len(word)))]


def _flag(board: Board, one: Standing, width: int) -> list[Line]:
    marks = level(one.flag)
    place = text.pad(one.place, max(4, text.width(one.place)))
    when = f"since {at_words(one.raised, board.now)} "
    indent = sum(text.width(span.text) for span in marks) + text.width(place) + 1
    room = max(12, width - indent - text.width(when) - 2)
    first, *rest = text.wrap(one.sentence, room) or [""]
    left = [*marks, Span(f"{place} ", "bold"), Span(first)]
    lines = [spread(width, left, [Span(when, "dim")], "plain")]
    lines += [line(width, Span(" " * indent + more)) for more in rest]
    return lines


def _dealt_with(board: Board, one: Standing, width: int) -> list[Line]:
    """How a flag that is acted on is dealt with."""
    found = next((each for each in board.incidents if each.standing == one), None)
    return board_worst.dealt(found, width) if found is not None and one.flag >= Flag.ACT else []


def _story(board: Board, one: Story, width: int, *, whole: bool) -> list[Line]:
    """The worst flag of a place, and under it all else that belongs to it, in one run of words.

    On the screen that is one row; paper has all of it.
    """
    lines = _flag(board, one.worst, width)
    words = ". ".join([*flag_story.others(one), *flag_story.around(one, board.now)])
    if words:
        indent = " " * (13 + max(4, text.width(one.worst.place)))
        room = max(10, width - len(indent) - 1)
        lines += (
            wrapped(width, f"{words}.", "plain", 8, indent)
            if whole
            else [line(width, Span(indent + text.fit(f"{words}.", room)))]
        )
    for each in (one.worst, *one.also) if whole else (one.worst,):
        lines += [row for row in _dealt_with(board, each, width) if row not in lines]
    return lines


def _by_place(wrong: Sequence[Standing], width: int) -> list[list[Line]]:
    """One line per place with all that is wrong there, worst first, where there is much of it."""
    found = []
    for place in dict.fromkeys(one.place for one in wrong):
        here = [one for one in wrong if one.place == place]
        worst = here[0].flag
        said = ", ".join(
            one.sentence if one.flag == worst else f"{one.flag.short} {one.sentence}"
            for one in here
        )
        marks = level(worst)
        words = text.fit(said, max(10, width - 18))
        found.append([line(width, *marks, Span(f"{text.pad(place, 4)} ", "bold"), Span(words))])
    return found


# ---- what is altered and what is to do


def _altered(board: Board, width: int, *, whole: bool) -> Part | None:
    """What is not as normal: altered by a person, meters out of use, flags out of sight."""
    items = [_carried(width, one, *_back(one, board), whole=whole) for one in board.altered]
    if board.meters:
        from tankwalk.pages import meter_words

        off = [meter_words.altered(state, board.now) for state in board.meters]
        items += [two_ended(width, words, "", Span("   "), "watch") for words in off]
    for one in board.shelved:
        end = "" if one.until is None else f"shelved until {at_words(one.until, board.now)}"
        words = f"{one.flag.mark} {one.place} {one.sentence}: {one.reason}"
        items.append(two_ended(width, words, end, Span("   ")))
    head = _heading(width, f"ALTERED  {len(items)}")
    return Part(head, items, OPEN_LIST, folds="ALTERED") if items else None


def _to_do(board: Board, width: int, *, whole: bool) -> Part | None:
    items = [_carried(width, one, *_whose(one, board), whole=whole) for one in board.actions]
    if board.review is not None:
        words = review_words(board.review)
        items.append(wrapped(width, words, "watch", 3, indent="   "))
    many = len(board.actions)
    head = _heading(width, f"TO DO  {many}")
    return Part(head, items, OPEN_LIST, folds="TO DO") if items else None


def _carried(width: int, one: Carried, end: str, tone: str, *, whole: bool) -> list[Line]:
    """A follow-up in one row, cut where it is too long; whole on paper."""
    words = follow_up_words.said(one)
    if not whole:
        room = max(12, width - 6 - text.width(end))
        if text.width(words) > room and end.startswith("back "):  # the heading says it
            end = end.removeprefix("back ")
            room += 5
        words = text.fit(words, room)
    return two_ended(width, words, end, Span("   "), "plain", tone)


def _back(one: Carried, board: Board) -> tuple[str, str]:
    """Until when something is altered, or how long that is over."""
    if one.terms.due is None:
        return "no end set", "dim"
    if one.terms.late:
        return f"back overdue {ago(one.terms.late_hours)}", "watch"
    return f"back by {at_words(one.terms.due, board.now)}", "dim"


def _whose(one: Carried, board: Board) -> tuple[str, str]:
    """Whose an action is, and by when."""
    owner = one.seen.owner or "next lead"
    if one.terms.due is None:
        return f"{owner}, {follow_up_words.open_for(one)}", "dim"
    if one.terms.late:
        return f"{owner}, overdue {ago(one.terms.late_hours)}", "watch"
    return f"{owner}, {at_words(one.terms.due, board.now)}", "dim"


def review_words(spent: Budget) -> str:
    """A week's flags beside what was allowed, and who raised most of them, in one line."""
    named = ", ".join(f"{n.label} {n.flags} (most {n.place})" for n in spent.noisiest)
    words = f"{spent.watch} WATCH and {spent.act} ACT in {DAYS} days, budget {spent.allowed_watch}"
    return f"{words}; most frequent: {named}" if named else words
