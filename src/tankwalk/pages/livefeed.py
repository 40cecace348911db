"""The page of live feed: cones as clocks, cold store, cultures, needs of the meals, stock."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.clock import Instant, ago
from tankwalk.ledger.feeding import BatchEvent, BatchKind
from tankwalk.pages import livefeed_wide, tomorrow
from tankwalk.pages import livefeed_words as words
from tankwalk.pages.glyphs import STEPS
from tankwalk.pages.lines import Line, Span, blank, filled, line, spread, window, wrapped
from tankwalk.pages.when import at_words, day_of, to_come
from tankwalk.practice.feeding.tomorrow import MealNeed
from tankwalk.practice.live_feed import LiveFeedView, Risk
from tankwalk.practice.livefeed.batches import LiveBatch, State
from tankwalk.practice.livefeed.choosing import Row
from tankwalk.practice.livefeed.on_hand import OnHand
from tankwalk.practice.livefeed.setting import PlannedCone, water_advice
from tankwalk.practice.tasks import NextStep
from tankwalk.rows import NamedTuple

WIDE = 110
"""From this width on what is needed and in stock stands beside what hatches."""

LEFT = 78
"""Cells of the left half there."""

NAME = 8
"""Cells of a batch's name."""

STRIPS = 70
"""Cells of a row from which on the past of a culture is drawn."""

LATE_HOURS = 2.0
"""A harvest is overdue so long after its hour, as it is on the board."""

SOON_HOURS = 3.0
"""So long before a cone has to stand it is said at the top. Common practice, no source."""

POOR_HOURS = 24.0
"""So long after its harvest a poor hatch is said at the top: a cone feeds the fish for a day."""

FEW_TANKS = 6
"""So many live-fed tanks are named; more are counted."""


class Part(NamedTuple):
    """Lines of the page that belong together, and which row one can stand at they are."""

    lines: list[Line]
    row: int | None = None


def draw(view: LiveFeedView, width: int, height: int | None, at: int = -1) -> list[Line]:
    """The page; `at` is the row one stands at. `height` None gives all of it, to print."""
    head = [spread(width, [f" LIVE FEED  {view.room}"], [f"{view.now.short()} "], "head")]
    head += headline(view, width)
    if width >= WIDE:
        body = _beside(view, width, at, None if height is None else height - len(head))
    else:
        body = [*_hatching(view, width, at), *_store(view, width, at), *_cultures(view, width, at),
                Part(_needed(view, width)), *_stock(view, width, at)]  # fmt: skip
    lines = [row for part in body for row in part.lines]
    if height is None:
        return [*head, *lines]
    room = max(0, height - len(head))
    below = filled(window(lines, width, room, _top(body, room, at), "down"), width, room)
    return [*head, *below][:height]


def _top(body: Sequence[Part], room: int, at: int) -> int:
    """The first line in sight, so that the row one stands at is seen whole."""
    before = 0
    for part in body:
        if part.row == at:
            return max(0, before + len(part.lines) + 1 - room)
        before += len(part.lines)
    return 0


def headline(view: LiveFeedView, width: int) -> list[Line]:
    """What is late or short, and what to do about it; nothing where all is well."""
    lines: list[Line] = []
    now, ahead = view.now, view.ahead
    for one in view.cones:
        if one.next is not None and _late(one, now):
            said = f"{one.name}: harvest overdue {ago(one.next.hours(now))}."
            lines += wrapped(width, said, "watch", 1)
    for stock in view.stock:
        of = stock.hatched
        if of is not None and of.poor and now.hours_since(of.at) <= POOR_HOURS:
            said = f"{of.batch} hatched {of.percent:.0f} %, {stock.code}'s last {of.many} "
            lines += wrapped(width, f"{said}{of.usual:.0f} %: bad tin, cold, or pH?", "watch", 2)
    if view.risk is not None:
        lines += wrapped(width, _risk(view.risk, view), "watch", 3)
    waiting = [one.name for one in view.cones if one.state is State.HARVESTED]
    if waiting:  # what is short without them is no news: nobody counted them yet
        said = f"Count {' and '.join(waiting)}: until then its nauplii are in no sum here."
        return [*lines, *wrapped(width, said, "watch", 2)]
    for short in ahead.short[:1]:
        lines += wrapped(width, tomorrow.short_words(short, now), "watch", 2)
        many = len(view.live_fed)
        if many and short.first.day == now.day:
            tanks = f"{many} tanks" if many > FEW_TANKS else ", ".join(view.live_fed)
            share = f"{tanks}: each is {short.percent} % short from {at_words(short.first, now)}."
            lines += wrapped(width, share, "watch", 2)
        for remedy in ahead.remedies:
            lines += wrapped(width, tomorrow.remedy_words(remedy, now), "plain", 2, "   ")
    for planned in () if ahead.short else view.planned[:1]:
        if planned.set_by.hours_since(now) <= SOON_HOURS:
            lines += wrapped(width, _set_soon(view, planned), "watch", 2)
    return lines


