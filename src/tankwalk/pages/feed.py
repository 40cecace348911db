"""The dispensing list of a meal: what to make up, and what each tank gets, in walking order."""

from __future__ import annotations

from datetime import timedelta

from tankwalk import text
from tankwalk.clock import ago
from tankwalk.figures import show
from tankwalk.ledger.feeding import MealSeen
from tankwalk.pages import feed_wide
from tankwalk.pages.feed_words import no_feed
from tankwalk.pages.lines import Line, Span, blank, flag_tone, line, spread, wrapped
from tankwalk.pages.ration import why_words
from tankwalk.pages.walk import NARROW
from tankwalk.pages.walk_list import Canvas
from tankwalk.pages.when import at_words
from tankwalk.practice.feeding.dispensing import Looked, Total
from tankwalk.practice.feeding.meals import feed_words
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.livefeed.cold_store import Chilled
from tankwalk.practice.meal.keeping import in_hand, told
from tankwalk.practice.meal.list_view import ListRow, ListView
from tankwalk.practice.meal.stops import Portion
from tankwalk.rows import NamedTuple

TANK, ARM, FIRST = 3, 9, 17
"""Cells at which a tank, its treatment and its first feed begin."""

LEAST, MOST = 12, 20
"""Cells of a feed's column."""

LAST = 20
"""Cells that what was seen last has at least."""

BOTH_LOOKS = 18
"""In fewer cells not all that was seen last can stand."""

Told = tuple[str, str]
"""A sentence and its tone."""


