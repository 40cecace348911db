"""What stands: follow-ups with all that happened to them, handovers, and the words for them."""

from __future__ import annotations

import inspect
import sqlite3
from collections.abc import Callable
from typing import Any

import pytest
from tankwalk.ledger.carried import FollowUpEvent, FollowUpState, FollowUpWhat, MayClose

from ledger_support import START, at, fresh, full_content, opened, record, void
from tankwalk.ledger import standing
from tankwalk.ledger.entries import Closing, FollowUp, Handover, Note, SaidBack
from tankwalk.ledger.follow_ups import FollowUpSeen, Turn
from tankwalk.ledger.handovers import HandoverSeen, SaidSeen, Untaken
from tankwalk.ledger.store import Ledger
from test_queries import BIG, first_day, plain, scanned, season


def open_action(ledger: Ledger, minutes: float, text: str, *beside: Closing, **more: Any) -> int:
    """Open an action about tank 2."""
    detail = FollowUp("action", "open", text, **more)
    return ledger.append(*plain("follow-up", minutes, detail, *beside, place="T02"))


def follow(ledger: Ledger, opened_: int, event: str, minutes: float, **more: Any) -> int:
    """Something became of an open action."""
    detail = FollowUp("action", event, event, opened=opened_, **more)
    return ledger.append(*plain("follow-up", minutes, detail, who="CD"))


def states(ledger: Ledger) -> list[tuple[int, FollowUpState, str | None]]:
    """What stands: its opening, its state and its owner."""
    return [(f.opened, f.state, f.owner) for f in ledger.reader.follow_ups.open()]


def give(ledger: Ledger, minutes: float, page: str = "page", who: str = "AB") -> int:
    return ledger.append(*plain("handover", minutes, Handover("give", page), who=who))


def take(ledger: Ledger, given: int, minutes: float, *said: SaidBack, who: str = "CD") -> int:
    detail = Handover("take", "read", "in person", given)
    return ledger.append(*plain("handover", minutes, detail, *said, who=who))


def word(ledger: Ledger, minutes: float, part: str, words: str) -> int:
    """Words for a handover."""
    return ledger.append(*plain("note", minutes, Note(words), reason=f"handover: {part}"))


# ---- follow-ups


def test_a_follow_up_stands_until_somebody_closes_or_drops_it() -> None:
    with fresh() as ledger:
        one, two, three = (open_action(ledger, k, f"mend {k}") for k in range(3))
        said = follow(ledger, two, "done", 10)
        told = Turn(said, FollowUpEvent.DONE, "done", at(10), "CD")
        assert ledger.reader.follow_ups.open() == [
            FollowUpSeen(
                n, FollowUpWhat.ACTION, f"mend {k}", None, "T02", at(k), "AB", None, state,
                MayClose.TASK, None,
                done_by, (Turn(n, FollowUpEvent.OPEN, f"mend {k}", at(k), "AB"), *turns),
            )
            for k, (n, state, done_by, turns) in enumerate(
                [
                    (one, FollowUpState.NEW, None, ()),
                    (two, FollowUpState.DONE, "CD", (told,)),
                    (three, FollowUpState.NEW, None, ()),
                ]
            )
        ]  # fmt: skip
        follow(ledger, two, "close", 11)
        follow(ledger, one, "drop", 12)
        assert [f.opened for f in ledger.reader.follow_ups.open()] == [three]


def test_a_follow_up_passed_on_keeps_its_beginning_and_takes_the_new_owner_and_time() -> None:
    with fresh() as ledger:
        one = open_action(ledger, 0, "mend", owner="AB", due_at=START + 10)
        follow(ledger, one, "open", 5, owner="CD", due_at=START + 99)
        (found,) = ledger.reader.follow_ups.open()
        assert (found.owner, found.due_at, found.state) == ("CD", START + 99, FollowUpState.OWNED)
        assert (found.at, found.who, found.text) == (at(0), "AB", "mend")
        follow(ledger, one, "done", 6)
        follow(ledger, one, "open", 7, due_at=START + 200)
        (found,) = ledger.reader.follow_ups.open()
        assert (found.state, found.done_by, found.due_at) == (FollowUpState.DONE, "CD", START + 200)
        follow(ledger, one, "reopen", 8)
        (found,) = ledger.reader.follow_ups.open()
        assert (found.state, found.done_by) == (FollowUpState.OWNED, None)
        assert [t.event.value for t in found.turns] == ["open", "open", "done", "open", "reopen"]


