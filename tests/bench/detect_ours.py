"""The judgement's own model of looks, asked after every round of a season in memory.

The plan's target is taken out of what was read, as the record's side does it.
"""

from __future__ import annotations

from itertools import groupby

from detect_ideal import AtRound, Scored
from detect_series import Series

from chance_faults import Look
from chance_site import PRESSURE_MMHG
from tankwalk.practice.judging.model.evidence import changes
from tankwalk.practice.judging.model.looks import Change, Part, Settings
from tankwalk.practice.judging.model.looks import Look as Given
from tankwalk.practice.judging.model.thresholds import OF_DEADBAND
from tankwalk.science.oxygen import saturation

LOWEST = 2.6
"""The model's own score from which it is asked to tell at all: the bench sets the limit."""
DEADBANDS = {"temp": 0.2, "do": 0.3, "ph": 0.05}
"""As the plans of both makers have them."""
KINDS = {Part.TANK: "place", Part.LOOP: "loop", Part.METER: "meter"}


def model(season: Series, since: int = 0) -> list[list[AtRound]]:
    """What the model finds of every item that meters show; of the dead it knows nothing."""
    return [_item(season, item, looks, since) for item, looks in season.looks.items()]


def planned(season: Series, item: str, number: int, value: float) -> float:
    """A value with what the plan moved since the first day taken out of it.

    Oxygen by what warmer water holds of it, as the record's side has it.
    """
    target = season.room.target(season.room.stops[number].day)
    if item == "temp":
        return value - target
    if item == "do":
        full = saturation(season.room.target(0), 0.0, PRESSURE_MMHG)
        return value * full / saturation(target, 0.0, PRESSURE_MMHG)
    return value


def _item(season: Series, item: str, looks: tuple[Look, ...], since: int) -> list[AtRound]:
    settings = Settings(
        step=10.0 ** -season.decimals[item],
        water=OF_DEADBAND * DEADBANDS.get(item, 0.0),
        score=LOWEST,
    )
    given: list[Given] = []
    found = []
    for number, group in groupby(looks, lambda look: look.round):
        for look in group:
            given.append(
                Given(look.tank, look.loop, look.meter, number, look.part, look.at,
                      planned(season, item, number, look.value), look.value)
            )  # fmt: skip
        if number < since:
            continue
        told = sorted((_scored(item, one) for one in changes(given, settings)), key=_first)
        found.append(AtRound(number, given[-1].at, tuple(told)))
    return found


def _first(one: Scored) -> float:
    return -one.score


def _scored(item: str, one: Change) -> Scored:
    rivals = tuple((KINDS[other.kind], other.code) for other in one.rivals)
    kind = KINDS[one.kind]
    return Scored(kind, one.code, item, frozenset(one.tanks), one.score**2 / 2, rivals)
