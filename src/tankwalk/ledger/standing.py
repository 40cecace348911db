"""Questions about what stands: follow-ups with all that happened to them, and handovers.

Follow-ups and handovers are a handful a day, so their own tables are read whole; nothing here
walks through the readings.
"""

from __future__ import annotations

import sqlite3
from itertools import pairwise
from typing import NamedTuple

from tankwalk.clock import Instant
from tankwalk.ledger.carried import FollowUpEvent, FollowUpState, FollowUpWhat, MayClose
from tankwalk.ledger.queries import NO_LIMIT, NoteSeen
from tankwalk.ledger.sqlite_errors import asked

_STANDS = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = {n})"

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


def _folded(db: sqlite3.Connection) -> dict[int, FollowUpSeen]:
    """Every follow-up there ever was, by the entry that opened it."""
    sql = f"""
      SELECT f.entry, f.opened, f.what, f.event, f.text, f.owner, f.due_at,
        e.observed_at, e.utc_offset, w.initials, p.code, c.rule, c.about
      FROM follow_up f CROSS JOIN entry e ON e.n = f.entry CROSS JOIN person w ON w.id = e.who
      LEFT JOIN place p ON p.id = e.place LEFT JOIN closing c ON c.entry = f.entry
      WHERE {_STANDS.format(n="f.entry")} ORDER BY f.entry"""
    found: dict[int, FollowUpSeen] = {}
    for n, opened, what, event, text, owner, due, at, offset, who, place, rule, about in db.execute(
        sql
    ):
        turn = Turn(n, FollowUpEvent(event), text, Instant(at, offset), who)
        if opened is None:
            closer = MayClose(rule) if rule else MayClose.TASK
            found[n] = FollowUpSeen(
                n, FollowUpWhat(what), text, owner, place, turn.at, who, due, _whose(owner), closer,
                about, None, (turn,),
            )  # fmt: skip
        elif opened in found:
            found[opened] = _after(found[opened], turn, owner, due)
    return found


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


@asked
def follow_ups(db: sqlite3.Connection) -> list[FollowUpSeen]:
    """All follow-ups that are not closed or dropped, oldest first."""
    return [one for one in _folded(db).values() if one.stands]


@asked
def follow_up(db: sqlite3.Connection, opened: int) -> FollowUpSeen | None:
    """One follow-up by the entry that opened it, ended or not; None where there is none."""
    return _folded(db).get(opened)


@asked
def ended(db: sqlite3.Connection, since: int) -> list[FollowUpSeen]:
    """Follow-ups whose end was recorded since a UTC second, the newest end first."""
    over = [(end, one) for one in _folded(db).values() if not one.stands and (end := one.end)]
    newest = sorted(over, key=lambda pair: -pair[0].n)
    return [one for end, one in newest if end.at.utc >= since]


# ---- handovers


class SaidSeen(NamedTuple):
    """What was said back when a handover was taken, and at which try it was right."""

    question: str
    answer: str
    tries: int


class HandoverSeen(NamedTuple):
    """A handover that was given, who took it when and how, and what they said back."""

    n: int
    text: str
    at: Instant
    who: str
    taken: Instant | None
    taken_by: str | None
    how: str | None
    said: tuple[SaidSeen, ...] = ()
    gist: tuple[tuple[str, str], ...] = ()
    """What its page says first by section; none for one from before the record kept that."""


@asked
def last_handover(db: sqlite3.Connection) -> HandoverSeen | None:
    """The newest handover given, None before the first."""
    row = db.execute(
        f"""SELECT h.entry, h.text, e.observed_at, e.utc_offset, w.initials,
             te.observed_at, te.utc_offset, tw.initials, t.how, t.entry
           FROM handover h JOIN entry e ON e.n = h.entry JOIN person w ON w.id = e.who
           LEFT JOIN handover t ON t.given = h.entry AND t.event = 'take'
             AND {_STANDS.format(n="t.entry")}
           LEFT JOIN entry te ON te.n = t.entry LEFT JOIN person tw ON tw.id = te.who
           WHERE h.event = 'give' AND {_STANDS.format(n="h.entry")}
           ORDER BY h.entry DESC, t.entry LIMIT 1"""
    ).fetchone()
    if row is None:
        return None
    gist = db.execute("SELECT section, text FROM handover_gist WHERE entry = ?", row[:1])
    given = HandoverSeen(
        row[0], row[1], Instant(row[2], row[3]), row[4], None, None, None, (), tuple(gist)
    )
    if row[5] is None:
        return given
    said = db.execute(
        "SELECT question, answer, tries FROM said_back WHERE entry = ? ORDER BY question",
        (row[9],),
    )
    return given._replace(
        taken=Instant(row[5], row[6]),
        taken_by=row[7],
        how=row[8],
        said=tuple(SaidSeen(*one) for one in said),
    )


@asked
def last_taken(db: sqlite3.Connection, before: int = NO_LIMIT) -> int:
    """The newest handover given before entry `before` that was taken; 0 before the first."""
    row = db.execute(
        "SELECT max(t.given) FROM handover t WHERE t.event = 'take' AND t.given < ?"
        f" AND {_STANDS.format(n='t.entry')}",
        (before,),
    ).fetchone()
    return int(row[0] or 0)


class Untaken(NamedTuple):
    """A handover that nobody took before the next one was given (`then`, its entry)."""

    n: int
    at: Instant
    who: str
    then: int


@asked
def never_taken(db: sqlite3.Connection, since: int) -> list[Untaken]:
    """Handovers given since a UTC second that another one followed before anybody took them."""
    stands = _STANDS.format(n="h.entry")
    taken = {
        n
        for (n,) in db.execute(
            f"SELECT h.given FROM handover h WHERE h.event = 'take' AND {stands}"
        )
    }
    given = db.execute(
        f"""SELECT h.entry, e.observed_at, e.utc_offset, w.initials
           FROM handover h CROSS JOIN entry e ON e.n = h.entry CROSS JOIN person w ON w.id = e.who
           WHERE h.event = 'give' AND e.observed_at >= ? AND {stands} ORDER BY h.entry""",
        (since,),
    ).fetchall()
    return [
        Untaken(n, Instant(at, offset), who, after[0])
        for (n, at, offset, who), after in pairwise(given)
        if n not in taken
    ]


WORDS = "handover: "
"""How the reason of a note begins that belongs to a handover; what follows says to which part."""


def for_handover(note: NoteSeen) -> bool:
    """Whether a note holds words for a handover, and is none of a round."""
    return (note.reason or "").startswith(WORDS)


class HandoverWords(NamedTuple):
    """A person's own words for a handover; `part` is a section, or what else they are."""

    n: int
    part: str
    text: str
    at: Instant
    who: str


@asked
def handover_words(db: sqlite3.Connection, after: int) -> list[HandoverWords]:
    """Words for handovers entered after entry `after` that stand, oldest first."""
    sql = f"""
      SELECT t.entry, substr(e.reason, {len(WORDS) + 1}), t.text, e.observed_at, e.utc_offset,
        w.initials
      FROM note t CROSS JOIN entry e ON e.n = t.entry CROSS JOIN person w ON w.id = e.who
      WHERE t.entry > ? AND e.reason GLOB '{WORDS}*' AND {_STANDS.format(n="t.entry")}
      ORDER BY t.entry"""
    return [
        HandoverWords(n, part, words, Instant(at, offset), who)
        for n, part, words, at, offset, who in db.execute(sql, (after,))
    ]
