"""What stands open, as a value: flags, what is shelved or altered, and the look that comes next.

Apart from what reads it, so that a round's first page stands before that is loaded.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.practice.doing.follow_ups import Carried
    from tankwalk.practice.incidents.incident import Incident
    from tankwalk.practice.judging.standing.flags import Standing
    from tankwalk.practice.tasks import LookDue


class OpenAt(NamedTuple):
    """What stands open at one place, worst first; all empty where nothing does."""

    flags: tuple[Incident, ...] = ()
    shelved: tuple[Standing, ...] = ()
    altered: tuple[Carried, ...] = ()


class OpenNow(NamedTuple):
    """What stands open everywhere, as last read, and the look that comes due first."""

    flags: tuple[Incident, ...]
    shelved: tuple[Standing, ...]
    altered: tuple[Carried, ...]
    look: LookDue | None

    def at(self, place: str) -> OpenAt:
        """What stands open at a place: its own, and what its loop or its meter has."""
        return OpenAt(
            tuple(one for one in self.flags if place in (one.place, *one.places)),
            tuple(one for one in self.shelved if place in (one.place, *one.places)),
            tuple(one for one in self.altered if one.seen.place == place),
        )

    def of(self, place: str, item: str) -> Incident | None:
        """The flag of an item at a place, where one stands."""
        return next((one for one in self.at(place).flags if one.item.code == item), None)
