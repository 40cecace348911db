"""Looks of the record as the model takes them: which, how far apart, by round."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.readings import ValueSeen
from tankwalk.plan.model import Item, Level

APART_S = 2 * 3600
"""Looks at a tank that are closer than this are one look, the last. Common practice, no source."""


def judged_here(item: Item) -> bool:
    """Whether the model speaks of an item: not of what is worked out from others.

    A change of that is the change of its parts, and they are told.
    """
    return item.kind.trends and item.level is Level.TANK and not item.derived


def spaced(looks: Sequence[ValueSeen]) -> list[ValueSeen]:
    """Looks, oldest first, without those that another followed soon."""
    return [
        look
        for nth, look in enumerate(looks)
        if nth + 1 == len(looks) or looks[nth + 1].at - look.at >= APART_S
    ]


def round_of(look: ValueSeen) -> tuple[int, int]:
    """What looks of one round share."""
    return (look.round, 0) if look.round is not None else (0, look.at // APART_S)


def numbered(looks: Sequence[ValueSeen]) -> dict[tuple[int, int], int]:
    """Rounds by their place in time, from 0."""
    begun: dict[tuple[int, int], int] = {}
    for look in looks:
        key = round_of(look)
        begun[key] = min(look.at, begun.get(key, look.at))
    ordered = sorted(begun, key=lambda key: begun[key])
    return {key: nth for nth, key in enumerate(ordered)}


def part_of(at: Instant) -> str:
    """The part of the day, of four."""
    return ("night", "morning", "afternoon", "evening")[at.wall.hour // 6]
