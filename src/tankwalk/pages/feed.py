"""The dispensing list of a meal: what to make up, and what each tank gets, in walking order."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.clock import ago
from tankwalk.figures import show
from tankwalk.pages.feed_tank import listed_words
from tankwalk.pages.lines import Line, Span, blank, flag_tone, line, spread, wrapped
from tankwalk.pages.walk_list import Canvas
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.meal.keeping import told
from tankwalk.practice.meal.list_view import ListRow, ListView, Total
from tankwalk.practice.meal.stops import Portion

TANK, ARM, FIRST, EACH = 3, 9, 17, 17
"""Cells at which a tank, its treatment and its first feed begin, and the cells of a feed."""


def draw(view: ListView, width: int, height: int | None, at: int = 0) -> list[Line]:
    """The page; `height` rows where given, with the row one stands at in sight."""
    top = [_head(view, width), *_above(view, width), blank(width), *_totals(view, width)]
    feeds = _shown(view, width)
    top += [blank(width), _titles(view, feeds, width)]
    rows = [_row(view, row, feeds, width, present=i == at) for i, row in enumerate(view.rows)]
    if height is None:
        return [*top, *(_row(view, row, feeds, width, present=False) for row in view.rows)]
    room = height - len(top)
    if room < len(rows) and room < 6:  # a low window: the list before what is made up
        top = [one for one in top if "".join(span.text for span in one).strip()]
        room = height - len(top)
    if room < len(rows):
        start = max(0, min(at - room // 2, len(rows) - room + 1))
        shown = rows[start : start + room - 1]
        below = len(rows) - start - len(shown)
        words = f"   {below} more below   down" if below else ""
        rows = [*shown, line(width, Span(words, "dim"))]
    return [*top, *rows, *[blank(width)] * max(0, room - len(rows))]


def _head(view: ListView, width: int) -> Line:
    hours = view.meal.hours_since(view.now)
    when = f"in {ago(hours)}" if hours > 0.008 else "now" if hours > -0.05 else f"{ago(-hours)} ago"
    if view.meal.day != view.now.day:
        when = view.meal.wall.strftime("%a")
    fed = [row for row in view.rows if row.stop.fed]
    words = f" FEED  Meal {view.meal.hm()}, {when}: {len(fed)} of {len(view.rows)} tanks"
    if width < 74:
        return spread(width, [words], [f"{view.now.hm()} "], "head")
    day, _, clock = view.now.short().rpartition(" ")
    return spread(width, [words], [f"{day}  {clock} " if day else f"{clock} "], "head")


def _above(view: ListView, width: int) -> list[Line]:
    """What is to be known before the cups are filled."""
    rows: list[Line] = []
    fed = [row for row in view.rows if row.stop.fed]
    done = [row for row in fed if all(row.gave) or row.missed is not None]
    if done:
        left = len(fed) - len(done)
        words = (
            f"{len(done)} of {len(fed)} tanks done, {view.began or 'nobody'} last."
            if left
            else (f"Every tank is done ({view.began})." if view.began else "Every tank is done.")
        )
        rows += wrapped(width, words, "bold", 1)
    for other in view.meals:
        if other.at.utc < view.meal.utc and other.waiting:
            tanks = text.named(list(other.waiting))
            rows += wrapped(
                width, f"{other.at.hm()} was not entered for {tanks}   left", "watch", 2
            )
    return rows


def _totals(view: ListView, width: int) -> list[Line]:
    """What is made up of each feed."""
    rows = []
    for total in view.totals:
        row = Canvas(width)
        row.put(TANK, Span("make up", "dim"))
        row.put(FIRST - 4, Span(text.fit(total.label, 18), "bold"))
        row.right(FIRST + 26, Span(_made_up(total), "bold"))
        batches = " and ".join(
            f"{pour.batch}, {show(pour.per_ml, '', 0)} per mL" for pour in total.pours
        )
        if batches:
            row.put(FIRST + 29, Span(text.fit(f"from {batches}", width - FIRST - 30), "dim"))
        elif not total.known:
            row.put(FIRST + 29, Span("no ration in the plan: type what goes in", "dim"))
        rows.append(row.line())
    return rows


def _made_up(total: Total) -> str:
    if total.ml:
        return f"{show(total.ml, '', 0)} mL"
    return told_total(total) if total.listed else "-"


def told_total(total: Total) -> str:
    """The amount of a total in the unit it is kept in."""
    portion = Portion(total.feed, total.label, total.unit, total.live)
    return told(portion, total.listed)


def _shown(view: ListView, width: int) -> Sequence[Total]:
    """The feeds that have a column: as many as there is room for."""
    return view.totals[: max(1, (width - FIRST - 8) // EACH)]


def _titles(view: ListView, feeds: Sequence[Total], width: int) -> Line:
    row = Canvas(width)
    for nth, total in enumerate(feeds):
        unit = "mL" if total.ml else total.unit
        title = f"{text.fit(total.label, EACH - 6 - len(unit))}, {unit}"
        row.right(FIRST + (nth + 1) * EACH - 3, Span(title, "dim"))
    row.put(FIRST + len(feeds) * EACH + 1, Span("last meal", "dim"))
    return row.line()


def _row(
    view: ListView, one: ListRow, feeds: Sequence[Total], width: int, *, present: bool
) -> Line:
    row = Canvas(width)
    stop = one.stop
    row.put(0, Span(" >" if present else "  ", "now"))
    row.put(TANK, Span(text.fit(stop.tank.code, 5), "now" if present else "bold"))
    row.put(ARM, Span(text.fit(stop.tank.treatment or "", 7)))
    by_feed = dict(zip((p.feed for p in stop.portions), one.gave, strict=True))
    portions = {portion.feed: portion for portion in stop.portions}
    for nth, total in enumerate(feeds):
        portion = portions.get(total.feed)
        end = FIRST + (nth + 1) * EACH - 3
        if portion is None:
            row.right(end, Span("-", "dim"))
        elif stop.off is not None:
            row.right(end, Span("0", "watch"))
        else:
            words, tone = listed_words(portion).partition(" ")[0], "plain"
            if by_feed[total.feed]:
                words, tone = f"{words} given", "ok"
            elif portion.short:
                tone = "watch"
            row.right(end + (6 if by_feed[total.feed] else 0), Span(words, tone))
    start = FIRST + len(feeds) * EACH + 1
    room = width - start - 1
    if stop.off is not None:
        since = f"FEED OFF since {stop.off.since.told(view.now)}, {stop.off.who}"
        row.put(start, Span(text.fit(since, room), "watch"))
    elif one.missed is not None:
        row.put(start, Span(text.fit(one.missed.event or "", room), "watch"))
    else:
        for item, seen in one.last:
            flag = Flag(seen.flag)
            words = value_words(item, seen, bare=item.kind.by_words)
            tone = flag_tone(flag) if flag >= Flag.WATCH else "dim"
            put = text.fit(words, max(0, width - row.at - 3))
            row.put(max(start, row.at + 2), Span(put, tone))
    return row.line()
