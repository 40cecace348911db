"""The page of the walk: one stop, its items a line each, and the entry large below.

80x24 is the design size; from 60x20 up every part stays, and from 100 columns on the newest
readings of the item stand beside, each with its place in the band.
"""

from __future__ import annotations

from tankwalk import quantity, text
from tankwalk.clock import Instant, ago, ago_short
from tankwalk.ledger.readings import Seen
from tankwalk.pages.actions import footer
from tankwalk.pages.big import big
from tankwalk.pages.lines import (
    Line,
    Span,
    blank,
    columns,
    filled,
    flag_tone,
    line,
    spread,
    wrapped,
)
from tankwalk.plan.bands import describe
from tankwalk.plan.model import Kind
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.round.agenda import Page, Slot
from tankwalk.practice.round.questions import AskAgain, AskSign, AskSlip, AskWords, menu
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.workings.derived import State, words_of

WIDE = 100
"""From this width on, the item's history stands beside the page."""

PANEL = 10
"""Lines of the entry panel, without the footer."""


def draw(walk: Walk, typed: str, width: int, height: int) -> list[Line]:
    """The whole page, exactly `height` lines of `width` cells."""
    now = walk.site.now()
    side = 38 if width >= WIDE else 0
    main = width - side
    rows = height - 3 - PANEL - 1
    titles = blank(main) if walk.at_end else _titles(main)
    top = [_head(walk, width, now), _where(walk, main), titles]
    body = _end(walk, main, rows) if walk.at_end else _items(walk, typed, main, rows, now)
    panel = _panel(walk, typed, main, now)
    # What is worked out stands at the foot while nothing is asked: a question comes first, and
    # the entry never moves.
    worked = [] if walk.question is not None else _worked(walk, main)
    worked = worked[: max(0, PANEL - len(panel))]
    below = [*filled(panel, main, PANEL - len(worked)), *worked]
    page = filled(top + filled(body, main, rows) + below, main, height - 1)
    if side:
        page = [page[0], *_beside(page[1:], _history(walk, side, height - 2), main)]
    return [*page, _footer(walk, width)]


def _head(walk: Walk, width: int, now: Instant) -> Line:
    done = len(walk.slots) - len(walk.open_slots())
    flags = len(walk.flags())
    bar = round(10 * done / max(1, len(walk.slots)))
    counts = f"{done}/{len(walk.slots)} [{'#' * bar}{'-' * (10 - bar)}] "
    words = f"{flags} flag{'' if flags == 1 else 's'} "
    when = now.short() if width >= 74 else now.hm()
    left = f" {walk.agenda.checklist.label}  {walk.who}  {when}"
    return spread(width, [left], [counts, words], "head")


def _where(walk: Walk, width: int) -> Line:
    pages = walk.agenda.pages
    if walk.at_end:
        return line(width, Span(" End of the round", "bold"))
    number = walk.page_of[walk.at]
    page = pages[number]
    stop = Span(f"stop {number + 1} of {len(pages)} ", "dim")
    return spread(
        width, [Span(f" {page.title}", "bold"), Span(f"   {facts(walk, page)}")], [stop], "plain"
    )


def facts(walk: Walk, page: Page) -> str:
    """What one should know standing before this tank."""
    if page.tank is None:
        return {"glance": "by eye: alive? spread? flowing?"}.get(page.kind, "")
    tank = page.tank
    age = walk.site.plan.age(tank, walk.agenda.day)
    parts = [
        tank.treatment or "",
        f"block {tank.block}" if tank.block else "",
        f"{age} dph" if age is not None else ("eggs" if tank.lot else "empty"),
        f"loop {tank.loop}",
        tank.where,
        "QUARANTINE" if tank.quarantine else "",
    ]
    return "  ".join(p for p in parts if p)


def _sizes(width: int) -> tuple[int, int, int, int, int]:
    """Cells for label, value, flag, last seen and band."""
    if width < 74:
        return 16, 12, 4, 12, max(8, width - 48)
    return 19, 14, 11, 16, max(12, width - 64)


