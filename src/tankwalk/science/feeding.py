"""What becomes of prey, meal by meal: eaten, washed out or left, balanced; and how long feed lasts.

Names of parameters are the keys a person types.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import expm1

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.limits import above_zero, answer, finite, zero_or_more
from tankwalk.science.prey import density_after, hours_to, prey_needed


class Span(NamedTuple):
    """A stretch of time in one tank, from a meal to the next.

    `hour` is when it begins, in h from the start. `before` and `after` are the densities in per
    mL just before and just after what was given then; `given`, `eaten` and `washed` are prey.
    `empty` is how long no prey was left in it, h.
    """

    hour: float
    before: float
    given: float
    after: float
    eaten: float
    washed: float
    empty: float


class Balance(NamedTuple):
    """Prey in a tank over a time: what was there and came in, and what became of it.

    All in prey. The first span begins at the start with nothing given, unless a meal is given
    at that moment.
    """

    start: float
    given: float
    eaten: float
    washed: float
    left: float
    spans: tuple[Span, ...]

    @property
    def off(self) -> float:
        """What the books do not explain, prey: nothing but rounding."""
        return self.start + self.given - self.eaten - self.washed - self.left

    @property
    def lowest(self) -> float:
        """The least density that a meal found, per mL; of no meal at all, what was left."""
        found = [span.before for span in self.spans if span.given > 0]
        return min(found, default=self.spans[0].before)

    @property
    def empty(self) -> float:
        """Hours without prey."""
        return sum(span.empty for span in self.spans)


class Meal(NamedTuple):
    """Prey given at an hour from the start."""

    hour: float
    prey: float


def balance(
    volume: float,
    flow: float,
    meals: Sequence[Meal],
    hours: float,
    start: float = 0,
    eaten: float = 0,
) -> Balance:
    """What becomes of meals whose prey is known: in = eaten + washed out + left.

    Between meals dN/dt = -k N - G while there is prey, k = 60 Q / V; eaten = G t, and washed out
    = N0 (1 - exp(-k t)) - G (t - (1 - exp(-k t)) / k), each worked out by itself.
    Parameters: volume in L, above 0; flow in L/min; meals in rising order, within the hours;
    hours from the start to the end; start in per mL; eaten, the prey that all fish of the tank
    eat in an hour while there is any. Returns the balance, exact but for rounding.
    Range: a well-mixed tank, eating at one rate day and night.
    Errors: Refusal outside it, and for meals that do not rise or lie outside the hours.
    Source: mass balance of a stirred tank.
    """
    given = [zero_or_more("meals", meal.prey, "prey") for meal in meals]
    at = [meal.hour for meal in meals]
    return _run(volume, flow, at, hours, start, eaten, lambda n, _: given[n])


def filled(
    volume: float,
    flow: float,
    target: float,
    meals: Sequence[float],
    hours: float,
    start: float = 0,
    eaten: float = 0,
) -> Balance:
    """What meals need that each bring the tank to a density, and what becomes of it.

    Parameters: target in per mL, 0 or more; meals, the hours of the meals from the start, rising;
    the rest as for `balance`. Returns the balance; `spans` hold what each meal needs (`given`)
    and the density that it finds (`before`).
    Range: as `balance`; what is left at a meal is worked out here, where a count is better.
    Errors: as `balance`. Source: mass balance of a stirred tank.
    """
    zero_or_more("target", target, "per mL")
    return _run(
        volume, flow, meals, hours, start, eaten, lambda _, left: prey_needed(volume, target, left)
    )


def _run(
    volume: float,
    flow: float,
    at: Sequence[float],
    hours: float,
    start: float,
    eaten: float,
    needs: Callable[[int, float], float],
) -> Balance:
    """The tank stepped from meal to meal; `needs` says what a meal is, by number and density."""
    above_zero("volume", volume, "L")
    above_zero("hours", hours, "h")
    if any(not 0 <= finite("meals", hour) <= hours for hour in at):
        raise Refusal(f"meals have to lie within the {hours:g} hours.")
    if any(later <= earlier for earlier, later in pairwise(at)):
        raise Refusal("meals have to rise from one hour to the next.")
    to_prey = 1000 * volume
    ends = [*at, hours]
    density = zero_or_more("start", start, "per mL")
    spans: list[Span] = []
    if not at or at[0] > 0:
        first = _between(density, flow, volume, ends[0], eaten)
        spans.append(Span(0.0, density, 0.0, density, first.eaten, first.washed, first.empty))
        density = first.left
    for n, (hour, until) in enumerate(zip(at, ends[1:], strict=True)):
        prey = needs(n, density)
        after = answer(density + prey / to_prey, "meals", "target")
        gone = _between(after, flow, volume, until - hour, eaten)
        spans.append(Span(hour, density, prey, after, gone.eaten, gone.washed, gone.empty))
        density = gone.left
    return Balance(
        start * to_prey,
        sum(span.given for span in spans),
        sum(span.eaten for span in spans),
        sum(span.washed for span in spans),
        density * to_prey,
        tuple(spans),
    )


class Gone(NamedTuple):
    """What a time leaves in per mL, and what it took: eaten and washed out in prey; hours empty."""

    left: float
    eaten: float
    washed: float
    empty: float


def _between(density: float, flow: float, volume: float, hours: float, eaten: float) -> Gone:
    """One stretch without a meal."""
    left = density_after(density, flow, volume, hours, eaten)
    until = hours_to(density, 0, flow, volume, eaten)
    with_prey = hours if until is None else min(hours, until)
    passed = 60 * flow / volume * with_prey
    held = -expm1(-passed)
    # t - (1 - exp(-k t)) / k, which is 0 where there is hardly a flow.
    later = with_prey * (1 - held / passed) if passed > 0 else 0.0
    washed = max(0.0, density * 1000 * volume * held - eaten * later)
    return Gone(left, eaten * with_prey, washed, hours - with_prey)


# ---- how long feed lasts


class Lasts(NamedTuple):
    """How long a stock lasts: days with a part of the last one, and by when to order, in days.

    `days` is None where nothing is taken from it. `order` counts from now, and below 0 is late.
    """

    days: float | None
    order: float | None


def lasts(stock: float, uses: Sequence[float], delivery: float = 0, reserve: float = 0) -> Lasts:
    """How long a stock lasts at the planned use, and when to order so that it never runs out.

    Parameters: stock, 0 or more; uses, what each day to come takes, today first, in the unit of
    the stock: the last one stands for all days after it; delivery, the days from order to shelf,
    and reserve, the days of feed that should be left when it comes, 0 or more.
    Returns days; order = days - delivery - reserve.
    Range: each day's use spread over the day. Errors: Refusal for none or below 0.
    Source: definition.
    """
    left = zero_or_more("stock", stock)
    wait = zero_or_more("delivery", delivery, "d") + zero_or_more("reserve", reserve, "d")
    if not uses:
        raise Refusal("uses is empty: give what a day takes.")
    for one in uses:
        zero_or_more("uses", one)
    for day, use in enumerate(uses):
        last = day == len(uses) - 1
        if use > 0 and (use >= left or last):
            days = answer(day + left / use, "stock", "uses")
            return Lasts(days, days - wait)
        left -= use
    return Lasts(None, None)