def test_a_follow_up_that_was_closed_can_be_taken_up_again_and_keeps_both_stamps() -> None:
    with fresh() as ledger:
        one, two = (open_action(ledger, k, f"mend {k}") for k in range(2))
        follow(ledger, one, "close", 10)
        follow(ledger, one, "close", 11)
        assert [f.opened for f in ledger.reader.follow_ups.open()] == [two]
        follow(ledger, one, "reopen", 12, owner="EF")
        assert states(ledger) == [
            (one, FollowUpState.OWNED, "EF"), (two, FollowUpState.NEW, None),
        ]  # fmt: skip
        again = ledger.reader.follow_ups.opened_by(one)
        assert again is not None
        assert [(t.event.value, t.at) for t in again.turns] == [
            ("open", at(0)), ("close", at(10)), ("close", at(11)), ("reopen", at(12)),
        ]  # fmt: skip


def test_a_follow_up_or_its_end_that_is_taken_back_does_not_count() -> None:
    with fresh() as ledger:
        one, two = (open_action(ledger, k, f"mend {k}") for k in range(2))
        ledger.append(void(10, follow(ledger, one, "close", 9)))
        assert [f.opened for f in ledger.reader.follow_ups.open()] == [one, two]
        ledger.append(void(11, two))
        follow(ledger, two, "done", 12)
        assert [f.opened for f in ledger.reader.follow_ups.open()] == [one]
        assert ledger.reader.follow_ups.opened_by(two) is None


def test_who_may_close_and_what_it_came_from_stand_beside_the_opening() -> None:
    with fresh() as ledger:
        open_action(ledger, 0, "mend M2", Closing("meter", "flag meter M2 do"))
        open_action(ledger, 1, "mend")
        found = ledger.reader.follow_ups.open()
        assert [(f.rule, f.about) for f in found] == [
            (MayClose.METER, "flag meter M2 do"), (MayClose.TASK, None),
        ]  # fmt: skip


def test_what_ended_since_a_moment_is_told_newest_first() -> None:
    with fresh() as ledger:
        one, two, three = (open_action(ledger, k, f"mend {k}") for k in range(3))
        follow(ledger, three, "close", 10)
        follow(ledger, one, "drop", 20)
        assert [(f.opened, f.state) for f in ledger.reader.follow_ups.ended(0)] == [
            (one, FollowUpState.DROPPED), (three, FollowUpState.CLOSED),
        ]  # fmt: skip
        assert [f.opened for f in ledger.reader.follow_ups.ended(at(11).utc)] == [one]
        follow(ledger, one, "reopen", 21)
        assert [f.opened for f in ledger.reader.follow_ups.ended(0)] == [three]
        assert [f.opened for f in ledger.reader.follow_ups.open()] == [one, two]


# ---- handovers


def test_the_last_handover_says_who_took_it_when_how_and_what_was_said_back() -> None:
    with fresh() as ledger:
        assert ledger.reader.handovers.last() is None
        old = give(ledger, 0, "old page")
        said = (SaidBack("Which tank is worst?", "T07", 2), SaidBack("What is due?", "06:50", 1))
        take(ledger, old, 9, *said)
        assert ledger.reader.handovers.last() == HandoverSeen(
            old, "old page", at(0), "AB", at(9), "CD", "in person",
            (SaidSeen("What is due?", "06:50", 1), SaidSeen("Which tank is worst?", "T07", 2)),
        )  # fmt: skip
        new = give(ledger, 60, "new page", "CD")
        assert ledger.reader.handovers.last() == HandoverSeen(
            new, "new page", at(60), "CD", None, None, None
        )
        for minutes, who in ((70, "EF"), (71, "AB")):
            take(ledger, new, minutes, who=who)
        last = ledger.reader.handovers.last()
        assert last is not None
        assert (last.taken_by, last.taken) == ("EF", at(70)), "who took it first has the room"


