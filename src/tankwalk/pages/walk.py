"""The page of the walk: one stop, its items a line each, and what is entered large below.

80x24 is the design size, and its rows are fixed: 1 where and when, 2 which tank, 3 to 13 the list,
15 to 18 what is asked, 20 to 22 what the program says, 23 what was just kept, 24 the keys. In a
lower window blank rows go first, then rows of the list; from 100 columns on the item stands beside
for all tanks. All of it is drawn from one frozen view: a digit draws the same view again.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, Span, blank, filled, flag_tone, spread
from tankwalk.pages.readings import fitting
from tankwalk.pages.walk_entry import figures, foot, has_figures, rows_wanted, trail_of
from tankwalk.pages.walk_glance import glance_map
from tankwalk.pages.walk_list import PRESENT, Drawn, items, present_item, titles
from tankwalk.pages.walk_past import MAIN, WIDE, Beside
from tankwalk.pages.walk_said import FIGURES, listed, said_rows
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.paper_questions import AskStopTime
from tankwalk.practice.round.questions import AskSign, AskSlip, AskTank, AskWords
from tankwalk.practice.round.view import EndView, StopView, WalkView
from tankwalk.rows import NamedTuple

NARROW = 74
"""Fewer columns than these are a narrow page: strips and ages of the list go."""

LIST = 10
"""Rows of the list before blank ones come."""

FOOT = 5
"""Rows of what is asked and what was kept: its title, three rows of figures, the row of kept."""

MESSAGE = 3
"""Rows of what the program says; on a narrow page one more."""


class Rows(NamedTuple):
    """How the rows of a page are shared out between the head and the keys."""

    list: int
    gap: int
    """Blank rows above what is asked."""
    message: int
    """Rows between the figures and the row of what was kept."""


def shared_out(height: int, width: int, wanted: int, longest: int) -> Rows:
    """The rows of a page of this size whose message wants so many.

    The list has ten rows before a blank one comes, and in a high window as many as the `longest`
    stop of the round; what is said stays whole as long as one row of the list is left.
    """
    free = max(0, height - 3 - FOOT - 1)
    least = MESSAGE if width >= NARROW else MESSAGE + 1
    message = max(min(least, free), min(wanted, free - 1))
    left = free - message
    gap = 1 if left > LIST else 0
    if left - gap > LIST and message == least:
        message += 1  # the blank row above what is said
    listed = min(max(0, free - gap - message), max(LIST, longest))
    return Rows(listed, gap, message)


class Page:
    """The page of one view at one size. What a digit does not change is drawn once.

    Rows of the list that the page `before` drew from the same are taken over.
    """

    def __init__(self, view: WalkView, width: int, height: int, before: Page | None = None) -> None:
        self.view, self.size = view, (width, height)
        self._drawn: Drawn = {} if before is None else before._drawn
        main = MAIN if width >= WIDE else width
        self._main = main
        said = said_rows(view, main, MESSAGE + 1 if main >= NARROW else 2 * MESSAGE)
        rows = shared_out(height, main, rows_wanted(view, said, main), view.longest)
        page = _above(view, width, main, rows, self._drawn)
        self._figures_at = len(page) + 1
        self._item_at = next((i for i, row in enumerate(page) if row[0].text == PRESENT), None)
        self._trail = trail_of(view)
        page += foot(view, main, rows.message, said, self._trail)
        self._rows = [*filled(page, main, height - 1), _footer(view, width)]
        aside = Beside(view, max(0, height - 2), width - MAIN) if width >= WIDE else None
        self._aside = aside
        rest: list[Line] = [()] * len(self._rows)
        if aside is not None:
            rest[1:-1] = aside.rows
        self._rest = rest
        """What stands beside each row."""
        self._whole = [(*row, *beside) for row, beside in zip(self._rows, rest, strict=True)]

    def draw(self, typed: str) -> list[Line]:
        """The whole page with what is typed, exactly as high and wide as its size."""
        rows = list(self._whole)
        changed = self._changed(typed) if typed else {}
        beside: dict[int, Line] = {}
        if typed and self._aside is not None:
            if not isinstance(self.view.question, AskWords | AskTank | AskStopTime):
                beside = {1 + at: row for at, row in self._aside.changed(typed).items()}
        for at in (*changed, *(at for at in beside if at not in changed)):
            rows[at] = (*changed.get(at, self._rows[at]), *beside.get(at, self._rest[at]))
        return rows

    def _changed(self, typed: str) -> dict[int, Line]:
        """The rows of the page itself that what is typed changes."""
        view, main = self.view, self._main
        low = len(self._rows) <= self._figures_at + FIGURES
        if not isinstance(view.here, StopView) or view.signed or low:
            return {}
        rows: dict[int, Line] = {}
        if self._item_at is not None and not isinstance(
            view.question, AskWords | AskTank | AskStopTime
        ):
            rows[self._item_at] = present_item(view.here, typed, view.now, main)
        if has_figures(view):
            rows |= enumerate(figures(view, typed, main, self._trail), self._figures_at)
        return rows


def draw(view: WalkView, typed: str, width: int, height: int) -> list[Line]:
    """The whole page, exactly `height` lines of `width` cells."""
    return Page(view, width, height).draw(typed)


def _above(view: WalkView, width: int, main: int, rows: Rows, drawn: Drawn) -> list[Line]:
    """The head, and the list of the stop, the map of a glance lap, or the end of the round."""
    here = view.here
    if isinstance(here, EndView):
        from tankwalk.pages.walk_end import end, end_title

        top = [_head(view, width), end_title(view, here, main), blank(main)]
        body = end(view, here, main, rows.list)
    elif here.map:
        top = [_head(view, width), _where(view, here, main), blank(main)]
        body = glance_map(here, main, rows.list)
    else:
        top = [_head(view, width), _where(view, here, main), titles(here, view.now, main)]
        body = items(here, view.now, main, rows.list, drawn)
    return [*top, *filled(body, main, rows.list + rows.gap)]


def _alarm(view: WalkView) -> tuple[Sequence[str], Flag]:
    """What the head says of flags and looks, once what stands open was read."""
    if view.open is None:
        return (), Flag.OK
    from tankwalk.pages.incident_words import alarm

    return alarm(view.now, view.open)


def _head(view: WalkView, width: int) -> Line:
    here = view.here
    stop = f"stop {here.number} of" if isinstance(here, StopView) else "all"
    when = view.now.short() if width >= NARROW else view.now.hm()
    day, _, clock = when.rpartition(" ")
    at = f"{day}  {clock}" if day else clock
    counted = f"{stop} {view.stops}" + ("" if isinstance(here, StopView) else " stops")
    if view.typist:
        return _sheet_head(view, counted, f"{at} ", width)
    left = f" WALK  {view.label}, {view.who}"
    parts, flag = _alarm(view)
    if not parts:
        return spread(width, [left], [f"{counted}   {at} "], "head")
    clock = f"   {view.now.hm()} "
    words = fitting(width - text.width(clock) - 11, ", ".join(parts), parts[0])
    right = fitting(width - text.width(words) - 11, f"   {counted}{clock}", clock)
    room = width - text.width(right) - text.width(words) - 6
    left = fitting(room, left, f" WALK  {view.who}", " WALK")
    room = width - text.width(left) - text.width(right) - 4
    said = Span(f" {text.fit(words, max(0, room))} ", flag_tone(flag))
    return spread(width, [Span(f"{left}  ", "head")], [said, Span(right, "head")], "head")


def _sheet_head(view: WalkView, counted: str, at: str, width: int) -> Line:
    """The head where a paper round is typed in: who walked it, who types, and the sheet's time."""
    both = f"{view.who}, typed in by {view.typist}"
    right = fitting(width - text.width(both) - 14, f"{counted}   {at}", at)
    room = width - text.width(right) - 2
    left = fitting(
        room, f" FROM PAPER  {view.label}, {both}", f" FROM PAPER  {both}", " FROM PAPER"
    )
    return spread(width, [left], [right], "head")


