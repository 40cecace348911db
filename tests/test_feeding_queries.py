"""Questions about feeding: what the record holds as it stands, back to where asked."""

from __future__ import annotations

import inspect
import sqlite3
from collections.abc import Callable
from functools import cache
from itertools import count

import pytest

from ledger_support import at, fresh, full_content, opened, record, temp, void
from tankwalk.ledger import feeding
from tankwalk.ledger.entries import Batch, Closing, Entry, FollowUp, Meal, Sample
from test_queries import BIG, first_day, scanned, season


def entry(kind: str, minutes: float, place: str = "T01", late: float = 0.0) -> Entry:
    return Entry(kind, "AB", at(minutes), at(minutes + late), place)


def given(minutes: float, place: str = "T01", late: float = 0.0) -> tuple[Entry, Meal]:
    return entry("meal", minutes, place, late), Meal("Art", 5.0, "g", 6.0, 1)


def test_meals_come_in_the_order_they_were_given_back_to_where_asked() -> None:
    with fresh() as ledger:
        for minutes in (0, 30, 60):
            ledger.append(*given(minutes))
        late = ledger.append(*given(10, "T02", late=90))
        ledger.append(void(101, ledger.append(*given(100))))
        found = feeding.meals(ledger.db, at(10).utc)
        assert [(m.place, m.at) for m in found] == [
            ("T02", at(10)), ("T01", at(30)), ("T01", at(60)),
        ]  # fmt: skip
        assert found[0] == feeding.MealSeen(
            late, "T02", "Art", 5.0, "g", 6.0, 1, None, at(10), "AB"
        )


def test_one_entry_under_a_clock_that_stood_wrong_hides_none_before_it() -> None:
    with fresh() as ledger:
        ledger.append(*given(0))
        ledger.append(*given(-60 * 24 * 900))
        ledger.append(*given(5))
        assert [m.at for m in feeding.meals(ledger.db, at(0).utc)] == [at(0), at(5)]


def test_a_look_back_ends_where_everything_is_older() -> None:
    with fresh() as ledger, ledger.writing():
        for k in range(500):
            ledger.append(*given(k))
        read = count()
        ledger.db.create_function("looked", 0, lambda: next(read))
        rows = ledger.db.execute(
            "SELECT e.observed_at, e.late_s, looked() FROM meal m CROSS JOIN entry e"
            " ON e.n = m.entry ORDER BY m.entry DESC"
        )
        found = list(feeding._back_to(rows, at(490).utc, 0))
        assert len(found) == 10
        assert next(read) <= 10 + feeding.OLD_IN_A_ROW + 1


def test_batches_samples_and_the_newest_entry_are_answered_as_they_stand() -> None:
    with fresh() as ledger:
        assert feeding.last_entry(ledger.db) is None
        ledger.append(entry("batch", 0), Batch("C1", "set", "AC", 25.0, 12.0, due_at=at(60).utc))
        ledger.append(entry("batch", 61), Batch("C1", "harvest", hatch_percent=80.0))
        wrong = ledger.append(entry("batch", 62), Batch("C2", "set"))
        ledger.append(void(63, wrong))
        found = feeding.batches(ledger.db, at(0).utc)
        assert [(b.batch, b.event, b.due_at, b.hatch_percent) for b in found] == [
            ("C1", "set", at(60).utc, None), ("C1", "harvest", None, 80.0),
        ]  # fmt: skip
        for minutes, what in ((70, "length"), (80, "mass"), (90, "length")):
            ledger.append(entry("sample", minutes), Sample(what, 20, mean=9.0))
        ledger.append(entry("sample", 75, late=30), Sample("length", 20, mean=9.0))
        assert feeding.last_samples(ledger.db, 0) == {
            ("T01", "length"): at(90), ("T01", "mass"): at(80),
        }  # fmt: skip
        assert feeding.last_entry(ledger.db) == feeding.LastEntry(at(105), "AB")


def test_what_follow_ups_were_drafted_from_is_known_while_they_stand() -> None:
    with fresh() as ledger:
        numbers = [
            ledger.append(
                entry("follow-up", n), FollowUp("action", "open", "look"), Closing(rule, about)
            )
            for n, (rule, about) in enumerate(
                (("deviation", "a"), ("task", None), ("treatment", "b"))
            )
        ]
        assert feeding.kept_abouts(ledger.db) == {"a": numbers[0], "b": numbers[2]}
        ledger.append(void(9, numbers[0]))
        assert feeding.kept_abouts(ledger.db) == {"b": numbers[2]}


QUESTIONS: dict[str, Callable[[sqlite3.Connection], object]] = {
    "meals": lambda db: feeding.meals(db, 0),
    "batches": lambda db: feeding.batches(db, 0),
    "last_samples": lambda db: feeding.last_samples(db, 0),
    "last_entry": feeding.last_entry,
    "kept_abouts": feeding.kept_abouts,
}


def test_every_question_there_is_is_asked_here() -> None:
    there = {
        name
        for name, one in vars(feeding).items()
        if inspect.isfunction(one) and one.__module__ == feeding.__name__ and name[0] != "_"
    }
    assert set(QUESTIONS) == there


@cache
def fed_season() -> bytes:
    """A record of some thousand readings and meals, statistics gathered at its end."""
    with record(season()) as path:
        with opened(path) as ledger:
            with ledger.writing():
                for k in range(600):
                    ledger.append(*given(5000 + k, f"T{k % 12:02d}"))
                    ledger.append(*temp(5000 + k, 17.0, place=f"T{k % 12:02d}"))
            ledger.db.execute("ANALYZE")
        return path.read_bytes()


@pytest.mark.parametrize("content", [full_content, season, first_day, fed_season])
@pytest.mark.parametrize("name", QUESTIONS)
def test_no_question_walks_through_all_entries(name: str, content: Callable[[], bytes]) -> None:
    with record(content()) as path, opened(path) as ledger:
        assert not scanned(ledger.db, QUESTIONS[name]) & BIG


def test_the_newest_meals_need_no_sorting_of_all_meals() -> None:
    """Read from the newest back: a sort would read a whole season before the first row."""
    asked: list[str] = []
    with record(fed_season()) as path, opened(path) as ledger:
        ledger.db.set_trace_callback(asked.append)
        for name in ("meals", "batches", "last_samples"):
            QUESTIONS[name](ledger.db)
        ledger.db.set_trace_callback(None)
        for sql in asked:
            plan = [row[3] for row in ledger.db.execute(f"EXPLAIN QUERY PLAN {sql}")]
            assert not [step for step in plan if "TEMP B-TREE" in step], plan
