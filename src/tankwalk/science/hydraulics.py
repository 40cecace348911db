"""Water in tanks: how much a shape holds, how fast it is replaced, and what it has to carry."""

from __future__ import annotations

from math import exp, log, pi

from tankwalk.errors import Refusal
from tankwalk.science.limits import above_zero, answer, within, zero_or_more

PROTEIN_TO_TAN = 0.092
"""Ammonia nitrogen a gram of protein fed becomes: Ebeling et al. 2006, from memory."""

SHAPES: dict[str, tuple[str, ...]] = {
    "cylinder": ("diameter", "height"),
    "cone": ("diameter", "height"),
    "frustum": ("top", "bottom", "height"),
    "box": ("length", "width", "height"),
    "cone-bottom": ("diameter", "height", "cone_height"),
}
"""The shapes of tanks, each with the lengths that describe it."""


def cylinder_volume(diameter: float, height: float) -> float:
    """Upright cylinder, V = pi d^2 h / 4.

    Parameters: inner diameter and water height in m. Returns m3.
    Range: lengths above 0. Source: plane geometry.
    """
    return pi * diameter * diameter * height / 4


def cone_volume(diameter: float, height: float) -> float:
    """Cone standing on its tip, V = pi d^2 h / 12.

    Parameters: diameter at the water line and height in m. Returns m3.
    Range: lengths above 0. Source: plane geometry.
    """
    return pi * diameter * diameter * height / 12


def frustum_volume(top: float, bottom: float, height: float) -> float:
    """Round tank with sloping sides, V = pi h (D^2 + D d + d^2) / 12.

    Parameters: diameter at the top and at the bottom, and height, in m. Returns m3.
    Range: lengths above 0. Source: plane geometry.
    """
    return pi * height * (top * top + top * bottom + bottom * bottom) / 12


def box_volume(length: float, width: float, height: float) -> float:
    """Tank with square corners, V = l w h.

    Parameters: length, width and water height in m. Returns m3.
    Range: lengths above 0. Source: plane geometry.
    """
    return length * width * height


def cone_bottom_volume(diameter: float, height: float, cone_height: float) -> float:
    """Cylinder above a cone, V = pi d^2 h / 4 + pi d^2 c / 12.

    Parameters: diameter, height of the straight part and of the cone below it, in m.
    Returns m3. Range: diameter and cone above 0, straight part 0 or more.
    Source: plane geometry.
    """
    return cylinder_volume(diameter, height) + cone_volume(diameter, cone_height)


def tank_volume(shape: str, *, depth: float | None = None, **dims: float) -> float:
    """Water held by a tank.

    Parameters: a shape of `SHAPES` and its lengths in m; `depth` in m, measured up from the
    lowest point, for a tank that is not filled to its full height. Returns L.
    Range: every length above 0, depth no more than the full height.
    Errors: Refusal for an unknown shape, a length missing, unknown or not above 0, or a
    depth above the tank.
    Source: plane geometry.
    """
    if shape not in SHAPES:
        raise Refusal(f"shape has to be one of {', '.join(SHAPES)}, not {shape!r}.")
    needs = SHAPES[shape]
    for name in needs:
        if name not in dims:
            raise Refusal(f"{name} is missing: a {shape} needs {', '.join(needs)}, in m.")
    for name, length in dims.items():
        if name not in needs:
            raise Refusal(f"{name} is not a length of a {shape}, which has {', '.join(needs)}.")
        above_zero(name, length, "m")
    full = answer(dims["height"] + dims.get("cone_height", 0.0), *needs)
    filled = full if depth is None else above_zero("depth", depth, "m")
    if filled > full:
        raise Refusal(f"depth of {filled:g} m is more than the {full:g} m the {shape} is high.")
    return answer(1000 * _filled(shape, dims, filled, filled / full), *needs)


def _filled(shape: str, dims: dict[str, float], depth: float, part: float) -> float:
    """Volume in m3 up to `depth`, which is `part` of the full height."""
    match shape:
        case "cylinder":
            return cylinder_volume(dims["diameter"], depth)
        case "cone":
            return cone_volume(dims["diameter"] * part, depth)
        case "frustum":
            line = dims["bottom"] + (dims["top"] - dims["bottom"]) * part
            return frustum_volume(line, dims["bottom"], depth)
        case "box":
            return box_volume(dims["length"], dims["width"], depth)
    cone = dims["cone_height"]
    if depth <= cone:
        return cone_volume(dims["diameter"] * depth / cone, depth)
    return cone_bottom_volume(dims["diameter"], depth - cone, cone)


