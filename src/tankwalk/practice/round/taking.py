"""An answer put on the disk and taken into the round: what is said of it, and what comes next."""

from __future__ import annotations

from tankwalk.ledger.readings import Seen
from tankwalk.plan.responses import response
from tankwalk.practice.judging.verdict import Flag, Judged, first_steps, left_out
from tankwalk.practice.round import moving
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.progress import Progress
from tankwalk.practice.round.questions import AskCorrection, Correcting, Message, Reply
from tankwalk.practice.workings import derived, deriving
from tankwalk.quantity import Quantity


def keep(
    walk: Progress,
    slot: Slot,
    read: Quantity,
    judged: Judged,
    *,
    recheck: bool = False,
    correcting: Correcting | None = None,
) -> Reply:
    """Put one value on the disk, then say what it means and stand at what comes next."""
    other = ""
    with walk.site.ledger.writing():
        known = {s.n for s in walk.of(slot)}
        walk.look_up()
        twin = next((s for s in reversed(walk.of(slot)) if s.n not in known), None)
        if correcting is None and not recheck and twin is not None:
            recheck = True
            words = twin.typed or left_out(twin.qualifier)
            other = f" {twin.who} entered {words} at {twin.at.hm()}: both are kept."
        taken_back = _others_taken_back(walk, correcting)
        seen = walk.keeping.reading(
            slot, read, judged, walk.meter(slot), recheck=recheck, correcting=correcting
        )
        worked = _follow(walk, seen)
    for one in taken_back:
        walk.held = walk.held.without(one)
    if seen is not None and seen.instrument in walk.all_the_same:
        other += f" Read with meter {seen.instrument}, which is out of use."
    walk.take_in(seen)
    walk.unpin(slot)
    walk.worked_anew([one for one in (seen, *worked) if one is not None])
    reply = _after(walk, slot, judged, f"{_shown(slot, read)} kept.{other}", recheck=recheck)
    if correcting is not None and correcting.event:
        old = correcting.old
        reply = reply._replace(
            sentence=f"{reply.sentence} {old.typed} stays listed as withdrawn: {correcting.reason}."
        )
    alarm = derived.alarm(walk.site, worked)
    if alarm.flag <= judged.flag:  # its part says as much
        return reply
    message = Message(alarm.headline, (), alarm.first)
    if alarm.seen is not None:
        walk.pin_worked(alarm.seen, message)
    return Reply(
        f"{alarm.words} {reply.sentence}",
        alarm.flag,
        message=message,
        kept=reply.kept or f"{_shown(slot, read)} kept.",
    )


def _others_taken_back(walk: Progress, why: Correcting | None) -> list[Seen]:
    """The readings that go with a confirmed one that is replaced: voided for the same reason."""
    if why is None:
        return []
    others = [one for one in why.event if one.n != why.old.n]
    for one in others:
        walk.keeping.undo(one, why.reason, why.who)
        deriving.undone(walk.site, one.n, walk.who, walk.round.number)
    return others


def take_back(walk: Progress, slot: Slot, why: Correcting) -> Reply:
    """Withdraw a confirmed value with nothing in its place: it is asked again."""
    with walk.site.ledger.writing():
        walk.look_up()
        for one in why.event:
            walk.keeping.undo(one, why.reason, why.who)
            deriving.undone(walk.site, one.n, walk.who, walk.round.number)
    for one in why.event:
        walk.held = walk.held.without(one)
    walk.unpin(slot)
    walk.stand(walk.at)
    words = f"{slot.place} {slot.item.label} {why.old.typed} is withdrawn and stays listed"
    return Reply(f"{words}: {why.reason}, {why.who or walk.who}. Measure it again.", Flag.CHECK)


def _follow(walk: Progress, seen: Seen | None) -> list[Seen]:
    """What can be worked out now that a reading was kept: kept with it, or neither is."""
    if seen is None:
        return []
    return deriving.follow(walk.site, seen, walk.who, walk.round.number)


def _shown(slot: Slot, read: Quantity) -> str:
    item = slot.item
    value = item.shown(read.value, read.typed)
    told = ":" if item.kind.by_words else ""
    return f"{slot.place} {item.label}{told} {'< ' if read.below else ''}{value}"


