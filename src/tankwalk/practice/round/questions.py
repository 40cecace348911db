"""What a walk can be asking, each as a value: the words and the keys that answer; and its reply."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from tankwalk.ledger.readings import Seen
from tankwalk.practice.judging.slips import Slip
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.agenda import Slot
from tankwalk.quantity import Quantity

Option = tuple[str, str]
"""A key of the pad and what it means here."""

REASONS: tuple[tuple[str, str, str], ...] = (
    ("1", "not due", "not due today"),
    ("2", "not looked", "not looked, no time"),
    ("3", "could not", "could not: meter or kit out"),
    ("4", "no fish", "no fish in it"),
    ("5", "unsafe", "unsafe, or the fish come first"),
)
"""Why something was not taken: key, the record's word, what the person reads."""

BELOW: Option = ("6", "below what the kit can see")

CORRECTIONS: tuple[Option, ...] = (
    ("1", "mis-keyed"),
    ("2", "wrong tank"),
    ("3", "wrong unit"),
    ("4", "meter fault"),
    ("5", "other"),
)
"""Why a kept value is corrected."""


class Message(NamedTuple):
    """What is said of a value that is out: the thing, what it is held against, what to do."""

    headline: str
    """Thing, value, unit, band; no mark and no period."""
    reasons: tuple[str, ...] = ()
    """Since when, against what: parts of a sentence."""
    action: str = ""

    def words(self, flag: Flag) -> str:
        """All of it as one line, with the flag's mark."""
        why = "; ".join(self.reasons)
        said = f"{self.headline}, {why}" if why else self.headline
        mark = f"{flag.mark} " if flag else ""
        return f"{mark}{said}. {self.action}".rstrip()


class AskSlip(NamedTuple):
    """The number cannot be, or looks like a slip: nothing is kept until this is answered."""

    slot: Slot
    typed: Quantity
    words: str
    slip: Slip | None
    impossible: bool
    amends: Seen | None = None
    reason: str | None = None
    recheck: bool = False

    def options(self) -> Sequence[Option]:
        found: list[Option] = []
        if self.slip is not None:
            found.append(("+", f"yes, {self.slip.name}"))
        if not self.impossible:
            found.append(("*", "no, as typed"))
        return [*found, ("0-9", "type it again"), ("/", "not taken")]


class AskAgain(NamedTuple):
    """Out of band: measure again while the probe is in the water; both values stay."""

    slot: Slot
    first: Seen
    message: Message
    other_meter: bool = False
    """The meter is in question: a second reading with it tells little."""

    @property
    def words(self) -> str:
        return self.message.words(Flag(self.first.flag))

    def options(self) -> Sequence[Option]:
        meter = [("m", "next meter")] if self.other_meter else []
        return [*meter, ("0-9", "second reading"), ("/", "no second reading"), ("-", "note")]


class AskReason(NamedTuple):
    """Not taken: why? `rest` gives one reason to all that is still open in the round."""

    slot: Slot
    recheck: bool = False
    rest: bool = False

    @property
    def words(self) -> str:
        if self.rest:
            return "Not taken, all that is still open. Why?"
        what = "No second reading" if self.recheck else "Not taken"
        return f"{what}: {self.slot.item.label}. Why?"

    def options(self) -> Sequence[Option]:
        found: list[Option] = [(key, words) for key, _, words in REASONS]
        return found if self.rest or not self.slot.item.kind.below else [*found, BELOW]


class AskLimit(NamedTuple):
    """Below detection: the smallest value the kit can show."""

    slot: Slot
    recheck: bool = False

    @property
    def words(self) -> str:
        return f"{self.slot.item.label}: below which value can the kit not see?"

    def options(self) -> Sequence[Option]:
        return [("0-9", "the kit's limit, then Enter")]


class AskCorrection(NamedTuple):
    """A kept value is to be replaced: why, or is it a second measurement?"""

    slot: Slot
    typed: Quantity
    old: Seen

    @property
    def words(self) -> str:
        return (
            f"{self.slot.item.label} was {self.old.typed or self.old.qualifier} "
            f"({self.old.at.hm()} {self.old.who}); {self.typed.typed} instead. Why?"
        )

    def options(self) -> Sequence[Option]:
        if not self.slot.item.kind.read_twice:
            return CORRECTIONS
        return [*CORRECTIONS, ("*", "second measurement, keep both")]


class AskProblem(NamedTuple):
    """Something is not right here: which word, or which note?"""

    slot: Slot
    choices: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def words(self) -> str:
        return f"{self.slot.place} {self.slot.item.label}: what is it?"

    def options(self) -> Sequence[Option]:
        said = [*self.choices, *(f'note "{n}"' for n in self.notes)][:9]
        return [*((str(i), words) for i, words in enumerate(said, 1)), ("0", "write a note")]


class AskWords(NamedTuple):
    """A note in the person's own words."""

    slot: Slot

    @property
    def words(self) -> str:
        return f"Note for {self.slot.place}, {self.slot.item.label}:"

    def options(self) -> Sequence[Option]:
        return [("Enter", "keep the note"), ("Esc", "back")]


class AskSign(NamedTuple):
    """The end of the round: what is open, what was not taken, and the signature."""

    open_slots: int
    who: str

    @property
    def words(self) -> str:
        if self.open_slots:
            return f"{self.open_slots} still open: go back to them, or give one reason for all."
        return f'Sign as {self.who}: "I took these readings, and they are what I saw."'

    def options(self) -> Sequence[Option]:
        if self.open_slots:
            return [("/", "one reason for all"), ("up", "back to them")]
        return [("+", f"sign as {self.who}"), ("up", "back")]


Question = (
    AskSlip | AskAgain | AskReason | AskLimit | AskCorrection | AskProblem | AskWords | AskSign
)


def menu(question: Question | None) -> bool:
    """Whether one digit answers at once, with no Enter."""
    return isinstance(question, AskReason | AskCorrection | AskProblem)


class Reply(NamedTuple):
    """What became of an answer.

    `understood` is False when what was typed should stay on the line to be mended.
    """

    sentence: str = ""
    flag: Flag = Flag.OK
    understood: bool = True
    message: Message | None = None
    """The same in its parts, where it is of a value that is out; a page shows these."""
    kept: str = ""
    """Beside a message: what was kept."""