def _risk(one: Risk, view: LiveFeedView) -> str:
    """What the late cones leave hungry if they give nothing, and why they may give less."""
    names = " and ".join(one.batches)
    meal = at_words(one.first, view.now)
    whom = f"all {len(view.live_fed)} live-fed tanks are"
    if len(view.live_fed) <= FEW_TANKS:
        whom = f"{', '.join(view.live_fed)} {'is' if len(view.live_fed) == 1 else 'are'}"
    out = f" {tomorrow.out_words(one.out)}" if one.out else ""
    return f"Without {names} {whom} {one.percent} % short at {meal}.{out}"


def _set_soon(view: LiveFeedView, one: PlannedCone) -> str:
    """By when a cone is set, and what runs short without it."""
    to_set = view.ahead.to_set[0]
    day = day_of(to_set.ready, view.now)
    late = view.now.hours_since(one.set_by) > 0
    when = "now, it is late" if late else f"by {at_words(one.set_by, view.now)}"
    return (
        f"Set a cone {when}, or {day} is short: it needs {to_set.thousand:,.0f} thousand nauplii."
    )


def _late(one: LiveBatch, now: Instant) -> bool:
    step = one.next
    return step is not None and step.step is NextStep.HARVEST and step.hours(now) <= -LATE_HOURS


# ---- cones


def _hatching(view: LiveFeedView, width: int, at: int) -> list[Part]:
    parts = [Part([blank(width), _section(width, "CONES", "set", "due")])]
    nth = 0
    for one in view.cones:
        parts.append(Part(_cone(one, view.now, width, present=nth == at), nth))
        nth += 1
    for planned in view.planned:
        parts.append(Part(_planned(planned, view.now, width, present=nth == at), nth))
        nth += 1
    if not nth:
        parts.append(Part([line(width, Span("   no cone is set", "dim"))]))
    return parts


def _section(width: int, name: str, left: str = "", right: str = "") -> Line:
    head = [Span(f" {name}".ljust(13), "bold"), Span(left, "dim")]
    return spread(width, head, [Span(f"{right} ".rjust(20), "dim")], "plain")


def _mark(present: bool) -> Span:
    return Span(" > " if present else "   ", "now")


def _cone(one: LiveBatch, now: Instant, width: int, *, present: bool) -> list[Line]:
    """A cone as a clock from set to due, and how its water is."""
    begun, step = one.begun, one.next
    name = Span(one.name.ljust(NAME), "now" if present else "bold")
    if begun is None or step is None:
        return [line(width, _mark(present), name)]
    if step.step is NextStep.COUNT:
        harvest = one.last(BatchEvent.HARVEST)
        litres = "" if harvest is None or harvest.litres is None else f"{harvest.litres:g} L "
        said = Span(f"harvested {at_words(step.at, now)}, {litres}not counted yet")
        right = [Span("count now ", "watch")]
        return [spread(width, [_mark(present), name, said], right, "plain")]
    due = next((e.due_at for e in reversed(one.events) if e.due_at is not None), None)
    rows = []
    if due is None:
        said = Span(f"set {at_words(begun.at, now)}, no time for its harvest")
        rows.append(line(width, _mark(present), name, said))
    else:
        rows.append(_clock(one, Instant(due, begun.at.offset), now, width, present=present))
    rows.append(_water(one, now, width))
    return rows


