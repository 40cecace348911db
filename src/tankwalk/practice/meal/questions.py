"""What the feed walk can be asking, each as a value: what it is about, and the keys that answer.

Enter and + never keep what is asked about: the easy key is the safe one. What is said of each
stands in `pages/feed_asks.py`.
"""

from __future__ import annotations

from enum import Enum

from tankwalk.ledger.feeding import MealSeen
from tankwalk.plan.model import Feed
from tankwalk.practice.feeding import meals
from tankwalk.practice.feeding.feed_off import FeedOff
from tankwalk.practice.feeding.meals import FeedDoubt, GivenTwice
from tankwalk.practice.judging.verdict import Judged
from tankwalk.practice.meal.amounts import Amount
from tankwalk.practice.meal.stops import Asked, Portion, Stop
from tankwalk.quantity import Quantity
from tankwalk.rows import NamedTuple


class Sure(Enum):
    """What a person was asked about an amount and stood by."""

    OFF = "the tank is off feed"
    HELD = "something was given already"
    FAR = "it is far from what is listed"
    PLAN = "the plan does not give it"
    TWICE = "it went in a moment ago"


class Order(NamedTuple):
    """An amount that is to be kept, as far as it was asked about; `amends` what it corrects."""

    stop: Stop
    portion: Portion
    amount: Amount
    sure: frozenset[Sure] = frozenset()
    amends: MealSeen | None = None
    reason: str | None = None

    def standing_by(self, one: Sure) -> Order:
        """The same, after a person stood by it."""
        return self._replace(sure=self.sure | {one})


class AskOff(NamedTuple):
    """The tank is off feed: was it fed all the same?"""

    order: Order
    off: FeedOff


class AskOn(NamedTuple):
    """The tank is off feed: is feed turned on again?"""

    stop: Stop
    off: FeedOff


class AskFar(NamedTuple):
    """An amount far from what is listed; `meant` is the same with its mark a place further on."""

    order: Order
    meant: Amount | None


class AskDoubt(NamedTuple):
    """A feed that the plan does not give this tank, or that went in a moment ago."""

    order: Order
    doubt: FeedDoubt | GivenTwice


class AskInstead(NamedTuple):
    """An amount where one is kept: a correction, and why; or given besides."""

    order: Order
    old: MealSeen


class AskNotFed(NamedTuple):
    """No feed: why? For the feed one stands at, or with `whole` for all that is open here."""

    stop: Stop
    portion: Portion
    whole: bool
    many: int
    """How many feeds are open here."""
    flag: str = ""
    """The flag that stands here, by its item and place; "" for none."""


class AskFeed(NamedTuple):
    """Another feed than those listed went in: which?"""

    stop: Stop
    feeds: tuple[Feed, ...]


class AskNote(NamedTuple):
    """A note: one of the site's own, or words."""

    stop: Stop
    notes: tuple[str, ...]


class AskNotTaken(NamedTuple):
    """Something asked was not looked at: why?"""

    stop: Stop
    line: Asked


class AskValue(NamedTuple):
    """A value that cannot be, or looks like a slip."""

    stop: Stop
    line: Asked
    read: Quantity
    judged: Judged


class Words(Enum):
    """What words of one's own are for."""

    NOTE = "a note"
    NOT_FED = "why there is no feed"
    CORRECTED = "why an amount is corrected"


class AskWords(NamedTuple):
    """Words of one's own: a note, or a reason. `about` is what they are said of."""

    stop: Stop
    of: Words
    about: AskNotFed | Order | None = None


Question = (
    AskOff
    | AskOn
    | AskFar
    | AskDoubt
    | AskInstead
    | AskNotFed
    | AskFeed
    | AskNote
    | AskNotTaken
    | AskValue
    | AskWords
)

NO_TIME, RAN_OUT = "missed: no time", "missed: feed ran out"
OFF, PAUSE = meals.FEED_OFF, "pause: planned"
ENOUGH = "pause: enough left in the water"
"""How the record says why a meal was not given; the first words say whether it is a deviation."""

NOT_FED = {"1": NO_TIME, "2": RAN_OUT, "3": OFF, "4": PAUSE}
"""Why there is no feed, by the key of the pad; 5 is another feed, 0 words of one's own."""

ANOTHER, OWN_WORDS = "5", "0"

CORRECTED = {"1": "mis-keyed", "2": "wrong tank", "3": "wrong cup", "4": "some went beside"}
"""Why an amount is corrected, by the key of the pad; 5 is given besides, 0 words of one's own."""

BESIDES = "5"


def menu(asked: Question | None) -> bool:
    """Whether one digit answers at once, with no Enter."""
    return asked is not None and not isinstance(asked, AskWords)