def draw(view: ListView, width: int, height: int | None, at: int = 0) -> list[Line]:
    """The page; `height` rows where given, with the row one stands at in sight."""
    top = [_head(view, width)]
    for words, tone in told_before(view, IN_LINES if height is None else ON_SCREEN):
        top += wrapped(width, words, tone, 3)
    feeds = _columns(view, width)
    top += [blank(width), _titles(view, feeds, width), *_totals(view, feeds, width), blank(width)]
    ends = [feeds.end(nth) for nth in range(len(feeds.totals))]
    more = feed_wide.legend(feed_wide.strips(view, feeds.last, width), width)
    if height is None or width >= feed_wide.WIDE:
        more += feed_wide.of_the_day(view, ends, feeds.last, width)
    if height is None:
        return [*top, *(_row(view, one, feeds, width, present=False) for one in view.rows), *more]
    rows = [_row(view, row, feeds, width, present=i == at) for i, row in enumerate(view.rows)]
    if len(top) + len(rows) > height:  # blank rows go first
        top = [one for one in top if "".join(span.text for span in one).strip()]
    room = max(1, height - len(top))
    if room < len(rows):
        start = max(0, min(at - room // 2, len(rows) - room + 1))
        shown = rows[start : start + room - 1]
        rows = [*shown, _hidden(view, start, len(shown), width)]
    if len(rows) + len(more) <= room:
        rows += more
    return [*top, *rows, *[blank(width)] * max(0, room - len(rows))][:height]


def _hidden(view: ListView, start: int, shown: int, width: int) -> Line:
    """How many tanks are above and below those in sight; toned where one of them is off feed."""
    below = len(view.rows) - start - shown
    away = [*view.rows[:start], *view.rows[start + shown :]]
    parts = [f"{start} more above   up" if start else "",
             f"{below} more below   down" if below else ""]  # fmt: skip
    tone = "watch" if any(row.stop.off for row in away) else "dim"
    return line(width, Span("   " + "      ".join(part for part in parts if part), tone))


def _head(view: ListView, width: int) -> Line:
    hours = view.meal.hours_since(view.now)
    when = f"in {ago(hours)}" if hours > 0 else "now" if hours > -0.01 else f"{ago(-hours)} ago"
    if view.meal.day != view.now.day:
        when = view.meal.wall.strftime("%a")
    many = f"{view.list.to_feed} of {len(view.rows)} tanks"
    words = f" FEED  Meal {view.meal.hm()}, {when}: {many}"
    if width < NARROW:
        return spread(width, [words], [f"{view.now.hm()} "], "head")
    day, _, clock = view.now.short().rpartition(" ")
    return spread(width, [words], [f"{day}  {clock} " if day else f"{clock} "], "head")


# ---- what is to be known before the cups are filled


class Ways(NamedTuple):
    """How one comes to a meal before and after, {} its time, and goes on with one half given."""

    before: str
    after: str
    on: str


ON_SCREEN = Ways("left arrow", "right arrow", "; Enter goes on")
IN_LINES = Ways("--at {}", "--at {}", "")


def told_before(view: ListView, ways: Ways = ON_SCREEN) -> list[Told]:
    """What is said above the list, the worst first."""
    found = [_short(view, one) for one in view.list.totals if one.short]
    found += _store(view)
    for other in view.meals:
        if other.at.utc < min(view.meal.utc, view.now.utc) and other.waiting:
            tanks = text.named(list(other.waiting))
            way = ways.before.format(other.at.hm())
            found.append((f"{other.at.hm()} was not entered for {tanks}: {way}.", "watch"))
    starts, ended = "today", "yesterday"
    if view.meal.day != view.now.day:  # tomorrow's list, read today
        starts, ended = (f"{one:%a}" for one in (view.meal.day, view.meal.day - timedelta(days=1)))
    for change in view.list.changes:
        what = f"starts {starts}" if change.starts else f"ended {ended}"
        tanks = text.named(list(change.tanks))
        found.append((f"{_capital(feed_words(change.feed))} {what} for {change.whom}: {tanks}.",
                      "bold"))  # fmt: skip
    found += [
        (f"{_capital(feed_words(one.feed))}: {why_words(one.why)}; type what goes in.", "plain")
        for one in view.list.totals
        if one.why is not None
    ]
    if not view.list.totals:
        found.append(("The plan gives no tank any feed at this meal.", "bold"))
    return [*found, *_done(view, ways)]


def _short(view: ListView, total: Total) -> Told:
    """Too little live feed, and the rule by which it is shared."""
    many = "" if total.shared_by < 2 else f" for {total.shared_by} meals"
    until = "" if total.until is None else f" until {at_words(total.until, view.now)}"
    if not total.percent:
        return f"! {_capital(feed_words(total.feed))}: there is none{many}{until}.", "watch"
    return (
        f"! {_capital(feed_words(total.feed))}: {total.percent} % of the rations{many}{until}; "
        "every tank gets the same share of its own.",
        "watch",
    )


def _store(view: ListView) -> list[Told]:
    """The batches that are poured from, and what there is that is too old."""
    found: list[Told] = []
    poured = {pour.batch for total in view.list.totals for pour in total.pours}
    many = sum(1 for one in view.list.store if one.feeds(max(view.meal, view.now)))
    for one in view.list.store:
        age = at_words(one.harvested, view.now)
        if one.blocked(view.now):
            found.append((f"! {one.batch}, harvested {age}, is no feed any more: discard it.",
                          "watch"))  # fmt: skip
        elif one.ready_at is not None and one.enriching(max(view.meal, view.now)):
            found.append((f"{one.batch} is in enrichment until {at_words(one.ready_at, view.now)}.",
                          "plain"))  # fmt: skip
        elif one.batch in poured or many > 1:
            use_by = f"use by {at_words(one.warn_at, view.now)}"
            tone = "plain"
            if one.warns(view.now):
                use_by, tone = (
                    f"over a day old: gone by {at_words(one.block_at, view.now)}",
                    "watch",
                )
            found.append((f"{one.batch}: {_poured(one, view, many)}, harvested {age}, {use_by}.",
                          tone))  # fmt: skip
    return found


def _poured(one: Chilled, view: ListView, many: int) -> str:
    """How dense a batch is; of several also what of which is made up, and what there is."""
    dense = f"{show(one.per_ml, '', 0)} per mL"
    if many < 2:
        return dense
    ml = sum(p.ml for total in view.list.totals for p in total.pours if p.batch == one.batch)
    taken = f"{ml:,.0f} of " if ml else ""
    return f"{taken}{one.ml:,.0f} mL at {dense}"


def _done(view: ListView, ways: Ways) -> list[Told]:
    fed = [row for row in view.rows if row.stop.fed]
    if fed and all(row.missed is not None for row in fed):
        return [("No tank is fed at this meal.", "watch")]
    done = [row for row in fed if all(row.gave) or row.missed is not None]
    if not done:
        return []
    if len(done) < len(fed):
        by = f", {view.began} last" if view.began else ""
        return [(f"{len(done)} of {len(fed)} tanks done{by}{ways.on}.", "bold")]
    after = next((one.at for one in view.meals if one.at.utc > view.meal.utc), None)
    way = "" if after is None else ways.after.format(after.hm())
    then = "" if after is None else f" {after.hm()} is next: {way}."
    return [(f"Every tank is done.{then}", "ok")]


def does(view: ListView) -> str:
    """What Enter does at the list: the meal is started, gone on with, or looked at again."""
    fed = [row for row in view.rows if row.stop.fed]
    done = sum(1 for row in fed if all(row.gave) or row.missed is not None)
    return "start" if not view.began else "go on" if done < len(fed) else "look again"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


# ---- the table


class Columns(NamedTuple):
    """The feeds that have a column, as many as there is room for, and how wide each is."""

    totals: tuple[Total, ...]
    each: int

    def end(self, nth: int) -> int:
        """Cell after the numbers of a column."""
        return FIRST + (nth + 1) * self.each - 2

    @property
    def last(self) -> int:
        """Where the words after the feeds begin."""
        return self.end(len(self.totals) - 1) + 3


def _columns(view: ListView, width: int) -> Columns:
    many = len(view.list.totals)
    last = LAST if many < 3 and width >= NARROW else LAST // 2
    room = width - FIRST - last
    shown = view.list.totals[: max(1, room // LEAST)]
    return Columns(shown, max(LEAST, min(MOST, room // max(1, len(shown)))))


def _in_ml(view: ListView, total: Total) -> bool:
    """Whether a feed is measured out in mL: also when every tank has its own already."""
    code = total.feed.code
    known = (p for row in view.rows for p in row.stop.portions if p.feed == code)
    return total.ml is not None or any(portion.density for portion in known)


def _titles(view: ListView, feeds: Columns, width: int) -> Line:
    row = Canvas(width)
    for nth, total in enumerate(feeds.totals):
        unit = "mL" if _in_ml(view, total) else total.feed.unit
        label = feed_words(total.feed)
        room = feeds.each - 4 - len(unit)
        if text.width(label) > room:
            label = total.feed.code
        row.right(feeds.end(nth), Span(f"{text.fit(label, room)}, {unit}", "dim"))
    start = feed_wide.titles(row, feed_wide.strips(view, feeds.last, width), feeds.last)
    row.put(start, Span("last meal", "dim"))
    return row.line()


def _totals(view: ListView, feeds: Columns, width: int) -> list[Line]:
    """What is made up of each feed first, and what there is."""
    make, have = Canvas(width), Canvas(width)
    make.put(TANK, Span("make up", "bold"))
    have.put(TANK, Span("have", "dim"))
    for nth, total in enumerate(feeds.totals):
        tone = "watch" if total.short else "bold"
        make.right(feeds.end(nth), Span(_made_up(total), tone))
        there = _there(view, total)
        if there:
            have.right(feeds.end(nth), Span(there, "dim"))
    kept = [make.line()]
    return [*kept, have.line()] if any(_there(view, one) for one in feeds.totals) else kept


def _there(view: ListView, total: Total) -> str:
    """What there is of a feed, in the unit of its column.

    mL of several densities are no sum: where more than one batch is here each stands in its own
    sentence above.
    """
    if not _in_ml(view, total):
        return "" if total.have is None else f"{total.have:,.0f}"
    fresh = [one for one in view.list.store if one.feeds(max(view.meal, view.now))]
    return f"{fresh[0].ml:,.0f}" if len(fresh) == 1 else ""


def made_up(view: ListView) -> list[str]:
    """What is made up of each feed, a sentence each."""
    found = []
    for total in view.list.totals:
        if not total.make_up:
            continue
        unit = "mL" if total.ml is not None else total.feed.unit
        what = feed_words(total.feed)
        if len(total.pours) > 1:
            parts = " and ".join(f"{_ml(pour.ml)} mL from {pour.batch}" for pour in total.pours)
            found.append(f"Make up {what}: {parts}.")
            continue
        from_ = f" from {total.pours[0].batch}" if total.pours else ""
        found.append(f"Make up {_made_up(total)} {unit} of {what}{from_}.")
    return found


def _ml(ml: float) -> str:
    return f"{ml:,.0f}" if ml >= 10 else show(ml, "", 1)


def _made_up(total: Total) -> str:
    if total.ml is not None:
        return _ml(total.ml)
    if not total.make_up:
        return "-"
    live = total.feed.unit == "thousand"
    words = told(Portion(total.feed.code, "", total.feed.unit, live), total.make_up)
    return words.partition(" ")[0]


def _row(view: ListView, one: ListRow, feeds: Columns, width: int, *, present: bool) -> Line:
    row, stop = Canvas(width), one.stop
    row.put(0, Span(" >" if present else "  ", "now"))
    row.put(TANK, Span(text.fit(stop.tank.code, 5), "now" if present else "bold"))
    row.put(ARM, Span(text.fit(stop.tank.treatment or "", 7)))
    gave = {p.feed: given for p, given in zip(stop.portions, one.gave, strict=True)}
    portions = {portion.feed: portion for portion in stop.portions}
    for nth, total in enumerate(feeds.totals):
        portion = portions.get(total.feed.code)
        if portion is None:
            row.right(feeds.end(nth), Span("-", "dim"))
        elif stop.off is not None:
            row.right(feeds.end(nth), Span("0", "watch"))
        elif one.missed is not None and not gave[portion.feed]:
            row.right(feeds.end(nth), Span("-", "dim"))
        else:
            row.right(feeds.end(nth), _amount(portion, gave[portion.feed]))
    drawn = feed_wide.strips(view, feeds.last, width)
    _stands(row, view, one, feed_wide.looks(row, one.last, drawn, feeds.last))
    return row.line()


def _amount(portion: Portion, gave: tuple[MealSeen, ...]) -> Span:
    """What is listed, or dim what was given."""
    if gave:
        words = in_hand(portion, sum(meal.amount for meal in gave))
        return Span(words.partition(" ")[0], "dim")
    words = "-" if portion.listed is None else in_hand(portion, portion.listed)
    return Span(words.partition(" ")[0], "watch" if portion.short else "plain")


def _stands(row: Canvas, view: ListView, one: ListRow, start: int) -> None:
    """How a tank stands: off feed, given, missed; else what was seen at its last meals."""
    stop, room = one.stop, row.width - start - 1
    given = [meal for meals in one.gave for meal in meals]
    if stop.off is not None:
        words = f"FEED OFF {at_words(stop.off.since, view.now)}, {stop.off.who}"
        if text.width(words) > room:
            words = "FEED OFF" if room > len("FEED OFF") else "OFF"
        row.put(start, Span(text.fit(words, room), "watch"))
    elif one.missed is not None:
        row.put(start, Span(text.fit(no_feed(one.missed.event or ""), room), "watch"))
    elif given:
        part = "" if all(one.gave) else "part "
        newest = max(given, key=lambda meal: meal.n)
        words = f"{part}given {newest.at.hm()}, {newest.who}"
        if text.width(words) > room:
            words = f"{part or 'given'}".strip()
        row.put(start, Span(text.fit(words, room), "watch" if part else "ok"))
    else:
        fresh = [looked for looked in one.last if looked.fresh]
        if room < BOTH_LOOKS:  # what is not as it should be stands first where one has room
            fresh.sort(key=lambda looked: looked.seen[-1].value or 0, reverse=True)
        for looked in fresh:
            _looked(row, looked, start)


def _looked(row: Canvas, looked: Looked, start: int) -> None:
    """What was seen of one item last, and for how many meals running it was not right."""
    newest = looked.seen[-1]
    words = looked.item.shown(newest.value, "", bare=looked.item.kind.by_words)
    if looked.running > 1:
        words += f", {looked.running} meals running"
    flag = Flag(newest.flag)
    tone = flag_tone(flag) if flag >= Flag.WATCH else "dim"
    at = max(start, row.at + 2 if row.at > start else start)
    room = row.width - at - 1
    if room > 3:
        row.put(at, Span(text.fit(words, room), tone))
