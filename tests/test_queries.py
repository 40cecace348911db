"""Questions to the record: what holds now, however it came to hold, as fast after years."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger_support import START, at, fresh, note, temp, void
from tankwalk.ledger.entries import Detail, Entry, PlanVersion, Reading, Round
from tankwalk.ledger.notes import NoteSeen
from tankwalk.ledger.questions import NO_LIMIT
from tankwalk.ledger.readings import Seen
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.ledger.stock import CountSeen
from tankwalk.ledger.store import Ledger


def values(seen: list[Seen]) -> list[float | None]:
    """Just the values."""
    return [one.value for one in seen]


def plain(kind: str, minutes: float, *details: Detail, **more: Any) -> tuple[Any, ...]:
    """An entry of any kind with its details, entered when it was seen."""
    return Entry(kind, more.pop("who", "AB"), at(minutes), at(minutes), **more), *details


# ---- the newest reading


def test_the_newest_reading_is_the_one_seen_last_not_the_one_entered_last() -> None:
    with fresh() as ledger:
        ledger.append(*temp(60, 18.0))
        entry, reading = temp(0, 17.0)
        ledger.append(entry._replace(recorded=at(90)), reading)  # from the paper sheet, later
        found = ledger.reader.readings.newest("T01", "temp", "degC")
        assert found is not None
        assert (found.value, found.at) == (18.0, at(60))
        assert ledger.reader.readings.newest_of_all() == {("T01", "temp"): found}


def test_the_newest_reading_says_all_there_is_to_say() -> None:
    with fresh() as ledger:
        entry, _ = temp(5, 18.5, reason="screen was blocked", who="CD")
        n = ledger.append(entry, Reading(18.5, "65.3", "degF", "<", "M1", '{"low":16}', 2, True))
        assert ledger.reader.readings.newest("T01", "temp", "degC") == Seen(
            n, "T01", "temp", "degC", 18.5, "65.3", "<", "screen was blocked", at(5), "CD", "M1",
            2, True, None,
        )  # fmt: skip


def test_what_was_not_taken_is_no_newest_reading() -> None:
    with fresh() as ledger:
        n = ledger.append(*temp(0, 17.0))
        ledger.append(*temp(60, None, qualifier="could not"))
        found = ledger.reader.readings.newest("T01", "temp", "degC")
        assert found is not None
        assert found.n == n


def test_a_correction_takes_the_place_of_what_it_corrects() -> None:
    with fresh() as ledger:
        ledger.append(*temp(0, 16.0))
        wrong = ledger.append(*temp(10, 71.4))
        right = ledger.append(*temp(10, 17.4, amends=wrong))
        found = ledger.reader.readings.newest("T01", "temp", "degC")
        assert found is not None
        assert (found.n, found.value, found.amends) == (right, 17.4, wrong)
        assert values(ledger.reader.readings.history("T01", "temp", "degC", 9)) == [16.0, 17.4]
        assert ledger.reader.spine.amended([1, wrong, right, 99]) == {wrong}


def test_a_reading_taken_back_brings_the_one_before_it_back() -> None:
    with fresh() as ledger:
        ledger.append(*temp(0, 16.0))
        wrong = ledger.append(*temp(10, 71.4))
        ledger.append(void(11, wrong))
        found = ledger.reader.readings.newest("T01", "temp", "degC")
        assert found is not None
        assert found.value == 16.0
        ever = ledger.reader.readings.seen(wrong)
        assert ever is not None
        assert ever.value == 71.4, "one entry can be read, standing or not"


def test_a_correction_taken_back_leaves_neither_value() -> None:
    """Undone is not restored: the slot is open again and asks for a new reading."""
    with fresh() as ledger:
        first = ledger.append(*temp(0, 16.0))
        second = ledger.append(*temp(0, 17.0, amends=first))
        ledger.append(void(1, second))
        assert ledger.reader.readings.newest("T01", "temp", "degC") is None
        assert ledger.reader.readings.newest_of_all() == {}


def test_a_round_can_ask_for_what_was_there_before_it() -> None:
    with fresh() as ledger:
        numbers = [ledger.append(*temp(k, 10.0 + k)) for k in range(5)]
        for k, n in enumerate(numbers):
            found = ledger.reader.readings.newest("T01", "temp", "degC", before=n)
            assert (found and found.value) == (None if k == 0 else 9.0 + k)


def test_places_items_and_units_are_kept_apart() -> None:
    with fresh() as ledger:
        ledger.append(*temp(0, 1.0))
        ledger.append(*temp(1, 2.0, place="T02"))
        ledger.append(*temp(2, 3.0, item="do", unit="mg/L"))
        ledger.append(*temp(3, 4.0, item="do", unit="%"))
        for place, item, unit, value in (
            ("T01", "temp", "degC", 1.0), ("T02", "temp", "degC", 2.0), ("T01", "do", "mg/L", 3.0),
            ("T01", "do", "%", 4.0),
        ):  # fmt: skip
            found = ledger.reader.readings.newest(place, item, unit)
            assert found is not None
            assert (found.value, found.unit) == (value, unit)
        for place, item, unit in (("T02", "do", "%"), ("T9", "temp", "degC"), ("T01", "ph", "")):
            assert ledger.reader.readings.newest(place, item, unit) is None


def test_an_item_whose_unit_changed_shows_what_was_seen_last() -> None:
    with fresh() as ledger:
        old = ledger.append(*temp(0, 64.0, unit="degF"))
        ledger.append(*temp(60, 18.0))
        ledger.append(*temp(0, 64.4, unit="degF", amends=old))  # corrected today, seen before
        found = ledger.reader.readings.newest_of_all()["T01", "temp"]
        assert (found.value, found.unit) == (18.0, "degC")


def test_the_history_is_the_newest_readings_oldest_first() -> None:
    with fresh() as ledger:
        for k in (3, 1, 4, 0, 2):
            ledger.append(*temp(k, float(k)))
        ledger.append(*temp(9, None, qualifier="unsafe"))
        for limit in range(7):
            found = ledger.reader.readings.history("T01", "temp", "degC", limit)
            assert values(found) == [0.0, 1.0, 2.0, 3.0, 4.0][max(0, 5 - limit) :]


# ---- against a plain replay


places = st.sampled_from(["T01", "T02", "L1"])
items = st.sampled_from([("temp", "degC"), ("temp", "degF"), ("do", "mg/L")])


@st.composite
def steps(draw: st.DrawFn) -> tuple[Any, ...]:
    """A reading, one not taken, a correction, a thing taken back; few places, often at once."""
    minutes = draw(st.integers(0, 4))
    which = draw(st.sampled_from(["reading", "reading", "not taken", "amend", "void", "note"]))
    target = draw(st.integers(0, 30))
    place, (item, unit) = draw(places), draw(items)
    value = draw(st.floats(-1e6, 1e6, allow_nan=False)) + 0.0
    number = draw(st.sampled_from([None, 1, 2]))
    return which, minutes, target, place, item, unit, value, number


def replay(ledger: Ledger, given_: list[tuple[Any, ...]]) -> list[dict[str, Any]]:
    """Write the steps, and keep beside them a plain list of the readings that stand."""
    ever: dict[int, dict[str, Any]] = {}
    gone: set[int] = set()
    top = 0
    with ledger.writing():
        for which, minutes, target, place, item, unit, value, number in given_:
            amends = 1 + target % top if which in ("amend", "void") and top else None
            if which == "note" or (which == "void" and amends is None):
                top = ledger.append(*note(minutes, "words", place=place, round=number))
                continue
            if which == "void":
                assert amends is not None
                top = ledger.append(void(minutes, amends))
                gone.add(amends)
                continue
            taken = which != "not taken"
            top = ledger.append(
                *temp(
                    minutes, value if taken else None, place=place, item=item, unit=unit,
                    in_round=number, amends=amends, qualifier=None if taken else "not looked",
                )
            )  # fmt: skip
            if amends is not None:
                gone.add(amends)
            ever[top] = {
                "n": top, "at": at(minutes).utc, "place": place, "item": item, "unit": unit,
                "value": value if taken else None, "round": number,
            }  # fmt: skip
    return [one for n, one in ever.items() if n not in gone]


@settings(max_examples=200, deadline=None)
@given(st.lists(steps(), max_size=25))
def test_every_question_about_readings_answers_as_a_plain_replay(given_: list[Any]) -> None:
    with fresh() as ledger:
        standing = replay(ledger, given_)
        valued = sorted(
            (one for one in standing if one["value"] is not None), key=lambda o: (o["at"], o["n"])
        )
        newest = {(one["place"], one["item"]): one["n"] for one in valued}
        found = ledger.reader.readings.newest_of_all()
        assert {key: seen.n for key, seen in found.items()} == newest
        for place in ("T01", "T02", "L1"):
            for item, unit in (("temp", "degC"), ("temp", "degF"), ("do", "mg/L")):
                mine = [
                    o for o in valued if (o["place"], o["item"], o["unit"]) == (place, item, unit)
                ]
                for limit in (0, 1, 3, 99):
                    history = ledger.reader.readings.history(place, item, unit, limit)
                    assert [s.n for s in history] == [o["n"] for o in mine][-limit or 99 :]
                    assert values(history) == [o["value"] for o in mine][-limit or 99 :]
                for before in (1, 5, 12, NO_LIMIT):
                    seen = ledger.reader.readings.newest(place, item, unit, before)
                    earlier = [o["n"] for o in mine if o["n"] < before]
                    assert (seen and seen.n) == (earlier[-1] if earlier else None)
        for number in (1, 2):
            for first in (0, 6):
                of_round = ledger.reader.readings.of_round(number, first)
                assert [s.n for s in of_round] == [
                    o["n"] for o in standing if o["round"] == number and o["n"] > first
                ]
        everything = [
            row[0] for row in ledger.db.execute("SELECT n FROM readings WHERE value IS NOT NULL")
        ]
        assert sorted(everything) == sorted(o["n"] for o in valued)


# ---- counts


def test_counts_come_in_order_with_their_round_and_its_checklist() -> None:
    with fresh() as ledger:
        begin(ledger, 1, 0)
        wrong = ledger.append(*temp(5, 64.0, in_round=1))
        ledger.append(*temp(4, 9.0, who="CD"))
        ledger.append(*temp(6, None, in_round=1, qualifier="could not"))
        ledger.append(*temp(5, 6.0, in_round=1, amends=wrong))
        ledger.append(*temp(7, 7.0, place="T02", in_round=1))
        found = ledger.reader.stock.counts([("T01", at(0).utc)], "temp", "degC")["T01"]
        assert found == [
            CountSeen(9, at(4), "CD", None, None),
            CountSeen(6, at(5), "AB", 1, "morning"),
        ]
        assert ledger.reader.stock.counts([("T01", at(5).utc)], "temp", "degC") == {
            "T01": found[1:]
        }
        assert ledger.reader.rounds.checklist_of(1) == "morning"
        assert ledger.reader.rounds.checklist_of(2) is None


# ---- rounds


def begin(ledger: Ledger, number: int, minutes: float, who: str = "AB") -> int:
    """Open a round."""
    detail = Round(number, "morning", "open")
    return ledger.append(*plain("round", minutes, detail, who=who, round=number))


def sign(ledger: Ledger, number: int, minutes: float, who: str = "AB") -> int:
    """Sign a round."""
    detail = Round(number, "morning", "sign", "all looked at")
    return ledger.append(*plain("round", minutes, detail, who=who, round=number))


def test_a_round_holds_its_standing_readings_in_the_order_of_entry() -> None:
    with fresh() as ledger:
        ledger.append(*temp(0, 1.0, in_round=1))  # of an older round of the same number
        first = begin(ledger, 1, 1)
        ledger.append(*temp(2, 2.0, in_round=1))
        wrong = ledger.append(*temp(3, 33.0, in_round=1, place="T02"))
        ledger.append(*temp(3, None, in_round=1, place="T03", qualifier="unsafe"))
        ledger.append(*temp(4, 4.0, in_round=2))
        ledger.append(*temp(5, 5.0))
        undone = ledger.append(*temp(6, 6.0, in_round=1, item="do", unit="mg/L"))
        ledger.append(void(7, undone))
        ledger.append(*temp(3, 3.0, in_round=1, place="T02", amends=wrong))
        found = ledger.reader.readings.of_round(1, first)
        assert values(found) == [2.0, None, 3.0]
        assert [one.qualifier for one in found] == [None, "unsafe", None]


def test_rounds_come_newest_first_and_say_who_signed_them() -> None:
    with fresh() as ledger:
        one = begin(ledger, 1, 0)
        two = begin(ledger, 2, 60, "CD")
        ledger.append(*plain("round", 70, Round(2, "morning", "resume"), who="EF", round=2))
        sign(ledger, 2, 90, "EF")
        assert ledger.reader.rounds.newest() == [
            RoundSeen(2, two, "morning", "CD", at(60), at(90), "EF"),
            RoundSeen(1, one, "morning", "AB", at(0), None, None),
        ]
        assert [r.number for r in ledger.reader.rounds.newest(limit=1)] == [2]


def test_a_round_signed_at_two_laptops_is_still_one_round() -> None:
    with fresh() as ledger:
        begin(ledger, 1, 0)
        sign(ledger, 1, 50, "AB")
        sign(ledger, 1, 51, "CD")
        begin(ledger, 2, 60)
        found = ledger.reader.rounds.newest(limit=2)
        assert [(r.number, r.signed_by) for r in found] == [(2, None), (1, "AB")]


def test_a_signature_taken_back_leaves_the_round_open() -> None:
    with fresh() as ledger:
        begin(ledger, 1, 0)
        ledger.append(void(51, sign(ledger, 1, 50)))
        assert [r.signed for r in ledger.reader.rounds.newest()] == [None]
        sign(ledger, 1, 52, "CD")
        assert [r.signed_by for r in ledger.reader.rounds.newest()] == ["CD"]


def test_a_round_opened_by_mistake_and_taken_back_is_no_round() -> None:
    with fresh() as ledger:
        ledger.append(void(1, begin(ledger, 1, 0)))
        assert ledger.reader.rounds.newest() == []
        assert ledger.reader.rounds.next_number() == 2, "its number is not given again"


def test_no_two_rounds_get_the_same_number() -> None:
    with fresh() as ledger:
        assert ledger.reader.rounds.next_number() == 1
        begin(ledger, 1, 0)
        assert ledger.reader.rounds.next_number() == 2
        begin(ledger, 2, 10, "CD")
        sign(ledger, 1, 20)  # the older one is signed last
        assert ledger.reader.rounds.next_number() == 3


# ---- notes, follow-ups, handovers, meters


def test_notes_since_a_moment_come_newest_first_and_only_those_that_stand() -> None:
    with fresh() as ledger:
        ledger.append(*note(0, "old", place="T01"))
        wrong = ledger.append(*note(10, "floatig", place="T01", item="temp", unit="degC", round=3))
        gone = ledger.append(*note(11, "never mind"))
        right = ledger.append(*note(10, "floating", place="T01", amends=wrong, who="CD"))
        ledger.append(void(12, gone))
        last = ledger.append(*note(13, "site", item="temp", unit="degC", round=3))
        assert ledger.reader.notes.since(START + 1) == [
            NoteSeen(last, None, "temp", "site", at(13), "AB", 3),
            NoteSeen(right, "T01", None, "floating", at(10), "CD", None),
        ]
        assert [n.text for n in ledger.reader.notes.since(START)] == ["site", "floating", "old"]
        assert [n.n for n in ledger.reader.notes.since(0, limit=1)] == [last]


def test_the_plan_in_force_and_the_last_moment_are_the_newest_recorded() -> None:
    with fresh() as ledger:
        assert ledger.reader.spine.last_plan_digest() is None
        assert ledger.reader.spine.last_moment() is None
        for minutes, digest in ((0, "d1"), (1, "d2")):
            ledger.append(*plain("plan", minutes, PlanVersion(digest, "text")))
        entry, reading = temp(2, 17.0)
        ledger.append(entry._replace(recorded=at(50)), reading)
        assert ledger.reader.spine.last_plan_digest() == "d2"
        assert ledger.reader.spine.last_moment() == at(50)


@pytest.mark.parametrize(("from_paper", "found"), [(7, True), (8, False)])
def test_a_round_is_found_behind_seven_older_ones_that_were_typed_in_after_it(
    from_paper: int, found: bool
) -> None:
    with fresh() as ledger:
        ledger.append(*plain("round", 10, Round(1, "am", "open"), round=1))
        for n in range(2, 2 + from_paper):
            ledger.append(*plain("round", -600, Round(n, "am", "open"), round=n))
        seen = ledger.reader.rounds.since(at(0).utc)
        assert [one.number for one in seen] == [1] * found