def test_a_handover_that_is_taken_back_was_not_given() -> None:
    with fresh() as ledger:
        old, new = give(ledger, 0), give(ledger, 60)
        ledger.append(void(61, new))
        last = ledger.reader.handovers.last()
        assert last is not None
        assert last.n == old


def test_a_handover_was_never_taken_when_the_next_one_came_first() -> None:
    with fresh() as ledger:
        one, two, three = give(ledger, 0), give(ledger, 60, who="CD"), give(ledger, 120)
        take(ledger, one, 5)
        assert ledger.reader.handovers.never_taken(0) == [Untaken(two, at(60), "CD", three)]
        assert ledger.reader.handovers.never_taken(at(61).utc) == []
        late = take(ledger, two, 130)
        assert ledger.reader.handovers.never_taken(0) == []
        ledger.append(void(131, late))
        assert [u.n for u in ledger.reader.handovers.never_taken(0)] == [two]


def test_the_newest_handover_that_was_taken_is_known() -> None:
    with fresh() as ledger:
        assert ledger.reader.handovers.last_taken() == 0
        one = give(ledger, 0)
        assert ledger.reader.handovers.last_taken() == 0
        take(ledger, one, 1)
        two = give(ledger, 60)
        assert ledger.reader.handovers.last_taken() == one
        taken = take(ledger, two, 61)
        assert ledger.reader.handovers.last_taken() == two
        ledger.append(void(62, taken))
        assert ledger.reader.handovers.last_taken() == one


def test_words_for_a_handover_are_told_by_part_and_other_notes_are_not() -> None:
    with fresh() as ledger:
        one = word(ledger, 0, "STOCK", "two cylinders left")
        ledger.append(*plain("note", 1, Note("larvae on the wall"), place="T02"))
        ledger.append(*plain("note", 2, Note("by the way"), reason="asked by the lead"))
        two = word(ledger, 3, "EXPECT", "if the drum stops: restart it")
        found = ledger.reader.handovers.words(0)
        assert [(w.n, w.part, w.text, w.at, w.who) for w in found] == [
            (one, "STOCK", "two cylinders left", at(0), "AB"),
            (two, "EXPECT", "if the drum stops: restart it", at(3), "AB"),
        ]
        assert [w.n for w in ledger.reader.handovers.words(one)] == [two]
        ledger.append(void(4, two))
        assert [w.n for w in ledger.reader.handovers.words(0)] == [one]


# ---- how the answers are found

QUESTIONS: dict[str, Callable[[sqlite3.Connection], object]] = {
    "follow_ups": standing.follow_ups,
    "follow_up": lambda db: reader.follow_ups.opened_by(26),
    "ended": lambda db: reader.follow_ups.ended(0),
    "last_handover": standing.last_handover,
    "last_taken": standing.last_taken,
    "never_taken": lambda db: reader.handovers.never_taken(0),
    "handover_words": lambda db: reader.handovers.words(0),
}


def test_every_question_about_what_stands_is_asked_here() -> None:
    there = {
        name
        for name, one in vars(standing).items()
        if inspect.isfunction(one)
        and one.__module__ == standing.__name__
        and name[0] != "_"
        and "db" in inspect.signature(one).parameters
    }
    assert set(QUESTIONS) == there


@pytest.mark.parametrize("content", [full_content, season, first_day])
@pytest.mark.parametrize("name", QUESTIONS)
def test_no_question_about_what_stands_walks_through_all_readings(
    name: str, content: Callable[[], bytes]
) -> None:
    with record(content()) as path, opened(path) as ledger:
        assert not scanned(ledger.db, QUESTIONS[name]) & BIG


def test_an_empty_record_answers_every_question_about_what_stands() -> None:
    with fresh() as ledger:
        for ask in QUESTIONS.values():
            assert ask(ledger.db) in (None, [], 0)