def _clock(one: LiveBatch, due: Instant, now: Instant, width: int, *, present: bool) -> Line:
    begun = one.begun
    assert begun is not None
    hours = due.hours_since(now)
    start, end = at_words(begun.at, now), at_words(due, now)
    told, tone = to_come(hours), "bold"
    if hours <= -LATE_HOURS:
        tone = "watch"
    elif hours < 0:
        told = f"due {ago(hours)} ago"
    left = f"{start} ".rjust(10)
    right = f" {end} {told.rjust(17)} "
    cells = max(6, width - 3 - NAME - len(left) - len(right) - 2)
    whole = max(1, due.utc - begun.at.utc)
    place = max(0, min(cells - 1, int(cells * (now.utc - begun.at.utc) / whole)))
    done, to_do = "─" * place, "·" * (cells - place - 1)
    return line(
        width, _mark(present), Span(one.name.ljust(NAME), "now" if present else "bold"),
        Span(left, "dim"), Span("├", "dim"), Span(done, "dim"), Span("●", "point"),
        Span(to_do, "dim"), Span("┤", "dim"), Span(f" {end}"), Span(f" {told.rjust(17)} ", tone),
    )  # fmt: skip


def _water(one: LiveBatch, now: Instant, width: int) -> Line:
    """What a cone was set with and how its water was last, and what is to be done about it."""
    begun = one.begun
    assert begun is not None
    check = one.last(BatchEvent.CHECK)
    newest = check or begun
    advice = water_advice(newest.temperature, newest.ph)
    made, water = [], []
    if begun.grams is not None:
        litres = f" in {begun.litres:g} L" if begun.litres is not None else ""
        made.append(f"{begun.grams:g} g of {begun.source or begun.lot or 'cysts'}{litres}")
    if newest.temperature is not None:
        water.append(f"{newest.temperature:g} degC")
    if newest.ph is not None:
        water.append(f"pH {newest.ph:g}")
    # What is wrong comes first: where there is no room the rest goes.
    found = [*water, *made] if advice else [*made, *water]
    if begun.salinity is not None:
        found.append(f"{begun.salinity:g} g/kg")
    right = f"checked {at_words(check.at, now)}" if check is not None else "not checked"
    step = one.next
    if check is None and step is not None and step.step is NextStep.CHECK:
        right = f"check {at_words(step.at, now)}"
    right = f"{'! ' if advice else ''}{right} "
    room = width - 3 - NAME - 2 - text.width(right)
    said = Span(" " * (3 + NAME) + _as_fits(found, room), "watch" if advice else "dim")
    tone = "watch" if advice else "dim" if check is not None else "plain"
    return spread(width, [said], [Span(right, tone)], "plain")


def _as_fits(parts: Sequence[str], room: int) -> str:
    """Parts of a row, those that have room: none of them is cut."""
    kept = list(parts)
    while kept and text.width(", ".join(kept)) > room:
        kept.pop()
    return ", ".join(kept)


def _planned(one: PlannedCone, now: Instant, width: int, *, present: bool) -> list[Line]:
    """A cone that should be set, by when and of what."""
    grams = f"{one.proposed.grams:.1f} g of {one.proposed.source or one.lot or 'cysts'}"
    found = [] if one.hatch is None else [f"{one.hatch:.0f} % hatch"]
    found += [] if one.per_gram is None else [f"{one.per_gram / 1000:,.0f} thousand per g"]
    beside = f" ({', '.join(found)})" if found else ""
    when = f"set by {at_words(one.set_by, now)}: "
    if 3 + NAME + text.width(when + grams + beside) > width:
        beside = ""
    late = now.hours_since(one.set_by) > 0
    return [
        line(
            width, _mark(present), Span(one.name.ljust(NAME), "now" if present else "bold"),
            Span(when, "watch" if late else "bold"),
            Span(grams), Span(beside, "dim"),
        )
    ]  # fmt: skip


# ---- the cold store


def _store(view: LiveFeedView, width: int, at: int) -> list[Part]:
    parts = [Part([blank(width), _section(width, "COLD STORE")])]
    nth = len(view.cones) + len(view.planned)
    for one in view.store:
        parts.append(Part([_kept(one, view.now, width, present=nth == at)], nth))
        nth += 1
    if not view.store:
        parts.append(Part([line(width, Span("   empty", "dim"))]))
    return parts


def _kept(one: LiveBatch, now: Instant, width: int, *, present: bool) -> Line:
    when, tone = words.when_next(one, now)
    name = Span(one.name.ljust(NAME), "now" if present else "bold")
    if one.left is not None:
        left = one.left
        said = f"{left.ml:,.0f} mL at {left.per_ml:,.0f} per mL = {left.thousand:,.0f} thousand"
        if one.next is not None and not left.blocked(now) and width >= 70:
            when += f", {to_come(one.next.hours(now))}" if one.next.hours(now) > 0 else ""
        room = width - 3 - NAME - 2 - text.width(when) - 1
        shorter = f"{left.ml:,.0f} mL, {left.thousand:,.0f} thousand"
        if text.width(said) > room:
            said = shorter if text.width(shorter) <= room else f"{left.thousand:,.0f} thousand"
    else:
        said = f"{one.grams or 0:g} g of shelled cysts"
    return spread(width, [_mark(present), name, Span(said)], [Span(f"{when} ", tone)], "plain")


