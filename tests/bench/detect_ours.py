"""The judgement's own model of looks, asked after every round of a season in memory.

The plan's target is taken out of what was read, as the record's side does it.
"""

from __future__ import annotations

from itertools import groupby

from detect_ideal import AtRound, Scored
from detect_series import Series

from chance_faults import Look
from tankwalk.practice.judging.model.evidence import changes
from tankwalk.practice.judging.model.looks import Change, Part, Settings
from tankwalk.practice.judging.model.looks import Look as Given

LOWEST = 2.6
"""The model's own score from which it is asked to tell at all: the bench sets the limit."""
KINDS = {Part.TANK: "place", Part.LOOP: "loop", Part.METER: "meter"}


def model(season: Series) -> list[list[AtRound]]:
    """What the model finds of every item that meters show; of the dead it knows nothing."""
    return [_item(season, item, looks) for item, looks in season.looks.items()]


def _item(season: Series, item: str, looks: tuple[Look, ...]) -> list[AtRound]:
    settings = Settings(step=10.0 ** -season.decimals[item], score=LOWEST)
    given: list[Given] = []
    found = []
    for number, group in groupby(looks, lambda look: look.round):
        for look in group:
            target = season.room.target(season.room.stops[number].day) if item == "temp" else 0.0
            given.append(
                Given(look.tank, look.loop, look.meter, number, look.part, look.at,
                      look.value - target)
            )  # fmt: skip
        told = sorted((_scored(item, one) for one in changes(given, settings)), key=_first)
        found.append(AtRound(number, given[-1].at, tuple(told)))
    return found


def _first(one: Scored) -> float:
    return -one.score


def _scored(item: str, one: Change) -> Scored:
    rivals = tuple((KINDS[other.kind], other.code) for other in one.rivals)
    kind = KINDS[one.kind]
    return Scored(kind, one.code, item, frozenset(one.tanks), one.score**2 / 2, rivals)
