"""What an answer means where the walk stands: read it, judge it, ask about it, or have it kept."""

from __future__ import annotations

from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.round import doubts, ending, moving, taking
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.progress import Progress
from tankwalk.practice.round.questions import (
    BELOW,
    CORRECTIONS,
    OF_THE_MENU,
    OTHER,
    OTHER_WORD,
    WRONG_TANK,
    AskAgain,
    AskCorrection,
    AskLimit,
    AskMeter,
    AskMove,
    AskName,
    AskProblem,
    AskReason,
    AskSign,
    AskSlip,
    AskTank,
    AskWords,
    Correcting,
    Reply,
)
from tankwalk.quantity import Quantity


def answer(walk: Progress, raw: str) -> Reply:
    """One answer to what is asked now. Refusal: a sentence about what was typed."""
    typed = text.clean(raw)
    if walk.signed:
        return Reply("This round is signed.")
    asked = walk.question
    match asked:
        case AskWords(why_not=False):
            return taking.keep_note(walk, asked.slot, typed)
        case AskWords():
            return taking.leave_out(
                walk, asked.slot, OTHER_WORD, recheck=asked.recheck, why=_said(typed)
            )
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
            return doubts.answer(walk, asked, typed)
        case AskMeter():
            return doubts.with_meter(walk, asked, typed)
        case AskMove():
            return moving.which(walk, asked, typed)
        case AskTank():
            return _moved(walk, asked, typed)
        case AskName():
            return _name(walk, asked, typed)
        case _:
            return _value(walk, typed, recheck=isinstance(asked, AskAgain))


def _value(walk: Progress, typed: str, *, recheck: bool) -> Reply:
    slot = walk.slot
    item = slot.item
    if typed == "":
        return _nothing(walk, slot, recheck=recheck)
    if typed == "/":
        event = () if recheck else walk.held.event(slot)
        if event:
            return walk.ask(AskCorrection(slot, None, event[-1], event, walk.movable(slot)))
        return walk.ask(AskReason(slot, recheck=recheck, open_here=len(walk.open_here())))
    if typed == "-":
        words = item.choices if item.kind.by_words else ()
        movable = walk.movable(slot) and bool(walk.filled_here())
        return walk.ask(AskProblem(slot, words, walk.site.plan.canned_notes, movable))
    if typed == "*":
        return _measure_again(walk)
    if item.kind.by_words:
        return _word(walk, slot, typed, recheck=recheck)
    if typed == "+":
        return Reply(
            f"+ does not stand for a number: type {item.label}, or / if it was not taken.",
            Flag.CHECK,
        )
    if recheck or not walk.of(slot):
        return doubts.number(walk, slot, typed, recheck=recheck)
    return _instead(walk, slot, item.read(typed))


def _instead(walk: Progress, slot: Slot, read: Quantity) -> Reply:
    """A value where one is kept: why? What lowers a confirmed one takes it back, and needs a name.

    A correction that is out of band as much as the old one takes nothing back.
    """
    old = walk.of(slot)[-1]
    judged = walk.judge(slot, read.value, read.typed, sure=True)
    lowers = judged.impossible or judged.flag < old.flag
    event = walk.held.event(slot) if lowers else ()
    return walk.ask(AskCorrection(slot, read, old, event, walk.movable(slot)))


def _nothing(walk: Progress, slot: Slot, *, recheck: bool) -> Reply:
    """An empty Enter: nothing is kept by it; on a line that is filled it goes on."""
    here = walk.of(slot)
    if recheck:
        return Reply(
            "Nothing was typed: the second reading is still asked. None? Press / and say why.",
            Flag.CHECK,
        )
    if not here:
        return Reply(
            "Nothing was typed, so nothing is kept. Not taken? Press / and say why.", Flag.CHECK
        )
    newest = here[-1]
    value = value_words(slot.item, newest)
    walk.stand(walk.held.next_open(walk.at))
    return Reply(f"{slot.place} {slot.item.label} {value} stands; nothing was changed.")


def _measure_again(walk: Progress) -> Reply:
    """`*`: a second reading of this slot, else of the one entered last.

    What was confirmed already, and what is seen by eye, gets a later look: both stand.
    """
    index = walk.at
    if not walk.of(walk.slot):
        taken = [i for i in range(walk.at) if walk.of(walk.slots[i])]
        if not taken:
            return Reply("There is nothing to measure again yet.", Flag.CHECK)
        index = taken[-1]
    slot = walk.slots[index]
    first = walk.of(slot)[-1]
    walk.stand(index)
    if first.value is None:
        return Reply(f"{slot.place} {slot.item.label}: answer it again.")
    return walk.ask(walk.once_more(slot, first))