# ---- cultures


def _cultures(view: LiveFeedView, width: int, at: int) -> list[Part]:
    if not view.cultures:
        return []
    head = [Span(" CULTURES".ljust(13), "bold"), Span("per mL", "dim")]
    if any(one.kind is BatchKind.ROTIFERS for one in view.cultures):
        head.append(Span("eggs per female".rjust(24 if width >= STRIPS else 17), "dim"))
    parts = [Part([blank(width), line(width, *head)])]
    nth = len(view.cones) + len(view.planned) + len(view.store)
    for one in view.cultures:
        parts.append(Part([_culture(one, view.now, width, present=nth == at)], nth))
        nth += 1
    return parts


def _culture(one: LiveBatch, now: Instant, width: int, *, present: bool) -> Line:
    name = Span(one.name.ljust(NAME), "now" if present else "bold")
    past = width >= STRIPS
    count = one.counts[-1] if one.counts else None
    spans: list[Span | str] = [_mark(present), name]
    spans.append(Span(text.pad("-" if count is None else _density(count.per_ml), 6, ">")))
    if past:
        spans.append(Span(f"  {bars([c.per_ml for c in one.counts]).rjust(7)}", "past"))
    if one.kind is BatchKind.ROTIFERS:
        eggs = [c.eggs for c in one.counts if c.eggs is not None]
        last = "-" if count is None or count.eggs is None else f"{count.eggs:.2f}"
        spans.append(Span(last.rjust(8)))
        if past:
            spans.append(Span(f"  {bars(eggs).rjust(7)}", "past"))
    wrong, tone = words.faults(one)
    when, when_tone = words.when_next(one, now)
    right = [Span(f"{wrong}  " if wrong else "", tone), Span(f"{when} ", when_tone)]
    return spread(width, spans, right, "plain")


def _density(per_ml: float) -> str:
    """A density in few cells: algae by the million."""
    return f"{per_ml / 1e6:.1f} M" if per_ml >= 1e6 else f"{per_ml:,.0f}"


def bars(values: Sequence[float]) -> str:
    """The last values as bars that start at zero."""
    most = max(values, default=0.0)
    if most <= 0:
        return ""
    return "".join(STEPS[min(7, int(8 * value / most - 1e-9))] for value in values[-7:])


# ---- what the meals need


def _needed(view: LiveFeedView, width: int) -> list[Line]:
    """The meals to come with what they need and what is left after each; tomorrow in one row."""
    now, ahead = view.now, view.ahead
    rows = [one for one in ahead.meals if one.need]
    if not rows:
        return []
    head = Span(f"{'thousand':>8}{'left after':>{13 if width >= CLOSE else 11}}", "dim")
    lines = [blank(width), line(width, Span(" NEEDED".ljust(10), "bold"), head)]
    today = [one for one in rows if one.meal.day == now.day]
    for one in today:
        late = one.meal.utc <= now.utc
        when = Span(f"   {one.meal.hm():<7}", "watch" if late else "plain")
        lines += _need(width, when, one.need, one.after, _came(one))
    for day in dict.fromkeys(one.meal.day for one in rows if one.meal.day > now.day):
        those = [one for one in rows if one.meal.day == day]
        came = [part for one in those for part in _came(one)]
        when = Span(f"   {day_of(those[0].meal, now):<7}", "plain")
        need, after = sum(one.need for one in those), those[-1].after
        lines += _need(width, when, need, after, came)
        if len(lines) > MOST_NEEDS:
            break
    if ahead.chill is not None:
        tone = "dim" if ahead.chill.enough else "watch"
        verb = "keep" if ahead.chill.cold else "chill"
        lines += wrapped(width, f"{verb} {tomorrow.chill_words(ahead.chill, now)}", tone, 3, "   ")
    return lines


MOST_NEEDS = 10


