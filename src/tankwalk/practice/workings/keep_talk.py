"""The talk before an answer is kept: as what, by whom, and all that a dose has to pass first.

Nothing is kept before its last answer, Enter alone keeps nothing, and Esc leaves at any step.
"""

from __future__ import annotations

from enum import StrEnum

from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.ledger.doses import DoseSeen
from tankwalk.ledger.entries import Entry, Note
from tankwalk.practice.open_rounds import open_rounds
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.workings import dose_doubt, doses
from tankwalk.practice.workings.dose_doubt import Review
from tankwalk.practice.workings.doses import Decided, Planned
from tankwalk.practice.workings.figures import answer
from tankwalk.practice.workings.working_out import Working


class Asks(StrEnum):
    """What is asked before an answer is kept."""

    KIND = "kind"
    WHO = "who"
    DECIDER = "decider"
    """Who decided that the dose may lie above its ceiling."""
    REASON = "reason"
    AGAIN = "again"
    """The amount a second time, below the whole arithmetic."""
    WHY_BACK = "why back"
    """Why the newest dose is taken back."""

    @property
    def in_words(self) -> bool:
        """Whether it is answered in words or an amount, ended by Enter."""
        return self in (Asks.REASON, Asks.AGAIN, Asks.WHY_BACK)

    @property
    def of_people(self) -> bool:
        """Whether it is answered by the number of a person."""
        return self in (Asks.WHO, Asks.DECIDER)


REASONS = ("order of the veterinarian", "written procedure of the lab", "decision of the lead")
BACK = ("never poured", "another amount was poured", "it went into another tank")

NOTE, DOSE, TAKE_BACK = "1", "2", "3"


