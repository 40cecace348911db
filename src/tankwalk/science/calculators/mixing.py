"""Two waters and what a water bears, declared: mixing, tempering, loading."""

from __future__ import annotations

from tankwalk.errors import Refusal
from tankwalk.science import hydraulics
from tankwalk.science.calculators.declare import Answer, Calculator, Extra, Given, Input, Output
from tankwalk.science.limits import above_zero

_BALANCE = "Mass balance"
FAST = 2.0
"""degC an hour; faster is said. Common practice, no source."""


def _mix(given: Given) -> Answer:
    volume, now, other = (given.number(k) for k in ("volume", "temperature", "added_temperature"))
    if given.has("to") == given.has("added"):
        raise Refusal("added is missing: type added in L, or to in degC for how much to add.")
    if given.has("to"):
        added = hydraulics.to_reach(volume, now, given.number("to"), other, "to")
    else:
        added = given.number("added")
    salt, other_salt = given.number("salinity"), given.number("added_salinity")
    return Answer(
        hydraulics.mixed(volume, now, added, other, "temperature"),
        {
            "added": added,
            "salinity": hydraulics.mixed(volume, salt, added, other_salt, "salinity"),
            "volume": volume + added,
        },
    )


def _temper(given: Given) -> Answer:
    now, to, rate = (given.number(key) for key in ("from", "to", "rate"))
    hours = hydraulics.tempering_hours(now, to, rate)
    flow = None
    if given.has("volume"):
        incoming = given.number("incoming") if given.has("incoming") else to
        if incoming != now:
            flow = hydraulics.tempering_flow(given.number("volume"), now, incoming, rate)
    fast = (f"rate {rate:g} degC an hour is faster than {FAST:g} (common practice, no source).",)
    return Answer(hours, {"flow": flow}, fast if rate > FAST else ())


def _loading(given: Given) -> Answer:
    mass, flow = given.number("biomass"), given.number("flow")
    volume, length = given.maybe("volume"), given.maybe("length")
    loaded = above_zero("flow", flow, "L/min")
    also: dict[str, Extra] = {
        "density": None if volume is None else 1000 * mass / volume,
        "flow_index": None if length is None else hydraulics.flow_index(mass, flow, length),
        "density_index": (
            None
            if volume is None or length is None
            else hydraulics.density_index(mass, volume, length)
        ),
    }
    return Answer(mass / loaded, also)


VOLUMES = (0.05, 1e6)
"""L; from a beaker to all the water of a site."""

CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        "mix-waters",
        "Two waters mixed",
        (
            Input("volume", "water there", "L", fact="volume", meant=VOLUMES),
            Input("temperature", "its temperature", "degC", item="temp", meant=(-2, 40)),
            Input("salinity", "its salinity", "g/kg", default=0, meant=(0, 45), of="salt"),
            Input("added", "water added", "L", needed=False, meant=(0.01, 10**6)),
            Input("added_temperature", "temperature of that", "degC", meant=(-2, 60)),
            Input(
                "added_salinity", "salinity of that", "g/kg", default=0, meant=(0, 45), of="salt"
            ),
            Input("to", "or temperature wanted", "degC", needed=False, meant=(-2, 40)),
        ),
        Output("value", "degC", 2),
        "x = (V1 x1 + V2 x2) / (V1 + V2); to: V2 = V1 (x - x1) / (x2 - x)",
        _BALANCE,
        "a well-mixed tank; heat of walls and air left out",
        _mix,
        example="volume=20 | temperature=12.5 | added_temperature=17 | to=15",
        also=(
            Output("added", "L", 2, "water added"),
            Output("salinity", "g/kg", 2),
            Output("volume", "L", 1, "in all"),
        ),
        find="blend temper acclimate warm cold bag transport",
    ),
    Calculator(
        "tempering",
        "How fast to change the temperature",
        (
            Input("from", "temperature now", "degC", item="temp", meant=(-2, 40)),
            Input("to", "temperature wanted", "degC", meant=(-2, 40)),
            Input("rate", "degC an hour that your fish bear", meant=(0.05, 10)),
            Input("volume", "water in the tank", "L", needed=False, meant=VOLUMES),
            Input("incoming", "temperature flowing in", "degC", needed=False, meant=(-2, 60)),
        ),
        Output("value", "h", 2),
        "h = |to - from| / rate; flow at first = rate V / (60 |T in - T|)",
        _BALANCE + " of a stirred tank",
        "the rate is your lab's own; larvae bear less than grown fish",
        _temper,
        example="from=12.5 | to=16 | rate=1 | volume=220 | incoming=17",
        also=(Output("flow", "L/min", 2, "the most that may flow in at first"),),
        find="acclimate stocking move transport temper",
    ),
    Calculator(
        "loading",
        "Fish for the flow and the space",
        (
            Input("biomass", "fish in the tank", "kg", meant=(0.0001, 10**5)),
            Input("flow", "water flowing in", "L/min", item="flow", meant=(0, 20000)),
            Input("volume", "water in the tank", "L", needed=False, fact="volume", meant=VOLUMES),
            Input("length", "mean total length", "cm", needed=False, meant=(0.5, 150)),
        ),
        Output("value", "kg per L/min", 3),
        "loading = W / Q; F = W / (L I), D = W / (V L) in lb, in, gal/min, cu ft",
        "Piper et al. 1982, Fish Hatchery Management, p. 67 (page from memory)",
        "indexes made for trout; those of a water are its own",
        _loading,
        example="biomass=2.4 | flow=3.5 | volume=220 | length=5.4",
        also=(
            Output("density", "kg/m3", 2),
            Output("flow_index", "", 2, "flow index F"),
            Output("density_index", "", 3, "density index D"),
        ),
        find="flow index density index carrying capacity biomass stocking",
    ),
)
