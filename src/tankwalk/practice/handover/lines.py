"""What can stand on a handover's page: one named tuple a kind of line, without its words.

A due thing stands as a `Due`, a follow-up as it was found; `pages/handover.py` says each of them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.ledger.corrections import Corrected, Late
    from tankwalk.ledger.handovers import Given, HandoverWords
    from tankwalk.ledger.imports import ImportTold
    from tankwalk.ledger.notes import NoteSeen
    from tankwalk.ledger.readings import Seen
    from tankwalk.plan.model import Item, Steps
    from tankwalk.practice.doing.deviations import DraftDeviation
    from tankwalk.practice.doing.follow_ups import Carried
    from tankwalk.practice.feeding.feed_off import FeedOff
    from tankwalk.practice.feeding.forecast import Standing as Cone
    from tankwalk.practice.feeding.tomorrow import Chill, DryNeed, Remedy, Short
    from tankwalk.practice.handover.handover_notes import NeverTaken
    from tankwalk.practice.incidents.incident import Incident
    from tankwalk.practice.judging.standing.flags import Standing
    from tankwalk.practice.judging.standing.withdrawn import Withdrawn
    from tankwalk.practice.livefeed.cold_store import Chilled
    from tankwalk.practice.livefeed.on_hand import OnHand
    from tankwalk.practice.meters.meter_checks import MeterState
    from tankwalk.practice.stories import Story
    from tankwalk.practice.tasks import Due


class FlagLine(NamedTuple):
    """The worst flag that stands at a place, with what belongs to it."""

    flag: Standing
    story: Story | None = None


class DealtLine(NamedTuple):
    """What was done about a flag that stands, when it is looked at again, and the call."""

    one: Incident


class OverLine(NamedTuple):
    """A flag of this shift that stands no more, with what was done about it."""

    one: Incident


class ShelvedLine(NamedTuple):
    """A flag that somebody put out of sight."""

    flag: Standing


class WithdrawnLine(NamedTuple):
    """A value out of band that was confirmed and then taken back."""

    one: Withdrawn


class NoteLine(NamedTuple):
    """A note of a round."""

    note: NoteSeen


class OwnLine(NamedTuple):
    """A line that a person wrote on the page."""

    words: HandoverWords


class UnseenLine(NamedTuple):
    """Tanks that nobody looked at for a day or longer."""

    places: tuple[str, ...]


class SteadyLine(NamedTuple):
    """How many tanks are steady, of how many."""

    steady: int
    tanks: int


class NeverTakenLine(NamedTuple):
    """A handover that nobody took."""

    one: NeverTaken


class DueLine(NamedTuple):
    """Something that is due, or comes by itself."""

    due: Due


class NextMealLine(NamedTuple):
    """When the next meal is, for how many tanks, and who gave the one of that hour last."""

    at: Instant
    tanks: int
    who: str


class FeedGivenLine(NamedTuple):
    """How many of the planned meals were given to any tank."""

    given: int
    planned: int


class NotGivenLine(NamedTuple):
    """A meal that was missed, late or short, and that nobody has kept as a deviation yet."""

    draft: DraftDeviation


class FeedOffLine(NamedTuple):
    """Tanks that are not fed at the next meal, and why."""

    off: FeedOff
    tanks: tuple[str, ...]


class EatenLine(NamedTuple):
    """Responses below the best that raised no flag, the worst first: word and tanks."""

    label: str
    words: tuple[tuple[str, tuple[str, ...]], ...]


class OnHandLine(NamedTuple):
    """Live feed that there is, cones that hatch, dry feed of tomorrow, and what is chilled."""

    store: tuple[Chilled, ...]
    standing: tuple[Cone, ...]
    dry: tuple[DryNeed, ...]
    chill: Chill | None


class StockLine(NamedTuple):
    """Tins and bags on hand, what is to be ordered first."""

    stock: tuple[OnHand, ...]


class ShortLine(NamedTuple):
    """Meals to come for which there will be too little live feed, and what can be done."""

    short: Short
    remedies: tuple[Remedy, ...]


class SignedLine(NamedTuple):
    """A round that was signed, when and by whom."""

    label: str
    at: Instant
    by: str


class TypedInLine(NamedTuple):
    """A round that was walked on paper and typed in later; `signed` None while it is not signed."""

    label: str
    walked: Instant
    walker: str
    typist: str
    signed: Instant | None


class LateLine(NamedTuple):
    """Values that were entered later than they were seen: of one round, by one person.

    `paper` where they were typed in from a sheet. `out` are those out of band, worst first;
    `lacks` is the handover that was given in between, which did not have them.
    """

    label: str
    """Of their round; "" outside rounds."""
    seen: Instant
    entered: Instant
    by: str
    paper: bool
    values: int
    out: tuple[Late, ...]
    items: tuple[Item | None, ...]
    """The item of each that is out."""
    lacks: Given | None


class ImportedLine(NamedTuple):
    """A file that was imported since the last handover, or taken back since."""

    told: ImportTold


class CorrectedLine(NamedTuple):
    """A reading that was corrected or taken back since the last handover."""

    one: Corrected
    item: Item | None


class NotTakenLine(NamedTuple):
    """What a round did not take, for which reason and at which places."""

    label: str
    second: bool
    reason: str
    places: tuple[str, ...]


class WantedLine(NamedTuple):
    """Second readings that are still wanted, by place and what is to be read."""

    owed: tuple[tuple[str, str], ...]


class RepeatedLine(NamedTuple):
    """Values the same to the last digit as before that were asked about, and not read since."""

    values: tuple[tuple[str, Item, Seen], ...]


class CarriedLine(NamedTuple):
    """A follow-up; `new` where nobody has taken it over yet."""

    one: Carried
    new: bool


class MeterLine(NamedTuple):
    """A meter that is not as normal."""

    state: MeterState


class ResponseLine(NamedTuple):
    """What to do first if a value is still out."""

    place: str
    label: str
    steps: Steps


class EmergencyLine(NamedTuple):
    """The plan's line for an emergency."""

    words: str


FeedLine = (
    NextMealLine
    | FeedGivenLine
    | NotGivenLine
    | FeedOffLine
    | EatenLine
    | OnHandLine
    | StockLine
    | ShortLine
)
"""What the handover says of feed."""

PageLine = (
    FlagLine
    | DealtLine
    | OverLine
    | ShelvedLine
    | WithdrawnLine
    | NoteLine
    | OwnLine
    | UnseenLine
    | SteadyLine
    | NeverTakenLine
    | DueLine
    | FeedLine
    | SignedLine
    | TypedInLine
    | LateLine
    | ImportedLine
    | CorrectedLine
    | NotTakenLine
    | WantedLine
    | RepeatedLine
    | CarriedLine
    | MeterLine
    | ResponseLine
    | EmergencyLine
)
