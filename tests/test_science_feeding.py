"""What becomes of prey over a month of meals, balanced; how long a stock lasts."""

from __future__ import annotations

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outside_feeding import stepped
from tankwalk.errors import Refusal
from tankwalk.science import feeding, livefeed
from tankwalk.science.feeding import Meal

MEALS = (8 + 1 / 3, 10.0, 12.0, 14.0, 15 + 2 / 3)
"""Five meals of a working day, and a long night."""
MONTH = [24 * day + hour for day in range(30) for hour in MEALS]
TANKS = [(220.0 + tank, 0.4 + 0.05 * tank, 40000.0 + 5000 * tank) for tank in range(12)]
"""Twelve tanks: L, L/min, prey eaten in an hour."""


def balanced(found: feeding.Balance) -> None:
    whole = max(found.start + found.given, 1.0)
    assert abs(found.off) <= 1e-11 * whole
    for span in found.spans:
        assert min(span.eaten, span.washed, span.given, span.before, span.empty) >= 0


@pytest.mark.parametrize(("volume", "flow", "eaten"), TANKS)
def test_a_month_of_meals_is_eaten_washed_out_or_left_to_rounding(
    volume: float, flow: float, eaten: float
) -> None:
    """150 meals: prey in = eaten + washed out + left, each worked out by itself."""
    found = feeding.filled(volume, flow, 5, MONTH, 24 * 30, 0.3, eaten)
    assert sum(span.given > 0 for span in found.spans) == 150
    balanced(found)
    # The larder of a night: 10 % of a month's prey at least goes with the water.
    assert 0.1 * found.given < found.washed < found.given


def test_a_month_of_meals_agrees_with_a_tank_that_scipy_steps() -> None:
    volume, flow, eaten = 220.0, 0.6, 90000.0
    meals = [Meal(hour, 400000.0 + 30000 * (n % 5)) for n, hour in enumerate(MONTH)]
    found = feeding.balance(volume, flow, meals, 720, 1, eaten)
    balanced(found)
    theirs = stepped(volume, flow, MONTH, 720, 1, eaten, lambda n, _: meals[n].prey)
    assert found.given == pytest.approx(theirs.given, rel=1e-12)
    for ours, other in ((found.eaten, theirs.eaten), (found.washed, theirs.washed)):
        assert ours == pytest.approx(other, rel=1e-8)
    assert found.left == pytest.approx(theirs.left, abs=1e-3)
    before = [span.before for span in found.spans if span.given > 0]
    assert before == pytest.approx(theirs.before, abs=1e-8)


@given(
    st.floats(1, 2000), st.floats(0, 20), st.floats(0, 1e6), st.floats(0, 20),
    st.lists(st.tuples(st.floats(0, 100), st.floats(0, 1e7)), max_size=6),
)  # fmt: skip
def test_whatever_is_given_the_books_are_even(
    volume: float, flow: float, eaten: float, start: float, given_: list[tuple[float, float]]
) -> None:
    meals = [Meal(*one) for one in sorted({hour: prey for hour, prey in given_}.items())]
    balanced(feeding.balance(volume, flow, meals, 100, start, eaten))


def test_a_meal_by_hand() -> None:
    """100 L at 1 L/min: 0.6 an hour. 5 per mL for two hours, 10 000 eaten an hour."""
    found = feeding.filled(100, 1, 5, [1.0], 3, 2, 10000)
    first, second = found.spans
    g, k = 0.1, 0.6
    before = (2 + g / k) * exp(-k) - g / k
    assert second.before == pytest.approx(before, rel=1e-12)
    assert second.given == pytest.approx((5 - before) * 100000, rel=1e-12)
    assert (first.hour, first.given, first.before, first.after) == (0, 0, 2, 2)
    assert (second.hour, second.after) == pytest.approx((1, 5))
    assert (first.eaten, second.eaten) == pytest.approx((10000, 20000))
    left = (5 + g / k) * exp(-2 * k) - g / k
    assert found.left == pytest.approx(left * 100000, rel=1e-12)
    assert second.washed == pytest.approx((5 - left) * 100000 - 20000, rel=1e-12)
    assert (found.lowest, found.empty) == (second.before, 0)


def test_fish_eat_only_what_there_is() -> None:
    """3 per mL in 10 L are 30 000; 10 000 an hour, no flow: two hungry hours of five."""
    found = feeding.balance(10, 0, [Meal(0, 30000)], 5, 0, 10000)
    assert len(found.spans) == 1
    assert (found.eaten, found.washed, found.left) == pytest.approx((30000, 0, 0))
    assert found.empty == pytest.approx(2)
    nothing = feeding.balance(10, 1, [], 5, 0, 10000)
    assert (nothing.eaten, nothing.empty, nothing.lowest) == (0, 5, 0)


