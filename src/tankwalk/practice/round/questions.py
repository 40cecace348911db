"""What a walk can be asking, each as a value: the words and the keys that answer; and its reply."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.plan.model import Item, Level
from tankwalk.practice.judging.slips import Slip
from tankwalk.practice.judging.verdict import Flag, Judged, left_out
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.paper_questions import (
    AskSecond,
    AskStopTime,
    AskWalker,
    AskWhich,
)
from tankwalk.practice.round.rounds import SIGNING
from tankwalk.quantity import Quantity
from tankwalk.rows import NamedTuple

Option = tuple[str, str]
"""A key of the pad and what it means here."""
OF_THE_MENU = "Press one of the numbers listed, or go back."
TOO_MANY_KEYS = 10
"""From so many on one digit does not answer alone."""


class Reason(NamedTuple):
    """Why something was not taken: its key, the record's word, and what the person reads."""

    key: str
    word: str
    says: str
    by_eye: str = ""
    """What is read instead where no meter is used."""
    with_fish: bool = False
    """Fits only where there may be fish."""

    def fits(self, slot: Slot) -> bool:
        return not self.with_fish or slot.item.level is Level.TANK

    def option(self, slot: Slot) -> Option:
        eye = self.by_eye if slot.item.kind.by_words else ""
        return self.key, eye or self.says


REASONS: tuple[Reason, ...] = (
    Reason("1", "not due", "not due today"),
    Reason("2", "not looked", "not checked, no time"),
    Reason("3", "could not", "could not: meter or kit out", "could not: no access, out of order"),
    Reason("4", "no fish", "no fish in it", with_fish=True),
    Reason("5", "unsafe", "unsafe, or the fish come first"),
)
"""Why something was not taken. A number means the same everywhere, and stands where it fits."""

BELOW: Option = ("6", "below detection limit")
OTHER: Option = ("7", "other, in words")
OTHER_WORD = "could not"
"""The record's word beside a reason in a person's own words."""

