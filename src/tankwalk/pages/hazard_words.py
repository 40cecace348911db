"""What can hurt on a round, in words: one short line each, the hazard first."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.pages.lines import Line, wrapped
from tankwalk.plan.model import Hazard

WORDS: dict[Hazard, str] = {
    Hazard.NIGHT: "Alone at night: tell someone where you are, phone on you, way out clear.",
    Hazard.ELECTRICITY: "Current in water kills: dry hands; power locked off before you reach in.",
    Hazard.OXYGEN: "Oxygen feeds fire: no oil, grease or flame; open slowly, face away.",
    Hazard.DEAD: "The dead can infect cuts: gloves, cover cuts, wash after, no food.",
}


def lines(hazards: Sequence[Hazard], width: int) -> list[Line]:
    """The hazards of a round as it begins; none where there is none."""
    return [row for one in hazards for row in wrapped(width, f"! {WORDS[one]}", "check", 2)]
