"""A talk by number: questions asked one after the other, nothing kept before the last answer.

A talk is a generator that gives a `Step` for each question, is sent the `Answer`, and returns the
sentence that says what was kept. A Refusal inside ends it with its sentence.
"""

from __future__ import annotations

from collections.abc import Generator

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

ONE_DIGIT = 9
"""A longer list takes two digits, or Enter after one."""

LONGEST_WORDS = 10_000
"""Characters that words of one's own may have: as many as the record takes (`text.clean`)."""

HAND_MINUTES = 10
"""How long one who was named writes on without being asked again. Common practice, no source."""


class Step(NamedTuple):
    """One question. `zero` is what 0 means; with `writes` it leads to words of one's own.

    `enter` says what Enter alone answers, "" where it answers nothing. `told` is said above the
    question; `shown` is the section of the page to be read again.
    """

    ask: str
    choices: tuple[str, ...] = ()
    zero: str = ""
    writes: bool = False
    enter: str = ""
    told: str = ""
    shown: str = ""
    closed: bool = False
    """Whether the page is out of sight while this is asked."""
    nth: int = 0
    of: int = 0
    """Which of how many questions this is, where they belong together."""
    right: tuple[tuple[str, str], ...] = ()
    """Questions before this one, and their answers."""
    figure: bool = False
    """Whether a number is typed: a `+` that takes nothing is no part of it."""
    quick: tuple[tuple[str, str], ...] = ()
    """Keys that answer at once while nothing is typed, each with what it means."""


class Answer(NamedTuple):
    """`number` of a choice (0 for `zero`, own words and Enter) and its words; Enter has none."""

    number: int
    words: str


Talk = Generator[Step, Answer, str]
"""What asks and then keeps; its value is what it says at the end."""


class Asking:
    """A talk under way: the question that stands, and what is typed at it."""

    def __init__(self, talk: Talk) -> None:
        self.talk = talk
        self.step = Step("")
        self.typed = ""
        self.writing = False
        self.over = False
        self.said = ""
        """What was wrong with the last answer; when it is over, what the talk said."""
        self._go(None)

    @property
    def two_digits(self) -> bool:
        """Whether the list is too long for one digit."""
        return not self.writing and len(self.step.choices) > ONE_DIGIT

    def type(self, character: str) -> None:
        """A character: part of one's own words, a number of the list, or the first of the words."""
        self.said = ""
        if not self.typed and character in dict(self.step.quick):
            self._go(Answer(0, character))
        elif self.step.figure and not self.typed and character == "+":
            self.said = "Nothing is proposed here: type the number."
        elif self.writing:
            self._write(self.typed + character)
        elif character in "0123456789":
            self.typed += character
            if not self.two_digits or len(self.typed) == len(str(len(self.step.choices))):
                self._choose()
        elif self.step.writes and character.isprintable() and character != " ":
            self.writing, self.typed = True, character
        else:
            self.said = f"{character} is no choice here: choose by number, or Esc goes back."

    def paste(self, words: str) -> None:
        """Pasted words: written where words are asked for, else let go."""
        if self.step.writes:
            typed = self.typed if self.writing else ""
            self.writing = True
            self._write(typed + words)

    def _write(self, words: str) -> None:
        """Words of one's own, as far as they are taken; said where they are not taken whole."""
        self.typed = words[:LONGEST_WORDS]
        if len(words) > LONGEST_WORDS:
            self.said = too_long(LONGEST_WORDS)

    def rub(self) -> None:
        """Take the last character back."""
        self.typed = self.typed[:-1]

    def enter(self) -> None:
        """Enter: the words as typed, the number as typed, or what Enter alone answers."""
        self.said = ""
        if self.writing and self.typed.strip():
            self._go(Answer(0, self.typed))
        elif self.typed and not self.writing:
            self._choose()
        elif self.step.enter:
            self._go(Answer(0, ""))
        elif self.writing:
            self.said = "Nothing was typed, so nothing is kept."
        else:
            self.said = "Choose by number: nothing is kept by silence."

    def _choose(self) -> None:
        number, self.typed = int(self.typed), ""
        if 1 <= number <= len(self.step.choices):
            self._go(Answer(number, self.step.choices[number - 1]))
        elif number == 0 and self.step.writes:
            self.writing = True
        elif number == 0 and self.step.zero:
            self._go(Answer(0, self.step.zero))
        else:
            self.said = f"There is no number {number} in the list."

    def _go(self, answer: Answer | None) -> None:
        """On to the next question, or to the end."""
        try:
            self.step = next(self.talk) if answer is None else self.talk.send(answer)
        except StopIteration as end:
            self.over, self.said = True, str(end.value or "")
        except Refusal as refusal:
            self.over, self.said = True, str(refusal)
        else:
            self.typed = ""
            self.writing = self.step.writes and not self.step.choices


def too_long(most: int) -> str:
    """What is said where more is typed than a field or a note takes."""
    return f"No more than {most} characters are taken here: the rest was not."


class Hand:
    """Who writes at this screen: named once, then for some minutes not asked again."""

    def __init__(self) -> None:
        self._who = ""
        self._at: Instant | None = None
        self._before: tuple[str, Instant | None] = "", None

    def forget(self) -> None:
        self._who, self._at = "", None

    def begin(self) -> None:
        """A talk begins: who is named in it counts once the talk has not been left."""
        self._before = self._who, self._at

    def back(self) -> None:
        """The talk was left: who was named before it goes on, who was named in it does not."""
        self._who, self._at = self._before

    def of(self, now: Instant) -> str:
        """Whose hand it is, "" where nobody was named or it was too long ago."""
        if self._at is None or not 0 <= now.hours_since(self._at) * 60 <= HAND_MINUTES:
            return ""
        return self._who

    def named(self, who: str, now: Instant) -> None:
        self._who, self._at = who, now


def person(site: Site, ask: str, told: str = "") -> Generator[Step, Answer, str]:
    """Ask for a person of the plan; gives the initials."""
    people = tuple(p.initials for p in site.people)
    answer = yield Step(ask, people, told=told)
    return answer.words


def with_room(site: Site) -> str:
    """Who took the room last, "" where nobody did or it was given on since."""
    last = site.reader.handovers.last()
    taken_by = None if last is None else last.taken_by
    known = {p.initials for p in site.people}
    return taken_by if taken_by in known else ""


def one_of_us(site: Site, ask: str, told: str = "") -> Generator[Step, Answer, str]:
    """Ask who did something; Enter is the one who has the room, any other by number."""
    holder = with_room(site)
    people = tuple(p.initials for p in site.people)
    enter = f"{holder}, who has the room" if holder else ""
    answer = yield Step(ask, people, told=told, enter=enter)
    return answer.words or holder


def writer(site: Site, hand: Hand, ask: str) -> Generator[Step, Answer, str]:
    """Who writes: the one who was just named, else asked."""
    who = hand.of(site.now())
    if not who:
        who = yield from one_of_us(site, ask)
    hand.named(who, site.now())
    return who
