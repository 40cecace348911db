"""What is meant about cultures and stock: vessels that are kept going, and how feed is ordered."""

from __future__ import annotations

from datetime import time
from enum import StrEnum

from tankwalk.rows import NamedTuple

COUNT_AT = time(9, 0)
"""When a culture is counted where the plan does not say. Common practice, no source."""


class CultureKind(StrEnum):
    """What grows in a vessel."""

    ROTIFERS = "rotifers"
    ALGAE = "algae"


class Culture(NamedTuple):
    """A vessel that is kept going: `code` is the name of its batch.

    `harvest` is the part that is taken a day, `count_at` the time of its count. `food` says what
    it is fed and `food_per_million` how much of it in g a day for a million animals. Algae are
    split every `split_days` days.
    """

    code: str
    kind: CultureKind
    label: str = ""
    litres: float | None = None
    harvest: float | None = None
    count_at: time = COUNT_AT
    food: str = ""
    food_per_million: float | None = None
    split_days: float | None = None
    source: str = ""


class Ordered(NamedTuple):
    """How a feed or a lot of cysts is ordered: `lead_days` from the order until it is here.

    `keep_days` is how long what is left should still last when the new one comes.
    """

    of: str
    lead_days: float
    keep_days: float = 0.0
