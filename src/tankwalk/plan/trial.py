"""What is meant by a trial: its question, owner, unit, primary measure, days, as one value."""

from __future__ import annotations

from datetime import date

from tankwalk.rows import NamedTuple

TANK = "tank"
"""The experimental unit: what treatments were given to, and what is counted as n."""

ALPHA = 0.05
"""Where the plan says nothing. Common practice."""

CENSUS = "census"
"""Code of the measure that is compared first where the plan names none."""

NO_FISH = (
    "Treatments are given to tanks, not to fish: fish of one tank share its water, its feed and "
    "its luck, so they say one thing together. Counting them as n finds differences that only "
    "tanks have (pseudoreplication; Hurlbert 1984, Ecol. Monogr. 54:187)."
)
"""Why n is never the number of fish."""


class Trial(NamedTuple):
    """A trial: treatments compared on the values of tanks.

    `primary` is the measure it was planned on, `wanted` the smallest difference of it that would
    matter, in its unit. Days are local; `stopping` says when it ends early, in the owner's words.
    """

    code: str
    question: str = ""
    owner: str = ""
    primary: str = CENSUS
    alpha: float = ALPHA
    start: date | None = None
    end: date | None = None
    stopping: str = ""
    wanted: float | None = None
