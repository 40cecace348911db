"""The page of the board: who has the room, what is wrong, every tank, what is due and altered."""

from __future__ import annotations

from tankwalk import text
from tankwalk.clock import Instant, ago, ago_short
from tankwalk.pages import due_words, follow_up_words, meter_words
from tankwalk.pages.clock_words import clock_lines
from tankwalk.pages.lines import Line, Span, blank, flag_tone, line, spread, wrapped
from tankwalk.pages.room_words import title, untaken, with_whom
from tankwalk.practice.board import Board, Tile
from tankwalk.practice.judging.budget import DAYS, Budget
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.tasks import Due

CROWDED = 6
"""More flags than these are told a line a place, where the page has an end."""


def draw(board: Board, width: int, height: int | None) -> list[Line]:
    """The page; `height` None gives all of it (for print), else what fits, worst first."""
    head = [title(board.name, board.now, width), *clock_lines(board.clock, width)]
    head += [*_room(board, width), *_untaken(board, width)]
    crowded = height is not None and len(board.wrong) > CROWDED
    wrong = _wrong_by_place(board, width) if crowded else _wrong(board, width)
    pressing = crowded or any(one.flag >= Flag.ACT for one in board.wrong)
    tiles = _tiles(board, width)
    rows = [_due(d, board.now, width) for d in board.due]
    soon = sum(len(row) for row, d in zip(rows, board.due, strict=True) if _soon(d))
    due = _listed(width, "DUE", rows)
    off = [meter_words.altered(state, board.now) for state in board.meters]
    meters = [wrapped(width, words, "watch", 3, indent="  ") for words in off]
    altered = _listed(width, "ALTERED", [*_altered(board, width), *meters, *_shelved(board, width)])
    actions = [*_listed(width, "TO DO", _actions(board, width)), *_review(board, width)]
    if height is None:
        return [*head, *wrong, *tiles, *due, *altered, *actions, *_emergency(board, width)]
    return _fit(width, height, head, [wrong, tiles, due, altered, actions], soon, crowded=pressing)


SOON_HOURS = 4.0
MOST_SOON = 4
"""So many rows of what is overdue or due soon stand before what is altered and what is to do."""


def _soon(one: Due) -> bool:
    return one.late_hours > -SOON_HOURS


def _fit(
    width: int, height: int, head: list[Line], parts: list[list[Line]], soon: int, *, crowded: bool
) -> list[Line]:
    """All parts if they fit; else each gives way to its first lines, the later ones first.

    `soon` rows of the third part are overdue or due soon: the others of it give way before all.
    Where it is `crowded` with flags, or one is to be acted on, what is wrong comes before them.
    """
    room = height - len(head)
    sizes = [len(p) for p in parts]
    due = max(4, 2 + min(soon, MOST_SOON))
    wanted = (10, 10, 3, 2, 2) if crowded else (5, 10, due, 3, 3)
    least = [min(len(p), n) for p, n in zip(parts, wanted, strict=True)]
    for i in (2, 4, 3, 0, 1):
        while sum(sizes) > room and sizes[i] > least[i]:
            sizes[i] -= 1
    for i in (4, 3, 2, 0, 1):
        while sum(sizes) > room and sizes[i] > 0:
            sizes[i] -= 1
    lines = list(head)
    for part, size in zip(parts, sizes, strict=True):
        if size == 0:
            continue
        if size == 1:
            lines.append(part[0])  # the heading, with how many there are
        elif size < len(part):
            more = len(part) - size + 1
            lines += [*part[: size - 1], line(width, Span(f"  and {more} more lines", "dim"))]
        else:
            lines += part
    return [*lines, *[blank(width)] * max(0, height - len(lines))][:height]


def _room(board: Board, width: int) -> list[Line]:
    """Who has the room, and how long nobody has looked."""
    whom = with_whom(board.handover, board.now)
    words, tone = f" {whom.text}", whom.tone
    longest = board.longest
    looked = ""
    if longest is not None and longest.looked is None:
        looked = f"{longest.tank.code} never looked at "
    elif longest is not None and longest.looked is not None:
        looked = f"longest since a look {ago(board.now.hours_since(longest.looked))} "
    if text.width(words) + text.width(looked) + 2 <= width:
        return [spread(width, [Span(words, tone)], [Span(looked)], "plain")]
    return [line(width, Span(words, tone)), line(width, Span(f" {looked}"))]


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
    long, short = f" {words}; the lead notes it: 3, then .", f" {words} (3, then .)"
    return [line(width, Span(long if text.width(long) <= width else short, "watch"))]


def _heading(width: int, words: str, right: str = "") -> Line:
    return spread(width, [Span(f" {words}", "bold")], [Span(right, "dim")], "plain")


def _wrong(board: Board, width: int) -> list[Line]:
    if not board.wrong:
        return [line(width, Span(f" {nothing_wrong(board)}", "ok"))]
    lines = [_heading(width, f"WRONG NOW  {len(board.wrong)}")]
    for one in board.wrong:
        when = one.at.told(board.now)
        mark = text.pad(one.flag.mark, 11)
        place = text.pad(one.place, 7)
        first, *rest = text.wrap(one.sentence, max(20, width - 24 - text.width(when)))
        head = [Span(f"  {mark}", flag_tone(one.flag)), Span(f"{place} {first}")]
        lines.append(spread(width, head, [Span(f"{when} ", "dim")], "plain"))
        lines += [line(width, Span(" " * 21 + more)) for more in rest]
    return lines


