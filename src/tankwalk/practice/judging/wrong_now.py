"""What is wrong now: flags that stand, one line for what tanks of a loop share, worst first."""

from __future__ import annotations

from typing import NamedTuple

from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import Item, Level, Plan
from tankwalk.plan.walking_order import walking_order
from tankwalk.practice.judging import flags
from tankwalk.practice.judging.flags import Key, Standing
from tankwalk.practice.judging.rules import Shared, is_shared
from tankwalk.practice.judging.verdict import Flag, spread_words, value_words
from tankwalk.practice.site import Site


class Flags(NamedTuple):
    """Flags that stand and are seen, and those that somebody put on the shelf."""

    wrong: tuple[Standing, ...]
    shelved: tuple[Standing, ...]


def wrong_now(site: Site, newest: dict[tuple[str, str], Seen], now: Instant) -> Flags:
    """Flags that stand, worst first and then in walking order; those on the shelf apart."""
    plan = site.plan
    order = {t.code: i for i, t in enumerate(walking_order(plan, now.day))}

    def rank(one: Standing) -> tuple[int, int, str]:
        return -one.flag, order.get(one.place, -1), one.sentence

    every = flags.standing(site, newest, now)
    seen = [w for w in every if w.state != "shelved" and not _said_elsewhere(plan, newest, w.seen)]
    return Flags(
        tuple(sorted(_by_loop(plan, newest, seen), key=rank)),
        tuple(sorted((w for w in every if w.state == "shelved"), key=rank)),
    )


def _said_elsewhere(plan: Plan, newest: dict[tuple[str, str], Seen], seen: Seen) -> bool:
    """Whether another line says it: one measurement is one message, the worse of the two.

    A derived value and a part of it at the same place are one measurement, while the derived one
    was worked out from it or from a later one.
    """
    for one in plan.items:
        if not one.derived:
            continue
        worked = newest.get((seen.place, one.code))
        if worked is None:
            continue
        parts = {code for _, code in BY_CODE[one.code].items}
        if seen.item in parts and worked.at >= seen.at and worked.flag > seen.flag:
            return True
        if seen.item == one.code:
            here = [newest.get((seen.place, code)) for code in parts]
            if any(p is not None and p.flag >= seen.flag and seen.at >= p.at for p in here):
                return True
    return False


def _by_loop(
    plan: Plan, newest: dict[tuple[str, str], Seen], wrong: list[Standing]
) -> list[Standing]:
    """What tanks of a loop share, as one message for the loop.

    At least three tanks that are out, and most of those that have the value (`is_shared`), are one
    cause; so is whatever was told to be one when it was read.
    """
    kept = list(wrong)
    for item in plan.items:
        if item.level is not Level.TANK or not item.kind.told_by_loop:
            continue
        for loop in plan.loops:
            tanks = [t.code for t in plan.tanks if t.loop == loop.code]
            here = [w for w in kept if w.key.item == item.code and w.place in tanks]
            have = [t for t in tanks if (t, item.code) in newest]
            told = [w for w in here if w.rule is not None and w.rule.shared is Shared.LOOP]
            many = is_shared(len(here), len(have))
            if not many and not told:
                here = [w for w in here if w.shared]
            if not here:
                continue
            worst = max(here, key=lambda w: (w.flag, w.seen.value or 0.0))
            words = max(told, key=lambda w: w.at).sentence if told else None
            one = worst._replace(
                key=Key("loop", loop.code, item.code),
                place=loop.code,
                sentence=words or _loop_words(plan, item, newest, loop.code, here, len(have)),
                raised=min(w.raised for w in here),
                at=max(w.at for w in here),
                tanks=tuple(w.place for w in here),
                state=min((w.state for w in here), key=lambda state: state != "standing"),
            )
            kept = [w for w in kept if w not in here] + [one]
    return kept


def _loop_words(
    plan: Plan,
    item: Item,
    newest: dict[tuple[str, str], Seen],
    loop: str,
    here: list[Standing],
    have: int,
) -> str:
    values = spread_words(item, [w.seen for w in here])
    if all(w.state != "standing" for w in here):
        return f"{item.label} in band once in {len(here)} of {have} tanks, was {values}"
    words = f"{item.label} {values}, {len(here)} of {have} tanks"
    shared = _shared_part(plan, item)
    part = shared and newest.get((loop, shared.code))
    if shared and part is not None and part.flag < Flag.WATCH:
        words += f"; {shared.label} {value_words(shared, part)} in band"
    return words


def _shared_part(plan: Plan, item: Item) -> Item | None:
    """The part of a derived item that is read once for the whole loop."""
    if not item.derived:
        return None
    codes = {code for _, code in BY_CODE[item.code].parts}
    return next((i for i in plan.items if i.code in codes and i.level is Level.LOOP), None)