def exchanges_per_hour(flow: float, volume: float) -> float:
    """Tank volumes passed in an hour, n = 60 Q / V.

    Parameters: flow in L/min, 0 or more; volume in L, above 0. Returns 1/h.
    Range: all. Errors: Refusal outside it. Source: definition.
    """
    above_zero("volume", volume, "L")
    return answer(60 * zero_or_more("flow", flow, "L/min") / volume, "flow", "volume")


def residence_minutes(flow: float, volume: float) -> float:
    """Mean time water stays in a tank, V / Q.

    Parameters: flow in L/min and volume in L, both above 0. Returns min.
    Range: all. Errors: Refusal outside it. Source: definition.
    """
    above_zero("volume", volume, "L")
    return answer(volume / above_zero("flow", flow, "L/min"), "volume", "flow")


def replaced_fraction(volumes: float) -> float:
    """Part of the first water gone after so many tank volumes, 1 - exp(-n).

    Parameters: tank volumes passed, 0 or more. Returns 0 to 1.
    Range: a well-mixed tank only; a raceway with plug flow does not obey it.
    Errors: Refusal below 0. Source: mass balance of a stirred tank.
    """
    return 1 - exp(-zero_or_more("volumes", volumes))


def flush_minutes(from_: float, to: float, flow: float, volume: float) -> float:
    """Time for clean water to bring a solute down, t = V / Q ln(C0 / C1).

    Parameters: concentration now and wanted, in one unit; flow in L/min, volume in L, all
    above 0. Returns min.
    Range: a well-mixed tank, inflow free of the solute, `to` no higher than `from_`.
    Errors: Refusal outside the range. Source: mass balance of a stirred tank.
    """
    above_zero("from", from_)
    above_zero("to", to)
    if to > from_:
        raise Refusal(f"to of {to:g} is above from of {from_:g}: clean water cannot raise it.")
    times = residence_minutes(flow, volume) * log(from_ / to)
    return answer(times, "from", "to", "flow", "volume")


def stocking_density(number: float, volume: float) -> float:
    """Fish in a liter of water, N / V.

    Parameters: fish by the book or by count, 0 or more; volume in L, above 0. Returns 1/L.
    Range: all; between counts the number of larvae is an upper guess.
    Errors: Refusal outside it. Source: definition.
    """
    above_zero("volume", volume, "L")
    return answer(zero_or_more("number", number) / volume, "number", "volume")


def oxygen_flow(demand: float, inflow: float, outflow: float) -> float:
    """Flow that brings the oxygen a tank uses, Q = demand / (60 (DO in - DO out)).

    Parameters: demand in mg/h, 0 or more; oxygen coming in and the least wanted going out, in
    mg/L. Returns L/min.
    Range: no oxygen from aeration, steady use.
    Errors: Refusal for anything below 0, or an outflow no lower than the inflow.
    Source: mass balance.
    """
    zero_or_more("demand", demand, "mg/h")
    zero_or_more("inflow", inflow, "mg/L")
    zero_or_more("outflow", outflow, "mg/L")
    if outflow >= inflow:
        raise Refusal(f"outflow of {outflow:g} mg/L is not below the inflow of {inflow:g} mg/L.")
    return answer(demand / 60 / (inflow - outflow), "demand", "inflow", "outflow")


def ammonia_produced(feed: float, protein: float, factor: float = PROTEIN_TO_TAN) -> float:
    """Ammonia nitrogen from a day's feed, P = F PC 0.092.

    Parameters: feed in g/d, 0 or more; protein as a fraction of it; factor in g of total
    ammonia nitrogen per g of protein, 0 or more. Returns mg/d, as N.
    Range: feed that is eaten. Errors: Refusal outside it.
    Source: Ebeling, Timmons and Bisogni 2006, Aquaculture 257:346, P_TAN = F PC 0.092; from
    memory.
    """
    zero_or_more("feed", feed, "g/d")
    within("protein", protein, 0, 1)
    zero_or_more("factor", factor, "g/g")
    return answer(1000 * feed * protein * factor, "feed", "factor")


