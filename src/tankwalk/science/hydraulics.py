"""Water in tanks: how much a shape holds, and how fast it is replaced."""

from __future__ import annotations

from math import exp, isfinite, log, pi

from tankwalk.errors import Refusal

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
    return pi * diameter**2 * height / 4


def cone_volume(diameter: float, height: float) -> float:
    """Cone standing on its tip, V = pi d^2 h / 12.

    Parameters: diameter at the water line and height in m. Returns m3.
    Range: lengths above 0. Source: plane geometry.
    """
    return pi * diameter**2 * height / 12


def frustum_volume(top: float, bottom: float, height: float) -> float:
    """Round tank with sloping sides, V = pi h (D^2 + D d + d^2) / 12.

    Parameters: diameter at the top and at the bottom, and height, in m. Returns m3.
    Range: lengths above 0. Source: plane geometry.
    """
    return pi * height * (top**2 + top * bottom + bottom**2) / 12


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
        raise Refusal(f"{shape!r} is not a tank shape; use one of {', '.join(SHAPES)}.")
    needs = SHAPES[shape]
    if set(dims) != set(needs):
        raise Refusal(f"A {shape} needs {', '.join(needs)} and nothing else.")
    for name, length in dims.items():
        if not isfinite(length) or length <= 0:
            raise Refusal(f"The {name} of a {shape} has to be above 0 m.")
    full = dims["height"] + dims.get("cone_height", 0.0)
    filled = full if depth is None else depth
    if not isfinite(filled) or filled <= 0:
        raise Refusal(f"The depth in a {shape} has to be above 0 m.")
    if filled > full:
        raise Refusal(f"A depth of {filled:g} m is more than the {full:g} m the {shape} is high.")
    return 1000 * _filled(shape, dims, filled, filled / full)


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
    Errors: Refusal outside the range. Source: definition.
    """
    _positive("volume", volume)
    if not isfinite(flow) or flow < 0:
        raise Refusal("The flow has to be 0 L/min or more.")
    return 60 * flow / volume


def residence_minutes(flow: float, volume: float) -> float:
    """Mean time water stays in a tank, V / Q.

    Parameters: flow in L/min and volume in L, both above 0. Returns min.
    Errors: Refusal outside the range. Source: definition.
    """
    _positive("flow", flow)
    _positive("volume", volume)
    return volume / flow


def replaced_fraction(volumes: float) -> float:
    """Part of the first water gone after so many tank volumes, 1 - exp(-n).

    Parameters: tank volumes passed, 0 or more. Returns 0 to 1.
    Range: a well-mixed tank only; a raceway with plug flow does not obey it.
    Errors: Refusal below 0. Source: mass balance of a stirred tank.
    """
    if not isfinite(volumes) or volumes < 0:
        raise Refusal("The number of tank volumes has to be 0 or more.")
    return 1 - exp(-volumes)


def flush_minutes(start: float, end: float, flow: float, volume: float) -> float:
    """Time for clean water to bring a solute down, t = V / Q ln(C0 / C1).

    Parameters: concentration now and wanted, in one unit; flow in L/min, volume in L, all
    above 0. Returns min.
    Range: a well-mixed tank, inflow free of the solute, end no higher than start.
    Errors: Refusal outside the range. Source: mass balance of a stirred tank.
    """
    _positive("concentration now", start)
    _positive("concentration wanted", end)
    if end > start:
        raise Refusal("Clean water cannot raise a concentration; the end is above the start.")
    return residence_minutes(flow, volume) * log(start / end)


def _positive(name: str, value: float) -> None:
    if not isfinite(value) or value <= 0:
        raise Refusal(f"The {name} has to be above 0.")
