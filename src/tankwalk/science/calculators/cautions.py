"""Cautions in front of an answer: four short lines at most, the hazard first, in our own words."""

from __future__ import annotations

_DEFER = "Follow the SDS, your lab's approved procedure and local rules."
_OWN_DOSE = "Your own protocol's dose; none is proposed. SDS, lab procedure, vet."

SALT = (
    "Too much salt, or too fast, kills larvae: at most 1 g/kg an hour.",
    "Dissolve it, add it at the inflow, read salinity after each part.",
    "Above 4.8 g/kg: almost no perch larvae lived at 9.6 (Bein and Ribi 1994).",
    "By the lab's approved procedure; salt water to a drain only by permit.",
)
BRINE = (
    "Brine sinks and kills larvae it meets: never onto fish, at most 1 g/L an hour.",
    "Add it where water mixes fast; read salinity at the bottom as well.",
    "Above 4.8 g/L: almost no perch larvae lived at 9.6 (Bein and Ribi 1994).",
    "By the lab's approved procedure; brine to a drain only by permit.",
)
BICARBONATE = (
    "Raises pH and so NH3-N, which kills: measure TAN and pH first.",
    "At most 50 mg/L a day, in parts; read the pH after each part.",
    "Dissolve it, add it where water mixes, away from larvae; dust harms eyes.",
    "By the lab's approved procedure.",
)
CAUSTIC = (
    "Caustic burns eyes and skin deeply and boils where it meets water.",
    "Goggles, gloves, apron; slowly into cold water, never reversed; no acid.",
    "It lifts pH and so NH3-N at once: drop by drop, far from fish; read the pH.",
    _DEFER,
)
CHLORIDE = (
    "Salt hurts some fish, and not every fish gains from chloride.",
    "No limit is published for larval percids: the ratio is your lab's or vet's.",
    "Add it dissolved and slowly, and find where the nitrite comes from.",
)
BLEACH = (
    "Bleach burns eyes and skin; with acid, ammonia or formalin: toxic gas.",
    "Goggles, gloves, good air, eyewash in reach; nothing mixed in.",
    "A trace kills larvae: keep it, its tools and splashes away from tanks.",
    _DEFER,
)
BLEACH_BATH = (
    "Bleach burns eyes and skin; with acid, ammonia or formalin: toxic gas.",
    "Goggles, gloves, good air, eyewash in reach. No fish in this water.",
    "After the time: neutralize, rinse, test, and a second person agrees.",
    _DEFER,
)
NEUTRALIZE = (
    "Thiosulfate in strong bleach heats it and can spit: dilute first, no acid.",
    "Goggles and gloves. Watch oxygen in the tank: too much of it takes some.",
    "Rinse, test, wait, a second person agrees: a kit at zero can miss a trace.",
    _DEFER,
)
DILUTION = (
    "Strong stocks burn eyes, skin, lungs: goggles, gloves, good air, eyewash.",
    "Acid or caustic slowly into cold water; never water into acid or caustic.",
    "Never bleach with acid, ammonia or formalin: toxic gas.",
    "Label it: what, how strong, when, who. SDS and lab procedure hold.",
)
BATH = (
    "Formalin and other bath chemicals harm lungs, eyes and skin; fish lose oxygen.",
    "Goggles, gloves, good air; oxygen open and watched; never leave the fish.",
    "Formalin never with bleach, peroxide or permanganate; none that is cloudy.",
    _OWN_DOSE,
)
ANESTHETIC = (
    "These agents stop breathing, in fish within minutes: never leave the bath.",
    "Gloves, eye protection. Some make water acid: buffer it, read the pH.",
    "To kill: hold them in well after the gills stop, then make sure another way.",
    _OWN_DOSE,
)
DECAPSULATION = (
    "Bleach with caustic burns eyes and skin, heats itself and can boil up.",
    "Goggles, face shield, gloves, apron; eyewash in reach, a second person near.",
    "Caustic slowly into cold water; no acid, no formalin; at 40 degC stop.",
    f"Small batches. {_DEFER}",
)
OXYGEN = (
    "Oxygen feeds fire: no oil, grease, smoke or flame; air the room.",
    "Cylinder chained upright, a regulator made for oxygen, open it slowly.",
)
