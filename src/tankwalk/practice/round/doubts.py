"""A number in doubt: what it may mean, each with what it would mean, and the choice between them.

The easy keys choose nothing. A reading of the number that would clear or lower a flag is never
kept by choosing it: what was typed stands as the first reading, and it is measured again.
"""

from __future__ import annotations

from tankwalk.ledger.meters import CheckSeen
from tankwalk.practice.judging import verdict
from tankwalk.practice.judging.slips import Slip, SlipKind
from tankwalk.practice.judging.verdict import Flag, Judged
from tankwalk.practice.round import taking
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.progress import Progress
from tankwalk.practice.round.questions import (
    OF_THE_MENU,
    AskMeter,
    AskReason,
    AskSlip,
    Correcting,
    Meant,
    Reply,
)
from tankwalk.quantity import Quantity

AS_TYPED = "as typed"
IN_WORDS = {"in": "inches", "oz": "ounces", "gal": "gallons"}
"""Units whose sign reads as a word of another kind."""


def number(
    walk: Progress,
    slot: Slot,
    typed: str,
    *,
    recheck: bool = False,
    correcting: Correcting | None = None,
) -> Reply:
    """Judge a number that was typed; ask before keeping one that is in doubt.

    A number of a meter that is out of use is in doubt before anything else.
    """
    off = _out_of_use(walk, slot)
    if off is not None:
        kind, trust = slot.item.instrument, walk.trust()
        meters = [m for m in walk.site.plan.instruments if m.kind == kind]
        others = tuple(m.code for m in meters if not trust.off(m.code))
        return walk.ask(AskMeter(slot, typed, off.instrument, off.at, others, recheck, correcting))
    both = _two_ways(walk, slot, typed)
    if both:
        doubt = f"{typed} can be read two ways."
        walk.question = AskSlip(
            slot, both, doubt, two_ways=True, correcting=correcting, recheck=recheck
        )
        return Reply("", Flag.CHECK)
    read = slot.item.read(typed)
    first = walk.newest_value(slot) if recheck else None
    agrees = first is not None and abs(read.value - first) <= 0.5 * abs(first)
    sure = read.below or agrees
    judged = walk.judge(slot, read.value, read.typed, sure=sure, below=read.below)
    if not judged.asks:
        return taking.keep(walk, slot, read, judged, recheck=recheck, correcting=correcting)
    walk.question = AskSlip(
        slot,
        _meant(walk, slot, read, judged),
        judged.question,
        slip=judged.slip,
        correcting=correcting,
        recheck=recheck,
    )
    return Reply("", Flag.CHECK)


def with_meter(walk: Progress, asked: AskMeter, typed: str) -> Reply:
    """A digit says which meter read the number, for all that follows in this round."""
    slot = asked.slot
    if typed == "/":
        return walk.ask(AskReason(slot, recheck=asked.recheck, open_here=len(walk.open_here())))
    if typed == asked.same:
        walk.all_the_same.add(asked.meter)
    elif typed in [key for key, _ in asked.options()]:
        kind = slot.item.instrument or ""
        walk.meters[kind] = walk.in_hand[kind] = asked.others[int(typed) - 1]
    else:
        return Reply(OF_THE_MENU, Flag.CHECK)
    walk.question = None
    return number(walk, slot, asked.typed, recheck=asked.recheck, correcting=asked.correcting)


def _out_of_use(walk: Progress, slot: Slot) -> CheckSeen | None:
    """The check that the meter in hand failed; None for one in use, or said to be used as it is.

    A sheet that was walked before that check is typed in unasked.
    """
    code, trust = walk.meter(slot), walk.trust()
    if code is None or code in walk.all_the_same or not trust.off(code):
        return None
    check = trust.checks[code]
    return check if check.at.utc <= walk.site.now().utc else None


def _meant(walk: Progress, slot: Slot, read: Quantity, judged: Judged) -> tuple[Meant, ...]:
    """What was typed, and what it may have meant."""
    typed = Meant("1", read, AS_TYPED, judged, verdict.possible_words(slot.item), False)
    if not judged.impossible:
        typed = _reading(walk, slot, "1", read, AS_TYPED)
    slip = judged.slip
    if slip is None:
        return (typed,)
    value = round(slip.value, 6)
    meant = Quantity(value, slot.item.unit, read.typed, read.below, slip.name)
    return typed, _reading(walk, slot, "2", meant, _how(slip))


