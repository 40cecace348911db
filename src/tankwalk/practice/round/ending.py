"""The end of a round: one reason for all that is still open, and the signature."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round import taking
from tankwalk.practice.round.progress import Progress
from tankwalk.practice.round.questions import AskReason, Reply

if TYPE_CHECKING:
    from tankwalk.practice.judging.standing.found import Found


def sign(walk: Progress, typed: str) -> Reply:
    """An answer at the end: + signs when nothing is open, / gives one reason for what is."""
    still = walk.open_slots()
    if still and typed == "/":
        return walk.ask(AskReason(walk.slot, rest=True))
    if still:
        return Reply(f"{len(still)} still open: the round cannot be signed yet.", Flag.CHECK)
    if typed != "+":
        return Reply("Press + to sign, or the up arrow to go back.", Flag.CHECK)
    with walk.site.ledger.writing():
        walk.look_up()
        still = walk.open_slots()
        if not still:
            judged_whole(walk)
            walk.sign()
    if still:
        walk.stand(walk.at)
        return Reply(f"{len(still)} open again: the round is not signed.", Flag.CHECK)
    walk.signed = True
    return Reply(f"Signed by {walk.signer} at {walk.entered_at().hm()}.")


def judged_whole(walk: Progress) -> tuple[Found, ...]:
    """What the round shows as a whole that did not stand before; it is in the record then."""
    if not walk.told_as_whole():
        return ()
    asked = walk.site.reader.spine.last_number(), walk.site.now().day
    if asked == walk.judged_whole:
        return ()  # nothing was entered since: it would find the same, which stands by now
    from tankwalk.practice.judging.whole import judge_whole

    found = judge_whole(walk.site, walk.round.number, walk.who, walk.gathered)
    walk.judged_whole = walk.site.reader.spine.last_number(), asked[1]
    return found


def leave_out(walk: Progress, still: Sequence[int], word: str) -> Reply:
    """Keep one reason, in the record's word, for slots that are open, by their indices."""
    with walk.site.ledger.writing():
        walk.look_up()
        still = [i for i in still if i in walk.open_slots()]
        taken = [taking.not_taken(walk, walk.slots[i], word, recheck=False) for i in still]
    for seen in taken:
        walk.take_in(seen)
    walk.stand(walk.held.next_open(walk.at))
    return Reply(f"{len(still)} not taken: {word}.")