def _wrong_by_place(board: Board, width: int) -> list[Line]:
    """A line a place with all that is wrong there, worst first, where there is much of it."""
    lines = [_heading(width, f"WRONG NOW  {len(board.wrong)}", "a line a place, worst first ")]
    places = dict.fromkeys(one.place for one in board.wrong)
    for place in places:
        here = [one for one in board.wrong if one.place == place]
        worst = here[0].flag
        said = ", ".join(
            one.sentence if one.flag == worst else f"{one.flag.short} {one.sentence}"
            for one in here
        )
        mark, where = text.pad(worst.mark, 11), text.pad(place, 7)
        words = text.fit(said, max(20, width - 22))
        lines.append(line(width, Span(f"  {mark}", flag_tone(worst)), Span(f"{where} {words}")))
    return lines


def nothing_wrong(board: Board) -> str:
    """Why no value is out of band."""
    unread = all(tile.looked is None for tile in board.tiles)
    return "Nothing has been read yet." if unread else "Nothing is out of band."


def _tiles(board: Board, width: int) -> list[Line]:
    """Tanks in walking order, as many abreast as fit."""
    size = 19
    abreast = max(1, (width - 1) // size)
    lines = [_heading(width, f"TANKS  {len(board.tiles)}", "flag, treatment, since a look ")]
    for start in range(0, len(board.tiles), abreast):
        spans: list[Span] = [Span(" ")]
        for tile in board.tiles[start : start + abreast]:
            spans += _tile(tile, board.now, size)
        lines.append(line(width, *spans))
    return lines


def _tile(tile: Tile, now: Instant, size: int) -> list[Span]:
    mark = tile.flag.short or ("ok" if tile.looked is not None else "--")
    looked = "new" if tile.looked is None else ago_short(now.hours_since(tile.looked))
    treatment = text.fit(tile.tank.treatment or "", 5)
    code = text.pad(tile.tank.code, max(4, min(6, len(tile.tank.code))))
    words = f" {text.pad(treatment, 4)} {text.pad(looked, 4, '>')}"
    tone = flag_tone(tile.flag)
    return [
        Span(code, "bold" if tile.flag else "plain"),
        Span(text.pad(mark, 3), tone),
        Span(text.pad(words, size - len(code) - 3)),
    ]


def _listed(width: int, heading: str, items: list[list[Line]]) -> list[Line]:
    """A heading with how many items stand below it; an item may take several lines."""
    rows = [row for item in items for row in item]
    return [_heading(width, f"{heading}  {len(items)}"), *rows] if rows else []


def _due(one: Due, now: Instant, width: int) -> list[Line]:
    tone = "watch" if one.overdue else "plain"
    words, said = due_words.what(one), due_words.said(one, now)
    what = text.pad(words, max(26 if width >= 74 else 22, text.width(words)))
    if text.width(what) + text.width(said) + 3 <= width:
        return [line(width, Span(f"  {what} "), Span(said, tone))]
    rest = wrapped(width, said, tone, 3, indent="    ")
    return [*wrapped(width, words, "plain", 2, indent="  "), *rest]


def _altered(board: Board, width: int) -> list[list[Line]]:
    said, until = follow_up_words.said, follow_up_words.until
    return [_two_ended(width, said(one), until(one)) for one in board.altered]


def _actions(board: Board, width: int) -> list[list[Line]]:
    said, whose = follow_up_words.said, follow_up_words.whose
    return [_two_ended(width, said(one), whose(one)) for one in board.actions]


def _shelved(board: Board, width: int) -> list[list[Line]]:
    """Flags that somebody put out of sight, why and until when."""
    found = []
    for one in board.shelved:
        end = "" if one.until is None else f"shelved until {one.until.short()}"
        words = f"{one.flag.mark} {one.place} {one.sentence}: {one.reason}"
        found.append(_two_ended(width, words, end))
    return found


def _review(board: Board, width: int) -> list[Line]:
    """More flags than people can take seriously: which bands to look at."""
    if board.review is None:
        return []
    words = f"Bands to review: {review_words(board.review)}"
    return wrapped(width, words, "watch", 3, indent="  ")


def review_words(spent: Budget) -> str:
    """A week's flags beside what was allowed, and who raised most of them, in one line."""
    named = ", ".join(f"{n.label} {n.flags} (most {n.place})" for n in spent.noisiest)
    words = f"{spent.watch} WATCH and {spent.act} ACT in {DAYS} days, budget {spent.allowed_watch}"
    return f"{words}; noisiest: {named}" if named else words


def _two_ended(width: int, words: str, end: str) -> list[Line]:
    """Words at the left, their end at the right; the end below them where both do not fit."""
    if text.width(words) + text.width(end) + 5 <= width:
        return [spread(width, [f"  {words}"], [Span(f"{end} ", "dim")], "plain")]
    last = [spread(width, [], [Span(f"{end} ", "dim")], "plain")] if end else []
    return [*wrapped(width, words, "plain", 3, indent="  "), *last]


def _emergency(board: Board, width: int) -> list[Line]:
    return wrapped(width, board.emergency, "bold", 4) if board.emergency else []