def _reading(walk: Progress, slot: Slot, key: str, read: Quantity, how: str) -> Meant:
    shown = read.typed if read.typed_unit is None else ""
    judged = walk.judge(slot, read.value, shown, sure=True, below=read.below)
    return Meant(key, read, how, judged, verdict.lies(slot.item, read.value, slot.band), True)


def _how(slip: Slip) -> str:
    match slip.kind:
        case SlipKind.UNIT:
            return f"if it was read in {IN_WORDS.get(slip.unit, slip.unit)}"
        case SlipKind.SATURATION:
            return "if it was % of saturation"
        case SlipKind.POINT:
            return "if the decimal point is misplaced"
        case SlipKind.ZERO:
            return "if it has one zero too many"
        case SlipKind.COUNTED:
            return "if they were counted already"


def _two_ways(walk: Progress, slot: Slot, typed: str) -> tuple[Meant, ...]:
    """A number that could be thousands, read both ways; () where only one can be."""
    texts = slot.item.two_readings(typed)
    if texts is None:
        return ()
    large, small = (slot.item.read(text) for text in texts)
    if walk.judge(slot, small.value, small.typed, sure=True).impossible:
        return ()
    return (
        _reading(walk, slot, "1", small, "with a decimal mark"),
        _reading(walk, slot, "2", large, "in thousands"),
    )


def answer(walk: Progress, asked: AskSlip, typed: str) -> Reply:
    """A digit chooses, * measures again, / is not taken; nothing else takes a side."""
    slot = asked.slot
    if typed == "*":
        return _again(walk, asked)
    if typed == "/":
        return walk.ask(AskReason(slot, recheck=asked.recheck, open_here=len(walk.open_here())))
    if typed in ("", "+", "-"):
        keys = " or ".join(one.key for one in asked.meant if one.possible)
        verb = slot.item.kind.verb.lower()
        choose = f"press {keys}, or " if keys else ""
        return Reply(f"None is taken by that key: {choose}* to {verb} again.", Flag.CHECK)
    chosen = next((one for one in asked.meant if one.possible and one.key == typed), None)
    if chosen is None:
        can = any(one.possible for one in asked.meant)
        first = OF_THE_MENU if can else "Nothing can be chosen here."
        return Reply(f"{first} A number is typed after *.", Flag.CHECK)
    if asked.lowers(chosen):
        return _again(walk, asked)
    return taking.keep(
        walk, slot, chosen.read, chosen.judged, recheck=asked.recheck, correcting=asked.correcting
    )


def _again(walk: Progress, asked: AskSlip) -> Reply:
    """Measure again: a first reading that can be stands as it was typed."""
    slot, typed = asked.slot, asked.meant[0]
    verb = slot.item.kind.verb
    if asked.two_ways:
        _back(walk, asked)
        one, other = (m.read.typed for m in asked.meant)
        return Reply(f"Not kept. Type it plainly: {one} or {other}.", Flag.CHECK)
    if asked.slip is not None and asked.slip.kind is SlipKind.COUNTED:
        _back(walk, asked)
        return Reply("Not kept. Count those found since, and type them: 0 if none.", Flag.CHECK)
    unit = f" in {slot.item.unit}" if slot.item.unit else ""
    if asked.impossible or asked.recheck:
        _back(walk, asked)
        return Reply(f"Not kept. {verb} again, and type it{unit}.", Flag.CHECK)
    kept = taking.keep(walk, slot, typed.read, typed.judged, correcting=asked.correcting)
    first = slot.item.shown(typed.read.value, typed.read.typed)
    return Reply(
        f"{first} is kept as the first reading. {verb} again, and type it{unit}.", kept.flag
    )


def _back(walk: Progress, asked: AskSlip) -> None:
    """Ask again what was asked before the number that is in doubt."""
    walk.stand(walk.at)
    here = walk.of(asked.slot)
    if asked.recheck and walk.question is None and here:
        walk.question = walk.once_more(asked.slot, here[-1])
