"""The record of feed: which meal it was, from which batch, what a batch is, what was counted."""

from __future__ import annotations

import pytest

from ledger_support import at, fresh, void
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Batch, BatchOf, Counted, Detail, Entry, Meal, Poured, Served
from tankwalk.ledger.feeding import BatchEvent, BatchKind, CountOf, CountSeen
from tankwalk.ledger.store import Ledger


def put(ledger: Ledger, kind: str, minutes: float, *details: Detail, place: str = "site") -> int:
    return ledger.append(Entry(kind, "AB", at(minutes), at(minutes), place), *details)


def fed(
    ledger: Ledger, minutes: float, place: str, meal: Instant, *poured: Poured, amount: float = 40.0
) -> int:
    given = Meal("Art", amount, "thousand", 40.0)
    return put(ledger, "meal", minutes, given, Served(meal.utc), *poured, place=place)


def test_a_meal_knows_which_planned_meal_it_was() -> None:
    with fresh() as ledger:
        put(ledger, "meal", 0, Meal("Art", 5.0, "g"), place="T01")
        fed(ledger, 12, "T01", at(10))
        found = ledger.reader.feeding.meals(at(0).utc)
        assert [m.meal_at for m in found] == [None, at(10).utc]


def test_a_set_that_says_no_kind_is_a_cone_as_in_older_records() -> None:
    with fresh() as ledger:
        put(ledger, "batch", 0, Batch("C1", BatchEvent.SET, "AC-7", 15.0, 7.5))
        put(ledger, "batch", 1, Batch("C1", BatchEvent.CHECK, ph=8.2))
        put(ledger, "batch", 2, Batch("R1", BatchEvent.SET), BatchOf(BatchKind.ROTIFERS, "R0"))
        found = ledger.reader.feeding.batches(at(0).utc)
        assert [(b.batch, b.kind, b.source) for b in found] == [
            ("C1", "cone", None), ("C1", None, None), ("R1", "rotifers", "R0"),
        ]  # fmt: skip


def test_all_that_happened_to_a_batch_is_found_by_its_name_however_old() -> None:
    with fresh() as ledger:
        put(ledger, "batch", 0, Batch("C1", "set"), BatchOf("cone", "AC-7"))
        put(ledger, "batch", 1, Batch("C2", "set"))
        wrong = put(ledger, "batch", 2, Batch("C1", "harvest", per_ml=900.0))
        put(ledger, "batch", 3, Batch("C1", "harvest", per_ml=300.0))
        ledger.append(void(4, wrong))
        found = ledger.reader.feeding.batch("C1")
        assert [(b.event, b.per_ml) for b in found] == [("set", None), ("harvest", 300.0)]
        assert ledger.reader.feeding.batch("C9") == []


def test_of_a_name_that_comes_again_the_newest_batch_is_found_alone() -> None:
    with fresh() as ledger:
        for minutes, event in enumerate(("set", "count", "discard", "set", "count", "feed")):
            put(ledger, "batch", minutes, Batch("R1", event))
        put(ledger, "batch", 9, Batch("R2", "count"))
        ask = ledger.reader.feeding
        assert [b.event for b in ask.newest_batch("R1")] == ["set", "count", "feed"]
        assert [b.event for b in ask.newest_batch("R2")] == ["count"]
        assert ask.newest_batch("R3") == []


def test_what_was_poured_is_found_by_time_and_by_batch() -> None:
    with fresh() as ledger:
        fed(ledger, 10, "T01", at(10), Poured("C2", 90.0, 337.0), Poured("C1", 50.0, 180.0))
        late = fed(ledger, 11, "T02", at(10), Poured("C1", 70.0, 180.0))
        taken_back = fed(ledger, 12, "T03", at(10), Poured("C1", 70.0, 180.0))
        ledger.append(void(13, taken_back))
        ask = ledger.reader.feeding
        assert [(p.place, p.batch, p.ml) for p in ask.poured(at(10).utc)] == [
            ("T01", "C1", 50.0), ("T01", "C2", 90.0), ("T02", "C1", 70.0),
        ]  # fmt: skip
        assert [p.place for p in ask.poured(at(11).utc)] == ["T02"]
        assert [(p.place, p.ml) for p in ask.poured_from("C1")] == [("T01", 50.0), ("T02", 70.0)]
        assert ask.poured_from("C1")[1] == (
            late, "T02", "C1", 70.0, 180.0, "Art", 40.0, "thousand", at(10).utc, at(11), "AB",
        )  # fmt: skip


