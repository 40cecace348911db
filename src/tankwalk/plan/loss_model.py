"""What share of its fish a lot is expected to lose in a day, by age, and which line says so."""

from __future__ import annotations

from collections.abc import Iterable

from tankwalk.rows import NamedTuple


class Loss(NamedTuple):
    """Fish found dead in a day at some ages (dph, both in it), in percent of those alive."""

    dph: tuple[int, int]
    percent: float
    source: str
    lot: str | None = None
    species: str | None = None
    treatment: str | None = None
    line: int = 0
    """Line of the plan that states it; 0 for a shipped profile."""

    @property
    def own(self) -> bool:
        """Whether the site's plan says it, and no profile that was shipped."""
        return self.line > 0

    def meets(self, other: Loss) -> bool:
        """Whether two have an age in common."""
        return self.dph[0] <= other.dph[1] and other.dph[0] <= self.dph[1]


class Losses(NamedTuple):
    """All that is said of one lot; the narrowest holds: treatment, lot, species, all, profile."""

    lines: tuple[Loss, ...] = ()

    def at(self, age: int | None, treatment: str = "") -> Loss | None:
        """What is expected of a treatment at an age in dph; None where nothing is said."""
        if age is None:
            return None
        mine = [one for one in self.lines if one.treatment in (None, treatment)]
        here = [one for one in mine if one.dph[0] <= age <= one.dph[1]]
        return max(here, key=_narrowness, default=None)


def of_lot(lines: Iterable[Loss], code: str, species: str) -> Losses:
    """The lines that hold for a lot of a species."""
    return Losses(
        tuple(one for one in lines if one.lot in (None, code) and one.species in (None, species))
    )


def _narrowness(one: Loss) -> tuple[bool, bool, bool, bool]:
    return one.own, one.treatment is not None, one.lot is not None, one.species is not None
