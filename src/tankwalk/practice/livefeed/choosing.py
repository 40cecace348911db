"""Which talk does what at a row of the Live feed page: the next step, or another one by number."""

from __future__ import annotations

from collections.abc import Callable

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.feeding import BatchEvent, BatchKind
from tankwalk.plan.vessels import CultureKind
from tankwalk.practice.dialog import Hand, Step, Talk
from tankwalk.practice.livefeed import culture_steps, setting, steps, stock_steps
from tankwalk.practice.livefeed.batches import LiveBatch, State
from tankwalk.practice.livefeed.on_hand import OnHand, Tin
from tankwalk.practice.livefeed.setting import PlannedCone, Proposed
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import NextStep

Row = LiveBatch | PlannedCone | OnHand
"""What one can stand at on the page."""

TYPED = "counted elsewhere: type it"
"""A count that was not made on the counting pad."""

Choice = tuple[str, Callable[[], Talk]]
"""An act in words, and the talk that does it."""


def next_step(site: Site, hand: Hand, row: Row | None, wanted: str = "") -> Talk | None:
    """The talk of the one next step at a row; None where there is only something to look at.

    What is still good is not thrown out by the easy key. `wanted` says what is to be chilled.
    """
    match row:
        case PlannedCone(proposed=proposed):
            return setting.set_cone(site, hand, proposed)
        case OnHand() if row.order_now(site.now().day):
            return stock_steps.ordered(site, hand, row)
        case OnHand():
            return by_number(f"{row.code}:", stock_acts(site, hand, row))
        case LiveBatch():
            return _next_of(site, hand, row, wanted)
    return setting.set_cone(site, hand)


def only_read(one: LiveBatch, now: Instant) -> bool:
    """Whether Enter only opens it: what is still good is thrown out by no easy key."""
    step = one.next
    if step is None:
        return True
    if step.step is NextStep.DISCARD and one.culture is None:
        left = one.left
        return left is not None and (
            not left.warns(now) or (left.chilled and not left.blocked(now))
        )
    return step.step is NextStep.POUR and one.state is not State.STORED


def _next_of(site: Site, hand: Hand, one: LiveBatch, wanted: str) -> Talk | None:
    step = one.next
    if step is None:
        return None
    if one.culture is not None:
        match step.step:
            case NextStep.SET | NextStep.RESTART:
                return culture_steps.begin(site, hand, one, step.from_)
            case NextStep.HARVEST:
                return culture_steps.harvest(site, hand, one)
            case NextStep.FEED:
                return culture_steps.feed(site, hand, one)
            case NextStep.SPLIT:
                return culture_steps.split(site, hand, one)
        return culture_steps.count(site, hand, one)
    match step.step:
        case NextStep.CHECK:
            return steps.check(site, hand, one)
        case NextStep.HARVEST:
            return steps.harvest(site, hand, one)
        case NextStep.COUNT:
            return steps.count(site, hand, one)
        case NextStep.CHILL:
            return steps.chill(site, hand, one, wanted)
        case NextStep.DISCARD:
            return None if only_read(one, site.now()) else steps.discard(site, hand, one)
        case NextStep.POUR if one.state is State.STORED:
            return setting.set_cone(site, hand, Proposed(0.0, source=one.name))
    return None


def another(site: Site, hand: Hand, row: Row | None) -> Talk:
    """Everything that can be entered at a row, by number; then what is begun anew."""
    acts: list[Choice] = []
    if isinstance(row, LiveBatch):
        acts += acts_of(site, hand, row)
    elif isinstance(row, OnHand):
        acts += stock_acts(site, hand, row)
    acts.append(("set a cone", lambda: setting.set_cone(site, hand)))
    name = row.name if isinstance(row, LiveBatch) else row.code if isinstance(row, OnHand) else ""
    return by_number(f"{name}: what is entered?" if name else "What is entered?", acts)


def counts_next(row: Row | None) -> bool:
    """Whether the next step at a row is to count it."""
    return isinstance(row, LiveBatch) and row.next is not None and row.next.step is NextStep.COUNT


def counted_at(row: Row | None) -> str:
    """The batch that is counted at a row, by its name. Refusal where there is none."""
    if isinstance(row, LiveBatch):
        if row.culture is not None and row.events:
            return row.name
        if row.last(BatchEvent.HARVEST) is not None:
            return row.name
        raise Refusal(f"{row.name} is not harvested yet: there is nothing to count.")
    raise Refusal("Stand at a harvested cone or a culture to count it.")