class KeepTalk:
    """One answer on its way into the record."""

    def __init__(self, site: Site, done: Working, place: str, who: str, number: int | None) -> None:
        self.site, self.done, self.place = site, done, place
        self.who, self._round_number = who, number
        self.dose: Planned | None = None
        self.no_dose = ""
        """Why it cannot be kept as a dose; "" where it can, or is none."""
        if done.calculator.dose is not None:
            try:
                self.dose = doses.planned(site, done, place)
            except Refusal as refusal:
                self.no_dose = str(refusal)
        self.newest: DoseSeen | None = doses.newest_here(site, self.dose) if self.dose else None
        self.review: Review | None = None
        self._wanted, self._by = "", ""
        self._decided: Decided | None = None
        self.asks = Asks.KIND
        self.question = self._asked()

    @property
    def reviewed(self) -> Review | None:
        """What is said of the dose, while it is asked about."""
        shown = self.asks in (Asks.DECIDER, Asks.REASON, Asks.AGAIN)
        return self.review if shown else None

    def options(self) -> list[tuple[str, str]]:
        """Keys and what they mean at the question that stands."""
        match self.asks:
            case Asks.KIND:
                kinds = [(NOTE, f"a note at {self.place}")]
                if self.done.calculator.dose is not None:
                    kinds.append((DOSE, self.dose.words if self.dose else "a dose"))
                if self.newest is not None:
                    kinds.append((TAKE_BACK, f"take back {doses.seen_words(self.newest)}"))
                return kinds
            case Asks.WHO | Asks.DECIDER:
                return [(str(i), p.initials) for i, p in enumerate(self.site.people, 1)]
            case Asks.REASON:
                return [(str(i), words) for i, words in enumerate(REASONS, 1)]
            case Asks.WHY_BACK:
                return [(str(i), words) for i, words in enumerate(BACK, 1)]
        return []

    def _ask(self, asks: Asks) -> None:
        self.asks = asks
        self.question = self._asked()

    def _asked(self) -> str:
        """The question in words; what the record says to it is read once, here."""
        match self.asks:
            case Asks.KIND:
                before = doses.last_here(self.site, self.dose) if self.dose else ""
                return f"Keep it as what? {before}".rstrip()
            case Asks.WHO:
                return "Who keeps it? Choose by number."
            case Asks.DECIDER:
                return "Who decided that it may go in all the same? Choose by number."
            case Asks.REASON:
                return f"Why does {self._by} want it? A number, or words; then Enter."
            case Asks.AGAIN:
                return "To keep it, type the dose again; Enter alone keeps nothing."
            case Asks.WHY_BACK:
                return "Why is it taken back? A number, or words; then Enter."

    def answer(self, typed: str) -> str:
        """Answer the question that stands; what was kept, in words, or "" while it goes on.

        Refusal: the answer is none, and the question stands.
        """
        match self.asks:
            case Asks.KIND:
                return self._kind(typed)
            case Asks.WHO:
                self.who = self._person(typed)
                return self._on()
            case Asks.DECIDER:
                self._by = self._person(typed)
                self._ask(Asks.REASON)
                return ""
            case Asks.REASON:
                self._decided = Decided(self._by, _chosen(typed, REASONS))
                return self._on()
            case Asks.AGAIN:
                return self._again(typed)
            case Asks.WHY_BACK:
                assert self.newest is not None
                return doses.take_back(self.site, self.newest, self.who, _chosen(typed, BACK))

    def _kind(self, typed: str) -> str:
        if typed not in [key for key, _ in self.options()]:
            raise Refusal(f"{typed} is no choice here: choose by number, or Esc goes back.")
        if typed == DOSE and self.dose is None:
            raise Refusal(self.no_dose)
        self._wanted = typed
        return self._on()

    def _person(self, typed: str) -> str:
        people = self.site.people
        if not (typed.isdecimal() and 1 <= int(typed) <= len(people)):
            raise Refusal(f"There is no number {typed or '0'} in the list.")
        return people[int(typed) - 1].initials

    def _on(self) -> str:
        """Go on to the disk, or to the question that stands before it."""
        if not self.who:
            self._ask(Asks.WHO)
        elif self._wanted == NOTE:
            return self._note()
        elif self._wanted == TAKE_BACK:
            self._ask(Asks.WHY_BACK)
        else:
            assert self.dose is not None
            self.review = dose_doubt.review(self.site, self.dose)
            if self.review.above and self._decided is None:
                self._ask(Asks.DECIDER)
            elif self.review.doubt is not None or self.review.above:
                self._ask(Asks.AGAIN)
            else:
                return self._kept(self.dose)
        return ""

    def _again(self, typed: str) -> str:
        """The dose a second time: the same amount is kept, another is judged anew."""
        assert self.dose is not None
        if not typed:
            raise Refusal("Nothing was typed, so nothing is kept: the amount, or Esc.")
        if doses.same_amount(self.dose, typed) is not None:
            return self._kept(self.dose)
        self.dose = self.dose.of(doses.typed_amount(self.dose, typed))
        self._decided = None
        kept = self._on()
        if not kept:
            raise Refusal(f"{self.dose.shown} is another amount: nothing was kept.")
        return kept

    def _kept(self, dose: Planned) -> str:
        return doses.keep(self.site, dose, self.who, self._round(), self._decided)

    def _note(self) -> str:
        now = self.site.now()
        entry = Entry("note", self.site.signs(self.who), now, now, self.place, round=self._round())
        self.site.record(entry, Note(note_words(self.done)))
        where = "for the site" if self.place == SITE else f"at {self.place}"
        return f"Noted {where} ({self.who})."

    def _round(self) -> int | None:
        """The round this belongs to: the walk's, else one that is open."""
        if self._round_number is not None:
            return self._round_number
        open_now = open_rounds(self.site, self.site.now())
        return open_now[0].number if open_now else None


def _chosen(typed: str, listed: tuple[str, ...]) -> str:
    """Words that were typed, or those of a number of the list; Refusal for neither."""
    words = text.clean(typed, limit=200)
    if words.isdecimal():
        if not 1 <= int(words) <= len(listed):
            raise Refusal(f"There is no number {words} in the list.")
        return listed[int(words) - 1]
    if len(words) < 3:
        raise Refusal("A reason is a number of the list, or a few words: nothing was kept.")
    return words


def note_words(done: Working) -> str:
    """A working as one note: the answer, what it was made from, what stands against it."""
    asked = done.calculator
    what = f"{asked.output.words} " if asked.output.words else ""
    parts = ", ".join(f"{t.key} {t.shown}" for t in done.inputs if not t.usual)
    against = "".join(f" ! {w}" for w in done.said)
    made = f" ({parts})" if parts else ""
    return f"{asked.name}: {what}{answer(done)}{made}{against}"