def test_a_trickle_is_all_but_no_flow() -> None:
    still = feeding.balance(100, 0, [Meal(0, 1e6)], 5, 0, 50000)
    trickle = feeding.balance(100, 1e-12, [Meal(0, 1e6)], 5, 0, 50000)
    assert trickle.eaten == pytest.approx(still.eaten)
    assert trickle.washed == pytest.approx(0, abs=1e-3)
    balanced(trickle)


def test_a_meal_above_the_target_gives_nothing_and_takes_nothing() -> None:
    found = feeding.filled(100, 0, 2, [0.0, 1.0], 2, 5)
    assert (found.given, found.left) == pytest.approx((0, 500000))


@pytest.mark.parametrize(
    ("meals", "hours", "named"),
    [
        ([1, 1], 5, "meals"),
        ([2, 1], 5, "meals"),
        ([6], 5, "meals"),
        ([-0.1], 5, "meals"),
        ([], 0, "hours"),
    ],
)
def test_meals_out_of_order_or_out_of_time_are_refused(
    meals: list[float], hours: float, named: str
) -> None:
    with pytest.raises(Refusal, match=rf"^{named}\b"):
        feeding.filled(100, 1, 5, meals, hours)
    with pytest.raises(Refusal, match=rf"^{named}\b"):
        feeding.balance(100, 1, [Meal(hour, 1) for hour in meals], hours)


def test_a_tank_that_cannot_be_is_refused_by_name() -> None:
    for name, numbers in (
        ("volume", (0, 1, 5)), ("flow", (1, -1, 5)), ("target", (1, 1, -5)),
    ):  # fmt: skip
        with pytest.raises(Refusal, match=rf"^{name}\b"):
            feeding.filled(*numbers, [1.0], 5)
    with pytest.raises(Refusal, match=r"^meals\b"):
        feeding.balance(1, 1, [Meal(1, -1)], 5)
    with pytest.raises(Refusal, match=r"^start\b"):
        feeding.balance(1, 1, [], 5, -1)
    with pytest.raises(Refusal, match=r"^eaten\b"):
        feeding.balance(1, 1, [], 5, 1, -1)


# ---- how long feed lasts


@pytest.mark.parametrize(
    ("stock", "uses", "days"),
    [
        (100, [10], 10),
        (100, [10, 20, 35], 4),  # 10, 20, 35, 35 of 35
        (100, [10, 20, 40], 3.75),  # 30 of the last 40
        (30, [10, 20, 40], 2),  # gone as the second day ends
        (5, [10, 20], 0.5),
        (0, [10], 0),
        (100, [0, 0, 50], 4),
        (100, [10, 0], None),
        (0, [0], None),
    ],
)
def test_a_stock_lasts_as_long_as_its_days(
    stock: float, uses: list[float], days: float | None
) -> None:
    found = feeding.lasts(stock, uses)
    assert found.days == (None if days is None else pytest.approx(days))
    assert found.order == found.days


def test_it_is_ordered_so_that_the_reserve_is_there_when_it_comes() -> None:
    assert feeding.lasts(450, [13], 10, 5).order == pytest.approx(450 / 13 - 15)
    assert feeding.lasts(40, [10], 10).order == pytest.approx(-6)
    assert feeding.lasts(40, [0], 10).order is None


@pytest.mark.parametrize(
    ("name", "numbers"),
    [
        ("stock", (-1, [1])), ("uses", (1, [])), ("uses", (1, [-1])), ("delivery", (1, [1], -1)),
        ("reserve", (1, [1], 0, -1)),
    ],
)  # fmt: skip
def test_a_stock_that_cannot_be_is_refused(name: str, numbers: tuple[object, ...]) -> None:
    with pytest.raises(Refusal, match=rf"^{name}\b"):
        feeding.lasts(*numbers)  # type: ignore[arg-type]


# ---- cultures and hatches


def test_a_harvest_takes_its_part_and_the_culture_is_filled_up() -> None:
    """257.6 per mL, 25 % of 60 L: 15 L with 3.864 million, 193.2 per mL after."""
    assert livefeed.culture_harvest(257.6, 60, 0.25) == pytest.approx((15, 3864000, 193.2))
    assert livefeed.culture_harvest(100, 10, 1).density == 0


