"""What a failed check took back: looks of that meter, what was worked out from them, their flags.

The flags of condemned looks stand no more. Until their tanks have been read again nobody knows how
the water is, and that is one line, which names the meter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.flags import TurnSeen
from tankwalk.ledger.meters import MarkSeen
from tankwalk.ledger.readings import Seen, Taken, ValueSeen
from tankwalk.plan.derived import BY_CODE
from tankwalk.practice.meters.suspects import mark_of
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.text import named

AGREEING = 64
"""Looks back in which others are looked for that say the same as what a failed check took back."""


class Raised(NamedTuple):
    """A flag that a failed check took back: the mark, the newest look behind the flag, and when."""

    mark: MarkSeen
    behind: int
    at: Instant


class Unread(NamedTuple):
    """Tanks of which a condemned look is the newest, where one of them had raised a flag.

    `behind` is the newest look that had raised one, `first` when the oldest was.
    """

    mark: MarkSeen
    tanks: tuple[str, ...]
    behind: Seen
    first: Instant


class Condemned:
    """Answers which looks are condemned; marks are read once, and few sites have any.

    Whoever asks about many has them learned together first: what they were worked out from is then
    one question.
    """

    def __init__(self, site: Site, since: int) -> None:
        self.site = site
        self.marks = site.reader.meters.marks(since)
        self._known: dict[int, MarkSeen | None] = {}
        self._items = {mark.item for mark in self.marks}
        """Items that were read by what failed, and those worked out from them: no others ask."""
        for code, derivation in BY_CODE.items() if self.marks else ():
            if any(part in self._items for _, part in derivation.items):
                self._items.add(code)

    def _may_by_parts(self, one: Taken) -> bool:
        """Whether a part that a value was worked out from may be condemned."""
        derivation = BY_CODE.get(one.item)
        codes = set() if derivation is None else {code for _, code in derivation.items}
        reach = int(3600 * self.site.plan.parts_age_hours)
        return any(m.item in codes and m.since <= one.at <= m.until + reach for m in self.marks)

    def _learn(self, several: Iterable[Taken]) -> None:
        """Find the mark of each look: its own, else that of a part of it."""
        worked = []
        for one in several:
            if one.n in self._known:
                continue
            own = mark_of(self.marks, one.instrument, one.item, one.at)
            self._known[one.n] = own
            if own is None and self._may_by_parts(one):
                worked.append(one.n)
        if not worked:
            return
        parts = self.site.reader.readings.parts_of(worked)
        self._learn(part for those in parts.values() for part in those)
        for n in worked:
            marks = (self._known[part.n] for part in parts.get(n, ()))
            self._known[n] = next((mark for mark in marks if mark is not None), None)

    def learn(self, several: Iterable[Seen]) -> None:
        """Find out about many readings at once."""
        if self.marks:
            self._learn(_taken(one) for one in several if one.item in self._items)

    def learn_looks(self, several: Mapping[tuple[str, str], Sequence[ValueSeen]]) -> None:
        """Find out about looks by place and item at once."""
        if self.marks:
            those = ((item, looks) for (_, item), looks in several.items() if item in self._items)
            self._learn(_look(item, one) for item, looks in those for one in looks)

    def of(self, seen: Seen) -> MarkSeen | None:
        """The mark that condemns a reading, by itself or by a part of it; None where it counts."""
        if seen.item in self._items and seen.n not in self._known:
            self.learn([seen])
        return self._known.get(seen.n)

    def counting(self, item: str, looks: Sequence[ValueSeen]) -> list[ValueSeen]:
        """Of looks at an item those that count."""
        if item not in self._items:
            return list(looks)
        self._learn(_look(item, one) for one in looks)
        return [one for one in looks if self._known[one.n] is None]

    def taken_back(self, since: int) -> dict[int, MarkSeen]:
        """Flagged readings that are condemned, by their entry, each with its mark."""
        if not self.marks:
            return {}
        reach = int(3600 * self.site.plan.parts_age_hours)
        known = {mark.n: mark for mark in self.marks}
        found = self.site.reader.meters.condemned(since, reach)
        return {n: known[mark] for n, mark in found.items() if mark in known}

    def turns_taken_back(self, turns: Sequence[TurnSeen], now: Instant) -> dict[int, Raised]:
        """Turns of whole rounds that raised a flag on condemned looks alone, by their entry.

        Whole rounds tell once of what they go on to find: a later look that counts and was flagged
        too bears it out, until the next turn of that flag, or until the check failed.
        """
        asked = [t for t in turns if t.event == "raise" and t.round and self._reaches(t)]
        if not asked:
            return {}
        units = {item.code: item.unit for item in self.site.plan.items}
        pairs = {(p, t.item, units[t.item]) for t in asked if t.item in units for p in t.places}
        every = self.site.reader.readings.looks_of(sorted(pairs), AGREEING, now.utc)
        self.learn_looks(every)
        found = {}
        for turn in asked:
            looks = [one for place in turn.places for one in every.get((place, turn.item), ())]
            own = [k for k in looks if k.round == turn.round]
            marks = [mark for k in own if (mark := self._known.get(k.n)) is not None]
            if not own or len(marks) < len(own):
                continue
            mark = max(marks, key=lambda one: one.n)
            about = (turn.kind, turn.code, turn.item)
            later = (t.n for t in turns if t.n > turn.n and (t.kind, t.code, t.item) == about)
            until = min(mark.n, next(later, mark.n))
            bears_out = any(
                turn.n < k.n < until and k.flag and self._known.get(k.n) is None for k in looks
            )
            if not bears_out:
                found[turn.n] = Raised(mark, max(k.n for k in own), turn.at)
        return found

    def _reaches(self, turn: TurnSeen) -> bool:
        """Whether a mark may condemn looks of the round of a turn."""
        derivation = BY_CODE.get(turn.item)
        codes = set() if derivation is None else {code for _, code in derivation.items}
        codes.add(turn.item)
        return any(m.item in codes and m.since <= turn.at.utc and turn.n < m.n for m in self.marks)

    def unread(self, raised: Iterable[Raised], newest: dict[tuple[str, str], Seen]) -> list[Unread]:
        """For each failed check whose looks had raised flags, the tanks it leaves unknown."""
        found: dict[int, list[Raised]] = {}
        for one in raised:
            found.setdefault(one.mark.n, []).append(one)
        made = []
        for mark in self.marks:
            here = found.get(mark.n, [])
            last_of = [(t.code, newest.get((t.code, mark.item))) for t in self.site.plan.tanks]
            tanks = tuple(
                code
                for code, last in last_of
                if last is not None
                and mark_of([mark], last.instrument, last.item, last.at.utc) is not None
            )
            if not here or not tanks:
                continue
            behind = self.site.reader.readings.seen(max(one.behind for one in here))
            if behind is not None:
                made.append(Unread(mark, tanks, behind, min(one.at for one in here)))
        return made


def _taken(one: Seen) -> Taken:
    return Taken(one.n, one.item, one.at.utc, one.instrument)


def _look(item: str, one: ValueSeen) -> Taken:
    return Taken(one.n, item, one.at, one.instrument)


def words(site: Site, one: Unread, now: Instant) -> str:
    """What is not known: "oxygen meter B failed its check 10:10: Oxygen of T04 is not known".

    Once it passed again: "oxygen meter B passed its check 10:40: read Oxygen of T04 again".
    """
    meter = next((m for m in site.plan.instruments if m.code == one.mark.instrument), None)
    name = f"{meter.kind if meter is not None else 'meter'} {one.mark.instrument}"
    item = site.plan.find_item(one.mark.item)
    label = one.mark.item if item is None else item.label
    when = one.mark.at.told(now)
    passed = site.reader.meters.newest_passes([one.mark.instrument]).get(one.mark.instrument, 0)
    if passed >= one.mark.at.utc:
        again = Instant(passed, now.offset).told(now)
        said = f"{name} passed its check {again}: read {label} of {named(one.tanks)} again"
        return f"{said}, it had failed {when}"
    return f"{name} failed its check {when}: {label} of {named(one.tanks)} is not known"


DO = "Read them again with a meter that passed its check."
"""What is done first about tanks that only a condemned look had told of."""
