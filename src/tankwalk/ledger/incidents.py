"""Questions about incidents: what was done about a flag, calls, and looks at one place."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.picture import further_back
from tankwalk.ledger.questions import Questions, back_to, stands
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple


class DoneSeen(NamedTuple):
    """What a person did about a flag; `step` is its number in the item's list, None for words.

    `flagged` is the entry of the reading that stood behind the flag then.
    """

    n: int
    place: str
    item: str
    step: int | None
    text: str
    flagged: int | None
    at: Instant
    who: str


class CallSeen(NamedTuple):
    """A call about a place: whom, at which number, whether reached, and what was said."""

    n: int
    place: str
    item: str | None
    whom: str
    phone: str
    reached: bool
    said: str
    at: Instant
    who: str


class LookSeen(NamedTuple):
    """A look at some items of a place: its number, its opening entry, and when it was signed."""

    number: int
    first: int
    place: str
    items: tuple[str, ...]
    who: str
    opened: Instant
    signed: Instant | None
    signed_by: str | None


class IncidentQuestions(Questions):
    """What people did about flags; newest first each, as there are few in a season."""

    @reads_record
    def done(self, since: int) -> list[DoneSeen]:
        """What was done about flags since a UTC second, oldest first."""
        found = further_back(self.db, "done", since, self._done)
        return [one for one in found if one.at.utc >= since]

    def _done(self, since: int) -> list[DoneSeen]:
        sql = f"""
          SELECT d.entry, (SELECT code FROM place WHERE id = e.place),
            (SELECT code FROM item WHERE id = e.item), d.step, d.text, d.flagged,
            e.observed_at, e.late_s, e.utc_offset, (SELECT initials FROM person WHERE id = e.who)
          FROM done d CROSS JOIN entry e ON e.n = d.entry
          WHERE {stands("d.entry")} ORDER BY d.entry DESC"""
        return [
            DoneSeen(n, place, item, step, text, flagged, Instant(at, offset), who)
            for n, place, item, step, text, flagged, at, _, offset, who in back_to(
                self.db.execute(sql), since, 6
            )
        ][::-1]

    @reads_record
    def calls(self, since: int) -> list[CallSeen]:
        """Calls since a UTC second, oldest first."""
        sql = f"""
          SELECT c.entry, (SELECT code FROM place WHERE id = e.place),
            (SELECT code FROM item WHERE id = e.item), c.whom, c.phone, c.reached, c.said,
            e.observed_at, e.late_s, e.utc_offset, (SELECT initials FROM person WHERE id = e.who)
          FROM call c CROSS JOIN entry e ON e.n = c.entry
          WHERE {stands("c.entry")} ORDER BY c.entry DESC"""
        return [
            CallSeen(n, place, item, whom, phone, bool(ok), said or "", Instant(at, offset), who)
            for n, place, item, whom, phone, ok, said, at, _, offset, who in back_to(
                self.db.execute(sql), since, 7
            )
        ][::-1]

    @reads_record
    def looks(self, since: int) -> list[LookSeen]:
        """Looks opened since a UTC second, oldest first, signed or not."""
        sql = f"""
          SELECT l.number, l.entry, (SELECT code FROM place WHERE id = e.place), l.items,
            (SELECT initials FROM person WHERE id = e.who), e.observed_at, e.late_s, e.utc_offset,
            se.observed_at, se.utc_offset, (SELECT initials FROM person WHERE id = se.who)
          FROM look l CROSS JOIN entry e ON e.n = l.entry
          LEFT JOIN look s ON s.entry = (SELECT min(x.entry) FROM look x INDEXED BY look_number
            WHERE x.number = l.number AND x.event = 'sign' AND {stands("x.entry")})
          LEFT JOIN entry se ON se.n = s.entry
          WHERE l.event = 'open' AND {stands("l.entry")} ORDER BY l.entry DESC"""
        found = []
        for number, n, place, items, who, at, _, offset, done, done_offset, by in back_to(
            self.db.execute(sql), since, 5
        ):
            signed = None if done is None else Instant(done, done_offset)
            opened = Instant(at, offset)
            found.append(LookSeen(number, n, place, tuple(items.split()), who, opened, signed, by))
        return found[::-1]
