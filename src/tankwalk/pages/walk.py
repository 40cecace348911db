"""The page of the walk: one stop, its items a line each, and the entry large below.

80x24 is the design size; from 60x20 up every part stays, and from 100 columns on the newest
readings of the item stand beside, each with its place in the band. All of it is drawn from one
frozen view: a digit draws the same view again.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant, ago_short
from tankwalk.ledger.readings import Seen
from tankwalk.pages.actions import footer
from tankwalk.pages.lines import Line, Span, blank, columns, filled, flag_tone, line, spread
from tankwalk.pages.readings import band_words, fitting
from tankwalk.pages.walk_end import end
from tankwalk.pages.walk_entry import PANEL, foot
from tankwalk.pages.walk_past import SIDE, WIDE, beside
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.questions import AskSign, AskWords, menu
from tankwalk.practice.round.view import EndView, LineView, StopView, WalkView


def draw(view: WalkView, typed: str, width: int, height: int) -> list[Line]:
    """The whole page, exactly `height` lines of `width` cells."""
    main = width - SIDE if width >= WIDE else width
    rows = height - 3 - PANEL - 1
    top = [_head(view, width), *_where(view, main)]
    if isinstance(view.here, EndView):
        body = end(view.here, main, rows)
    else:
        shown = "" if isinstance(view.question, AskWords) else typed
        body = _items(view.here, shown, main, rows, view.now)
    page = [*top, *filled(body, main, rows), *foot(view, typed, main)]
    page = filled(page, main, height - 1)
    if width >= WIDE:
        page = [page[0], *beside(view, page[1:])]
    return [*page, _footer(view, width)]


def _head(view: WalkView, width: int) -> Line:
    bar = round(10 * view.done / max(1, view.asked))
    counts = f"{view.done}/{view.asked} [{'#' * bar}{'-' * (10 - bar)}] "
    words = f"{view.flags} flag{'' if view.flags == 1 else 's'} "
    when = view.now.short() if width >= 74 else view.now.hm()
    return spread(width, [f" {view.label}  {view.who}  {when}"], [counts, words], "head")


def _where(view: WalkView, width: int) -> list[Line]:
    """Which stop this is, and the titles of its columns."""
    here = view.here
    if isinstance(here, EndView):
        return [line(width, Span(" End of the round", "bold")), blank(width)]
    stop = Span(f"stop {here.number} of {view.stops} ", "dim")
    left = [Span(f" {here.title}", "bold"), Span(f"   {facts(here)}")]
    return [spread(width, left, [stop], "plain"), _titles(width)]


def facts(stop: StopView) -> str:
    """What one should know standing before this tank."""
    tank = stop.tank
    if tank is None:
        return {"glance": "by eye: alive? spread? flowing?"}.get(stop.kind, "")
    parts = [
        tank.treatment or "",
        f"block {tank.block}" if tank.block else "",
        f"{stop.age} dph" if stop.age is not None else ("eggs" if tank.lot else "empty"),
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


def _items(stop: StopView, typed: str, width: int, rows: int, now: Instant) -> list[Line]:
    """The stop's items, scrolled so that the present one and its neighbours show."""
    count = len(stop.lines)
    start = max(0, min(stop.at - rows // 2, count - rows))
    shown = range(start, min(count, start + rows))
    glance = stop.kind == "glance"
    return [
        _item(stop.lines[i], typed if i == stop.at else "", width, now,
              present=i == stop.at, name=stop.lines[i].slot.place if glance else "")
        for i in shown
    ]  # fmt: skip


def _item(at: LineView, typed: str, width: int, now: Instant, *, present: bool, name: str) -> Line:
    """One line of a stop; `name` stands for the item's label where the item is the same for all."""
    slot = at.slot
    label, value, flag, last, band = _sizes(width)
    tone = "now" if present else "plain"
    newest = next((s for s in reversed(at.held) if s.value is not None), None)
    level = Flag.OK if newest is None else Flag(newest.flag)
    mark = "" if newest is None else level.mark
    if at.again:
        mark = f"{level.short} again?"
    if flag < 11:
        mark = "" if newest is None else level.short
    return columns(
        width,
        [
            (" >" if present else "", 4, tone),
            (name or slot.item.label, label, tone),
            (_now(slot, at.held, typed, value - 1), value, tone if newest is None else "bold"),
            (mark, flag, flag_tone(level)),
            (_before(at, now, last - 1), last, "dim"),
            (band_words(slot), band, "dim"),
        ],
    )


def _before(at: LineView, now: Instant, cells: int) -> str:
    """What was last seen before the round, and how old it is or that it is suspect."""
    if at.before is None:
        return ""
    words = value_words(at.slot.item, at.before, bare=True)
    if at.suspect:
        return fitting(cells, f"{words} suspect", f"{words} susp", f"{words} ?")
    old = ago_short(now.hours_since(at.before.at))
    return fitting(cells, f"{words}  {old}", f"{words} {old}", words)


def _now(slot: Slot, held: Sequence[Seen], typed: str, cells: int) -> str:
    if typed:
        return typed + "_"
    if not held:
        return "--"
    newest = held[-1]
    if newest.value is None:
        older = [s for s in held if s.value is not None]
        if not (older and newest.recheck):
            return newest.qualifier or "--"
        newest = older[-1]
    bare = value_words(slot.item, newest, bare=True)
    unit, _, as_what = slot.item.unit.partition(" ")
    return fitting(cells, value_words(slot.item, newest), f"{bare} {as_what or unit}", bare)


def _footer(view: WalkView, width: int) -> Line:
    if view.signed:
        return footer("done", width, [("Enter", "board")])
    if isinstance(view.question, AskWords):
        return footer("none", width, [("Enter", "keep the note"), ("Esc", "back")])
    if isinstance(view.question, AskSign):
        return footer("sign", width, [("+", "sign"), ("up", "back to the items")])
    return footer("ask" if menu(view.question) else "walk", width)
