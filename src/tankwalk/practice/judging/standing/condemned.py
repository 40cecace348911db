"""What a failed check took back: looks of that meter, what was worked out from them, their flags.

The flags of condemned looks stand no more. Until their tanks have been read again nobody knows how
the water is, and that is one line, which names the meter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.flags import Flagged
from tankwalk.ledger.meters import MarkSeen
from tankwalk.ledger.readings import Seen, ValueSeen
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
    """Answers which looks are condemned; marks are read once, and few sites have any."""

    def __init__(self, site: Site, since: int) -> None:
        self.site = site
        self.marks = site.reader.meters.marks(since)
        self._known: dict[int, MarkSeen | None] = {}

    def _by_parts(self, item: str, n: int, at: int) -> MarkSeen | None:
        """The mark of a part that a value was worked out from."""
        derivation = BY_CODE.get(item)
        codes = set() if derivation is None else {code for _, code in derivation.items}
        reach = int(3600 * self.site.plan.parts_age_hours)
        if not any(m.item in codes and m.since <= at <= m.until + reach for m in self.marks):
            return None
        working = self.site.reader.readings.working(n)
        for part in () if working is None else working.parts.values():
            seen = self.site.reader.readings.seen(part)
            mark = None if seen is None else self.of(seen)
            if mark is not None:
                return mark
        return None

    def mark(self, item: str, n: int, at: int, meter: str | None) -> MarkSeen | None:
        """The mark that condemns a look, by itself or by a part of it; None for one that counts."""
        if not self.marks:
            return None
        if n not in self._known:
            own = mark_of(self.marks, meter, item, at)
            self._known[n] = own or self._by_parts(item, n, at)
        return self._known[n]

    def of(self, seen: Seen) -> MarkSeen | None:
        """The same, of a reading."""
        return self.mark(seen.item, seen.n, seen.at.utc, seen.instrument)

    def counting(self, item: str, looks: Sequence[ValueSeen]) -> list[ValueSeen]:
        """Of looks at an item those that count."""
        if not self.marks:
            return list(looks)
        return [one for one in looks if self.mark(item, one.n, one.at, one.instrument) is None]

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
