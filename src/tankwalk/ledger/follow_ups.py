"""Questions about follow-ups: open actions and what is altered, with all that happened to them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from tankwalk.clock import Instant
from tankwalk.ledger.follow_up_kinds import FollowUpEvent, FollowUpState, FollowUpWhat, MayClose
from tankwalk.ledger.questions import Questions, back_to, stands
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple

ENDS = (FollowUpEvent.CLOSE, FollowUpEvent.DROP)
"""What ends a follow-up, until it is taken up again."""


class Turn(NamedTuple):
    """One thing that happened to a follow-up: it was opened, passed on, done, closed, ..."""

    n: int
    event: FollowUpEvent
    text: str
    at: Instant
    who: str


class FollowUpSeen(NamedTuple):
    """An open action, or something altered, as it stands.

    `at` and `who` are of its opening. `rule` is who may close it, `about` what it was drafted from.
    `turns` are all its entries that stand, oldest first.
    """

    opened: int
    what: FollowUpWhat
    text: str
    owner: str | None
    place: str | None
    at: Instant
    who: str
    due_at: int | None
    state: FollowUpState
    rule: MayClose = MayClose.TASK
    about: str | None = None
    done_by: str | None = None
    turns: tuple[Turn, ...] = ()

    @property
    def stands(self) -> bool:
        """Whether it is still carried over."""
        return self.state.stands

    @property
    def end(self) -> Turn | None:
        """The turn that closed or dropped it last; None for one that never was."""
        return next((t for t in reversed(self.turns) if t.event in ENDS), None)


_WHAT = """
SELECT f.entry, f.event, f.text, e.observed_at, e.utc_offset, w.initials, f.owner, f.due_at,
  f.what, (SELECT code FROM place WHERE id = e.place),
  (SELECT rule FROM closing WHERE entry = f.entry),
  (SELECT about FROM closing WHERE entry = f.entry), f.opened"""

_WHOSE = f"""
CROSS JOIN entry e ON e.n = f.entry CROSS JOIN person w ON w.id = e.who
WHERE {stands("f.entry")}
"""
# What is joined to many rows is walked through once, to know what is in it; a value asked for each
# row is sought.

_TURN = f"{_WHAT} FROM follow_up f {_WHOSE}"


def _turns(of: str) -> str:
    """SQL for turns of all that may be open, oldest first."""
    by = "ORDER BY carried.opened, f.entry"
    return f"{_WHAT} FROM carried CROSS JOIN follow_up f ON {of} {_WHOSE} {by}"


def _turn(row: tuple[Any, ...]) -> Turn:
    n, event, text, at, offset, who = row[:6]
    return Turn(n, FollowUpEvent(event), text, Instant(at, offset), who)


def _opened(row: tuple[Any, ...]) -> FollowUpSeen:
    """A follow-up as the turn that opened it left it."""
    first = _turn(row)
    owner, due, what, place, rule, about, _ = row[6:]
    return FollowUpSeen(
        first.n, FollowUpWhat(what), first.text, owner, place, first.at, first.who, due,
        _whose(owner), MayClose(rule) if rule else MayClose.TASK, about, None, (first,),
    )  # fmt: skip


def _whose(owner: str | None) -> FollowUpState:
    """The state of what is open and not said to be done."""
    return FollowUpState.OWNED if owner else FollowUpState.NEW


def _after(one: FollowUpSeen, turn: Turn, owner: str | None, due: int | None) -> FollowUpSeen:
    """A follow-up after one more turn; what ended stays ended until it is reopened."""
    turns = (*one.turns, turn)
    if not one.stands and turn.event is not FollowUpEvent.REOPEN:
        return one._replace(turns=turns)
    owner = owner or one.owner
    state, done_by = one.state, one.done_by
    if turn.event is FollowUpEvent.DONE:
        state, done_by = FollowUpState.DONE, turn.who
    elif turn.event is FollowUpEvent.CLOSE:
        state = FollowUpState.CLOSED
    elif turn.event is FollowUpEvent.DROP:
        state = FollowUpState.DROPPED
    elif turn.event is FollowUpEvent.REOPEN or state is not FollowUpState.DONE:
        state, done_by = _whose(owner), None
    return one._replace(
        owner=owner, due_at=due or one.due_at, state=state, done_by=done_by, turns=turns
    )


class FollowUpQuestions(Questions):
    """Open actions, and what is not as normal."""

    @reads_record
    def open(self) -> list[FollowUpSeen]:
        """All follow-ups that are not closed or dropped, oldest first."""
        # `carried` holds each of them, and a few that the amendments of their turns ended.
        opened = self.db.execute(_turns("f.entry = carried.opened AND f.opened IS NULL"))
        found = {row[0]: _opened(row) for row in opened}
        for row in self.db.execute(_turns("f.opened = carried.opened")):
            if row[-1] in found:
                found[row[-1]] = _after(found[row[-1]], _turn(row), row[6], row[7])
        return [found[n] for n in sorted(found) if found[n].stands]

    @reads_record
    def opened_by(self, n: int) -> FollowUpSeen | None:
        """One follow-up by the entry that opened it, ended or not; None where there is none."""
        return self._whole(n)

    @reads_record
    def ended(self, since: int) -> list[FollowUpSeen]:
        """Follow-ups whose end was recorded since a UTC second, the newest end first."""
        ends = self.db.execute(
            f"""SELECT f.opened, e.observed_at, e.late_s
                FROM follow_up f CROSS JOIN entry e ON e.n = f.entry
                WHERE f.event IN ('close', 'drop') AND {stands("f.entry")} ORDER BY f.entry DESC"""
        )
        numbers = dict.fromkeys(row[0] for row in back_to(ends, since, 1))
        found = [one for one in map(self._whole, numbers) if one is not None and not one.stands]
        over = [(end, one) for one in found if (end := one.end) and end.at.utc >= since]
        return [one for _, one in sorted(over, key=lambda pair: -pair[0].n)]

    @reads_record
    def drafted_from(self, abouts: Iterable[str]) -> dict[str, int]:
        """Of these the ones that a follow-up was drafted from, and the entry that opened it."""
        sql = f"""
          SELECT c.entry FROM closing c WHERE c.about = ? AND {stands("c.entry")}
          ORDER BY c.entry DESC LIMIT 1"""
        found = ((about, self.db.execute(sql, (about,)).fetchone()) for about in abouts)
        return {about: int(row[0]) for about, row in found if row is not None}

    def _whole(self, opened: int) -> FollowUpSeen | None:
        """A follow-up with all its turns that stand; None where its opening does not."""
        sql = _TURN + " AND f.entry = ? AND f.opened IS NULL"
        row = self.db.execute(sql, (opened,)).fetchone()
        if row is None:
            return None
        one = _opened(row)
        for row in self.db.execute(_TURN + " AND f.opened = ? ORDER BY f.entry", (opened,)):
            one = _after(one, _turn(row), row[6], row[7])
        return one
