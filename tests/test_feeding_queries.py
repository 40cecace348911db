"""Questions about feeding: what the record holds as it stands, back to where asked."""

from __future__ import annotations

from itertools import count

from ledger_support import at, fresh, void
from tankwalk.ledger.entries import Batch, Closing, Entry, FollowUp, Meal, Sample
from tankwalk.ledger.feeding import MealSeen
from tankwalk.ledger.questions import OLD_IN_A_ROW, back_to
from tankwalk.ledger.spine import LastEntry


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
        found = ledger.reader.feeding.meals(at(10).utc)
        assert [(m.place, m.at) for m in found] == [
            ("T02", at(10)), ("T01", at(30)), ("T01", at(60)),
        ]  # fmt: skip
        assert found[0] == MealSeen(late, "T02", "Art", 5.0, "g", 6.0, 1, None, at(10), "AB")


def test_one_entry_under_a_clock_that_stood_wrong_hides_none_before_it() -> None:
    with fresh() as ledger:
        ledger.append(*given(0))
        ledger.append(*given(-60 * 24 * 900))
        ledger.append(*given(5))
        assert [m.at for m in ledger.reader.feeding.meals(at(0).utc)] == [at(0), at(5)]


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
        found = list(back_to(rows, at(490).utc, 0))
        assert len(found) == 10
        assert next(read) <= 10 + OLD_IN_A_ROW + 1


def test_batches_samples_and_the_newest_entry_are_answered_as_they_stand() -> None:
    with fresh() as ledger:
        assert ledger.reader.spine.last_entry() is None
        ledger.append(entry("batch", 0), Batch("C1", "set", "AC", 25.0, 12.0, due_at=at(60).utc))
        ledger.append(entry("batch", 61), Batch("C1", "harvest", hatch_percent=80.0))
        wrong = ledger.append(entry("batch", 62), Batch("C2", "set"))
        ledger.append(void(63, wrong))
        found = ledger.reader.feeding.batches(at(0).utc)
        assert [(b.batch, b.event, b.due_at, b.hatch_percent) for b in found] == [
            ("C1", "set", at(60).utc, None), ("C1", "harvest", None, 80.0),
        ]  # fmt: skip
        for minutes, what in ((70, "length"), (80, "mass"), (90, "length")):
            ledger.append(entry("sample", minutes), Sample(what, 20, mean=9.0))
        ledger.append(entry("sample", 75, late=30), Sample("length", 20, mean=9.0))
        taken = ledger.reader.feeding.samples(0)
        assert [(s.place, s.what, s.at) for s in taken] == [
            ("T01", "length", at(70)), ("T01", "length", at(75)), ("T01", "mass", at(80)),
            ("T01", "length", at(90)),
        ]  # fmt: skip
        assert [(s.looked_at, s.mean, s.with_it, s.who) for s in taken] == [
            (20, 9.0, None, "AB")
        ] * 4
        assert ledger.reader.spine.last_entry() == LastEntry(at(105), "AB")


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
        assert ledger.reader.follow_ups.drafted_from(["a", "b", "c"]) == {
            "a": numbers[0],
            "b": numbers[2],
        }
        ledger.append(void(9, numbers[0]))
        assert ledger.reader.follow_ups.drafted_from(["a", "b", "c"]) == {"b": numbers[2]}
