"""The whole season as acts, in the order they were entered: nothing here touches a disk."""

from __future__ import annotations

from collections.abc import Iterator

from tankwalk.ledger.entries import PlanVersion
from tankwalk_demo import diary, extras, feeding, sampling, walks
from tankwalk_demo.acts import Act
from tankwalk_demo.days import moment
from tankwalk_demo.room import SEED, plan


def acts(seed: int = SEED) -> Iterator[Act]:
    """Everything anybody did, in no order."""
    here = plan()
    yield Act(
        kind="plan", who="MV", at=moment(1, "06:30"), detail=PlanVersion(here.digest, here.text)
    )
    yield from walks.rounds(here, seed)
    yield from extras.extras(here, seed)
    yield from feeding.meals(here, seed)
    yield from feeding.batches(here, seed)
    yield from sampling.movements(here, seed)
    yield from sampling.samples(here, seed)
    yield from diary.calibrations(seed)
    yield from diary.doses()
    yield from diary.notes()
    yield from diary.follow_ups()
    yield from diary.handovers(seed)


def in_order(seed: int = SEED) -> list[Act]:
    """Everything anybody did, in the order it was entered."""
    return sorted(acts(seed), key=lambda act: act.entered)
