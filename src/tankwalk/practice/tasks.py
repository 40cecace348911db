"""What is due, as facts: one named tuple a kind of thing; and which of many comes first.

No words are made here: `pages/due_words.py` says each of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from enum import Enum
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.ledger.feeding import BatchKind
    from tankwalk.plan.model import Instrument, Person
    from tankwalk.practice.doing.deviations import DeviationKind
    from tankwalk.practice.judging.standing.flags import Key


class DueKind(Enum):
    """What can be due; of what is overdue, the first of these comes first: fish before paper."""

    UNATTENDED = "unattended"
    CALL = "call"
    TIMER = "timer"
    LOOK = "look"
    SITTING = "sample begun"
    HARVEST = "harvest"
    CONE = "cone"
    HATCH = "hatch"
    MEAL = "meal"
    BATCH = "batch"
    ROUND = "round"
    UNSIGNED = "unsigned"
    METER = "meter"
    CHECK = "check"
    DEVIATION = "deviation"
    SAMPLE = "sample"
    ORDER = "order"
    BACKUP = "backup"
    CHANGE = "change"
    GAP = "gap"


RANK = {kind: rank for rank, kind in enumerate(DueKind)}


class DueState(Enum):
    """How something that is due stands."""

    TO_COME = "to come"
    NOW = "due now"
    OVERDUE = "overdue"
    BEGUN = "begun and not signed"
    NOT_DONE = "never done yet"
    USELESS = "too late to be of use"


# ---- the facts


class NobodyThere(NamedTuple):
    """Nobody entered anything for `hours`; the last entry and whose it was."""

    hours: float
    last: Instant
    who: str


class Missed(NamedTuple):
    """How many rounds, meals and harvests fell into the time nobody was there."""

    rounds: int
    meals: int
    harvests: int


class LastSaid(NamedTuple):
    """What the last handover said first of what matters after days, who gave it and when."""

    gist: tuple[str, ...]
    who: str
    at: Instant


class CallDue(NamedTuple):
    """An URGENT flag that nobody was called about, or nobody was reached: whom to call."""

    key: Key
    place: str
    label: str
    whom: Person | None
    tried: bool
    since: Instant


class LookDue(NamedTuple):
    """Flags at a place that are looked at again: when, and `hours` past that (negative: to come).

    `asked` is what is read, by place and item; `key` and `flag` are those of the worst of them.
    """

    key: Key
    place: str
    labels: tuple[str, ...]
    asked: tuple[tuple[str, str], ...]
    flag: int
    at: Instant
    hours: float


class Runs(Enum):
    """What runs by the clock."""

    BATH = "bath"
    GEAR = "gear"
    HYDRATE = "hydrate"
    ENRICH = "enrich"


class TimerDue(NamedTuple):
    """Something that runs by the clock and ends at a time of day: a bath, an enrichment."""

    what: Runs
    batch: str
    at: Instant

    def over(self, now: Instant) -> bool:
        """Whether its time is over."""
        return now.utc >= self.at.utc


class HarvestDue(NamedTuple):
    """A cone to be harvested: when, and `hours` past that (negative: to come)."""

    batch: str
    at: Instant
    state: DueState
    hours: float


class ConeWater(Enum):
    """What of hatching water is checked."""

    TEMPERATURE = "degC"
    PH = "pH"


class OutOfLimit(NamedTuple):
    """A value of hatching water and the limit it is beyond."""

    of: ConeWater
    value: float
    limit: float


class ConeOut(NamedTuple):
    """A cone out of band at its last check, and since which check."""

    batch: str
    wrong: tuple[OutOfLimit, ...]
    since: Instant


class PoorHatch(NamedTuple):
    """A harvest that hatched much less than usual; all in percent, `short` of the usual."""

    batch: str
    hatched: float
    usual: float
    short: int


class NextStep(Enum):
    """What is done next with a batch."""

    SET = "set"
    CHECK = "check"
    HARVEST = "harvest"
    COUNT = "count"
    CHILL = "chill"
    POUR = "use"
    DISCARD = "discard"
    FEED = "feed"
    SPLIT = "split"
    RESTART = "restart"


class BatchDue(NamedTuple):
    """The next step of a batch of live feed, `hours` past its hour (negative: to come).

    `from_` is the vessel from which a culture is begun again; `still_feed` tells of nauplii that
    are over their hour and may be fed all the same.
    """

    batch: str
    kind: BatchKind
    step: NextStep
    at: Instant
    state: DueState
    hours: float
    from_: str | None = None
    still_feed: bool = False


class ConeToSet(NamedTuple):
    """A cone to be set by a time, `hours` past it (negative: to come): g of a lot in L of water.

    `late` tells that it should stand already: it is set at once.
    """

    by: Instant
    grams: float
    litres: float
    lot: str
    hours: float
    late: bool = False


class MealsOwed(NamedTuple):
    """Tanks that wait for the meals of these times, `hours` after the first of them."""

    since: tuple[Instant, ...]
    tanks: tuple[str, ...]
    state: DueState
    hours: float


class MealNext(NamedTuple):
    """The next meal, how many tanks are to get it and in how many hours.

    It is made up from `prepare` on: dry feed weighed, live feed counted. `off` are tanks whose
    feed is off then.
    """

    at: Instant
    tanks: int
    hours: float
    prepare: Instant
    weighs: bool = False
    counts: bool = False
    off: tuple[str, ...] = ()


class RoundDue(NamedTuple):
    """A round of today that is not signed, `hours` past its time; when and by whom it was begun."""

    label: str
    at: Instant
    state: DueState
    hours: float
    begun: Instant | None = None
    by: str = ""


class RoundUnsigned(NamedTuple):
    """A round of an earlier day that was begun and never signed."""

    label: str
    begun: Instant
    by: str


class MetersDue(NamedTuple):
    """Meters whose check is due, `days` over; `last` is their newest one."""

    meters: tuple[Instrument, ...]
    state: DueState
    days: float = 0.0
    last: Instant | None = None


class CheckDue(NamedTuple):
    """A check of a place that is done every so many days, `days` over; when it was done last.

    `many` checks that were never done yet are one: `label` is then the round that asks them.
    """

    label: str
    place: str
    state: DueState
    days: float = 0.0
    last: Instant | None = None
    many: int = 1


class DeviationsDrafted(NamedTuple):
    """How many deviations are drafted, at which places by kind, and who decides."""

    many: int
    places: tuple[tuple[DeviationKind, tuple[str, ...]], ...]
    owner: str | None


class SamplesDue(NamedTuple):
    """Samples that the same tanks owe, `days` over; the day of the last ones."""

    labels: tuple[str, ...]
    places: tuple[str, ...]
    state: DueState
    days: float
    last: date | None


class OrderDue(NamedTuple):
    """Stock that is to be ordered, `days` after the day for it; `lasts` days at its use.

    `grams` are there of it; `lasts` is None where nobody knows what is used.
    """

    code: str
    grams: float
    lasts: float | None
    by: date
    state: DueState
    days: float


def order_of(code: str) -> str:
    """What the follow-up of an order is about, as the record keeps it."""
    return f"order {code}"


class SampleLeft(NamedTuple):
    """A sample whose fish were not all looked at, or not yet ended: it is no sample until then."""

    place: str
    fish: int
    planned: int
    begun: Instant
    by: str


class CountLeft(NamedTuple):
    """Fish of a tank counted by samples, and not kept as a number yet.

    `what` is a word of `stock.What`, "" where it is not known.
    """

    place: str
    what: str
    samples: int
    last: Instant
    by: str


class AgeChange(Enum):
    """What their age can bring to fish."""

    FEED_STARTS = "starts"
    FEED_ENDS = "ends"
    STAGE = "enters"


class ChangeDue(NamedTuple):
    """What changes for fish at an age (dph): for whom, which feed or stage, and in which tanks."""

    change: AgeChange
    whom: str
    what: str
    tomorrow: bool
    age: int
    places: tuple[str, ...]


class GapAhead(NamedTuple):
    """A stretch without a planned look that is longer than those of most days."""

    start: Instant
    end: Instant


class BackupDue(NamedTuple):
    """No backup for `days`, beside the record or on the `second` disk, which may not be `there`."""

    days: int
    second: bool
    there: bool


Facts = (
    NobodyThere
    | Missed
    | LastSaid
    | CallDue
    | LookDue
    | TimerDue
    | HarvestDue
    | ConeOut
    | PoorHatch
    | BatchDue
    | ConeToSet
    | MealsOwed
    | MealNext
    | RoundDue
    | RoundUnsigned
    | MetersDue
    | CheckDue
    | DeviationsDrafted
    | SamplesDue
    | OrderDue
    | SampleLeft
    | CountLeft
    | ChangeDue
    | GapAhead
    | BackupDue
)

KIND_OF: dict[type[Facts], DueKind] = {
    NobodyThere: DueKind.UNATTENDED,
    Missed: DueKind.UNATTENDED,
    LastSaid: DueKind.UNATTENDED,
    CallDue: DueKind.CALL,
    LookDue: DueKind.LOOK,
    TimerDue: DueKind.TIMER,
    HarvestDue: DueKind.HARVEST,
    ConeOut: DueKind.CONE,
    PoorHatch: DueKind.HATCH,
    BatchDue: DueKind.BATCH,
    ConeToSet: DueKind.BATCH,
    MealsOwed: DueKind.MEAL,
    MealNext: DueKind.MEAL,
    RoundDue: DueKind.ROUND,
    RoundUnsigned: DueKind.UNSIGNED,
    MetersDue: DueKind.METER,
    CheckDue: DueKind.CHECK,
    DeviationsDrafted: DueKind.DEVIATION,
    SamplesDue: DueKind.SAMPLE,
    OrderDue: DueKind.ORDER,
    SampleLeft: DueKind.SITTING,
    CountLeft: DueKind.SITTING,
    ChangeDue: DueKind.CHANGE,
    GapAhead: DueKind.GAP,
    BackupDue: DueKind.BACKUP,
}


class Due(NamedTuple):
    """One thing to be done: how late it is (hours; negative: still to come), and what is known."""

    late_hours: float
    facts: Facts

    @property
    def kind(self) -> DueKind:
        return KIND_OF[type(self.facts)]

    @property
    def thing(self) -> tuple[object, ...]:
        """What tells it apart from all others that are due, however its hours run."""
        told = (one for one in self.facts if not isinstance(one, float | DueState))
        return (self.kind, *told)

    @property
    def overdue(self) -> bool:
        return self.late_hours > 0

    @property
    def hours(self) -> float:
        """Hours until its own time; negative where that is past."""
        match self.facts:
            case RoundDue(hours=past) | HarvestDue(hours=past) | LookDue(hours=past):
                return -past
            case BatchDue(hours=past) | ConeToSet(hours=past):
                return -past
            case MealNext(hours=to_come):
                return to_come
            case _:
                return -self.late_hours


def of_days(late: float) -> DueState:
    """How something stands that is due every so many days: overdue from the next day on."""
    return DueState.OVERDUE if late >= 1 else DueState.NOW


def worst_first(found: Iterable[Due]) -> list[Due]:
    """What is overdue first, by what it is and then the latest; then what comes next."""

    def rank(one: Due) -> tuple[bool, int, float]:
        urgent = RANK[one.kind] if one.overdue else len(RANK)
        return not one.overdue, urgent, -one.late_hours

    return sorted(found, key=rank)


NEXT_HOURS = 2.0
"""What comes later than this is not next. Common practice, no source."""

AHEAD = (DueKind.CHANGE, DueKind.GAP)
"""What comes by itself: it is expected and read, and nobody enters it."""
