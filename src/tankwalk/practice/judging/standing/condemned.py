"""What a failed check took back: looks of that meter, what was worked out from them, their flags.

The flags of condemned looks stand no more. Until their tanks have been read again nobody knows how
the water is, and that is one line, which names the meter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.flags import Flagged
from tankwalk.ledger.meters import MarkSeen
from tankwalk.ledger.readings import Seen, Taken, ValueSeen
from tankwalk.plan.derived import BY_CODE
from tankwalk.practice.meters.suspects import mark_of
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.text import named


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
            self._learn(_taken(one) for one in several)

    def learn_looks(self, several: Mapping[tuple[str, str], Sequence[ValueSeen]]) -> None:
        """Find out about looks by place and item at once."""
        if self.marks:
            self._learn(_look(item, one) for (_, item), looks in several.items() for one in looks)

    def of(self, seen: Seen) -> MarkSeen | None:
        """The mark that condemns a reading, by itself or by a part of it; None where it counts."""
        self.learn([seen])
        return self._known.get(seen.n)

    def counting(self, item: str, looks: Sequence[ValueSeen]) -> list[ValueSeen]:
        """Of looks at an item those that count."""
        if not self.marks:
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

    def unread(
        self,
        rows: Iterable[Flagged],
        taken_back: Mapping[int, MarkSeen],
        newest: dict[tuple[str, str], Seen],
    ) -> list[Unread]:
        """For each failed check whose looks had raised flags, the tanks it leaves unknown."""
        found: dict[int, list[Flagged]] = {}
        for row in rows:
            if row.n in taken_back:
                found.setdefault(taken_back[row.n].n, []).append(row)
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
            behind = self.site.reader.readings.seen(max(row.n for row in here))
            if behind is not None:
                made.append(Unread(mark, tanks, behind, min(row.at for row in here)))
        return made


def _taken(one: Seen) -> Taken:
    return Taken(one.n, one.item, one.at.utc, one.instrument)


def _look(item: str, one: ValueSeen) -> Taken:
    return Taken(one.n, item, one.at, one.instrument)


def words(site: Site, one: Unread, now: Instant) -> str:
    """What is not known: "oxygen meter B failed its check 10:10: Oxygen of T04 is not known"."""
    meter = next((m for m in site.plan.instruments if m.code == one.mark.instrument), None)
    name = f"{meter.kind if meter is not None else 'meter'} {one.mark.instrument}"
    item = site.plan.find_item(one.mark.item)
    label = one.mark.item if item is None else item.label
    when = one.mark.at.told(now)
    return f"{name} failed its check {when}: {label} of {named(one.tanks)} is not known"


DO = "Read them again with a meter that passed its check."
"""What is done first about tanks that only a condemned look had told of."""