def _where(view: WalkView, here: StopView, width: int) -> Line:
    """Which stop this is, how much of the round is kept, and how many flags it raised."""
    done = f"{view.done} of {view.asked}"
    if here.map:
        seen = sum(1 for one in here.lines if one.held)
        done = f"{seen} of {len(here.lines)} seen"
    flags = Span(
        f"   {view.flags} flag{'' if view.flags == 1 else 's'} ", "bold" if view.flags else "dim"
    )
    left = [Span(f" {here.title}", "bold"), Span(f"   {facts(here)}" if facts(here) else "")]
    if here.map and width < NARROW:
        left = [Span(" Glance", "bold"), Span(": alive? spread? flowing?")]
    elif here.map:
        left[1] = Span(", by eye only: alive? spread? water moving?")
    bar = round(8 * view.done / max(1, view.asked))
    room = width - sum(text.width(span.text) for span in (*left, flags)) - text.width(done)
    if room < 2 and not view.flags:  # no flag need not be said where the tank's facts would be cut
        flags = Span(" ")
    if room > 13 and not here.map:  # the bar gives way to what is written
        done = f"[{'#' * bar}{'-' * (8 - bar)}] {done}"
    return spread(width, left, [Span(done, "dim"), flags], "plain")


def facts(stop: StopView) -> str:
    """What one should know standing before this tank."""
    tank = stop.tank
    if tank is None:
        return {"glance": "by eye: alive? spread? flowing?"}.get(stop.kind, "")
    parts = [
        "QUARANTINE" if tank.quarantine else "",  # first: a narrow window cuts what comes last
        tank.treatment or "",
        f"block {tank.block}" if tank.block else "",
        f"{stop.age} dph" if stop.age is not None else ("eggs" if tank.lot else "empty"),
        f"loop {tank.loop}",
        tank.where,
    ]
    return ", ".join(p for p in parts if p)


def _footer(view: WalkView, width: int) -> Line:
    asked = view.question
    if view.signed:
        return footer("done", width, [("Enter", "board")])
    if isinstance(asked, AskWords):
        return footer("none", width, asked.options())
    if asked is None:
        return footer("walk", width)
    if isinstance(asked, AskSign):
        return footer("sign", width, asked.options())
    if isinstance(asked, AskSlip):
        keys = [one.key for one in asked.meant if one.possible]
        others = [option for option in asked.options() if option[0] not in keys]
        choose = [(" ".join(keys), "choose")] if keys else []
        return footer("sign", width, [others[0], *choose, *others[1:]])
    if listed(asked):
        return footer("ask", width)
    return footer("sign", width, asked.options())