def throw_out(site: Site, hand: Hand, row: Row | None) -> Talk:
    """Throw out what one stands at, and why. Refusal where it is no batch."""
    if isinstance(row, LiveBatch) and row.events:
        return steps.discard(site, hand, row)
    raise Refusal("Stand at a batch to throw it out.")


def take_back(site: Site, hand: Hand, row: Row | None) -> Talk:
    """Take back one's own newest entry of what one stands at."""
    if isinstance(row, LiveBatch):
        return steps.take_back(site, hand, row.name, row.events)
    if isinstance(row, OnHand):
        events = sorted((e for tin in row.tins for e in tin.events), key=lambda e: (e.at.utc, e.n))
        return steps.take_back(site, hand, row.code, events)
    raise Refusal("Nothing was entered of this that could be taken back.")


def acts_of(site: Site, hand: Hand, one: LiveBatch) -> list[Choice]:
    """What can be entered of a batch as it stands."""
    if one.culture is not None:
        return _culture_acts(site, hand, one)
    out: Choice = ("throw it out", lambda: steps.discard(site, hand, one))
    match one.state:
        case State.HATCHING:
            return [
                ("check it", lambda: steps.check(site, hand, one)),
                ("harvest it", lambda: steps.harvest(site, hand, one)),
                out,
            ]
        case State.HARVESTED | State.CHILLED | State.ENRICHING:
            found: list[Choice] = [(TYPED, lambda: steps.count(site, hand, one))]
            if one.left is not None:
                found.append(("chill it", lambda: steps.chill(site, hand, one)))
                found.append(("enrich it", lambda: steps.enrich(site, hand, one)))
            return [*found, out]
        case State.STORED:
            proposed = Proposed(0.0, source=one.name)
            return [("set a cone of it", lambda: setting.set_cone(site, hand, proposed)), out]
    return []


def _culture_acts(site: Site, hand: Hand, one: LiveBatch) -> list[Choice]:
    if not one.events:
        return [("begin it", lambda: culture_steps.begin(site, hand, one))]
    found: list[Choice] = [(TYPED, lambda: culture_steps.count(site, hand, one))]
    if one.kind is BatchKind.ROTIFERS:
        found.append(("harvest it", lambda: culture_steps.harvest(site, hand, one)))
        found.append(("feed it", lambda: culture_steps.feed(site, hand, one)))
    if one.culture is not None and one.culture.kind is CultureKind.ALGAE:
        found.append(("split it", lambda: culture_steps.split(site, hand, one)))
    found.append(("begin it again", lambda: culture_steps.begin(site, hand, one)))
    return [*found, ("throw it out", lambda: steps.discard(site, hand, one))]


def stock_acts(site: Site, hand: Hand, one: OnHand) -> list[Choice]:
    """What can be entered of what is in stock."""
    found: list[Choice] = []
    for tin in one.tins:
        found += _tin_acts(site, hand, tin)
    what = "tin" if one.kind is BatchKind.CYSTS else "bag"
    found.append((f"a new {what} came", lambda: stock_steps.received(site, hand, one)))
    return [*found, ("more is ordered", lambda: stock_steps.ordered(site, hand, one))]


def _tin_acts(site: Site, hand: Hand, tin: Tin) -> list[Choice]:
    found: list[Choice] = []
    if tin.opened is None:
        found.append((f"open {tin.name}", lambda: stock_steps.opened(site, hand, tin)))
    elif tin.kind is BatchKind.CYSTS:
        found.append((f"test hatch of {tin.name}", lambda: stock_steps.tested(site, hand, tin)))
    found.append((f"weigh {tin.name}", lambda: stock_steps.weighed(site, hand, tin)))
    if tin.opened is not None:
        found.append((f"{tin.name} is empty", lambda: stock_steps.empty(site, hand, tin)))
    return found


def by_number(ask: str, acts: list[Choice]) -> Talk:
    """A talk that is chosen by number; of one there is no choice."""
    if len(acts) == 1:
        return (yield from acts[0][1]())
    answer = yield Step(ask, tuple(words for words, _ in acts))
    return (yield from acts[answer.number - 1][1]())