def _word(walk: Progress, slot: Slot, typed: str, *, recheck: bool) -> Reply:
    read = slot.item.read(typed)
    if walk.of(slot) and not recheck:
        return _instead(walk, slot, read)
    judged = walk.judge(slot, read.value, read.typed, sure=True)
    return taking.keep(walk, slot, read, judged, recheck=recheck)


def _reason(walk: Progress, asked: AskReason, typed: str) -> Reply:
    offered = [key for key, _ in asked.options()]
    if typed not in offered:
        return Reply(OF_THE_MENU, Flag.CHECK)
    if typed == BELOW[0]:
        return walk.ask(AskLimit(asked.slot, asked.recheck))
    if typed == OTHER[0]:
        return walk.ask(AskWords(asked.slot, True, asked.recheck))
    if typed == "/":
        return walk.ask(asked._replace(stop=asked.open_here))
    word = next(one.word for one in asked.reasons() if one.key == typed)
    if asked.rest:
        return ending.leave_out(walk, walk.open_slots(), word)
    if asked.stop:
        return ending.leave_out(walk, walk.open_here(), word)
    return taking.leave_out(walk, asked.slot, word, recheck=asked.recheck)


def _said(typed: str) -> str:
    if not typed:
        raise Refusal("Nothing was typed, so nothing is kept: type the reason.")
    return typed


def _limit(walk: Progress, asked: AskLimit, typed: str) -> Reply:
    if not typed:
        raise Refusal("Nothing was typed, so nothing is kept: type the kit's limit.")
    slot, here = asked.slot, walk.of(asked.slot)
    below = typed if typed.startswith("<") else f"<{typed}"
    old = Correcting(here[-1]) if here and not asked.recheck else None
    return doubts.number(walk, slot, below, recheck=asked.recheck, correcting=old)


def _correction(walk: Progress, asked: AskCorrection, typed: str) -> Reply:
    slot, read = asked.slot, asked.typed
    if typed == "*" and read is not None:
        walk.question = None
        if slot.item.kind.by_words:
            return _word(walk, slot, read.typed, recheck=True)
        return doubts.number(walk, slot, read.typed, recheck=True)
    offered = [key for key, _ in asked.options()]
    reason = next((w for key, w in CORRECTIONS if key == typed and key in offered), None)
    if reason is None:
        return Reply(OF_THE_MENU, Flag.CHECK)
    if reason == WRONG_TANK:
        return moving.ask(walk, slot, read)
    why = Correcting(asked.old, reason, event=asked.event)
    if asked.event:
        others = [p.initials for p in walk.site.people if p.initials != walk.who]
        return walk.ask(AskName(slot, read, why, (walk.who, *others)))
    return _corrected(walk, slot, read, why)


def _moved(walk: Progress, asked: AskTank, typed: str) -> Reply:
    """Values moved to another tank; then what was typed for the line one of them stood on."""
    reply = moving.to(walk, asked, typed)
    if asked.typed is None:
        return reply
    walk.stand(walk.slots.index(asked.slot))
    if asked.slot.item.kind.by_words:
        kept = _word(walk, asked.slot, asked.typed, recheck=False)
    else:
        kept = doubts.number(walk, asked.slot, asked.typed)
    both = f"{reply.sentence} {kept.kept}" if kept.kept else ""
    return kept._replace(sentence=f"{reply.sentence} {kept.sentence}".strip(), kept=both)


def _name(walk: Progress, asked: AskName, typed: str) -> Reply:
    keys = {str(nth): initials for nth, initials in enumerate(asked.people, 1)}
    if typed not in keys:
        return Reply(OF_THE_MENU, Flag.CHECK)
    why = asked.correcting._replace(who=keys[typed])
    return _corrected(walk, asked.slot, asked.typed, why)


def _corrected(walk: Progress, slot: Slot, read: Quantity | None, why: Correcting) -> Reply:
    if read is None:
        return taking.take_back(walk, slot, why)
    if slot.item.kind.by_words:
        judged = walk.judge(slot, read.value, read.typed, sure=True)
        return taking.keep(walk, slot, read, judged, correcting=why)
    return doubts.number(walk, slot, read.typed, correcting=why)


def _problem(walk: Progress, asked: AskProblem, typed: str) -> Reply:
    if typed == "0":
        return walk.ask(AskWords(asked.slot))
    if typed == "*" and asked.movable:
        return moving.ask(walk, asked.slot, None)
    said = [*asked.choices, *asked.notes][:9]
    numbers = [str(i) for i in range(1, len(said) + 1)]
    if typed not in numbers:
        return Reply(OF_THE_MENU, Flag.CHECK)
    index = numbers.index(typed)
    if index < len(asked.choices):
        walk.question = None
        return _word(walk, asked.slot, typed, recheck=False)
    return taking.keep_note(walk, asked.slot, said[index])
