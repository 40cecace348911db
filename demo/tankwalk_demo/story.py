"""The whole season as acts, in the order they were entered: nothing here touches a disk."""

from __future__ import annotations

from collections.abc import Iterator

from tankwalk.ledger.entries import PlanVersion
from tankwalk_demo import diary, extras, feed_room, feeding, sampling, walks
from tankwalk_demo.acts import Act
from tankwalk_demo.days import DAYS, moment
from tankwalk_demo.room import SEED, plan


def acts(seed: int = SEED, last: int = DAYS[-1]) -> Iterator[Act]:
    """Everything anybody did, in no order.

    What is told day by day ends with the `last` day: rounds and meals are most of it.
    """
    here = plan()
    yield Act(
        kind="plan", who="MV", at=moment(1, "06:30"), detail=PlanVersion(here.digest, here.text)
    )
    of_the_fish = [
        *walks.rounds(here, seed, last),
        *extras.extras(here, seed),
        *sampling.movements(here, seed),
        *sampling.samples(here, seed),
    ]
    yield from of_the_fish
    yield from feeding.feeding(here, seed, of_the_fish, last)
    yield from feed_room.batches(here, seed)
    yield from feed_room.cultures(seed)
    yield from diary.calibrations(seed)
    yield from diary.doses()
    yield from diary.notes()
    yield from diary.follow_ups()
    yield from diary.handovers(seed)


def in_order(seed: int = SEED, last: int = DAYS[-1]) -> list[Act]:
    """Everything anybody did, in the order it was entered; see `acts` for `last`."""
    return sorted(acts(seed, last), key=lambda act: act.entered)
