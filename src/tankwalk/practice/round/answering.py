"""What an answer means where the walk stands: read it, judge it, ask about it, or have it kept."""

from __future__ import annotations

from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.ledger.readings import Seen
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round import ending, taking
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.progress import Progress
from tankwalk.practice.round.questions import (
    CORRECTIONS,
    REASONS,
    AskAgain,
    AskCorrection,
    AskLimit,
    AskProblem,
    AskReason,
    AskSign,
    AskSlip,
    AskWords,
    Message,
    Reply,
)
from tankwalk.quantity import Quantity

OF_THE_MENU = "Press one of the numbers listed, or go back."


def answer(walk: Progress, raw: str) -> Reply:
    """One answer to what is asked now. Refusal: a sentence about what was typed."""
    typed = text.clean(raw)
    if walk.signed:
        return Reply("This round is signed.")
    asked = walk.question
    match asked:
        case AskWords():
            return taking.keep_note(walk, asked.slot, typed)
        case AskReason():
            return _reason(walk, asked, typed)
        case AskCorrection():
            return _correction(walk, asked, typed)
        case AskProblem():
            return _problem(walk, asked, typed)
        case AskLimit():
            return _limit(walk, asked, typed)
        case AskSign():
            return ending.sign(walk, typed)
        case AskSlip():
            return _slip(walk, asked, typed)
        case _:
            return _value(walk, typed, recheck=isinstance(asked, AskAgain))


def _value(walk: Progress, typed: str, *, recheck: bool) -> Reply:
    slot = walk.slot
    item = slot.item
    if typed == "":
        return Reply(
            "Nothing was typed, so nothing is kept. Not taken? Press / and say why.", Flag.CHECK
        )
    if typed == "/":
        return walk.ask(AskReason(slot, recheck=recheck))
    if typed == "-":
        wrong = item.choices[1:] if item.kind.by_words else ()
        return walk.ask(AskProblem(slot, wrong, walk.site.plan.canned_notes))
    if typed == "*":
        return _measure_again(walk)
    if item.kind.by_words:
        return _word(walk, slot, typed)
    if typed == "+":
        return Reply(
            f"+ does not stand for a number: type {item.label}, or / if it was not taken.",
            Flag.CHECK,
        )
    read = item.read(typed)
    if not recheck and walk.of(slot):
        return walk.ask(AskCorrection(slot, read, walk.of(slot)[-1]))
    return _number(walk, slot, read, recheck=recheck)


def _measure_again(walk: Progress) -> Reply:
    """`*`: a second reading of this slot, else of the one entered last."""
    index = walk.at
    if not walk.of(walk.slot):
        taken = [i for i in range(walk.at) if walk.of(walk.slots[i])]
        if not taken:
            return Reply("There is nothing to measure again yet.", Flag.CHECK)
        index = taken[-1]
    slot = walk.slots[index]
    if not slot.item.kind.read_twice or walk.of(slot)[-1].value is None:
        walk.stand(index)
        return Reply(f"{slot.place} {slot.item.label}: answer it again.")
    first = walk.of(slot)[-1]
    walk.stand(index)
    headline = f"{slot.item.label} was {first.typed}"
    return walk.ask(AskAgain(slot, first, Message(headline, (), "Measure again; both are kept.")))


def _word(walk: Progress, slot: Slot, typed: str) -> Reply:
    read = slot.item.read(typed)
    if walk.of(slot):
        return walk.ask(AskCorrection(slot, read, walk.of(slot)[-1]))
    return taking.keep(walk, slot, read, walk.judge(slot, read.value, read.typed, sure=True))


