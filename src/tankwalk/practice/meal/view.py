"""What a page shows of a feed walk: one frozen value, made once after each act."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import MealSeen
from tankwalk.ledger.readings import Seen
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meal.at_meal import AtMeal
from tankwalk.practice.meal.held import is_missed
from tankwalk.practice.meal.questions import Question
from tankwalk.practice.meal.stops import Asked, Line, Portion, Stop
from tankwalk.practice.round.questions import Reply
from tankwalk.rows import NamedTuple


class LineView(NamedTuple):
    """One line of a tank: what the meal holds for it, and what was before."""

    line: Line
    open: bool
    gave: tuple[MealSeen, ...] = ()
    none: MealSeen | None = None
    past: tuple[MealSeen, ...] = ()
    seen: Seen | None = None
    left_out: bool = False
    """Whether it was asked and not taken."""
    looks: tuple[Seen, ...] = ()


class StopView(NamedTuple):
    """The tank one stands at, and where on it."""

    number: int
    """Which tank of the meal, from 1."""
    stop: Stop
    lines: tuple[LineView, ...]
    at: int


class RowView(NamedTuple):
    """A tank in the list of the meal: how it stands."""

    stop: Stop
    fed: bool
    """Whether all its feeds went in, or it was said why not."""
    none: MealSeen | None
    gave: tuple[tuple[Portion, float], ...]
    """What went in of each feed, together."""
    flag: int
    """The worst that was seen at it at this meal."""


class EndView(NamedTuple):
    """The end of the meal: what was given less of, missed, paused, poor, and still open."""

    short: tuple[tuple[Stop, Portion, float], ...]
    """Tanks that got less than their full ration, and the part of it that they got."""
    missed: tuple[tuple[Stop, MealSeen], ...]
    paused: tuple[tuple[Stop, MealSeen], ...]
    off: tuple[Stop, ...]
    poor: tuple[tuple[Asked, Seen], ...]
    """What was seen that is not as it should be, worst first."""
    open: tuple[Stop, ...]


class FeedView(NamedTuple):
    """A feed walk as it stands: how far, what was said, what is asked, and the tank or the end."""

    now: Instant
    meal: Instant
    given_at: Instant | None
    who: str
    done: int
    """Tanks that are done, of how many that are to be fed."""
    fed: int
    """Those of them that got feed: the others were said to get none."""
    of: int
    stops: int
    said: Reply
    question: Question | None
    here: StopView | EndView
    rows: tuple[RowView, ...]


def made(walk: AtMeal) -> FeedView:
    """The view of a walk."""
    rows = tuple(_row(walk, stop) for stop in walk.stops)
    to_feed = [one for one in rows if one.stop.fed]
    return FeedView(
        now=walk.site.now(),
        meal=walk.meal,
        given_at=walk.given_at,
        who=walk.who,
        done=sum(one.fed for one in to_feed),
        fed=sum(one.fed and bool(one.gave) for one in to_feed),
        of=len(to_feed),
        stops=len(walk.stops),
        said=walk.said,
        question=walk.question,
        here=_end(walk, rows) if walk.at_end else _stop(walk),
        rows=rows,
    )


def _stop(walk: AtMeal) -> StopView:
    stop, held = walk.stop, walk.held
    lines = []
    for line in stop.lines:
        still = held.open(stop, line)
        if isinstance(line, Portion):
            past = held.past.get((stop.tank.code, line.feed), ())
            gave, none = held.gave(stop, line), held.why_none(stop, line)
            lines.append(LineView(line, still, gave, none, past))
        else:
            key = stop.tank.code, line.slot.item.code
            seen = held.seen.get(key)
            left = key in held.seen and seen is None
            looks = held.looks.get(key, ())
            lines.append(LineView(line, still, seen=seen, left_out=left, looks=looks))
    return StopView(walk.where[0] + 1, stop, tuple(lines), walk.where[1])


def _row(walk: AtMeal, stop: Stop) -> RowView:
    held = walk.held
    gave = tuple(
        (one, sum(meal.amount for meal in held.gave(stop, one)))
        for one in stop.portions
        if held.gave(stop, one)
    )
    flags = [
        seen.flag
        for (place, _), seen in held.seen.items()
        if place == stop.tank.code and seen is not None
    ]
    fed = bool(stop.portions) and not any(held.open(stop, one) for one in stop.portions)
    return RowView(stop, fed and stop.off is None, held.missed(stop), gave, max(flags, default=0))


def _end(walk: AtMeal, rows: tuple[RowView, ...]) -> EndView:
    short = [
        (row.stop, portion, amount / portion.full)
        for row in rows
        for portion, amount in row.gave
        if portion.full and amount < portion.full * 0.995
    ]
    none = [(row.stop, row.none) for row in rows if row.none is not None]
    poor = [
        (line, seen)
        for stop in walk.stops
        for line in stop.lines
        if isinstance(line, Asked)
        and (seen := walk.held.seen.get((stop.tank.code, line.slot.item.code))) is not None
        and seen.flag >= Flag.WATCH
    ]
    return EndView(
        tuple(short),
        tuple(one for one in none if is_missed(one[1])),
        tuple(one for one in none if not is_missed(one[1])),
        tuple(row.stop for row in rows if row.stop.off is not None),
        tuple(sorted(poor, key=lambda pair: -pair[1].flag)),
        tuple(
            stop for stop in walk.stops if any(walk.held.open(stop, line) for line in stop.lines)
        ),
    )
