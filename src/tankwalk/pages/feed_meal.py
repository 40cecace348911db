"""What stands around the tank of a meal: every tank as a map or a list, and the end of the meal."""

from __future__ import annotations

from tankwalk import text
from tankwalk.figures import percent_of
from tankwalk.pages import feed_words
from tankwalk.pages.lines import Line, Span, blank, filled, flag_tone, line, wrapped
from tankwalk.pages.walk_list import Canvas
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.meal.keeping import in_hand, told
from tankwalk.practice.meal.stops import Portion, Stop
from tankwalk.practice.meal.view import EndView, FeedView, RowView, StopView

MAP_CELLS = 12


def meal_map(view: FeedView, width: int) -> list[Line]:
    """Every tank of the meal in walking order, and how it stands; in a room of many only some."""
    abreast = max(1, (width - 4) // MAP_CELLS)
    rows = []
    for start in range(0, len(view.rows), abreast):
        row = Canvas(width)
        for nth, one in enumerate(view.rows[start : start + abreast]):
            here = view.here
            present = isinstance(here, StopView) and here.stop.tank == one.stop.tank
            words, tone = _in_map(one)
            row.put(
                3 + nth * MAP_CELLS,
                Span(text.fit(one.stop.tank.code, 6), "now" if present else "dim"),
            )
            row.put(row.at + 1, Span(words, tone))
        rows.append(row.line())
    return rows if len(rows) <= MAP_ROWS else []


MAP_ROWS = 4


def _in_map(one: RowView) -> tuple[str, str]:
    """How a tank stands, in a word."""
    flag = Flag(one.flag)
    if one.stop.off is not None:
        return "OFF", "watch"
    if one.none is not None:
        return "none", "watch"
    if not one.stop.portions:
        return "-", "dim"
    if one.fed:
        return ("fed", "ok") if flag < Flag.WATCH else (f"fed {flag.short}", flag_tone(flag))
    return ("part", "plain") if one.gave else ("\u00b7", "dim")


def listed_words(portion: Portion) -> str:
    """What is listed, as it is measured out: "321 mL"; its full ration where it went in."""
    if portion.listed is None:
        return "-"
    return f"{'of ' if portion.served else ''}{in_hand(portion, portion.listed)}"


def end(view: FeedView, here: EndView, width: int) -> list[Line]:
    """The end of the meal: what was less, missed, paused, and how they went for it."""
    if not view.of and not here.off:
        return wrapped(width, "The plan gives no tank any feed at this meal.", "bold", 2)
    rows = wrapped(width, f"{view.fed} of {view.of} tanks fed.", "bold", 1)
    if gave := _gave(view):
        rows += wrapped(width, f"Given: {gave}.", "plain", 2, "   ")
    grouped: dict[tuple[str, str], list[str]] = {}
    for stop, portion, part in here.short:
        words = f"{portion.label}, {percent_of(part)} % of the full ration"
        grouped.setdefault((words, "watch"), []).append(stop.tank.code)
    for tone, none in (("watch", here.missed), ("plain", here.paused)):
        for stop, meal in none:
            words = f"{feed_words.no_feed(meal.event or '')} ({meal.who})"
            grouped.setdefault((words, tone), []).append(stop.tank.code)
    if here.off:
        grouped["FEED OFF", "watch"] = [stop.tank.code for stop in here.off]
    for (words, tone), tanks in grouped.items():
        rows += wrapped(width, f"{words}: {text.named(tanks, 12)}", tone, 2, "   ")
    for asked, seen in here.poor:
        flag = Flag(seen.flag)
        item = asked.slot.item
        value = value_words(item, seen, bare=item.kind.by_words)
        words = f"{flag.mark}  {asked.slot.place} {item.label}: {value}"
        rows.append(line(width, Span("   "), Span(words, flag_tone(flag))))
    if not (here.short or here.missed or here.paused or here.off or here.poor or here.open):
        rows += wrapped(
            width, "Every tank got its full ration, and nothing stood out.", "plain", 2, "   "
        )
    return rows


def _gave(view: FeedView) -> str:
    """What went in over all tanks, a feed at a time: what the bucket should have lost."""
    sums: dict[str, tuple[Portion, float]] = {}
    for row in view.rows:
        for portion, amount in row.gave:
            sums[portion.feed] = portion, sums.get(portion.feed, (portion, 0.0))[1] + amount
    return ", ".join(
        f"{portion.label} {told(portion, amount)}" for portion, amount in sums.values()
    )


def codes(stops: tuple[Stop, ...]) -> str:
    return text.named([one.tank.code for one in stops])


def beside(view: FeedView, height: int, width: int) -> list[Line]:
    """The list of the meal, to the right of a page."""
    head = Canvas(width)
    head.put(2, Span("The meal", "bold"))
    head.put(13, Span("listed", "dim"))
    left = _left(view, width)
    here, room = view.here, height - 2 - len(left)
    if room < min(len(view.rows), MAP_CELLS):
        left, room = [], height - 2
    start = 0
    if len(view.rows) > room:
        at = here.number - 1 if isinstance(here, StopView) else 0
        start = max(0, min(at - room // 2, len(view.rows) - room))
    rows = [blank(width), head.line()]
    rows += [_aside(one, view, width) for one in view.rows[start : start + room]]
    return filled([*rows, *left], width, height)


def _left(view: FeedView, width: int) -> list[Line]:
    """Of each feed what is still to go in and what went in: what its jug should hold now."""
    feeds: dict[str, tuple[Portion, float, float]] = {}
    for row in view.rows:
        gave = {portion.feed: (portion, amount) for portion, amount in row.gave}
        for portion in row.stop.portions:
            if portion.listed is None:
                continue
            # A tank that is off feed, or was said to get none, has nothing more to come.
            waits = not row.fed and row.none is None and row.stop.off is None
            more = portion.listed if waits and portion.feed not in gave else 0.0
            known, still, went = feeds.get(portion.feed, (portion, 0.0, 0.0))
            by, amount = gave.get(portion.feed, (portion, 0.0))
            if known.density:  # live feed is measured out in mL, of each cup by its own batch
                more = more if portion.ml is None else portion.ml if more else 0.0
                amount /= by.density or known.density
            feeds[portion.feed] = known, still + more, went + amount
    if not feeds:
        return []
    head = Canvas(width)
    head.put(2, Span("Still to give", "bold"))
    head.right(width - 1, Span("given", "dim"))
    rows = [blank(width), head.line()]
    for portion, still, went in feeds.values():
        told_here = Canvas(width)
        told_here.put(4, Span(text.fit(portion.label, 16)))
        told_here.put(21, Span(_in_jug(portion, still)))
        told_here.right(width - 1, Span(_in_jug(portion, went), "dim"))
        rows.append(told_here.line())
    return rows


def _in_jug(portion: Portion, amount: float) -> str:
    """An amount of mL, where the feed is measured out so; else in the unit it is kept in."""
    if not amount:
        return "-"
    return f"{amount:,.0f} mL" if portion.density else told(portion, amount)


def _aside(one: RowView, view: FeedView, width: int) -> Line:
    row = Canvas(width)
    here = view.here
    present = isinstance(here, StopView) and here.stop.tank == one.stop.tank
    row.put(2, Span("> " if present else "  ", "now"))
    row.put(4, Span(text.fit(one.stop.tank.code, 6), "now" if present else "plain"))
    if one.stop.off is not None:
        row.put(13, Span("FEED OFF", "watch"))
    elif one.none is not None:
        row.put(13, Span(text.fit(feed_words.no_feed(one.none.event or ""), width - 14), "watch"))
    else:
        words = ", ".join(listed_words(portion) for portion in one.stop.portions) or "-"
        row.put(13, Span(text.fit(words, width - 20), "dim" if one.fed else "plain"))
        if one.fed:
            flag = Flag(one.flag)
            row.right(
                width - 1,
                Span(
                    "fed" if flag < Flag.WATCH else f"{flag.short} fed",
                    "ok" if flag < Flag.WATCH else flag_tone(flag),
                ),
            )
    return row.line()