def _need(width: int, when: Span, need: float, after: float, notes: Sequence[str]) -> list[Line]:
    """A row of needs; what came in stands after it, or below it where there is no room."""
    tone = "act" if after < -0.5 else "plain"
    cells = 13 if width >= CLOSE else 11
    note = ", ".join(notes)
    beside = text.width(note) <= width - 21 - cells
    row = line(
        width,
        when,
        Span(f"{need:>8,.0f}"),
        Span(f"{after:>{cells},.0f}", tone),
        Span(f"   {note}" if beside else "", "dim"),
    )
    return [row] if beside else [row, *wrapped(width, note, "dim", 2, "      ")]


CLOSE = 50
"""On fewer cells than this the numbers of needs stand closer."""


def _came(one: MealNeed) -> list[str]:
    """What came in before a meal, and what went out because it was too old."""
    found = [f"{name or 'next cone'} in" for name in one.ready]
    return [*found, f"{one.old:,.0f} too old"] if one.old >= 1 else found


# ---- in stock


def _stock(view: LiveFeedView, width: int, at: int) -> list[Part]:
    if not view.stock:
        return []
    parts = [Part([blank(width), _section(width, "IN STOCK")])]
    nth = len(view.rows) - len(view.stock)
    for one in view.stock:
        parts.append(Part(_on_hand(one, view.now, width, present=nth == at), nth))
        nth += 1
    return parts


def _on_hand(one: OnHand, now: Instant, width: int, *, present: bool) -> list[Line]:
    when, tone = words.lasts(one, now)
    name = Span(one.code.ljust(NAME), "now" if present else "bold")
    what = "tin" if one.kind is BatchKind.CYSTS else "bag"
    many = len(one.tins)
    said = "none received" if one.grams is None else f"{one.grams:,.0f} g"
    if many:
        said += f" in {many} {what}{'s' * (many != 1)}"
    use = f"{one.use:,.1f} g a day" if one.use else ""
    whole = f"{said}, {use}" if use else said
    indent = " " * (3 + NAME)
    if len(indent) + text.width(whole) + text.width(when) + 2 <= width:
        ends = [Span(f"{when} ", tone)]
        rows = [spread(width, [_mark(present), name, Span(whole)], ends, "plain")]
    else:  # nothing of it is cut
        rows = [line(width, _mark(present), name, Span(said))]
        rows += [line(width, indent, Span(use))] if use else []
        rows += [line(width, indent, Span(when, tone))] if when else []
    if one.hatched is not None and one.hatched.poor:
        of = one.hatched
        poor = f"! {of.batch} hatched {of.percent:.0f} %, its last {of.many} {of.usual:.0f} %"
        rows.append(line(width, Span(" " * (3 + NAME) + poor, "watch")))
    if present:
        rows += [
            line(width, Span(" " * (3 + NAME) + f"{tin.name}: {words.tin_words(tin, now)}", "dim"))
            for tin in one.tins
        ]
    return rows


# ---- wide


def _beside(view: LiveFeedView, width: int, at: int, room_below: int | None) -> list[Part]:
    """What hatches at the left, what is in stock at the right; rows keep their numbers.

    What is free of so many rows below the story of what is marked tells what was done lately.
    """
    left = [*_hatching(view, LEFT, at), *_store(view, LEFT, at), *_cultures(view, LEFT, at)]
    marked = view.rows[at] if 0 <= at < len(view.rows) else None
    left.append(Part(livefeed_wide.story(view, marked, LEFT)))
    free = (room_below or 0) - sum(len(part.lines) for part in left)
    left.append(Part(livefeed_wide.lately(view, marked, free, LEFT)))
    room = width - LEFT - 2
    right = _needed(view, room)
    right += [row for part in _stock(view, room, at) for row in part.lines]
    right += livefeed_wide.clocks(view, room)
    parts: list[Part] = []
    used = 0
    for part in left:
        rows = []
        for row in part.lines:
            more = right[used] if used < len(right) else blank(width - LEFT - 2)
            used += 1
            rows.append((*row, Span("  "), *more))
        parts.append(Part(rows, part.row))
    rest = [(*blank(LEFT), Span("  "), *row) for row in right[used:]]
    return [*parts, Part(rest)] if rest else parts


def to_chill(view: LiveFeedView, row: Row | None) -> str:
    """What the meals before the next cone need of a batch, where it is to be chilled for them."""
    chill = view.ahead.chill
    if chill is None or not isinstance(row, LiveBatch) or row.name != chill.batch:
        return ""
    today = sum(one.need for one in view.ahead.meals if one.meal.day == view.now.day)
    also = f" Today's meals need {today:,.0f} thousand." if today else ""
    return f"Wanted: {tomorrow.chill_words(chill, view.now)}{also}"
