"""What goes into water, by kind: a plan names it, a sum and a ceiling go by it."""

from __future__ import annotations

from enum import StrEnum


class DoseKind(StrEnum):
    """What goes into water, as far as its sums and its ceiling go."""

    SALT = "salt"
    BRINE = "brine"
    BICARBONATE = "bicarbonate"
    NEUTRALIZER = "neutralizer"
    BATH = "bath"
    ANESTHETIC = "anesthetic"
    BLEACH = "bleach"
    """For gear and empty tanks: never a dose into water with fish."""
