"""When what is out of band is looked at again: minutes by level, counted from the last look."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.plan.derived import BY_CODE, Derivation
from tankwalk.plan.model import MASS_EVENT, RESPONSE, Item, Plan
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.standing import mass_events
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.verdict import Flag


def minutes(plan: Plan, item: Item, flag: Flag) -> float | None:
    """How many minutes after a look the next one is due; None below WATCH."""
    if flag < Flag.WATCH:
        return None
    field = {Flag.WATCH: 0, Flag.ACT: 1, Flag.URGENT: 2}[flag]
    own = item.looks[field]
    return plan.looks[field] if own is None else own


def due(
    plan: Plan, one: Standing, newest: dict[tuple[str, str], Seen], now: Instant
) -> Instant | None:
    """When a flag is looked at again; None for a shelved one, and for that of a meter.

    It counts from the newest look at any of its places. What was in band once already may wait as
    long as what is a level milder; how fish go for their feed is seen at the next meal.
    """
    item = plan.find_item(one.key.item)
    if item is None or one.state == "shelved" or one.key.kind == "meter":
        return None
    flag = one.flag
    if one.state != "standing" and flag > Flag.WATCH:
        flag = Flag(flag - 1)
    if one.rule is Rule.AHEAD:
        flag = max(flag, Flag.ACT)  # it may be through its limit long before a WATCH is looked at
    wait = minutes(plan, item, flag)
    if wait is None:
        return None
    looks = asked(plan, one) if item is MASS_EVENT else [(at, item.code) for at in one.places]
    here = [newest[look] for look in looks if look in newest]
    if item is MASS_EVENT:
        here = [seen for seen in here if seen.at.utc > one.at.utc]
    last = max((seen.at for seen in here), default=one.at)
    # Nobody was late for a look before what calls for it was typed in from paper.
    known = max((seen.at.utc + seen.late_s for seen in here if seen.typist), default=0)
    if item.code == RESPONSE and plan.meals:
        from tankwalk.practice.feeding import meals

        return meals.meal_after(plan, last)
    return Instant(max(last.utc + round(wait * 60), known), now.offset)


def asked(plan: Plan, one: Standing) -> tuple[tuple[str, str], ...]:
    """What is read to look at a flag again, by place and item; of what is worked out, its parts."""
    if one.key.item == MASS_EVENT.code:
        return mass_events.asked(plan, one.seen.place)
    if one.key.item in BY_CODE:
        from tankwalk.practice.workings.parts import part_places

        parts = part_places(plan, plan.item(one.key.item), one.seen.place)
        return tuple(_telling(parts))
    return ((one.seen.place, one.key.item),)


def measured_with(code: str) -> frozenset[str]:
    """Items that one measurement tells: the item, what is worked out from it, or its parts."""
    worked = {one for one, derivation in BY_CODE.items() if code in _codes(derivation)}
    parts = _codes(BY_CODE[code]) if code in BY_CODE else set()
    return frozenset({code, *worked, *parts})


def _codes(derivation: Derivation) -> set[str]:
    """The telling parts of what is worked out."""
    return {code for _, code in _telling(derivation.parts)}


def _telling(parts: Sequence[tuple[str, str]]) -> Sequence[tuple[str, str]]:
    """The parts that a value is about; the temperature only helps to work it out."""
    return [part for part in parts if part[1] != "temp"] or parts
