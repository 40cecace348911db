"""Rounds of one item by chance, for tests of the model: tanks, loops, meters, and what moves."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from tankwalk.practice.judging.model.looks import Look, Settings

LOOK, WATER = 0.08, 0.06
"""Spread of one look, and of what a loop's water does from round to round (mg/L): as oxygen is."""
SETTINGS = Settings(step=0.1)
Moves = Callable[[str, str, str | None, int], float]
"""What is added for tank, loop, meter and round."""


def nothing(_tank: str, _loop: str, _meter: str | None, _number: int) -> float:
    return 0.0


def rounds(
    many: int = 20,
    moves: Moves = nothing,
    *,
    seed: int = 1,
    loops: str = "111111222222",
    meters: str = "AAABBBAAABBB",
    look: float = LOOK,
    water: float = WATER,
    last: int | None = None,
) -> list[Look]:
    """Two rounds a day, a letter and a digit a tank; `last` tanks of the newest round alone."""
    luck = Random(f"model {seed}")
    own = [luck.gauss(8.6, 0.12) for _ in loops]
    found = []
    for number in range(many):
        shared = {loop: luck.gauss(0, water) for loop in sorted(set(loops))}
        for nth, (loop, meter) in enumerate(zip(loops, meters, strict=True)):
            tank, of = f"T{nth + 1:02d}", f"L{loop}"
            value = own[nth] + shared[loop] + luck.gauss(0, look)
            value += moves(tank, of, meter, number)
            if number == many - 1 and last is not None and nth >= last:
                continue
            at = 1_700_000_000 + 43_200 * number + 12 * nth
            part = "am" if number % 2 == 0 else "pm"
            found.append(Look(tank, of, meter, number, part, at, round(value, 1)))
    return found