def _after(walk: Progress, slot: Slot, judged: Judged, words: str, *, recheck: bool) -> Reply:
    """Where to stand after keeping, and the sentence for it."""
    if judged.flag >= Flag.WATCH and walk.pending(slot):
        walk.stand(walk.at)
        return Reply(words, judged.flag)
    walk.stand(walk.held.next_open(walk.at))
    looks = walk.held.looks(slot)
    newest = looks[-1] if looks else None
    first = None if newest is None or not recheck else newest.first
    both = "" if first is None else f" First reading {first.typed}; both recorded."
    if judged.flag >= Flag.WATCH:
        do = f" First: {judged.first}" if judged.first else ""
        said = f"{judged.flag.mark} {slot.place} {judged.sentence}.{both}{do}"
        message = Message(f"{slot.place} {judged.headline}", judged.reasons, judged.first)
        walk.pin(slot, judged, message)
        return Reply(said, judged.flag, message=message, kept=f"{words}{both}")
    words += both
    stood = next((s for s in reversed(looks[:-1]) if s.reading.flag >= Flag.WATCH), None)
    if stood is not None and slot.item.kind.looks_to_clear > 1:
        told = slot.item.shown(stood.reading.value or 0.0, stood.reading.typed)
        words += f" A later look: {told} stands until it is dealt with."
    if judged.quiet:
        return Reply(f"{words} {judged.brief[:1].upper()}{judged.brief[1:]}.", Flag.OK)
    if judged.flag == Flag.CHECK and judged.sentence:
        said, do = (judged.brief, "") if judged.brief else (judged.sentence, judged.do)
        end = "" if said.endswith("?") else "."
        words = f"{words} {judged.flag.mark} {said}{end} {do}".rstrip()
    return Reply(words, judged.flag)


def leave_out(
    walk: Progress, slot: Slot, word: str, *, recheck: bool, why: str | None = None
) -> Reply:
    """Keep why a value, or its second reading, was not taken.

    `word` is the record's; `why` is in the person's own words where no number stands for it.
    """
    with walk.site.ledger.writing():
        walk.look_up()
        seen = not_taken(walk, slot, word, recheck=recheck, why=why)
    walk.take_in(seen)
    if recheck:
        _pin_the_first(walk, slot)
    walk.stand(walk.held.next_open(walk.at))
    second = " second reading" if recheck else ""
    words = f"{slot.place} {slot.item.label}{second} not taken: {why or word}."
    wants = _wants(walk, slot)
    if wants is None:
        return Reply(words)
    said = f"{Flag.WATCH.mark} {wants[0].item.label} is out and {slot.item.label} was not"
    out, seen = wants
    steps = first_steps(out.item, seen.value or 0.0, out.band)
    first = f" First: {response(steps)}" if steps else ""
    return Reply(f"{words} {said} looked at.{first}", Flag.WATCH)


def _pin_the_first(walk: Progress, slot: Slot) -> None:
    """A value that nobody read again stands: what is done first about it stays in sight."""
    first = next((s for s in reversed(walk.of(slot)) if s.value is not None), None)
    if first is not None and first.value is not None:
        judged = walk.judge(slot, first.value, first.typed, sure=True)
        if judged.flag >= Flag.WATCH:
            message = Message(f"{slot.place} {judged.headline}", judged.reasons, judged.first)
            walk.pin(slot, judged, message)


def _wants(walk: Progress, left_out: Slot) -> tuple[Slot, Seen] | None:
    """The item out of band in this round that wants the one left out to be looked at."""
    for slot, seen in walk.flags():
        if slot.place == left_out.place and left_out.item.code in slot.item.see:
            return (slot, seen) if seen.flag >= Flag.WATCH else None
    return None


def not_taken(
    walk: Progress, slot: Slot, word: str, *, recheck: bool, why: str | None = None
) -> Seen | None:
    """Write why a value was not taken, inside an open `writing`; to be taken in when it ends."""
    here = walk.of(slot)
    amends = here[-1] if here and not recheck else None
    seen = walk.keeping.not_taken(slot, word, recheck=recheck, amends=amends, why=why)
    _follow(walk, seen)
    return seen


def keep_note(walk: Progress, slot: Slot, words: str) -> Reply:
    """Keep words about an item at a place."""
    if not words:
        return Reply("Nothing was typed, so no note is kept.", Flag.CHECK)
    with walk.site.ledger.writing():
        walk.look_up()
        walk.keeping.note(slot, words)
    walk.stand(walk.at)
    return Reply(f"Noted for {slot.place}.")


def undo(walk: Progress) -> Reply:
    """Take back this person's newest standing entry of the round."""
    with walk.site.ledger.writing():
        if not walk.signed:
            walk.look_up()
        mine = [s for kept in walk.kept.values() for s in kept if s.who == walk.who]
        if walk.signed or not mine:
            return Reply("There is nothing of yours to undo in this round.", Flag.CHECK)
        old = max(mine, key=lambda s: s.n)
        moved_back = moving.back(walk, old)
        if moved_back is not None:
            return moved_back
        index = walk.held.index_of(old)
        event = () if index is None else walk.held.event(walk.slots[index])
        if index is not None and event and event[-1].n == old.n:
            walk.stand(index)
            return walk.ask(AskCorrection(walk.slot, None, old, event, walk.movable(walk.slot)))
        walk.keeping.undo(old)
        deriving.undone(walk.site, old.n, walk.who, walk.round.number)
    walk.held = walk.held.without(old)
    walk.taken_back(old)
    walk.stand(walk.at if index is None else index)
    label = old.item if index is None else walk.slot.item.label
    return Reply(f"Undone: {old.place} {label} {old.typed or left_out(old.qualifier)}.")