def steady_ammonia(produced: float, flow: float, inflow: float = 0) -> float:
    """Total ammonia that water leaves a tank with, TAN = TAN in + P / (1440 Q).

    Parameters: produced in mg/d and inflow in mg/L, as N, 0 or more; flow in L/min, above 0.
    Returns mg/L as N.
    Range: a single pass, steady, nothing nitrified in the tank.
    Errors: Refusal outside it. Source: mass balance.
    """
    zero_or_more("produced", produced, "mg/d")
    zero_or_more("inflow", inflow, "mg/L as N")
    leaving = inflow + produced / 1440 / above_zero("flow", flow, "L/min")
    return answer(leaving, "produced", "flow")


# ---- two waters, and how fast


def mixed(volume: float, value: float, added: float, added_value: float, name: str) -> float:
    """What two waters come to, (V1 x1 + V2 x2) / (V1 + V2).

    Parameters: volumes in L, the first above 0, the second 0 or more; temperatures or salinities,
    each in one unit. Returns that unit. Range: heat and salt by volume, true within 2 % of the
    difference between fresh and sea water.
    Errors: Refusal outside it. Source: mass balance.
    """
    above_zero("volume", volume, "L")
    zero_or_more("added", added, "L")
    whole = answer(volume * value + added * added_value, "volume", "added", name)
    return answer(whole / (volume + added), name)


def to_reach(volume: float, value: float, wanted: float, added_value: float, name: str) -> float:
    """How much of another water brings a tank to a value, V (x - x1) / (x2 - x).

    Parameters, range and source as `mixed`. Returns L.
    Errors: Refusal as there, and for a value that does not lie between the two waters.
    """
    above_zero("volume", volume, "L")
    if wanted == value:
        return 0.0
    if not min(value, added_value) < wanted < max(value, added_value):
        raise Refusal(f"{name} {wanted:g} does not lie between the two waters.")
    return answer(volume * (wanted - value) / (added_value - wanted), name)


def tempering_hours(now: float, to: float, rate: float) -> float:
    """How long a change of temperature takes at a rate, |to - from| / rate.

    Parameters: temperatures in degC, rate in degC an hour, above 0. Returns h. Range: all.
    Errors: Refusal outside it. Source: definition.
    """
    return answer(abs(to - now) / above_zero("rate", rate, "degC an hour"), "rate")


def tempering_flow(volume: float, now: float, incoming: float, rate: float) -> float:
    """The most water that may flow in at first, rate V / (60 |T in - T|).

    Parameters: volume in L, temperatures in degC, rate in degC an hour. Returns L/min.
    Range: a well-mixed tank; later the same flow changes it more slowly.
    Errors: Refusal for a volume or rate of 0 or less, or water of the same temperature.
    Source: mass balance of a stirred tank, dT/dt = Q (T in - T) / V.
    """
    apart = above_zero("the difference of the two waters", abs(incoming - now), "degC")
    above_zero("rate", rate, "degC an hour")
    return answer(above_zero("volume", volume, "L") * rate / 60 / apart, "incoming", "rate")


_POUND, _INCH, _GALLON, _CUBIC_FOOT = 0.45359237, 2.54, 3.785411784, 28.316846592


def flow_index(biomass: float, flow: float, length: float) -> float:
    """Flow index F = W / (L I) in lb, inches and gal/min.

    Parameters: biomass in kg, flow in L/min, mean length in cm, all above 0. Returns F.
    Range: made for trout; the F a water bears is each hatchery's own.
    Errors: Refusal outside it.
    Source: Piper et al. 1982, Fish Hatchery Management, p. 67.
    """
    pounds = above_zero("biomass", biomass, "kg") / _POUND
    gallons = above_zero("flow", flow, "L/min") / _GALLON
    return answer(pounds / (above_zero("length", length, "cm") / _INCH * gallons), "biomass")


def density_index(biomass: float, volume: float, length: float) -> float:
    """Density index D = W / (V L) in lb, cubic feet and inches.

    Parameters: biomass in kg, volume in L, mean length in cm, all above 0. Returns D.
    Range, errors and source as `flow_index`.
    """
    pounds = above_zero("biomass", biomass, "kg") / _POUND
    feet = above_zero("volume", volume, "L") / _CUBIC_FOOT
    return answer(pounds / (feet * above_zero("length", length, "cm") / _INCH), "biomass")