def _titles(width: int) -> Line:
    label, value, flag, last, band = _sizes(width)
    return columns(
        width,
        [
            ("", 4, "dim"),
            ("", label, "dim"),
            ("now", value, "dim"),
            ("", flag, "dim"),
            ("last seen", last, "dim"),
            ("band today", band, "dim"),
        ],
    )


def _items(walk: Walk, typed: str, width: int, rows: int, now: Instant) -> list[Line]:
    """The stop's items, scrolled so that the present one and its neighbours show."""
    page = walk.page_of[walk.at]
    first = walk.page_of.index(page)
    count = len(walk.agenda.pages[page].slots)
    here = walk.at - first
    start = max(0, min(here - rows // 2, count - rows))
    shown = range(start, min(count, start + rows))
    return [_item(walk, first + i, typed, width, now) for i in shown]


def _item(walk: Walk, index: int, typed: str, width: int, now: Instant) -> Line:
    slot = walk.slots[index]
    label, value, flag, last, band = _sizes(width)
    present = index == walk.at
    if not present or isinstance(walk.question, AskWords):
        typed = ""
    tone = "now" if present else "plain"
    glance = walk.agenda.pages[walk.page_of[index]].kind == "glance"
    kept = walk.of(slot)
    valued = [s for s in kept if s.value is not None]
    level = Flag(valued[-1].flag) if valued else Flag.OK
    mark = level.mark if valued else ""
    if kept and walk.pending(slot):
        mark = f"{level.short} again?"
    if flag < 11:
        mark = level.short if valued else ""
    before = walk.last(index)
    seen = ""
    if before is not None:
        words, old = value_shown(slot, before), ago_short(now.hours_since(before.at))
        ways = (f"{words}  {old}", f"{words} {old}", words)
        if walk.suspect(before):
            ways = (f"{words} suspect", f"{words} susp", f"{words} ?")
        seen = _fitting(last - 1, *ways)
    return columns(
        width,
        [
            (" >" if present else "", 4, tone),
            (slot.place if glance else slot.item.label, label, tone),
            (_now(slot, kept, typed, value - 1), value, tone if not valued else "bold"),
            (mark, flag, flag_tone(level)),
            (seen, last, "dim"),
            (band_words(slot), band, "dim"),
        ],
    )


def _worked(walk: Walk, width: int) -> list[Line]:
    """What is worked out at this stop, one after another: value and mark, or why there is none."""
    made: list[list[Span]] = []
    used = width
    for state in walk.worked():
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


def state_words(state: State) -> tuple[str, str]:
    """A derived value with its mark, or what it lacks."""
    if state.why:
        return f"cannot compute: {state.why}", "dim"
    seen = state.seen
    if seen is None:
        return "--", "dim"
    flag = Flag(seen.flag)
    shown = words_of(state.item, seen)
    return f"{shown} {flag.mark if flag else 'ok'}", flag_tone(flag) if flag else "plain"


def _fitting(cells: int, *ways: str) -> str:
    """The first way to say something that fits; the last one where none does."""
    return next((words for words in ways if text.width(words) <= cells), ways[-1])


def _now(slot: Slot, kept: list[Seen], typed: str, cells: int) -> str:
    if typed:
        return typed + "_"
    if not kept:
        return "--"
    newest = kept[-1]
    if newest.value is None:
        older = [s for s in kept if s.value is not None]
        if not (older and newest.recheck):
            return newest.qualifier or "--"
        newest = older[-1]
    bare = value_shown(slot, newest)
    unit, _, as_what = slot.item.unit.partition(" ")
    return _fitting(cells, value_words(slot.item, newest), f"{bare} {as_what or unit}", bare)


def value_shown(slot: Slot, seen: Seen) -> str:
    """A kept value without its unit."""
    if slot.item.kind is Kind.CHOICE or seen.value is None:
        return value_words(slot.item, seen)
    below = "< " if seen.qualifier == "<" else ""
    return below + quantity.show(seen.value, "", slot.item.decimals)


def band_words(slot: Slot) -> str:
    """The band today in a few figures; for a choice, the word that is all right."""
    if slot.item.kind is Kind.CHOICE:
        return slot.item.choices[0]
    return "" if slot.band is None else describe(slot.band, slot.item)


def _panel(walk: Walk, typed: str, width: int, now: Instant) -> list[Line]:
    """The entry large, what is known beside it, what was just said, and what is asked."""
    lines: list[Line] = []
    entry: list[Line] = []
    if walk.at_end:
        title = " The round is signed" if walk.signed else " Sign the round"
        lines.append(line(width, Span(title, "head"), fill="head"))
        lines.append(blank(width))
    else:
        slot = walk.slot
        unit = f", {slot.item.unit}" if slot.item.unit else ""
        meter = walk.meter(slot)
        right = f"{slot.item.instrument} {meter} " if meter else ""
        if meter and walk.out_of_use(meter):
            right = (
                f"{meter} is OFF: m takes another " if width >= 74 else f"{meter} OFF, m: other "
            )
        lines.append(
            spread(
                width,
                [Span(f" {slot.place}  {slot.item.label}{unit}", "head")],
                [Span(right, "head")],
                "head",
            )
        )
        entry = _entry(walk, slot, typed, width, now)
    below: list[Line] = []
    said, asked = walk.said, None if walk.signed else walk.question
    if said.sentence:
        most = PANEL - len(lines) - len(entry) if asked is None else 2
        tone = flag_tone(said.flag) if said.flag else "ok"
        if isinstance(asked, AskAgain):
            tone = "plain"  # the question below carries the flag
        below += wrapped(width, said.sentence, tone, most)
    if asked is not None:
        flag = Flag(asked.first.flag) if isinstance(asked, AskAgain) else Flag.CHECK
        tone = "bold" if isinstance(asked, AskSign | AskWords) else flag_tone(flag)
        options = _options(asked.options(), width)
        room = PANEL - len(lines) - len(entry) - len(below) - len(options)
        below += wrapped(width, asked.words, tone, max(2, room))
        below += options
    if len(lines) + len(entry) + len(below) > PANEL:
        entry = []  # the keys come first
    return [*lines, *entry, *below]


def _options(options: object, width: int) -> list[Line]:
    """Keys and what they mean here, packed into as few lines as they need."""
    made: list[list[Span]] = [[Span(" ")]]
    used = 1
    for key, words in options:  # type: ignore[attr-defined]
        size = text.width(key) + text.width(words) + 3
        if used + size > width and used > 1:
            made.append([Span(" ")])
            used = 1
        made[-1] += [Span(key, "key"), Span(f" {words}  ")]
        used += size
    return [line(width, *spans) for spans in made]


def _entry(walk: Walk, slot: Slot, typed: str, width: int, now: Instant) -> list[Line]:
    """Three lines: what is typed, large; beside it the last value and the band with its source."""
    if isinstance(walk.question, AskWords):
        room = width - 3
        tail = (text.wrap(typed, room - 1) or [""])[-3:]
        tail[-1] += "_"
        return [line(width, Span(f"  {row}", "entry")) for row in [*tail, "", ""][:3]]
    half = min(40, width // 2)
    if isinstance(walk.question, AskSlip) and not typed:
        typed = walk.question.typed.typed
    if slot.item.kind is Kind.CHOICE and not typed:
        lefts = [Span(text.pad(f"   {row}", half), "entry") for row in _words(slot, half - 4)]
    else:
        figures = big(typed, half - 3) if typed else ("", "", "___")
        if figures is None:
            figures = ("", typed + "_", "")
        lefts = [Span(text.pad(f"   {row}", half), "entry") for row in figures]
    beside = _beside_entry(walk, slot, now, width < 74)
    return [line(width, a, Span(b, "dim")) for a, b in zip(lefts, beside, strict=True)]


def _words(slot: Slot, cells: int) -> list[str]:
    """The words of a choice with their keys, in three rows."""
    words = [f"{'+' if i == 1 else i} {word}" for i, word in enumerate(slot.item.choices, 1)]
    abreast = -(-len(words) // 3)
    size = cells // abreast
    rows = [words[i::3] if abreast > 1 else words[i : i + 1] for i in range(3)]
    return ["".join(text.pad(word, size) for word in row).rstrip() for row in rows]


def _beside_entry(walk: Walk, slot: Slot, now: Instant, narrow: bool) -> list[str]:
    before = walk.last(walk.at)
    if before is None:
        first = "not seen before"
    else:
        hours = now.hours_since(before.at)
        since = ago_short(hours) if narrow else ago(hours)
        when = "just now" if since == "now" else f"{since} ago"
        word = "suspect" if walk.suspect(before) else "last"
        first = f"{word} {value_shown(slot, before)}, {when} ({before.who})"
    band = "" if slot.band is None else f"band {band_words(slot)}"
    source = "" if slot.band is None else f"band by: {slot.band.owner or slot.band.source}"
    return [first, band, source]


def _history(walk: Walk, width: int, height: int) -> list[Line]:
    """The item's newest readings, each with its place between the band's limits."""
    if walk.at_end or walk.slot.item.kind is Kind.CHOICE:
        return [blank(width)] * height
    slot = walk.slot
    seen = walk.past(max(4, height - 4))
    title = f"  {slot.place} {slot.item.label}, newest last"
    lines = [line(width, Span(title, "dim")), blank(width)]
    values = [s.value for s in seen if s.value is not None]
    limits = slot.band.limits if slot.band else None
    ends = [v for v in (limits.watch_below, limits.watch_above) if v is not None] if limits else []
    low, high = min(values + ends, default=0.0), max(values + ends, default=1.0)
    track = width - 24
    for one in seen:
        strip = _strip(one.value or 0.0, low, high, ends, track)
        shown = quantity.show(one.value, "", slot.item.decimals)
        lines.append(
            line(
                width,
                Span(f"  {one.at.wall.strftime('%d %b %H:%M')} "),
                Span(text.pad(shown, 7, ">"), flag_tone(Flag(one.flag)) if one.flag else "plain"),
                Span(" "),
                Span(strip, "dim"),
            )
        )
    return filled(lines, width, height)


def _strip(value: float, low: float, high: float, ends: list[float], cells: int) -> str:
    """A line with "|" at the band's limits and "o" at the value."""
    span = (high - low) or 1.0
    marks = [" "] * cells
    for end in ends:
        marks[round((end - low) / span * (cells - 1))] = "|"
    marks[round((value - low) / span * (cells - 1))] = "o"
    return "".join(marks)


def _beside(left: list[Line], right: list[Line], main: int) -> list[Line]:
    return [(*a, *b) for a, b in zip(left, filled(right, 38, len(left)), strict=True)]


def _end(walk: Walk, width: int, rows: int) -> list[Line]:
    """The gaps with their reasons, and what is out of band."""
    lines: list[Line] = []
    for slot, seen in walk.flags():
        again = ", second reading not taken" if walk.pending(slot) else ""
        words = f" {Flag(seen.flag).mark}  {slot.place} {slot.item.label} "
        lines.append(
            line(
                width,
                Span(words + value_words(slot.item, seen) + again, flag_tone(Flag(seen.flag))),
            )
        )
    for slot in walk.slots:
        for seen in walk.of(slot):
            if seen.value is None:
                what = " second reading" if seen.recheck else ""
                words = f" not taken  {slot.place} {slot.item.label}{what}: {seen.qualifier}"
                lines.append(line(width, Span(words)))
    still = walk.open_slots()
    if still:
        places = [f"{walk.slots[i].place} {walk.slots[i].item.label}" for i in still]
        lines += wrapped(width, f"open: {', '.join(places)}", "check", max(1, rows - len(lines)))
    if not lines:
        lines.append(line(width, Span(" Everything was taken, and everything is in band.", "ok")))
    if len(lines) > rows:
        more = len(lines) - rows + 1
        lines = [*lines[: rows - 1], line(width, Span(f" and {more} more", "dim"))]
    return lines


def _footer(walk: Walk, width: int) -> Line:
    if walk.signed:
        return footer("done", width, [("Enter", "board")])
    if isinstance(walk.question, AskWords):
        return footer("none", width, [("Enter", "keep the note"), ("Esc", "back")])
    if isinstance(walk.question, AskSign):
        return footer("sign", width, [("+", "sign"), ("up", "back to the items")])
    return footer("ask" if menu(walk.question) else "walk", width)
