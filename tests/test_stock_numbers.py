"""Book, census, best estimate and unaccounted: three numbers with their errors, never mixed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from math import hypot
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from demo_support import STATION, until
from site_support import moment, opened
from tankwalk.clock import Instant
from tankwalk.ledger.entries import Entry, Mort, Movement, Reading
from tankwalk.ledger.stock import COMES_IN, GOES_OUT, DeadSeen, MovedFish, What
from tankwalk.practice.site import Site, open_site
from tankwalk.practice.stock import dead, numbers
from tankwalk.practice.stock.numbers import StockNumbers, account, best, survival

DAY = 86_400
START = 1_778_400_000


def moved(day: float, what: str, fish: int, error: float | None = None, n: int = 0) -> MovedFish:
    return MovedFish(n, what, fish, error, None, None, Instant(START + int(day * DAY), -300), "TS")


def died(day: float, fish: int, n: int = 0, number: int | None = None) -> DeadSeen:
    return DeadSeen(n, Instant(START + int(day * DAY), -300), fish, "JQ", number, ())


def of_day_24() -> StockNumbers:
    """Tank T07 of the page that was drawn beforehand."""
    return account(
        "T07",
        [
            moved(0, "stocked", 4400, 176),
            moved(5, "sampled", 56),
            moved(14, "census", 2640, 190),
            moved(18, "sampled", 8),
        ],
        [died(3, 353), died(10, 93), died(16, 55), died(20, 74)],
    )


def test_book_best_and_unaccounted_are_the_sums_that_the_page_writes() -> None:
    found = of_day_24()
    assert found.book[:2] == (4400 - 575 - 64, 176)
    assert found.census is not None
    assert found.census[:2] == (2640, 190)
    assert found.gone_since == 137
    assert found.best[:2] == (2503, 190)
    assert found.unaccounted is not None
    assert found.unaccounted.fish == 3761 - 2503 == 1258
    assert found.unaccounted.plus_minus == pytest.approx(hypot(176, 190))


def test_three_survival_figures_are_three_sums() -> None:
    figures = survival(of_day_24())
    # Product-limit by hand: 353 of 4,400; 93 of 3,991 (56 were sampled); 55 of 3,898; 74 of 3,835.
    seen = (1 - 353 / 4400) * (1 - 93 / 3991) * (1 - 55 / 3898) * (1 - 74 / 3835)
    assert figures.seen == pytest.approx(seen)
    assert figures.census == pytest.approx(2640 / (4400 - 56))
    assert figures.unseen == pytest.approx(1258 / 4400)
    assert figures.census_error == pytest.approx(
        2640 / 4344 * hypot(190 / 2640, 176 / 4344), rel=1e-9
    )


def test_a_census_never_restarts_the_book_but_the_best_estimate() -> None:
    before = account("T", [moved(0, "stocked", 1000, 40)], [died(1, 100)])
    after = account(
        "T", [moved(0, "stocked", 1000, 40), moved(2, "census", 600, 30)], [died(1, 100)]
    )
    assert before.book[:2] == after.book[:2] == (900, 40)
    assert (before.best.fish, after.best.fish) == (900, 600)
    assert before.unaccounted is None
    assert [gap.lost for gap in after.gaps] == [300]
    again = account(
        "T",
        [moved(0, "stocked", 1000, 40), moved(2, "census", 600, 30), moved(4, "census", 500, 10)],
        [died(1, 100), died(3, 20)],
    )
    assert [gap.lost for gap in again.gaps] == [300, 80], "each against the census before it"
    assert again.unaccounted is not None
    assert again.unaccounted.fish == 380, "and all of it since stocking"


def test_an_error_that_nobody_entered_is_not_taken_for_none() -> None:
    assert account("T", [moved(0, "stocked", 1000)], []).book.plus_minus is None
    by_hand = [moved(0, "stocked", 1000, 40), moved(1, "culled", 10)]
    assert account("T", by_hand, []).book.plus_minus == 40
    guessed = [moved(0, "stocked", 1000, 30), moved(1, "dead", 500, 40)]
    assert account("T", guessed, []).book[:2] == (500, 50)


HOW_MANY = st.integers(0, 3000)
EVENTS = st.lists(
    st.tuples(
        st.sampled_from([*What, "count", "count"]), HOW_MANY, st.none() | st.integers(0, 200)
    ),
    max_size=30,
)


def replayed(events: Sequence[tuple[str, int, int | None]]) -> tuple[int, int]:
    """Book and best estimate, counted anew by another road: sums, and none of the fold."""
    book = sum(
        fish * (what in COMES_IN) - fish * (what in GOES_OUT or what == "count")
        for what, fish, _ in events
    )
    last = max((k for k, one in enumerate(events) if one[0] == "census"), default=None)
    if last is None:
        return book, book
    after = events[last + 1 :]
    return book, events[last][1] + replayed([one for one in after if one[0] != "census"])[0]


@settings(deadline=None, max_examples=300)
@given(EVENTS)
def test_after_any_sequence_book_and_best_are_a_plain_recount_and_never_below_none(
    events: list[tuple[str, int, int | None]],
) -> None:
    events = [("stocked", 4000, 100), *events]
    movements = [
        moved(k, what, fish, error, k)
        for k, (what, fish, error) in enumerate(events)
        if what != "count"
    ]
    counts = [died(k, fish, k) for k, (what, fish, _) in enumerate(events) if what == "count"]
    found = account("T", movements, counts)
    book, left = replayed(events)
    assert found.book.fish == max(0, book)
    assert found.best.fish == max(0, left)
    figures = survival(found)
    assert figures.seen is not None
    assert 0 <= figures.seen <= 1
    if found.unaccounted is not None and found.census is not None and found.unaccounted.at:
        newest = max(k for k, one in enumerate(events) if one[0] == "census")
        assert found.unaccounted.fish == max(0, replayed(events[:newest])[0]) - found.census.fish


# ---- in a record


@contextmanager
def of_demo(when: str) -> Iterator[Site]:
    """The demo as it stood at a moment."""
    site = open_site(until(moment(when)), STATION, when)
    try:
        yield site
    finally:
        site.close()


def put(site: Site, what: str, fish: int, when: str, amends: int | None = None) -> int:
    at = moment(when)
    entry = Entry("movement", "CD", at, at, "T01", amends=amends)
    return site.record(entry, Movement(what, fish, 0.0))


def test_a_movement_that_is_taken_back_or_corrected_is_not_in_any_number(tmp_path: Path) -> None:
    with opened(tmp_path) as site:
        put(site, "stocked", 1000, "2026-05-01T08:00")
        culled = put(site, "culled", 300, "2026-05-02T08:00")
        assert numbers.numbers(site, ["T01"])["T01"].book.fish == 700
        put(site, "culled", 30, "2026-05-02T08:00", amends=culled)
        found = numbers.numbers(site, ["T01"])["T01"]
        assert (found.book.fish, found.culled.fish) == (970, 30)
        census = put(site, "census", 500, "2026-05-03T08:00")
        assert best(site, ["T01"])["T01"].fish == 500
        at = moment("2026-05-03T08:05")
        site.record(Entry("void", "CD", at, at, "T01", amends=census, reason="undone"))
        assert best(site, ["T01"])["T01"].fish == 970
        assert numbers.numbers(site, ["T01"])["T01"].census is None


def test_the_dead_of_a_day_are_one_count_a_round_with_their_causes(tmp_path: Path) -> None:
    with opened(tmp_path) as site:
        unit = site.plan.item("morts").unit
        for when, fish, number, causes in (
            ("2026-05-02T07:00", 64, 1, (Mort("unknown", 60), Mort("deformed", 4))),
            ("2026-05-02T07:01", 60, 1, (Mort("unknown", 60),)),
            ("2026-05-02T15:00", 5, 2, (Mort("deformed", 5),)),
            ("2026-05-03T07:00", 0, 3, ()),
        ):
            at = moment(when)
            entry = Entry("reading", "CD", at, at, "T01", "morts", unit, number)
            site.record(entry, Reading(float(fish), str(fish)), *causes)
        days = dead.by_day(dead.counts(site, {"T01": 0})["T01"])
        assert [(one.fish, one.causes) for one in days] == [
            (65, (("unknown", 60), ("deformed", 5))),
            (0, ()),
        ]


def test_a_moment_of_the_past_is_told_as_it_was_then() -> None:
    with of_demo("2026-05-10T07:52") as site:
        now = numbers.numbers(site, ["T07"])["T07"]
        then = numbers.numbers(site, ["T07"], moment("2026-05-03T12:00"))["T07"]
        assert then.census is None
        assert then.best.fish == then.book.fish > now.book.fish


def test_the_quick_estimate_of_the_board_is_the_same_as_all_numbers_say() -> None:
    with of_demo("2026-05-10T07:52") as site:
        tanks = [tank.code for tank in site.plan.tanks]
        every = numbers.numbers(site, tanks)
        quick = best(site, tanks)
        assert len(quick) == len(tanks)
        assert {k: one.fish for k, one in quick.items()} == {
            k: one.best.fish for k, one in every.items()
        }


def test_fish_of_a_season_before_are_in_no_number_of_this_one(tmp_path: Path) -> None:
    with opened(tmp_path) as site:
        put(site, "stocked", 9000, "2025-05-01T08:00")
        put(site, "census", 700, "2026-04-29T08:00")  # as the tank was emptied for this lot
        put(site, "moved out", 690, "2026-04-29T09:00")
        put(site, "stocked", 1000, "2026-05-01T08:00")
        lot = site.plan.lot_of(site.plan.tank("T01"))
        assert lot is not None
        assert lot.hatched is not None, "or nobody knows of which season fish are"
        assert numbers.numbers(site, ["T01"])["T01"].book.fish == 1000
        assert numbers.numbers(site, ["T01"])["T01"].census is None
        assert best(site, ["T01"])["T01"].fish == 1000