def test_what_a_harvest_leaves_grows_back_at_the_rate_that_holds_it() -> None:
    """r of -ln(1 - h): 40 % a day needs 0.511 a day (rotifer compendium: 166.7 % a day)."""
    left = livefeed.culture_harvest(300, 10, 0.4).density
    rate = livefeed.rotifer_growth(left, 300, 1)
    assert rate.harvest == pytest.approx(0.4)
    assert 300 / left == pytest.approx(1.667, abs=0.001)


@given(st.floats(1, 5000), st.floats(1, 500), st.floats(0, 1))
def test_thinned_to_a_density_is_at_that_density(
    density: float, volume: float, part: float
) -> None:
    water = livefeed.culture_dilution(density, volume, density * part)
    assert density * (1 - water / volume) == pytest.approx(density * part, abs=1e-9 * density)
    assert livefeed.culture_dilution(density, volume, density * 2) == 0


def test_a_hatch_is_told_as_a_part_of_what_the_tin_could_give() -> None:
    """15 g at 210 000 a gram could give 3.15 million; 2.52 million are 80 %."""
    assert livefeed.hatch_yield(2.52e6, 15, 210000) == pytest.approx(80)
    assert livefeed.hatch_yield(0, 15, 210000) == 0
    assert livefeed.hatch_yield(4e6, 15, 210000) > 100


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: livefeed.culture_harvest(-1, 1, 0.5), "density"),
        (lambda: livefeed.culture_harvest(1, 0, 0.5), "volume"),
        (lambda: livefeed.culture_harvest(1, 1, 0), "part_taken"),
        (lambda: livefeed.culture_harvest(1, 1, 1.1), "part_taken"),
        (lambda: livefeed.culture_dilution(0, 1, 1), "density"),
        (lambda: livefeed.culture_dilution(1, 0, 1), "volume"),
        (lambda: livefeed.culture_dilution(1, 1, -1), "wanted"),
        (lambda: livefeed.hatch_yield(-1, 1, 1), "nauplii"),
        (lambda: livefeed.hatch_yield(1, 0, 1), "cysts"),
        (lambda: livefeed.hatch_yield(1, 1, 0), "per_gram"),
        (lambda: livefeed.aliquots_with((1,), -1), "more"),
        (lambda: livefeed.aliquots_with((1,), 1.5), "more"),  # type: ignore[arg-type]
        (lambda: livefeed.aliquots_more((1,), 0), "error"),
        (lambda: livefeed.aliquots_more((), 0.1), "counts"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_name(call: object, named: str) -> None:
    with pytest.raises(Refusal, match=rf"^{named}\b"):
        call()  # type: ignore[operator]


# ---- counts to come


def test_more_counts_like_these_narrow_the_limits() -> None:
    """Of 101 in three, 82.3 to 122.7; of 168 in five, 143.6 to 195.4 (Garwood's limits)."""
    now = livefeed.aliquots_with((34, 29, 38), 0)
    assert now == pytest.approx((82.27 / 3, 122.72 / 3), abs=0.01)
    assert livefeed.aliquots_with((34, 29, 38), 2) == pytest.approx((28.71, 39.08), abs=0.01)
    assert now == livefeed.aliquots((34, 29, 38), 1, 0.001)[2:4]


def test_counts_that_scatter_narrow_by_their_own_spread() -> None:
    """Mean 29.25, sd 19.03: t(0.975, 5) 2.5706 / sqrt 6 with two more."""
    half = 2.5706 * 362.25**0.5 / 6**0.5
    found = livefeed.aliquots_with((10, 30, 55, 22), 2)
    assert found == pytest.approx((29.25 - half, 29.25 + half), abs=0.002)


def test_how_many_more_are_enough() -> None:
    """Half of 10 % of 33.67 a drop: 1.96 / sqrt(k) of 0.1 takes some 384 counted, 11.4 drops."""
    more = livefeed.aliquots_more((34, 29, 38), 0.1)
    assert more in (8, 9)
    low, high = livefeed.aliquots_with((34, 29, 38), more)
    assert (high - low) / 2 <= 0.1 * 101 / 3
    low, high = livefeed.aliquots_with((34, 29, 38), more - 1)
    assert (high - low) / 2 > 0.1 * 101 / 3
    assert livefeed.aliquots_more((400,), 0.15) == 0
    assert livefeed.aliquots_more((1,), 0.05) is None
    assert livefeed.aliquots_more((0, 0), 0.1) is None
