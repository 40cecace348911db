"""Follow-ups in the record: what stands, what ended, and all that happened to them."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger_support import START, at, fresh, opened, plainly, record, void
from tankwalk.errors import Refusal
from tankwalk.ledger import chain
from tankwalk.ledger.entries import Closing, FollowUp
from tankwalk.ledger.follow_up_kinds import FollowUpEvent, FollowUpState, FollowUpWhat, MayClose
from tankwalk.ledger.follow_ups import FollowUpSeen, Turn
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.store import Ledger
from test_queries import plain


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


# ---- against a plain replay


EVENTS = ("open", "open", "close", "close", "drop", "reopen", "done", "pass on", "take back")

steps = st.tuples(st.sampled_from(EVENTS), st.integers(0, 9), st.booleans(), st.integers(0, 30))
"""What happens, to which follow-up, whether as a correction, and of which entry."""


@settings(max_examples=80, deadline=None)
@given(st.lists(steps, max_size=25))
def test_what_stands_is_what_a_plain_replay_leaves(given_: list[Any]) -> None:
    """A follow-up has ended where the last end or reopening of it that stands is an end."""
    turns: list[tuple[int, int, str]] = []  # entry, the entry that opened it, event
    gone: set[int] = set()
    with fresh() as ledger, ledger.writing():
        top = 0
        for event, which, corrects, target in given_:
            openings = [n for n, opened_, _ in turns if n == opened_]
            amends = 1 + target % top if top and (corrects or event == "take back") else None
            if event == "take back":
                if amends is not None:
                    gone.add(amends)
                    top = ledger.append(void(top, amends))
                continue
            if event == "open" or not openings:
                event, opened_ = "open", None
            else:
                opened_ = openings[which % len(openings)]
            detail = FollowUp(
                "action", "open" if event == "pass on" else event, "x", None, None, opened_
            )
            top = ledger.append(*plain("follow-up", top, detail, amends=amends))
            gone |= set() if amends is None else {amends}
            turns.append((top, opened_ or top, event))
        standing: list[int] = []
        over: list[int] = []
        for n in [n for n, opened_, _ in turns if n == opened_ and n not in gone]:
            ends = [
                event in ("close", "drop")
                for turn, opened_, event in turns
                if opened_ == n and turn not in gone and event in ("close", "drop", "reopen")
            ]
            (over if ends and ends[-1] else standing).append(n)
        ask = ledger.reader.follow_ups
        assert [one.opened for one in ask.open()] == standing
        assert sorted(one.opened for one in ask.ended(0)) == over
        assert all(ask.opened_by(n) is not None for n in (*standing, *over))


# ---- the list of what is carried over


def test_an_end_takes_a_follow_up_off_the_list_and_taking_it_back_puts_it_on_again() -> None:
    def carried() -> list[int]:
        return [n for (n,) in ledger.db.execute("SELECT opened FROM carried")]

    with fresh() as ledger:
        one, two = open_action(ledger, 0, "mend"), open_action(ledger, 1, "look")
        end = follow(ledger, one, "close", 2)
        assert carried() == [two]
        ledger.append(void(3, end))
        assert carried() == [one, two]
        follow(ledger, one, "drop", 4)
        assert carried() == [two]
        follow(ledger, one, "reopen", 5)
        assert carried() == [one, two]


def test_an_open_action_taken_off_the_list_is_missed_by_the_check_and_put_back() -> None:
    with record() as path:
        with opened(path) as ledger:
            one, two = open_action(ledger, 0, "mend"), open_action(ledger, 1, "look")
            follow(ledger, two, "close", 2)
        assert inspect(path).sound
        with plainly(path) as db:
            db.execute("DELETE FROM carried")
            assert chain.verify(db) is None, "nothing that was recorded is gone"
        assert inspect(path).sentences == (
            "1 of the open follow-ups were out of the list of what is carried over: someone took "
            "them out. They have been put back.",
        )
        assert inspect(path).sound
        with opened(path) as ledger:
            assert [f.opened for f in ledger.reader.follow_ups.open()] == [one]


def test_nothing_is_written_while_a_trigger_is_away_and_a_check_sets_it_again() -> None:
    with record() as path:
        with opened(path) as ledger:
            ledger.db.execute("DROP TRIGGER carry_opened")
            with pytest.raises(Refusal, match=r"guards .* taken away .*carry_opened"):
                open_action(ledger, 0, "mend")
        assert "carry_opened" in " ".join(inspect(path).sentences)
        assert inspect(path).sound
        with opened(path) as ledger:
            one = open_action(ledger, 0, "mend")
            assert [f.opened for f in ledger.reader.follow_ups.open()] == [one]