def test_sub_samples_are_kept_as_they_were_counted() -> None:
    with fresh() as ledger:
        n = put(
            ledger, "batch", 0, Batch("C1", "harvest", per_ml=337.0),
            Counted(CountOf.UMBRELLA, 0.1, 1.0, "1 0 2"),
            Counted(CountOf.NAUPLII, 0.1, 1.0, "34 29 38"),
        )  # fmt: skip
        assert ledger.reader.feeding.counts([n, n + 1])[n] == [
            CountSeen("nauplii", 0.1, 1.0, (34, 29, 38)),
            CountSeen("umbrella", 0.1, 1.0, (1, 0, 2)),
        ]
        assert ledger.reader.feeding.counts([n + 1]) == {}


def test_tins_and_bags_in_stock_are_found_however_old_they_are() -> None:
    year = 60 * 24 * 365
    with fresh() as ledger:
        put(ledger, "batch", 0, Batch("AC-6", "received", grams=425.0), BatchOf("cysts"))
        put(ledger, "batch", 5, Batch("D1-3", "received", grams=2000.0), BatchOf("feed"))
        put(ledger, "batch", 6, Batch("C1", "set"), BatchOf("cone", "AC-6"))
        put(ledger, "batch", year, Batch("D1-3", "weighed", grams=400.0))
        found = ledger.reader.feeding.stock_batches()
        assert [(b.batch, b.event, b.grams) for b in found] == [
            ("AC-6", "received", 425.0), ("D1-3", "received", 2000.0), ("D1-3", "weighed", 400.0),
        ]  # fmt: skip


def test_a_tin_that_is_empty_is_in_stock_no_more_but_was_before() -> None:
    with fresh() as ledger:
        put(ledger, "batch", 0, Batch("AC-6", "received", grams=425.0), BatchOf("cysts"))
        put(ledger, "batch", 1, Batch("AC-7", "received", grams=425.0), BatchOf("cysts"))
        before = ledger.reader.spine.last_moment()
        put(ledger, "batch", 9, Batch("AC-6", "empty"))
        ask = ledger.reader.feeding
        assert before is not None
        assert [b.batch for b in ask.stock_batches()] == ["AC-7"]
        assert [b.batch for b in ask.stock_batches(before.utc)] == ["AC-6", "AC-7", "AC-6"]
        put(ledger, "batch", 12, Batch("AC-6", "received", grams=425.0), BatchOf("cysts"))
        assert [b.batch for b in ask.stock_batches()] == ["AC-7", "AC-6"]


@pytest.mark.parametrize("wrong", [
    Poured("C1", 0.0, 300.0), Poured("C1", -5.0, 300.0), Poured("", 5.0, 300.0),
])  # fmt: skip
def test_nothing_poured_is_no_pouring(wrong: Poured) -> None:
    with fresh() as ledger:
        with pytest.raises(Refusal, match="nothing was kept"):
            put(ledger, "meal", 0, Meal("Art", 5.0, "thousand"), wrong, place="T01")
        assert ledger.reader.spine.last_number() == 0


@pytest.mark.parametrize("wrong", [
    Counted("nauplii", 0.1, 1.0, ""), Counted("nauplii", 0.1, 1.0, "34,29"),
    Counted("nauplii", 0.0, 1.0, "34"), Counted("nauplii", 0.1, 0.0, "34"),
    Counted("stars", 0.1, 1.0, "34"), BatchOf("soup"), BatchOf("cone", ""),
])  # fmt: skip
def test_a_count_or_a_kind_of_batch_that_cannot_be_is_not_kept(wrong: Detail) -> None:
    with fresh() as ledger:
        with pytest.raises(Refusal, match="nothing was kept"):
            put(ledger, "batch", 0, Batch("C1", "set"), wrong)
        assert ledger.reader.spine.last_number() == 0


def test_a_person_with_any_sqlite_tool_reads_meals_batches_and_counts() -> None:
    with fresh() as ledger:
        put(
            ledger, "batch", 0, Batch("C1", "harvest", litres=7.5, per_ml=337.0),
            BatchOf("cone", "AC-7"), Counted("nauplii", 0.1, 1.0, "34 29 38"),
        )  # fmt: skip
        fed(ledger, 12, "T01", at(10), Poured("C1", 90.5, 337.0), Poured("C0", 2.0, 180.0))
        ledger.append(void(13, fed(ledger, 12, "T02", at(10))))
        db = ledger.db
        rows = db.execute("SELECT place, meal_local, poured FROM meals").fetchall()
        wall = f"{at(10).wall:%Y-%m-%d %H:%M:%S}"
        assert rows == [("T01", wall, "2 mL of C0 at 180 per mL, 90.5 mL of C1 at 337 per mL")]
        assert db.execute("SELECT batch, kind, source FROM batches").fetchall() == [
            ("C1", "cone", "AC-7")
        ]
        assert db.execute("SELECT batch, what, counts FROM counts").fetchall() == [
            ("C1", "nauplii", "34 29 38")
        ]
