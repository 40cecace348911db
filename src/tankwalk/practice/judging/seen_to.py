"""What people saw to already: flags closed, meters checked, what was altered on purpose."""

from __future__ import annotations

import re
from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.flags import Done
from tankwalk.ledger.follow_up_kinds import FollowUpWhat
from tankwalk.ledger.follow_ups import FollowUpSeen
from tankwalk.plan.model import Item
from tankwalk.practice.judging.given import APART_S
from tankwalk.practice.judging.model.looks import Part, Suspect
from tankwalk.practice.judging.rules import FEWEST_TANKS, Shared, recorded
from tankwalk.practice.site import Site

SEEN_TO_DAYS = 30
"""How far back it counts that a change was seen to."""
SEEN_TO_CHECKS = 3 * SEEN_TO_DAYS
"""So many checks of a meter are gone through for that: one before every round."""
ENTERED_HOURS = 12.0
"""What was altered is entered so long after it shows, at most. Common practice, no source."""


class SeenTo:
    """Asked of the record once a round."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self._checks: dict[str, list[int]] = {}
        self._altered: list[FollowUpSeen] | None = None

    def anew(self, now: Instant) -> dict[Suspect, dict[str, int]]:
        """From which UTC second on the looks of a part count, by item code."""
        reader, plan = self.site.reader, self.site.plan
        since = now.utc - SEEN_TO_DAYS * 86400
        found: dict[Suspect, dict[str, int]] = {}
        closed = [one for one in reader.flags.done(since) if one.event == "close"]
        for one in closed:
            part = Suspect(Part.TANK, one.place)
            if one.instrument is not None:
                part = Suspect(Part.METER, one.instrument)
            found.setdefault(part, {})[one.item] = one.at.utc
        for loop in plan.loops:
            mates = {tank.code for tank in plan.tanks if tank.loop == loop.code}
            for one in closed:
                if _together(one, closed, mates):
                    found.setdefault(Suspect(Part.LOOP, loop.code), {})[one.item] = one.at.utc
        named = []
        for row in reader.flags.flagged(since, now.utc):
            rule = recorded(row.rule)
            if rule is None or rule.shared is not Shared.METER:
                continue
            seen = reader.readings.seen(row.n)
            if seen is not None and seen.instrument is not None:
                named.append((seen.instrument, row.item, row.at.utc))
        turns = reader.flags.turns(since)
        named += [(turn.code, turn.item, turn.at.utc) for turn in turns if turn.kind == "meter"]
        for meter, code, at in named:
            if (passed := self._passed_after(meter, at)) is not None:
                of = found.setdefault(Suspect(Part.METER, meter), {})
                of[code] = max(of.get(code, 0), passed)
        return found

    def _passed_after(self, meter: str, at: int) -> int | None:
        """When a meter that was named first passed its check after that, None for not yet.

        Not when it passed last: one that is checked every morning would count anew every morning.
        """
        if meter not in self._checks:
            checks = self.site.reader.meters.checks(meter, SEEN_TO_CHECKS)
            self._checks[meter] = [one.at.utc for one in checks if one.passed]
        return min((one for one in self._checks[meter] if one > at), default=None)

    def altered(self, place: str, item: Item, since: int) -> FollowUpSeen | None:
        """What stands altered at a place and explains a change of an item since a UTC second.

        It names the item, or a number in its unit, and was entered not long after the change began.
        """
        if self._altered is None:
            every = self.site.reader.follow_ups.open()
            self._altered = [one for one in every if one.what is FollowUpWhat.ALTERED]
        late = since + int(3600 * ENTERED_HOURS)
        here = (one for one in self._altered if one.place == place and one.at.utc <= late)
        return next((one for one in here if names(one.text, item)), None)


def names(words: str, item: Item) -> bool:
    """Whether words say something of an item: its label, or a number in its unit."""
    said = words.casefold()
    if re.search(rf"\b{re.escape(item.label.casefold())}\b", said):
        return True
    unit = re.escape(item.unit.casefold())
    return bool(unit) and re.search(rf"\d\s*{unit}(?!\w)", said) is not None


def _together(one: Done, closed: Sequence[Done], mates: set[str]) -> bool:
    """Whether flags of so many tanks of a loop were closed with this one."""
    same = {
        other.place
        for other in closed
        if other.item == one.item and abs(other.at.utc - one.at.utc) < APART_S
    }
    return one.place in mates and len(same & mates) >= FEWEST_TANKS
