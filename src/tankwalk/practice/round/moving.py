"""Values that were read in another tank: moved there by one act, and moved back by one."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.errors import Refusal
from tankwalk.ledger.readings import Seen
from tankwalk.practice.judging.standing.withdrawn import UNDONE
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.agenda import Slot, place_slot
from tankwalk.practice.round.progress import Progress
from tankwalk.practice.round.questions import (
    OF_THE_MENU,
    WRONG_TANK,
    AskMove,
    AskTank,
    Reply,
)
from tankwalk.practice.workings import deriving
from tankwalk.quantity import Quantity


def ask(walk: Progress, slot: Slot, typed: Quantity | None) -> Reply:
    """Which values belong to another tank: this one, or all that the stop holds?"""
    here = walk.filled_here()
    text = None if typed is None else typed.typed
    if len(here) < 2 or slot not in here:
        return walk.ask(AskTank(slot, text, whole=slot not in here))
    return walk.ask(AskMove(slot, text, len(here)))


def which(walk: Progress, asked: AskMove, typed: str) -> Reply:
    """This value, or the whole stop."""
    if typed not in ("1", "2"):
        return Reply(OF_THE_MENU, Flag.CHECK)
    return walk.ask(AskTank(asked.slot, asked.typed, whole=typed == "2"))


def to(walk: Progress, asked: AskTank, typed: str) -> Reply:
    """Move them to the place named, and stand where the round goes on."""
    target = _named(walk, asked.slot.place, typed)
    slots = walk.filled_here() if asked.whole else [asked.slot]
    moved = [seen for slot in slots for seen in walk.of(slot) if seen.value is not None]
    _move(walk, moved, target, WRONG_TANK)
    values = "1 value" if len(moved) == 1 else f"{len(moved)} values"
    said = f"{values} moved from {asked.slot.place} to {target}: {WRONG_TANK}. u moves all back."
    walk.stand(walk.where_it_ends())
    return Reply(said)


def back(walk: Progress, newest: Seen) -> Reply | None:
    """Undo a move as one act, where the newest entry is part of one; None where it is not."""
    if newest.reason != WRONG_TANK or newest.amends is None:
        return None
    of = walk.site.reader.readings.moved(walk.round.number, walk.round.first)
    mine = next((one for one in of if one.n == newest.n), None)
    if mine is None:
        return None
    act = [one for one in of if one[1:] == mine[1:]]
    every = (seen for here in walk.kept.values() for seen in here)
    here = {seen.n: seen for seen in every}
    again = [here[one.n] for one in act if one.n in here]
    _move(walk, again, mine.origin, UNDONE)
    walk.stand(walk.where_it_ends())
    values = "1 value" if len(again) == 1 else f"{len(again)} values"
    return Reply(f"Undone: {values} moved back from {mine.place} to {mine.origin}.")


def _named(walk: Progress, source: str, typed: str) -> str:
    """The tank or loop that is meant by its number or its code."""
    plan = walk.site.plan
    tanks = [tank.code for tank in plan.tanks]
    codes = tanks if source in tanks else [loop.code for loop in plan.loops]
    others = [code for code in codes if code != source]
    exact = [code for code in others if code.casefold() == typed.casefold()]
    numbers = [
        code for code in others if typed.isascii() and typed.isdecimal() and _is(code, typed)
    ]
    found = exact or numbers
    if len(found) == 1:
        return found[0]
    raise Refusal(f"{typed[:12] or 'Nothing'} names none of {others[0]} to {others[-1]}.")


def _is(code: str, typed: str) -> bool:
    digits = "".join(letter for letter in code if letter in "0123456789")
    return digits != "" and int(digits) == int(typed[:9])


def _move(walk: Progress, moved: Sequence[Seen], target: str, reason: str) -> None:
    """Enter values anew at another place, judged by its own band and past; all or none."""
    site, number = walk.site, walk.round.number
    with site.ledger.writing():
        walk.look_up()
        for seen in moved:
            item = site.plan.item(seen.item)
            slot = place_slot(site.plan, target, item, walk.agenda.day)
            last = site.reader.readings.newest(target, item.code, item.unit, walk.round.first)
            judged = walk.weighing.weigh(
                target, item, slot.band, seen.instrument, seen.value or 0.0, seen.typed, last,
                walk.kept, sure=True,
            )  # fmt: skip
            deriving.undone(site, seen.n, walk.who, number)
            kept = walk.keeping.moved(slot, seen, judged, reason)
            walk.taken_back(seen)
            if kept is not None:
                deriving.follow(site, kept._replace(amends=None), walk.who, number)
    walk.reload()
