"""Values copied from the last round: the same to the last digit, where chance seldom does it.

How often an item repeats itself at a tank is told from its own looks. Chances multiply over the
looks of a run and over the items of a tank, and over all that one person read in a round: one value
that stands still says little, a whole column of them much. Where the sisters stand still too it is
the water that is calm.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from tankwalk.plan.model import Item
from tankwalk.practice.judging.baseline import Usual
from tankwalk.rows import NamedTuple

FEWEST_STEPS = 8
"""Steps before the run, from which is told how often an item repeats itself here."""
THIRD = 3
"""A run is asked about from its third look: two alike are nothing."""
OF_A_ROUND = 0.1
"""All that a person read in a round is asked about at this part of the chance for one tank: it is
looked at with every value. Common practice, no source."""
ASKED = 1
"""The flag of a look that was asked about: a run is asked about once, not at every look of it."""
SOON = 6
"""Fewer values of a person in a round tell nothing of how they were come by."""


class Repeat(NamedTuple):
    """How one value stands to the looks before it: how many are alike, itself counted, and how
    often that happens here by chance from one look to the next (None: too few looks to tell).
    `asked`: one of these looks was asked about before.

    The chance is put one repeat higher than was seen: few looks take a common thing for rare."""

    place: str
    item: str
    run: int
    chance: float | None
    asked: bool = False


def repeat(place: str, item: Item, value: float, usual: Usual) -> Repeat | None:
    """The same of a value in the item's unit; None for what is told by words or is no measure."""
    if not item.kind.repeats_asked or not usual.looks:
        return None
    values = [look.value for look in usual.looks]
    run = 1
    for one in reversed(values):
        if one != value:
            break
        run += 1
    before = values[: len(values) - (run - 1)]
    steps = list(pairwise(before))
    if len(steps) < FEWEST_STEPS:
        return Repeat(place, item.code, run, None)
    asked = any(look.flag == ASKED for look in usual.looks[len(values) - (run - 1) :])
    alike = sum(a == b for a, b in steps)
    return Repeat(place, item.code, run, min(1.0, (alike + 2) / (len(steps) + 2)), asked)


def of_tank(here: Repeat, others: Iterable[Repeat], sisters: Sequence[Repeat]) -> float:
    """How likely it is by chance that a tank reads so often the same; 1.0 for no question.

    `others` are the tank's other values of this round, `sisters` the same item in the other tanks
    of its water: where most of these stand still as well, nothing is asked, nor at the third
    look where none of them was read yet.
    """
    if here.run < THIRD or here.chance is None:
        return 1.0
    still = [one for one in sisters if one.run > 1]
    if 2 * len(still) > len(sisters) or (not sisters and here.run <= THIRD):
        return 1.0
    alike = [one for one in others if one.chance is not None]
    # Those that moved count against it: the chance is that of so many alike among so many read.
    chances = [(one.chance or 1.0) ** (THIRD - 1) for one in alike]
    rest = at_least(sum(one.run >= THIRD for one in alike), chances)
    return float(here.chance ** (here.run - 1)) * rest


def of_person(read: Iterable[Repeat]) -> float:
    """How likely it is that so many values of one person are the last ones over; 1.0: too few."""
    known = [one for one in read if one.chance is not None]
    if len(known) < SOON:
        return 1.0
    return at_least(sum(one.run > 1 for one in known), [one.chance or 1.0 for one in known])


def at_least(count: int, chances: Sequence[float]) -> float:
    """The chance that `count` or more of some independent things happen, each by its own chance.

    The distribution is built up one by one (Poisson binomial: Wang 1993, Statistica Sinica 3:295).
    """
    known = [1.0]
    for chance in chances:
        grown = [0.0] * (len(known) + 1)
        for nth, here in enumerate(known):
            grown[nth] += here * (1 - chance)
            grown[nth + 1] += here * chance
        known = grown
    return min(1.0, sum(known[count:]))


class Copies:
    """What one person read in a round so far, as far as it was judged here."""

    def __init__(self, chance: float) -> None:
        self._chance = chance
        self._read: dict[tuple[str, str], Repeat] = {}

    def at(self, place: str, item: Item, value: float, usual: Usual, water: Iterable[str]) -> str:
        """What is asked about a value; "" for nothing. `water` are the tanks of its loop."""
        here = repeat(place, item, value, usual)
        if here is None:
            return ""
        self._read[place, item.code] = here
        others = [one for one in self._read.values() if one is not here]
        mates = set(water) - {place}
        of_this = of_tank(
            here,
            [one for one in others if one.place == place],
            [one for one in others if one.item == item.code and one.place in mates],
        )
        if of_this < self._chance and not here.asked:
            return f"the same to the last digit {here.run} times: is it really read?"
        alike = [one for one in self._read.values() if one.run > 1 and one.chance is not None]
        if here.run < 2 or of_person(self._read.values()) >= OF_A_ROUND * self._chance:
            return ""
        return f"{len(alike)} values of this round are those of the last one: are they really read?"
