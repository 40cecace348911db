"""The most of each kind of dose that is meant for water with larvae in it, and who says so.

One declaration for both ends: a sum warns above it, and a dose above it is kept only with a name
and a reason. A ceiling is no proposal: what is below it may still be wrong.
"""

from __future__ import annotations

from tankwalk.rows import NamedTuple
from tankwalk.science.dose_kinds import DoseKind


class Ceiling(NamedTuple):
    """The most of something: `of` says of what, in `unit`; `source` is who says so."""

    most: float
    unit: str
    of: str
    source: str

    @property
    def words(self) -> str:
        """The ceiling as people say it: "4.8 g/kg"."""
        return f"{self.most:g} {self.unit}".strip()


_BEIN_RIBI = "Bein and Ribi 1994: almost no perch larvae lived at 9.6 g/kg"

SALINITY = Ceiling(4.8, "g/kg", "salinity", _BEIN_RIBI)
SALT_ADDED = Ceiling(4.8, "g/L", "salt", _BEIN_RIBI)
ALKALINITY_RISE = Ceiling(
    50, "mg/L as CaCO3", "rise of alkalinity in a day", "common practice, no source"
)
CHLORIDE_RATIO = Ceiling(
    100, "", "chloride to nitrite as N", "common practice, no source: texts print 6 to 24"
)
CHLORINE_WITH_FISH = Ceiling(
    4, "mg/L", "chlorine in water with fish",
    "the most in US tap water, 40 CFR 141.65, from memory: more is a spill or gear",
)  # fmt: skip
BATH = Ceiling(
    250, "mg/L", "bath for fish", "the strongest printed bath of formalin for fish, for an hour"
)
CYSTS = Ceiling(500, "g", "dry cysts in one batch", "the largest batch with a printed recipe")
ANESTHETIC = Ceiling(
    500, "mg/L", "sedating or killing bath", "common practice, no source: above killing strengths"
)

SALT_PER_HOUR = 1.0
"""How much salt, in g/kg, goes in within an hour at most. Common practice, no source."""

CEILINGS: dict[DoseKind, Ceiling] = {
    DoseKind.SALT: SALINITY,
    DoseKind.BRINE: SALT_ADDED,
    DoseKind.BICARBONATE: ALKALINITY_RISE,
    DoseKind.NEUTRALIZER: CHLORINE_WITH_FISH,
    DoseKind.BATH: BATH,
    DoseKind.ANESTHETIC: ANESTHETIC,
}
"""The ceiling of each kind of dose; bleach has none, as it is no dose for fish."""