WRONG_TANK = "wrong tank"
CORRECTIONS: tuple[Option, ...] = (
    ("1", "mis-keyed"),
    ("2", WRONG_TANK),
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


class Pinned(NamedTuple):
    """What is done first about a value that is out: in sight until it is answered or put aside."""

    slot: Slot
    seen: Seen
    flag: Flag
    message: Message


class Meant(NamedTuple):
    """One way to read a number in doubt: its key, the value, how so, and what it would mean."""

    key: str
    read: Quantity
    how: str
    """ "as typed", "if it was read in gal/min"."""
    judged: Judged
    lies: str
    """Where it lies: "below 3.0", "in 3.0-4.1"; what it can be, where it cannot be kept."""
    possible: bool

    def shown(self, item: Item) -> str:
        """The value with its unit and all the digits that were typed."""
        below = "< " if self.read.below else ""
        typed = self.read.typed if self.read.typed_unit is None else ""
        return below + item.shown(self.read.value, typed)

    def words(self, item: Item) -> str:
        """The reading as it is offered: "0.92 L/min as typed: below 3.0, ACT"."""
        shown = self.shown(item)
        if not self.possible:
            return f"{shown} {self.how}: {self.lies}"
        level = self.judged.flag.word
        where = self.lies or self.judged.sentence
        if self.judged.flag < Flag.WATCH:
            return f"{shown} {self.how}: {level}{', ' if where else ''}{where}"
        return f"{shown} {self.how}: {where}{', ' if where else ''}{level}"


class Correcting(NamedTuple):
    """A kept value that is to be replaced: the old one, why, and who says so.

    `event` are the readings that go with it where a second one had confirmed it.
    """

    old: Seen
    reason: str | None = None
    who: str | None = None
    event: tuple[Seen, ...] = ()


class AskSlip(NamedTuple):
    """The number cannot be, looks like a slip, or can be read two ways.

    Nothing is kept until a digit chooses. The easy keys, + and Enter, choose nothing; * measures
    again.
    """

    slot: Slot
    meant: tuple[Meant, ...]
    doubt: str
    """What makes it doubtful, in one sentence."""
    slip: Slip | None = None
    """The slip it looks like, if any."""
    two_ways: bool = False
    """It was written so that it is one number or a thousand times it."""
    correcting: Correcting | None = None
    recheck: bool = False

    @property
    def typed(self) -> Quantity:
        """The number as typed."""
        return self.meant[0].read

    @property
    def impossible(self) -> bool:
        """Whether it cannot be kept as typed."""
        return not self.meant[0].possible

    @property
    def words(self) -> str:
        which = "Which is it? " if sum(m.possible for m in self.meant) > 1 else ""
        return f"{self.doubt} {which}Nothing is kept yet."

    def lowers(self, meant: Meant) -> bool:
        """Whether choosing this reading would clear or lower a flag that another one raises."""
        worst = max(
            (m.judged.flag for m in self.meant if m is not meant and m.possible), default=Flag.OK
        )
        return worst >= Flag.WATCH and meant.judged.flag < worst

    def options(self) -> Sequence[Option]:
        item = self.slot.item
        found: list[Option] = []
        for one in self.meant:
            if one.possible:
                first = f" ({item.kind.verb.lower()} again first)" if self.lowers(one) else ""
                found.append((one.key, one.words(item) + first))
        return [*found, ("*", f"{item.kind.verb.lower()} again"), ("/", "not taken")]


class AskMeter(NamedTuple):
    """The meter in hand failed its check and is out of use: which one read the number?

    Nothing is kept until a digit says so; the easy keys say nothing.
    """

    slot: Slot
    typed: str
    meter: str
    failed: Instant
    others: tuple[str, ...]
    """Meters of its kind that are in use."""
    recheck: bool = False
    correcting: Correcting | None = None

    @property
    def words(self) -> str:
        return (
            f"Meter {self.meter} failed its check {self.failed.short()}, it is out of use. Which "
            f"one read {self.typed}? Nothing is kept yet."
        )

    @property
    def same(self) -> str:
        """The digit that says it was read with it all the same: the last one."""
        return str(len(self.others) + 1)

    def options(self) -> Sequence[Option]:
        found = [(str(nth), f"meter {code}") for nth, code in enumerate(self.others, 1)]
        all_the_same = (self.same, f"{self.meter} all the same; the record says so")
        return [*found, all_the_same, ("/", "not taken")]


class AskAgain(NamedTuple):
    """Out of band: measure again while the probe is in the water; both values stay."""

    slot: Slot
    first: Seen
    message: Message
    other_meter: bool = False
    """The meter is in question: a second reading with it tells little."""
    later: bool = False
    """What stands is confirmed, or was seen by eye: this is a look of its own."""

    @property
    def what(self) -> str:
        """What is asked: a second reading, or a later look."""
        return "later look" if self.later else "second reading"

    @property
    def words(self) -> str:
        return self.message.words(Flag(self.first.flag))

    def options(self) -> Sequence[Option]:
        meter = [("m", "next meter")] if self.other_meter else []
        return [*meter, ("0-9", self.what), ("/", f"no {self.what}"), ("-", "note")]


class AskReason(NamedTuple):
    """Not taken: why? One reason may stand for all that is open at the stop, or in the round."""

    slot: Slot
    recheck: bool = False
    rest: bool = False
    """For all that is still open in the round."""
    stop: int = 0
    """For so many that are open at this stop; 0 for this one alone."""
    open_here: int = 0
    """How many are open at this stop."""

    @property
    def words(self) -> str:
        if self.rest:
            return "Not taken, all that is still open. Why?"
        if self.stop:
            return f"Not taken: all {self.stop} still open here. Why?"
        what = "No second reading" if self.recheck else "Not taken"
        return f"{what}: {self.slot.item.label}. Why?"

    @property
    def many(self) -> bool:
        """Whether one reason is given for several."""
        return self.rest or self.stop > 0

    def reasons(self) -> list[Reason]:
        """The reasons that fit what is asked."""
        return [one for one in REASONS if self.many or one.fits(self.slot)]

    def options(self) -> Sequence[Option]:
        found: list[Option] = [one.option(self.slot) for one in self.reasons()]
        if not self.many:
            if self.slot.item.kind.below:
                found.append(BELOW)
            found.append(OTHER)
            if self.open_here > 1 and not self.recheck:
                found.append(("/", f"all {self.open_here} open here"))
        return found


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
    """A kept value is to be replaced, or taken back (`typed` None): why?"""

    slot: Slot
    typed: Quantity | None
    old: Seen
    event: tuple[Seen, ...] = ()
    """The readings behind it, where a second one had confirmed it: a name is asked too."""

    @property
    def words(self) -> str:
        old = self.old.typed or left_out(self.old.qualifier)
        when = f"({self.old.at.hm()} {self.old.who})"
        sure = ", confirmed" if self.event else ""
        if self.typed is None:
            return f"{self.slot.item.label} {old} {when}{sure}, taken back. Why?"
        return f"{self.slot.item.label} was {old} {when}{sure}; {self.typed.typed} instead. Why?"

    movable: bool = False
    """Whether there is another tank, or loop, that it may belong to."""

    def options(self) -> Sequence[Option]:
        found = [one for one in CORRECTIONS if self.movable or one[1] != WRONG_TANK]
        if self.typed is not None:
            words = (
                "a later look" if self.event or self.slot.item.kind.by_words else "second reading"
            )
            found.append(("*", f"{words}, keep both"))
        return found


class AskName(NamedTuple):
    """Who says that a confirmed value was wrong: the person of the round, or another one."""

    slot: Slot
    typed: Quantity | None
    correcting: Correcting
    people: tuple[str, ...]
    """The person of the round first."""

    @property
    def words(self) -> str:
        old = self.correcting.old
        return (
            f"{self.slot.item.label} {old.typed or left_out(old.qualifier)} was confirmed; "
            f"{self.correcting.reason}. Who says so?"
        )

    def options(self) -> Sequence[Option]:
        return [(str(nth), initials) for nth, initials in enumerate(self.people, 1)]


class AskMove(NamedTuple):
    """Read in another tank: this value alone, or all that the stop holds?"""

    slot: Slot
    typed: str | None
    """What was typed for this line instead, if anything was."""
    values: int

    @property
    def words(self) -> str:
        return f"{self.slot.place}: which values belong to another {_what(self.slot)}?"

    def options(self) -> Sequence[Option]:
        return [("1", f"{self.slot.item.label} alone"), ("2", f"all {self.values} lines here")]


class AskTank(NamedTuple):
    """To which tank, or loop, the values belong."""

    slot: Slot
    typed: str | None
    whole: bool

    @property
    def words(self) -> str:
        what = "All values of" if self.whole else f"{self.slot.item.label} of"
        return f"{what} {self.slot.place} belong to which {_what(self.slot)}?"

    def options(self) -> Sequence[Option]:
        return [("0-9", f"its number, then Enter: 3 is {_what(self.slot)} 3")]


def _what(slot: Slot) -> str:
    return "tank" if slot.item.level is Level.TANK else "loop"


class AskProblem(NamedTuple):
    """Something is not right here: which word, or which note?

    A word has one number, its place in the plan; notes come after the words.
    """

    slot: Slot
    choices: tuple[str, ...]
    notes: tuple[str, ...]
    movable: bool = False
    """Whether what this stop holds may belong to another tank or loop."""

    @property
    def words(self) -> str:
        return f"{self.slot.place} {self.slot.item.label}: what is it?"

    def options(self) -> Sequence[Option]:
        said = [*self.choices, *(f'note "{n}"' for n in self.notes)][:9]
        move = [("*", f"these belong to another {_what(self.slot)}")] if self.movable else []
        listed = ((str(i), words) for i, words in enumerate(said, 1))
        return [*listed, ("0", "write a note"), *move]


class AskWords(NamedTuple):
    """A note in the person's own words, or the reason why something was not taken."""

    slot: Slot
    why_not: bool = False
    recheck: bool = False

    @property
    def words(self) -> str:
        what = f"{self.slot.place} {self.slot.item.label}"
        if self.why_not:
            return f"{what} not taken, because:"
        return f"Note for {self.slot.place}, {self.slot.item.label}:"

    def options(self) -> Sequence[Option]:
        return [("Enter", f"keep the {'reason' if self.why_not else 'note'}"), ("Esc", "back")]


class AskSign(NamedTuple):
    """The end of the round: what is open, what was not taken, and the signature."""

    open_slots: int
    who: str
    meaning: str = SIGNING

    @property
    def words(self) -> str:
        if self.open_slots:
            return f"{self.open_slots} still open: go back to them, or give one reason for all."
        return f'Sign as {self.who}: "{self.meaning}."'

    def options(self) -> Sequence[Option]:
        if self.open_slots:
            return [("/", "one reason for all"), ("up", "back to them")]
        return [("+", f"sign as {self.who}"), ("up", "back")]


Question = (
    AskSlip
    | AskMeter
    | AskAgain
    | AskReason
    | AskLimit
    | AskCorrection
    | AskName
    | AskMove
    | AskTank
    | AskProblem
    | AskWords
    | AskSign
    | AskStopTime
    | AskWalker
    | AskSecond
    | AskWhich
)


def menu(question: Question | None) -> bool:
    """Whether one digit answers at once, with no Enter."""
    if isinstance(question, AskName | AskWalker):
        return len(question.people) < TOO_MANY_KEYS
    return isinstance(
        question, AskSlip | AskMeter | AskReason | AskCorrection | AskMove | AskProblem | AskWhich
    )


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