def _number(
    walk: Progress,
    slot: Slot,
    read: Quantity,
    *,
    recheck: bool,
    sure: bool = False,
    amends: Seen | None = None,
    reason: str | None = None,
) -> Reply:
    """Judge a number; ask before keeping one that cannot be or looks like a slip."""
    first = walk.of(slot)[-1].value if recheck and walk.of(slot) else None
    agrees = first is not None and abs(read.value - first) <= 0.5 * abs(first)
    sure = sure or read.below or agrees
    judged = walk.judge(slot, read.value, read.typed, sure=sure)
    if judged.asks:
        walk.question = AskSlip(
            slot, read, judged.question, judged.slip, judged.impossible, amends, reason, recheck
        )
        return Reply("Nothing is kept until this is answered.", Flag.CHECK)
    return taking.keep(walk, slot, read, judged, recheck=recheck, amends=amends, reason=reason)


def _slip(walk: Progress, asked: AskSlip, typed: str) -> Reply:
    slot = asked.slot
    again = {"recheck": asked.recheck, "amends": asked.amends, "reason": asked.reason}
    if typed == "+" and asked.slip is not None:
        meant = Quantity(
            round(asked.slip.value, 6),
            slot.item.unit,
            asked.typed.typed,
            asked.typed.below,
            asked.slip.name,
        )
        return _number(walk, slot, meant, sure=True, **again)  # type: ignore[arg-type]
    if typed == "*" and not asked.impossible:
        return _number(walk, slot, asked.typed, sure=True, **again)  # type: ignore[arg-type]
    if typed == "/":
        return walk.ask(AskReason(slot, recheck=asked.recheck))
    if typed in ("", "+", "-", "*"):
        return Reply("Nothing is kept until this is answered.", Flag.CHECK)
    read = slot.item.read(typed)
    same = read.value == asked.typed.value  # typed twice: it is meant
    return _number(walk, slot, read, sure=same, **again)  # type: ignore[arg-type]


def _reason(walk: Progress, asked: AskReason, typed: str) -> Reply:
    if typed == "6" and len(asked.options()) == 6:
        return walk.ask(AskLimit(asked.slot, asked.recheck))
    word = next((word for key, word, _ in REASONS if key == typed), None)
    if word is None:
        return Reply(OF_THE_MENU, Flag.CHECK)
    if asked.rest:
        return ending.leave_out_the_rest(walk, word)
    return taking.leave_out(walk, asked.slot, word, recheck=asked.recheck)


def _limit(walk: Progress, asked: AskLimit, typed: str) -> Reply:
    if not typed:
        raise Refusal("Nothing was typed, so nothing is kept: type the kit's limit.")
    slot, here = asked.slot, walk.of(asked.slot)
    read = slot.item.read(typed if typed.startswith("<") else f"<{typed}")
    amends = here[-1] if here and not asked.recheck else None
    return _number(walk, slot, read, recheck=asked.recheck, amends=amends)


def _correction(walk: Progress, asked: AskCorrection, typed: str) -> Reply:
    slot, read = asked.slot, asked.typed
    if typed == "*" and slot.item.kind.read_twice:
        walk.question = None
        return _number(walk, slot, read, recheck=True)
    reason = next((words for key, words in CORRECTIONS if key == typed), None)
    if reason is None:
        return Reply(OF_THE_MENU, Flag.CHECK)
    if slot.item.kind.by_words:
        judged = walk.judge(slot, read.value, read.typed, sure=True)
        return taking.keep(walk, slot, read, judged, amends=asked.old, reason=reason)
    return _number(walk, slot, read, recheck=False, amends=asked.old, reason=reason)


def _problem(walk: Progress, asked: AskProblem, typed: str) -> Reply:
    if typed == "0":
        return walk.ask(AskWords(asked.slot))
    said = [*asked.choices, *asked.notes][:9]
    numbers = [str(i) for i in range(1, len(said) + 1)]
    if typed not in numbers:
        return Reply(OF_THE_MENU, Flag.CHECK)
    index = numbers.index(typed)
    if index < len(asked.choices):
        walk.question = None
        return _word(walk, asked.slot, str(index + 2))
    return taking.keep_note(walk, asked.slot, said[index])
