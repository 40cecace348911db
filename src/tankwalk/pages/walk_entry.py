"""The foot of the walk: what is entered, large, in its band; what is said and what is asked."""

from __future__ import annotations

import re
from collections.abc import Sequence

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.pages.big import big, big_name
from tankwalk.pages.correction_words import in_a_word
from tankwalk.pages.lines import Line, Span, blank, filled, flag_tone, line, spread, wrapped
from tankwalk.pages.looks import NOT_TAKEN, Mark, mark, merged, of_value, word_sign
from tankwalk.pages.readings import band_words, fitting
from tankwalk.pages.strips import LAST, LONG, NARROW, NOW, Scale, Size, long_scale
from tankwalk.pages.walk_list import Canvas, newest_of, scale_at, typed_value
from tankwalk.pages.walk_said import FIGURES, is_menu, kept_rows
from tankwalk.pages.when import age_words, at_words
from tankwalk.plan import responses
from tankwalk.plan.bands import limit_words
from tankwalk.plan.model import Item, Steps
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.past.series import LookAt
from tankwalk.practice.round.paper_questions import AskSecond, AskStopTime
from tankwalk.practice.round.questions import (
    AskAgain,
    AskSign,
    AskSlip,
    AskWords,
    Question,
)
from tankwalk.practice.round.view import EntryView, StopView, WalkView
from tankwalk.rows import NamedTuple

FIGURES_AT, FIGURES_CELLS = 3, 20
"""Where the figures begin, and the cells they have: the scale beside them never moves."""

SCALE_AT = 24

TRAIL, FEWEST = 28, 5
"""Looks of the past in one row, a fortnight of two rounds a day; fewer than five show nothing."""

WORDS_AT, TRAIL_AT = 31, 37
"""Where the past of a word begins, at least: the cell of its span of time, and of its signs."""

_NUMBER = r"[<]?[-0-9.,]*"


def rows_wanted(view: WalkView, said: list[Line], width: int) -> int:
    """Rows that what is said would take, the last of them beside what was just kept."""
    taken = FIGURES if is_menu(view) else 0
    return len(said) + len(kept_rows(view, width)) - 1 - taken


def has_figures(view: WalkView) -> bool:
    """Whether what is typed stands large: a menu has its place."""
    return not is_menu(view)


def foot(
    view: WalkView, width: int, message: int, said: list[Line], trail: Trail | None
) -> list[Line]:
    """What is asked, with its title; `message` rows for what is said; and what was just kept.

    A menu has the rows of the figures as well.
    """
    kept = kept_rows(view, width)
    room = message + 1 - len(kept)
    if is_menu(view):
        return [_title(view, width), *filled(said, width, FIGURES + room), *kept]
    if len(said) < room and message > FIGURES:
        said = [blank(width), *said]  # rows 20 to 22
    return [
        _title(view, width),
        *figures(view, "", width, trail),
        *filled(said, width, room),
        *kept,
    ]


# ---- its title


def _title(view: WalkView, width: int) -> Line:
    here = view.here
    if not isinstance(here, StopView):
        return ruled("The round is signed" if view.signed else "Sign", (), "dim", width)
    entry, asked = here.entry, view.question
    slot = entry.line.slot
    unit = f", {slot.item.unit}" if slot.item.unit else ""
    words = f"{slot.place}  {slot.item.label}{unit}"
    if isinstance(asked, AskWords):
        return ruled(asked.words.removesuffix(":"), (), "dim", width)
    if isinstance(asked, AskAgain):
        words += f", {asked.what}"
    if isinstance(asked, AskStopTime):
        return ruled(f"{asked.title}, its time on the sheet", (), "dim", width)
    if isinstance(asked, AskSecond):
        words += ", second entry"
    ways, tone = _beside_title(entry, view.now)
    return ruled(words, ways, tone, width)


def ruled(words: str, ways: Sequence[str], tone: str, width: int) -> Line:
    """A short rule with words in it, and at the right margin the first of some ways that fits."""
    right = fitting(width - text.width(words) - 10, *ways, "")
    left = [Span(" \u2500\u2500 ", "rule"), Span(words, "bold"), Span(" \u2500\u2500", "rule")]
    return spread(width, left, [Span(f"{right} ", tone)], "plain")


