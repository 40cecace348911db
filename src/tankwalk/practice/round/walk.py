"""The walk: one answer at a time through a round, the same for the screen and the plain mode.

`answer` takes what was typed for the present question and gives a `Reply`. Whatever is accepted is
on the disk before `answer` returns. Nothing here knows a widget.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from tankwalk import quantity, text
from tankwalk.errors import Refusal
from tankwalk.ledger import sqlite_errors
from tankwalk.ledger.readings import Seen
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.plan.model import Kind
from tankwalk.practice.judging.verdict import Flag, Judged
from tankwalk.practice.round import rounds
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.keeping import Keeping
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
    Question,
)
from tankwalk.practice.site import Site
from tankwalk.practice.workings import derived, deriving
from tankwalk.quantity import Quantity


class Reply(NamedTuple):
    """What became of an answer.

    `understood` is False when what was typed should stay on the line to be mended.
    """

    sentence: str = ""
    flag: Flag = Flag.OK
    understood: bool = True


class Walk(Progress):
    """One person walking one round: what is asked of them now, and what becomes of an answer."""

    def __init__(self, site: Site, found: RoundSeen, who: str) -> None:
        super().__init__(site, found)
        self.who = who
        self.keeping = Keeping(site, found.number, who)
        self.meters: dict[str, str] = {}
        """Meters chosen for this walk, by instrument kind; else the plan's habit."""
        self.said: Reply = Reply()
        self.question: Question | None = None
        self._stand(self.where_it_ends())

    # ---- where the person stands

    def meter(self, slot: Slot) -> str | None:
        """The meter readings of this slot are taken with."""
        return self.meters.get(slot.item.instrument or "", slot.instrument or "") or None

    def _stand(self, index: int) -> None:
        self.at = max(0, min(index, len(self.slots)))
        self.question = None
        if self.at_end:
            self.question = AskSign(len(self.open_slots()), self.who)
        elif self.pending(self.slot):
            first = self.of(self.slot)[-1]
            self.question = self._again(self.slot, first)

    def _again(self, slot: Slot, first: Seen) -> AskAgain:
        judged = self._judge(slot, self.at, first.value or 0.0, first.typed, sure=True)
        verb = "Count" if slot.item.kind is Kind.COUNT else "Measure"
        meter = judged.names_meter
        tail = judged.do if meter else f"{verb} again."
        words = f"{Flag(first.flag).mark} {judged.sentence}. {tail}"
        return AskAgain(slot, first, words, meter)

    def move(self, way: str) -> Reply:
        """Arrows: "up"/"down" an item, "left"/"right" a page. Nothing is kept or lost by it."""
        return self._safely(lambda: self._moved(way))

    def _moved(self, way: str) -> Reply:
        if way == "up":
            index = self.at - 1
        elif way == "down":
            index = self.at + 1
        else:
            page = len(self.agenda.pages) if self.at_end else self.page_of[self.at]
            page = max(0, min(page + (1 if way == "right" else -1), len(self.agenda.pages)))
            starts = [self.page_of.index(p) for p in range(len(self.agenda.pages))]
            index = starts[page] if page < len(starts) else len(self.slots)
        self._stand(index)
        return Reply()

    def back(self) -> bool:
        """Esc: leave the question; False when there is none to leave."""
        wanted = isinstance(self.question, AskAgain) and self.pending(self.slot)
        if self.question is None or wanted or isinstance(self.question, AskSign):
            return False
        self._safely(self._left)
        return True

    def _left(self) -> Reply:
        self._stand(self.next_open(self.at) if isinstance(self.question, AskAgain) else self.at)
        return Reply("Back: nothing was kept.")

    def _say(self, reply: Reply) -> Reply:
        self.said = reply
        return reply

    def _safely(self, act: Callable[[], Reply]) -> Reply:
        """Do something; where it is refused, say so and stand as before, to be tried again."""
        stood = self.at, self.question
        try:
            with sqlite_errors.told(self.site.ledger.path):
                return self._say(act())
        except Refusal as refusal:
            self.at, self.question = stood
            return self._say(Reply(str(refusal), Flag.CHECK, understood=False))

    # ---- answers

    def answer(self, typed: str) -> Reply:
        """One answer to what is asked now. Never raises: a refusal is the reply's sentence."""
        return self._safely(lambda: self._answer(typed))

    def _answer(self, raw: str) -> Reply:
        typed = text.clean(raw)
        if self.signed:
            return Reply("This round is signed.")
        asked = self.question
        match asked:
            case AskWords():
                return self._keep_note(asked.slot, typed)
            case AskReason():
                return self._reason(asked, typed)
            case AskCorrection():
                return self._correction(asked, typed)
            case AskProblem():
                return self._problem(asked, typed)
            case AskLimit():
                return self._limit(asked, typed)
            case AskSign():
                return self._sign(typed)
            case AskSlip():
                return self._slip(asked, typed)
            case _:
                return self._value(typed, recheck=isinstance(asked, AskAgain))

    def _value(self, typed: str, *, recheck: bool) -> Reply:
        slot = self.slot
        item = slot.item
        if typed == "":
            return Reply(
                "Nothing was typed, so nothing is kept. Not taken? Press / and say why.",
                Flag.CHECK,
            )
        if typed == "/":
            self.question = AskReason(slot, recheck=recheck)
            return Reply()
        if typed == "-":
            wrong = item.choices[1:] if item.kind is Kind.CHOICE else ()
            self.question = AskProblem(slot, wrong, self.site.plan.canned_notes)
            return Reply()
        if typed == "*":
            return self._measure_again()
        if item.kind is Kind.CHOICE:
            return self._choice(slot, typed)
        if typed == "+":
            return Reply(
                f"+ does not stand for a number: type {item.label}, or / if it was not taken.",
                Flag.CHECK,
            )
        read = quantity.read(typed, item.unit, whole=item.kind is Kind.COUNT, allow_below=True)
        if not recheck and self.of(slot):
            self.question = AskCorrection(slot, read, self.of(slot)[-1])
            return Reply()
        return self._number(slot, read, recheck=recheck)

    def _measure_again(self) -> Reply:
        """`*`: a second reading of this slot, else of the one entered last."""
        index = self.at
        if not self.of(self.slot):
            taken = [i for i in range(self.at) if self.of(self.slots[i])]
            if not taken:
                return Reply("There is nothing to measure again yet.", Flag.CHECK)
            index = taken[-1]
        slot = self.slots[index]
        if slot.item.kind is Kind.CHOICE or self.of(slot)[-1].value is None:
            self._stand(index)
            return Reply(f"{slot.place} {slot.item.label}: answer it again.")
        first = self.of(slot)[-1]
        self._stand(index)
        shown = f"{slot.item.label} was {first.typed}. Measure again; both are kept."
        self.question = AskAgain(slot, first, shown)
        return Reply()

    def _choice(self, slot: Slot, typed: str) -> Reply:
        words = slot.item.choices
        if typed == "+":
            index = 0
        elif typed in (numbers := [str(i) for i in range(1, len(words) + 1)]):
            index = numbers.index(typed)
        elif typed.lower() in words:
            index = words.index(typed.lower())
        else:
            listed = ", ".join(f"{i} {w}" for i, w in enumerate(words, 1))
            raise Refusal(f"{slot.item.label} takes + for {words[0]}, or one of: {listed}.")
        read = Quantity(float(index), slot.item.unit, words[index])
        if self.of(slot):
            self.question = AskCorrection(slot, read, self.of(slot)[-1])
            return Reply()
        return self._keep(slot, read, self._judge(slot, self.at, index, words[index], sure=True))

    def _number(
        self,
        slot: Slot,
        read: Quantity,
        *,
        recheck: bool,
        sure: bool = False,
        amends: Seen | None = None,
        reason: str | None = None,
    ) -> Reply:
        """Judge a number; ask before keeping one that cannot be or looks like a slip."""
        if read.value < 0 and slot.item.kind is Kind.COUNT:
            raise Refusal(f"{slot.item.label} cannot be less than 0: type it again.")
        first = self.of(slot)[-1].value if recheck and self.of(slot) else None
        agrees = first is not None and abs(read.value - first) <= 0.5 * abs(first)
        sure = sure or read.below or agrees
        judged = self._judge(slot, self.at, read.value, read.typed, sure=sure)
        if judged.asks:
            self.question = AskSlip(
                slot, read, judged.question, judged.slip, judged.impossible, amends, reason, recheck
            )
            return Reply("Nothing is kept until this is answered.", Flag.CHECK)
        return self._keep(slot, read, judged, recheck=recheck, amends=amends, reason=reason)

    def _slip(self, asked: AskSlip, typed: str) -> Reply:
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
            return self._number(slot, meant, sure=True, **again)  # type: ignore[arg-type]
        if typed == "*" and not asked.impossible:
            return self._number(slot, asked.typed, sure=True, **again)  # type: ignore[arg-type]
        if typed == "/":
            self.question = AskReason(slot, recheck=asked.recheck)
            return Reply()
        if typed in ("", "+", "-", "*"):
            return Reply("Nothing is kept until this is answered.", Flag.CHECK)
        whole = slot.item.kind is Kind.COUNT
        read = quantity.read(typed, slot.item.unit, whole=whole, allow_below=True)
        same = read.value == asked.typed.value  # typed twice: it is meant
        return self._number(slot, read, sure=same, **again)  # type: ignore[arg-type]

    def _judge(self, slot: Slot, index: int, value: float, typed: str, *, sure: bool) -> Judged:
        last = self.last(index) if index < len(self.slots) else None
        return self.weighing.weigh(
            slot.place, slot.item, slot.band, self.meter(slot), value, typed, last, self.kept,
            sure=sure,
        )  # fmt: skip

    # ---- keeping

    def _keep(
        self,
        slot: Slot,
        read: Quantity,
        judged: Judged,
        *,
        recheck: bool = False,
        amends: Seen | None = None,
        reason: str | None = None,
    ) -> Reply:
        """Put one value on the disk, then say what it means and stand at what comes next."""
        other = ""
        with self.site.ledger.writing():
            known = {s.n for s in self.of(slot)}
            self.look_up()
            twin = next((s for s in reversed(self.of(slot)) if s.n not in known), None)
            if amends is None and not recheck and twin is not None:
                recheck = True
                words = twin.typed or twin.qualifier
                other = f" {twin.who} entered {words} at {twin.at.hm()}: both are kept."
            seen = self.keeping.reading(
                slot,
                read,
                judged,
                self.meter(slot),
                recheck=recheck,
                amends=amends,
                reason=reason,
            )
            worked = self._follow(seen)
        self.take_in(seen)
        shown = self._shown(slot, read)
        reply = self._after(slot, judged, f"{shown} kept.{other}", recheck=recheck)
        flag, words = derived.alarm(self.site, worked)
        if flag <= judged.flag:  # its part says as much
            return reply
        return Reply(f"{words} {reply.sentence}", flag)

    def _follow(self, seen: Seen | None) -> list[Seen]:
        """What can be worked out now that a reading was kept: kept with it, or neither is."""
        if seen is None:
            return []
        return deriving.follow(self.site, seen, self.who, self.round.number)

    def _shown(self, slot: Slot, read: Quantity) -> str:
        if slot.item.kind is Kind.CHOICE:
            return f"{slot.place} {slot.item.label}: {read.typed}"
        value = quantity.show(read.value, slot.item.unit, slot.item.decimals)
        return f"{slot.place} {slot.item.label} {'< ' if read.below else ''}{value}"

    def _after(self, slot: Slot, judged: Judged, words: str, *, recheck: bool) -> Reply:
        """Where to stand after keeping, and the sentence for it."""
        if judged.flag >= Flag.WATCH and self.pending(slot):
            self._stand(self.at)
            return Reply(words, judged.flag)
        self._stand(self.next_open(self.at))
        if judged.flag >= Flag.WATCH:
            response = judged.do or slot.item.first_response
            first = f" First: {response}" if response else ""
            before = self.of(slot)[-2].typed if recheck and len(self.of(slot)) > 1 else ""
            both = f" Before: {before}; both are kept." if before else ""
            words = f"{judged.flag.mark} {slot.place} {judged.sentence}.{both}{first}"
            return Reply(words, judged.flag)
        if recheck and len(self.of(slot)) > 1 and self.of(slot)[-2].flag >= Flag.WATCH:
            words += f" The first, {self.of(slot)[-2].typed}, was not confirmed."
        if judged.flag == Flag.CHECK and judged.sentence:
            words = f"{words} {judged.flag.mark} {judged.sentence}. {judged.do}".rstrip()
        return Reply(words, judged.flag)

    def _reason(self, asked: AskReason, typed: str) -> Reply:
        if typed == "6" and len(asked.options()) == 6:
            self.question = AskLimit(asked.slot, asked.recheck)
            return Reply()
        word = next((word for key, word, _ in REASONS if key == typed), None)
        if word is None:
            return Reply("Press one of the numbers listed, or go back.", Flag.CHECK)
        if asked.rest:
            with self.site.ledger.writing():
                self.look_up()
                still = self.open_slots()
                taken = [self._not_taken(self.slots[i], word, recheck=False) for i in still]
            for seen in taken:
                self.take_in(seen)
            self._stand(len(self.slots))
            return Reply(f"{len(still)} not taken: {word}.")
        with self.site.ledger.writing():
            self.look_up()
            seen = self._not_taken(asked.slot, word, recheck=asked.recheck)
        self.take_in(seen)
        self._stand(self.next_open(self.at))
        second = " second reading" if asked.recheck else ""
        words = f"{asked.slot.place} {asked.slot.item.label}{second} not taken: {word}."
        wants = self._wants(asked.slot)
        if wants is None:
            return Reply(words)
        said = f"{Flag.WATCH.mark} {wants.item.label} is out and {asked.slot.item.label} was not"
        return Reply(f"{words} {said} looked at. First: {wants.item.first_response}", Flag.WATCH)

    def _wants(self, left_out: Slot) -> Slot | None:
        """The item out of band in this round that wants the one left out to be looked at."""
        for slot, seen in self.flags():
            if slot.place == left_out.place and left_out.item.code in slot.item.see:
                return slot if seen.flag >= Flag.WATCH else None
        return None

    def _not_taken(self, slot: Slot, word: str, *, recheck: bool) -> Seen | None:
        here = self.of(slot)
        amends = here[-1] if here and not recheck else None
        seen = self.keeping.not_taken(slot, word, recheck=recheck, amends=amends)
        self._follow(seen)
        return seen

    def _limit(self, asked: AskLimit, typed: str) -> Reply:
        if not typed:
            raise Refusal("Nothing was typed, so nothing is kept: type the kit's limit.")
        slot, here = asked.slot, self.of(asked.slot)
        whole = slot.item.kind is Kind.COUNT
        limit = typed if typed.startswith("<") else f"<{typed}"
        read = quantity.read(limit, slot.item.unit, whole=whole, allow_below=True)
        amends = here[-1] if here and not asked.recheck else None
        return self._number(slot, read, recheck=asked.recheck, amends=amends)

    def _correction(self, asked: AskCorrection, typed: str) -> Reply:
        if typed == "*" and not asked.slot.item.choices:
            self.question = None
            return self._number(asked.slot, asked.typed, recheck=True)
        reason = next((words for key, words in CORRECTIONS if key == typed), None)
        if reason is None:
            return Reply("Press one of the numbers listed, or go back.", Flag.CHECK)
        if asked.slot.item.kind is Kind.CHOICE:
            judged = self._judge(
                asked.slot, self.at, asked.typed.value, asked.typed.typed, sure=True
            )
            return self._keep(asked.slot, asked.typed, judged, amends=asked.old, reason=reason)
        return self._number(asked.slot, asked.typed, recheck=False, amends=asked.old, reason=reason)

    def _problem(self, asked: AskProblem, typed: str) -> Reply:
        if typed == "0":
            self.question = AskWords(asked.slot)
            return Reply()
        said = [*asked.choices, *asked.notes][:9]
        numbers = [str(i) for i in range(1, len(said) + 1)]
        if typed not in numbers:
            return Reply("Press one of the numbers listed, or go back.", Flag.CHECK)
        index = numbers.index(typed)
        if index < len(asked.choices):
            self.question = None
            return self._choice(asked.slot, str(index + 2))
        return self._keep_note(asked.slot, said[index])

    def _keep_note(self, slot: Slot, words: str) -> Reply:
        if not words:
            return Reply("Nothing was typed, so no note is kept.", Flag.CHECK)
        with self.site.ledger.writing():
            self.look_up()
            self.keeping.note(slot, words)
        self._stand(self.at)
        return Reply(f"Noted for {slot.place}.")

    def note(self) -> Reply:
        """A note in one's own words for the place the person stands at."""
        if self.signed or not self.slots:
            return self._say(Reply("This round takes no more notes.", Flag.CHECK))
        self.question = AskWords(self.slot)
        return self._say(Reply())

    def next_meter(self) -> Reply:
        """Take the next meter of the present item's kind for the readings that follow."""
        kind = self.slot.item.instrument if self.slots else None
        codes = [m.code for m in self.site.plan.instruments if m.kind == kind]
        if kind is None or len(codes) < 2:
            return self._say(Reply("There is no other meter for this.", Flag.CHECK))
        now = self.meter(self.slot)
        chosen = codes[(codes.index(now) + 1) % len(codes)] if now in codes else codes[0]
        self.meters[kind] = chosen
        return self._say(Reply(f"Readings that follow are taken with {kind} {chosen}."))

    def undo(self) -> Reply:
        """Take back this person's newest standing entry: an amendment, not an erasure."""
        return self._safely(self._undone)

    def _undone(self) -> Reply:
        with self.site.ledger.writing():
            if not self.signed:
                self.look_up()
            mine = [s for kept in self.kept.values() for s in kept if s.who == self.who]
            if self.signed or not mine:
                return Reply("There is nothing of yours to undo in this round.", Flag.CHECK)
            old = max(mine, key=lambda s: s.n)
            self.keeping.undo(old)
            deriving.undone(self.site, old.n, self.who, self.round.number)
        index = self.forget(old)
        self._stand(self.at if index is None else index)
        label = old.item if index is None else self.slot.item.label
        return Reply(f"Undone: {old.place} {label} {old.typed or old.qualifier or ''}.")

    # ---- the end

    def _sign(self, typed: str) -> Reply:
        still = self.open_slots()
        if still and typed == "/":
            self.question = AskReason(self.slot, rest=True)
            return Reply()
        if still:
            return Reply(f"{len(still)} still open: the round cannot be signed yet.", Flag.CHECK)
        if typed != "+":
            return Reply("Press + to sign, or the up arrow to go back.", Flag.CHECK)
        with self.site.ledger.writing():
            self.look_up()
            still = self.open_slots()
            if not still:
                rounds.sign(self.site, self.round, self.who)
        if still:
            self._stand(self.at)
            return Reply(f"{len(still)} open again: the round is not signed.", Flag.CHECK)
        self.signed = True
        return Reply(f"Signed by {self.who} at {self.site.now().hm()}.")
