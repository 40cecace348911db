"""Questions about what stands: follow-ups with all that happened to them, and handovers.

Follow-ups and handovers are a handful a day, so their own tables are read whole; nothing here
walks through the readings.
"""

from __future__ import annotations

import sqlite3
from itertools import pairwise
from typing import NamedTuple

from tankwalk.clock import Instant
from tankwalk.ledger.queries import NO_LIMIT
from tankwalk.ledger.sqlite_errors import reads_record

_STANDS = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = {n})"

TASK = "task"
"""Rule of a follow-up that has none beside it."""

STANDING = ("new", "owned", "done")
"""States in which a follow-up is carried over; the others are "closed" and "dropped"."""


class Turn(NamedTuple):
    """One thing that happened to a follow-up: it was opened, passed on, done, closed, ..."""

    n: int
    event: str
    text: str
    at: Instant
    who: str


class FollowUpSeen(NamedTuple):
    """An open action, or something altered, as it stands.

    `state` is "new" (nobody's yet), "owned", "done" (said to be), "closed" or "dropped"; `at` and
    `who` are of its opening. `rule` is who may close it, `about` what it was drafted from. `turns`
    are all its entries that stand, oldest first.
    """

    opened: int
    what: str
    text: str
    owner: str | None
    place: str | None
    at: Instant
    who: str
    due_at: int | None
    state: str
    rule: str = TASK
    about: str | None = None
    done_by: str | None = None
    turns: tuple[Turn, ...] = ()

    @property
    def stands(self) -> bool:
        """Whether it is still carried over."""
        return self.state in STANDING


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
        turn = Turn(n, event, text, Instant(at, offset), who)
        if opened is None:
            state = "owned" if owner else "new"
            found[n] = FollowUpSeen(
                n, what, text, owner, place, turn.at, who, due, state, rule or TASK, about, None,
                (turn,),
            )  # fmt: skip
        elif opened in found:
            found[opened] = _after(found[opened], turn, owner, due)
    return found


def _after(one: FollowUpSeen, turn: Turn, owner: str | None, due: int | None) -> FollowUpSeen:
    """A follow-up after one more turn; what ended stays ended until it is reopened."""
    turns = (*one.turns, turn)
    if not one.stands and turn.event != "reopen":
        return one._replace(turns=turns)
    owner = owner or one.owner
    state, done_by = one.state, one.done_by
    if turn.event == "done":
        state, done_by = "done", turn.who
    elif turn.event in ("close", "drop"):
        state = {"close": "closed", "drop": "dropped"}[turn.event]
    elif turn.event == "reopen" or state != "done":
        state = "owned" if owner else "new"
        done_by = None
    return one._replace(
        owner=owner, due_at=due or one.due_at, state=state, done_by=done_by, turns=turns
    )


@reads_record
def follow_ups(db: sqlite3.Connection) -> list[FollowUpSeen]:
    """All follow-ups that are not closed or dropped, oldest first."""
    return [one for one in _folded(db).values() if one.stands]


@reads_record
def follow_up(db: sqlite3.Connection, opened: int) -> FollowUpSeen | None:
    """One follow-up by the entry that opened it, ended or not; None where there is none."""
    return _folded(db).get(opened)


@reads_record
def ended(db: sqlite3.Connection, since: int) -> list[FollowUpSeen]:
    """Follow-ups whose end was recorded since a UTC second, the newest end first."""
    over = [one for one in _folded(db).values() if not one.stands and _end(one).at.utc >= since]
    return sorted(over, key=lambda one: -_end(one).n)


def _end(one: FollowUpSeen) -> Turn:
    return next(t for t in reversed(one.turns) if t.event in ("close", "drop"))


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


@reads_record
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
    given = HandoverSeen(row[0], row[1], Instant(row[2], row[3]), row[4], None, None, None)
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


@reads_record
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


@reads_record
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


class HandoverWords(NamedTuple):
    """A person's own words for a handover; `part` is a section, or what else they are."""

    n: int
    part: str
    text: str
    at: Instant
    who: str


@reads_record
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