def _beside_title(entry: EntryView, now: Instant) -> tuple[Sequence[str], str]:
    """The meter in hand and its check; for what is answered by a word, what it was last."""
    slot, meter, before = entry.line.slot, entry.meter, entry.line.before
    how = "".join(f", {word}" for word in _came(entry)[-1:] if word)
    if entry.off:
        return (f"meter {meter} is OFF: m takes another", f"{meter} OFF"), "watch"
    if meter is not None:
        passed = "" if entry.passed is None else f", passed {at_words(entry.passed, now)}"
        return (f"meter {meter}{passed}", f"meter {meter}"), "dim"
    if before is None:
        return ("not seen before",), "dim"
    if slot.item.kind.of_animals:
        found = f"dead found since {at_words(before.at, now)}{how}"
        return (f"{found}; a bar for each day", found), "dim"
    since = f"{age_words(now.hours_since(before.at))} ago"
    if slot.item.kind.by_words:
        shown = f"last {value_words(slot.item, before, bare=True)}"
        when = at_words(before.at, now)
        ways = (f"{shown} {when}, {since}{how}", f"{shown} {since}{how}", f"{since}{how}", since)
        return ways, "dim"
    return (), "dim"


# ---- the past in one row


class Trail(NamedTuple):
    """The looks before this round, a sign each, and of this round; drawn once for a view."""

    now: Instant
    since: tuple[Instant, ...]
    """When each look was."""
    marks: tuple[Mark, ...]
    spans: tuple[Span, ...]
    """The signs of all of them: a digit puts these beside what it changes."""
    here: Mark
    """What this round holds: the last cell, until something is typed."""


def trail_of(view: WalkView) -> Trail | None:
    """The past of what is entered; None where it has none, or stands in bars."""
    here = view.here
    past = here.entry.past if isinstance(here, StopView) and not here.map else None
    if past is None or not isinstance(here, StopView):
        return None
    slot, mine = here.entry.line.slot, {seen.n for seen in here.entry.line.held}
    before = [one for one in past if one.n not in mine][-TRAIL:]
    if slot.item.kind.of_animals or not before:
        return None
    scale = scale_at(slot)
    held = [mark(one, slot.item, scale) for one in past if one.n in mine]
    now = (
        Mark(held[-1].sign, "point" if held[-1].tone == "trend" else held[-1].tone)
        if held
        else Mark(" ", "trend")
    )
    marks = tuple(mark(one, slot.item, scale) for one in before)
    return Trail(view.now, tuple(one.at for one in before), marks, tuple(merged(marks)), now)


def _put_trail(row: Canvas, trail: Trail | None, now: str, at: int, end: int) -> int:
    """The past from cell `at` on, as much of it as ends before `end`; how many looks that is.

    `now` is the sign of what is typed, "" for nothing.
    """
    cells = min(TRAIL, end - at - 1)
    if trail is None or cells < FEWEST or row.at > at:
        return 0
    shown = trail.marks[-cells:]
    label = age_words(trail.now.hours_since(trail.since[-len(shown)]))
    if row.at + text.width(label) < at - 2:
        row.right(at - 2, Span(label, "dim"))
    drawn = trail.spans if len(shown) == len(trail.marks) else merged(shown)
    row.put(at, *drawn, Span(now, "entry") if now else Span(*trail.here))
    return len(shown)


# ---- the figures


def figures(view: WalkView, typed: str, width: int, trail: Trail | None) -> list[Line]:
    """Three rows: what is typed, large, and beside it where that lies in the band and the past."""
    here, asked = view.here, view.question
    if not isinstance(here, StopView):
        return _signing(view, width)
    if isinstance(asked, AskWords | AskStopTime):
        return _written(typed, width)
    slot = here.entry.line.slot
    if slot.item.kind.by_words:
        return words_of(slot.item, typed, width, slot.place if here.map else "", trail)
    if slot.item.kind.of_animals and not isinstance(asked, AskSlip):
        return _dead(here.entry, asked, typed, view.now, width)
    if isinstance(asked, AskSlip) and not typed:
        typed = asked.typed.typed
    return _number(here.entry, asked, typed, view.now, width, trail)


