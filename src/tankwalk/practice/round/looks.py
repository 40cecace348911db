"""A look: a small round of one place and a few items, that signs itself with its last value."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.readings import Seen
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.plan.model import Plan
from tankwalk.practice.incidents.looking import measured_with
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round import agenda
from tankwalk.practice.round.agenda import Agenda, Slot
from tankwalk.practice.round.questions import Reply
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import SITE, Site

Asked = tuple[tuple[str, str], ...]
"""What a look reads, by place and item code."""

RESUMED_MIN = 30
"""A look that was begun and not ended is taken up so long; then a new one begins. Common
practice, no source."""


def places(plan: Plan) -> tuple[str, ...]:
    """Where one can look: the tanks, the loops, the site."""
    return (*(t.code for t in plan.tanks), *(one.code for one in plan.loops), SITE)


def asked_at(site: Site, place: str, items: Sequence[str] = ()) -> Asked:
    """What a look at a place reads: the items named by code or label, else all that a round asks.

    Refusal for a place or an item that the plan does not have there.
    """
    plan = site.plan
    if place not in places(plan):
        known = ", ".join(places(plan))
        raise Refusal(f"{place[:12]!r} is no place of the plan ({known}).")
    day = site.now().day
    there: dict[str, str] = {}
    for checklist in plan.checklists:
        codes = (*checklist.tank, *((checklist.glance,) if checklist.glance else ()))
        if plan.find_tank(place) is None:
            codes = checklist.site if place == SITE else checklist.loop
        for code in codes:
            tank = plan.find_tank(place)
            if tank is None or plan.item(code).asked_at(plan.age(tank, day)):
                there[code] = plan.item(code).label
    if not items:
        first = plan.find_tank(place) is None or len(there) == 1
        glances = {one.glance for one in plan.checklists} if not first else set()
        return tuple((place, code) for code in there if code not in glances)
    found = []
    for name in items:
        code = next(
            (
                c
                for c, label in there.items()
                if name.casefold() in (c.casefold(), label.casefold())
            ),
            None,
        )
        if code is None:
            raise Refusal(f"{name[:20]!r} is not asked at {place} ({', '.join(there)}).")
        found.append((place, code))
    return tuple(dict.fromkeys(found))


def begin(site: Site, asked: Asked, who: str) -> RoundSeen:
    """Open a look, or take up the same one that was begun minutes ago and not ended."""
    now, who = site.now(), site.signs(who)
    place, words = asked[0][0], _words(asked)
    with site.ledger.writing() as ledger:
        since = now.utc - RESUMED_MIN * 60
        for one in reversed(ledger.reader.incidents.looks(since)):
            if one.place == place and " ".join(one.items) == words and one.signed is None:
                return RoundSeen(one.number, one.first, agenda.LOOK.code, one.who, one.opened,
                                 None, None)  # fmt: skip
        number = ledger.reader.rounds.next_number()
        n = _record(site, now, who, number, place, "open", words)
    return RoundSeen(number, n, agenda.LOOK.code, who, now, None, None)


def _words(asked: Asked) -> str:
    """The items as the record keeps them: their codes, with the place where it is another."""
    place = asked[0][0]
    return " ".join(code if at == place else f"{code}@{at}" for at, code in asked)


def _record(
    site: Site, now: Instant, who: str, number: int, place: str, event: str, items: str
) -> int:
    from tankwalk.ledger.entries import Entry, Look

    entry = Entry("look", who, now, now, place, round=number)
    return site.record(entry, Look(number, event, items))


A_LITTLE = 0.1
"""A value further out by more than this part of the last one is measured a second time. Common
practice, no source."""


class LookWalk(Walk):
    """One person who looks at a place again; what they answer is judged as in any round.

    A value that is no worse than the last one asks for no second reading: it was believed before.
    """

    def __init__(self, site: Site, asked: Asked, who: str) -> None:
        self.asked = asked
        found = begin(site, asked, who)
        self._known: dict[tuple[str, str], Seen | None] = {}
        for place, code in asked:
            item = site.plan.item(code)
            known = site.reader.readings.newest(place, code, item.unit, found.first)
            self._known[place, code] = known
        super().__init__(site, found, who)

    def made_agenda(self) -> Agenda:
        """What was out of band last comes first, the worst of it; then the order of the plan."""
        first = sorted(self.asked, key=self._mildness)
        return agenda.look(self.site.plan, tuple(first), self.round.opened.day)

    def _mildness(self, one: tuple[str, str]) -> int:
        known = self._known[one]
        return 0 if known is None or known.flag < Flag.WATCH else -known.flag

    def signature(self) -> tuple[str, Instant] | None:
        for one in self.site.reader.incidents.looks(self.round.opened.utc):
            if one.number == self.round.number and one.signed is not None:
                return one.signed_by or "", one.signed
        return None

    def pending(self, slot: Slot) -> bool:
        known = self._known.get((slot.place, slot.item.code))
        here = self.of(slot)
        return super().pending(slot) and (known is None or _worse(slot, here[-1], known))

    def answer(self, typed: str) -> Reply:
        reply = super().answer(typed)
        if not self.signed and not self.open_slots() and not any(map(self.pending, self.slots)):
            said = self._safely(self._sign)
            return reply if self.signed else said
        return reply

    def _handed(self, who: str) -> None:
        """A look is not taken up by an entry of its own: each value has its initials."""

    def raised(self) -> Key | None:
        """The worst flag that stands for what was looked at."""
        newest = self.site.reader.readings.newest_of_all()
        here = {(place, one) for place, code in self.asked for one in measured_with(code)}
        wrong = wrong_now(self.site, newest, self.site.now()).wrong
        return next(
            (
                one.key
                for one in wrong
                if any((place, one.key.item) in here for place in (one.place, *one.places))
            ),
            None,
        )

    def read(self) -> tuple[tuple[Slot, Seen], ...]:
        """What the look holds: the newest of each line it asked."""
        return tuple((slot, self.of(slot)[-1]) for slot in self.slots if self.of(slot))

    def _sign(self) -> Reply:
        """The look is over: it signs itself, in the name of the one who looked."""
        now = self.site.now()
        with self.site.ledger.writing():
            self.look_up()
            words = _words(self.asked)
            _record(self.site, now, self.who, self.round.number, self.asked[0][0], "sign", words)
        self.signed = True
        return self.said


def _worse(slot: Slot, seen: Seen, known: Seen) -> bool:
    """Whether a value is out of band further than the one that is known, by more than a little."""
    if seen.flag > known.flag or seen.value is None or known.value is None:
        return True
    limits = None if slot.band is None else slot.band.limits
    low = None if limits is None else limits.watch_below
    below = low is not None and seen.value < low
    further = known.value - seen.value if below else seen.value - known.value
    return further > A_LITTLE * abs(known.value)