def _signing(view: WalkView, width: int) -> list[Line]:
    if view.signed or not isinstance(view.question, AskSign):
        return [blank(width)] * FIGURES
    rows = wrapped(width, view.question.words, "bold", FIGURES, "   ")
    if not view.question.open_slots:
        closes = "Signing closes the round. What is out of band stays on the board."
        rows += [blank(width), *wrapped(width, closes, "plain", 2, "   ")]
    return filled(rows, width, FIGURES)


def _written(typed: str, width: int) -> list[Line]:
    """The end of a note that is being written."""
    room = width - 5
    tail = (text.wrap(typed, room - 1) or [""])[-FIGURES:]
    tail[-1] += "_"
    return filled((line(width, Span(f"   {row}", "entry")) for row in tail), width, FIGURES)


def words_of(
    item: Item, typed: str, width: int, name: str = "", trail: Trail | None = None
) -> list[Line]:
    """The words that may be answered with their numbers, and what each would raise.

    Where a column holds them all, what is done first stands beside the word it is for, as many
    steps as there is room for. A `name` stands large before them: the error to prevent is the
    wrong tank. What is typed and is no number of a word stands as typed in the last row.
    """
    abreast = -(-len(item.choices) // FIGURES)
    large = big_name(name, FIGURES_CELLS) if name else None
    start = FIGURES_AT if large is None else FIGURES_AT + len(large[0]) + 5
    size = (width - start - 1) // abreast
    longest = max(text.width(word) for word in item.choices)
    if trail is not None and abreast > 1:
        size = min(size, longest + 6)  # the past stands beside them
    rows = [Canvas(width) for _ in range(FIGURES)]
    for row, words in zip(rows, large or (), strict=False):
        row.put(FIGURES_AT, Span(words, "entry"))
    odd = typed not in ("", *(str(place + 1) for place in range(len(item.choices))))
    for place, word in enumerate(item.choices):
        chosen = typed == str(place + 1)
        at = start + (place // FIGURES) * size
        row = rows[place % FIGURES]
        tone = "entry" if chosen else "plain"
        flag = Flag.ACT if word in item.act_on else Flag.WATCH if word in item.watch_on else Flag.OK
        row.put(at, Span(str(place + 1), "key"), Span(" _ " if chosen else "  ", "entry"))
        row.put(row.at, Span(text.fit(word, size - 5), tone))
        if flag and abreast == 1 and not odd:
            row.put(at + longest + 6, Span(flag.mark, flag_tone(flag)))
            steps = _as_fit(responses.steps(item, word), width - at - longest - 21)
            row.put(at + longest + 18, Span(steps, "dim"))
    _words_past(rows, item, typed, width, trail)
    if odd:
        rows[-1].right(width - 1, Span(f"{text.fit(typed, 12)}_", "entry"))
    return [row.line() for row in rows]


def _words_past(
    rows: list[Canvas], item: Item, typed: str, width: int, trail: Trail | None
) -> None:
    """The past of a word in the first row that has room, and what its signs mean in the next."""
    free = [row for row in rows if row.at < WORDS_AT]
    if trail is None or not free:
        return
    value = typed_word(item, typed)
    sign = "" if value is None else word_sign(item, value)
    many = _put_trail(free[0], trail, sign, TRAIL_AT, width - 1)
    if not many or len(free) == 1:
        return
    seen = {one.sign for one in trail.marks[-many:]} | {sign}
    means = [(word_sign(item, place), word) for place, word in enumerate(item.choices)]
    means += [(NOT_TAKEN, "not checked")] if NOT_TAKEN in seen else []
    for ways in (means, [one for one in means if one[0] in seen]):
        spans = [
            span
            for nth, (drawn, word) in enumerate(ways)
            for span in (Span("  " * (nth > 0)), Span(drawn, "trend"), Span(f" {word}", "dim"))
        ]
        if TRAIL_AT + sum(text.width(span.text) for span in spans) < width:
            free[1].put(TRAIL_AT, *spans)
            return


def typed_word(item: Item, typed: str) -> int | None:
    """The place of the word whose number is typed, from 0; None where it is none."""
    place = int(typed) - 1 if typed.isdecimal() else -1
    return place if 0 <= place < len(item.choices) else None


def _as_fit(steps: Steps, cells: int) -> str:
    """The first of some steps, as many as fit whole."""
    while steps and text.width(", ".join(steps)) > cells:
        steps = steps[:-1]
    return ", ".join(steps)


def _number(
    entry: EntryView,
    asked: Question | None,
    typed: str,
    now: Instant,
    width: int,
    trail: Trail | None,
) -> list[Line]:
    slot = entry.line.slot
    rows = [Canvas(width) for _ in range(FIGURES)]
    tail = _large(rows, typed)
    looks = _looks(entry, asked, typed, now, short=width < 74)
    looks_at = _looks_at(looks, width)
    scale, size = scale_at(slot), LONG if width >= 74 else NARROW
    limits = None if slot.band is None else slot.band.limits
    if scale is not None and limits is not None and rows[0].at <= SCALE_AT:
        points, tones = _points(entry, asked, typed, scale)
        _label(rows[0], slot.item, scale.act_low)
        rows[0].put(SCALE_AT, *long_scale(scale, points, size, tones))
        if scale.act_high is not None:
            rows[0].put(rows[0].at + 1, Span(limit_words(scale.act_high, slot.item), "dim"))
        _limits(rows[1], slot.item, scale, size)
    elif scale is None and band_words(slot):
        rows[0].put(SCALE_AT, Span(f"band {band_words(slot)}", "dim"))
    value = None if isinstance(asked, AskSlip) else typed_value(slot.item, typed)
    sign = "" if value is None else of_value(value, slot.item, scale)
    if tail:
        words = _understood(slot.item, typed)
        ends = width - 2 - text.width(words)
        _put_trail(rows[2], trail, sign, SCALE_AT + 1, ends)
        rows[2].put(max(rows[2].at + 1, ends + 1), Span(words, "entry"))
    else:
        marked = any(_came(entry))
        _put_trail(rows[2], trail, sign, SCALE_AT + 1, looks_at - (3 if marked else 1))
    free = [row for row in rows if row.at <= looks_at]
    came = [*_came(entry), *[""] * len(looks)][: len(looks)]
    for row, (when, words, tone), how in zip(
        free[-len(looks) :], looks[-len(free) :], came[-len(free) :], strict=False
    ):
        ends = looks_at - 1
        row.right(ends, Span(fitting(ends - row.at - 1, how, how[:1], ""), "dim"))
        row.put(looks_at, Span(when, "dim"))
        row.right(width - 1, Span(words, tone))
    return [row.line() for row in rows]


def _dead(
    entry: EntryView, asked: Question | None, typed: str, now: Instant, width: int
) -> list[Line]:
    """A count of the dead, large, beside those of the days before."""
    from tankwalk.pages.walk_dead import DAYS, bars, told

    rows = [Canvas(width) for _ in range(FIGURES)]
    _large(rows, typed)
    if rows[0].at < SCALE_AT - 6:
        rows[0].right(SCALE_AT - 1, Span("a day", "dim"))
    value = typed_value(entry.line.slot.item, typed)
    days = DAYS if width >= 74 else DAYS // 2
    for row, drawn in zip(rows, bars(entry, value, now, days), strict=True):
        row.put(SCALE_AT, *drawn)
    first = asked.first if isinstance(asked, AskAgain) else None
    for row, (words, tone) in zip(rows, told(entry, first, value, now), strict=False):
        row.right(width - 1, Span(words, tone))
    return [row.line() for row in rows]


def _looks_at(looks: Sequence[tuple[str, str, str]], width: int) -> int:
    """Where what was seen before stands beside the scale: further left for a value with a mark."""
    longest = max((text.width(when) + 1 + text.width(words) for when, words, _ in looks), default=0)
    return min(max(64, width - 16) if width >= 74 else width - 13, width - 1 - longest)


def _large(rows: list[Canvas], typed: str) -> str:
    """What is typed, large; a unit behind it stands small. What of it was not made large."""
    found = re.match(_NUMBER, typed)
    number = found[0] if found is not None else ""
    figures = big(number, FIGURES_CELLS) if typed else ("", "", "___")
    if figures is None or (typed and not number):
        rows[1].put(FIGURES_AT, Span(f"{typed}_", "entry"))
        return ""
    tail = typed[len(number) :]
    for row, words in zip(rows, figures, strict=True):
        row.put(FIGURES_AT, Span(words, "entry"))
    if tail:
        rows[2].put(rows[2].at + 1, Span(text.fit(tail.strip(), 10), "entry"))
    return tail


def _understood(item: Item, typed: str) -> str:
    """What a value in another unit is in the item's own; as typed while it is none yet."""
    value = typed_value(item, typed)
    return f"{typed}_" if value is None else f"{typed} = {item.shown(value)}"


def _points(
    entry: EntryView, asked: Question | None, typed: str, scale: Scale
) -> tuple[dict[str, float], dict[str, str]]:
    """Marks on the scale with their values, the last one over those before, and their tones."""
    points: dict[str, float] = {}
    at = entry.line
    if at.before is not None and at.before.value is not None:
        points[LAST] = at.before.value
    if isinstance(asked, AskSlip):
        ways = {one.key: one.read.value for one in asked.meant if one.possible}
        return {**points, **ways}, dict.fromkeys(ways, "key")
    held = newest_of(at.held)
    value = typed_value(at.slot.item, typed)
    if value is None and held is not None:
        value = held.value
    if value is None:
        return points, {}
    points[NOW] = value
    return points, {NOW: "entry" if scale.side(value) else "point"}


def _label(row: Canvas, item: Item, limit: float | None) -> None:
    if limit is not None:
        row.right(SCALE_AT - 1, Span(limit_words(limit, item), "dim"))


def _limits(row: Canvas, item: Item, scale: Scale, size: Size) -> None:
    """The limits of the band under its brackets."""
    for limit, at, opened in (
        (scale.low, size.opens, scale.open_low),
        (scale.high, size.closes, scale.open_high),
    ):
        if not opened:
            words = limit_words(limit, item)
            row.put(max(row.at + 1, SCALE_AT + at - len(words) // 2), Span(words, "dim"))


def _looks(
    entry: EntryView, asked: Question | None, typed: str, now: Instant, *, short: bool
) -> list[tuple[str, str, str]]:
    """The last two looks before, and what there is of now: when, what, and its tone."""
    at = entry.line
    item, before = at.slot.item, _before(entry)
    found = []
    for one in before:
        sign = sign_of(one)
        tone = "check" if one.suspect else "watch" if one.flag == Flag.WATCH else "dim"
        found.append((_when(one.at, now, short=short), shown(item, one), sign, tone))
    if not before and at.before is not None:
        words = value_words(item, at.before, bare=True)
        found.append((_when(at.before.at, now, short=short), words, "", "dim"))
    held = newest_of(at.held)
    if isinstance(asked, AskAgain):
        found.append(("first", value_words(item, asked.first, bare=True), "", "bold"))
    elif typed:
        value = typed_value(item, typed)
        if value is not None and not isinstance(asked, AskSlip):
            found.append(("now", item.shown(value, bare=True), "", "entry"))
    elif held is not None:
        found.append((at_words(held.at, now), value_words(item, held, bare=True), "", "bold"))
    # Signs have cells of their own, so that the numbers stand under each other.
    cells = max((len(sign) for _, _, sign, _ in found), default=0)
    return [(when, words + sign.ljust(cells), tone) for when, words, sign, tone in found]


def _before(entry: EntryView) -> list[LookAt]:
    """The last two looks before this round that have a value."""
    mine = {seen.n for seen in entry.line.held}
    taken = [one for one in entry.past or () if one.value is not None and one.n not in mine]
    return taken[-2:]


def _came(entry: EntryView) -> list[str]:
    """In a word how each of the last looks came into the record, where it was not at once."""
    return [in_a_word(one) for one in _before(entry)]


def _when(at: Instant, now: Instant, *, short: bool) -> str:
    return age_words(now.hours_since(at)) if short else at_words(at, now)


def sign_of(look: LookAt) -> str:
    """What is to be known of a look besides its value: its flag, else whether it is trusted."""
    if look.flag >= Flag.WATCH:
        return f" {look.flag.short}"
    return " ?" if look.suspect else " x" if look.not_confirmed is not None else ""


def shown(item: Item, look: LookAt) -> str:
    """The value of a look, in words without its unit."""
    words = "" if look.value is None else item.shown(look.value, bare=True)
    return f"< {words}" if look.below else words
