"""Tanks and flow, declared: volumes, exchanges, and what the water has to carry."""

from __future__ import annotations

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.science import hydraulics
from tankwalk.science.calculators import cautions
from tankwalk.science.calculators.declare import Answer, Calculator, Form, Given, Input, Output

_LENGTHS = {
    "diameter": "inner diameter",
    "height": "height of the water, or of the full tank",
    "top": "diameter at the top",
    "bottom": "diameter at the bottom",
    "length": "inner length",
    "width": "inner width",
    "cone_height": "height of the cone below",
}
_SIZES = (0.01, 40.0)
"""m; from the neck of a cone to the length of a raceway."""
_STIRRED = "Mass balance of a stirred tank"

_FLOW = Input("flow", "water flowing in", "L/min", item="flow", meant=(0, 20000))
_VOLUME = Input("volume", "water in the tank", "L", fact="volume", meant=(0.05, 1000000))


def _flush(given: Given) -> Answer:
    now, unit = given.amount("from")
    try:
        wanted = quantity.convert(*given.amount("to"), unit)
    except Refusal as refusal:
        raise Refusal(f"to: {refusal}") from None
    flow, volume = given.number("flow"), given.number("volume")
    return Answer(hydraulics.flush_minutes(now, wanted, flow, volume))


def _volume(given: Given) -> Answer:
    dims = {key: given.number(key) for key in _LENGTHS if given.has(key)}
    return Answer(
        hydraulics.tank_volume(given.word("shape"), depth=given.maybe("depth"), **dims),
    )


def _exchange(given: Given) -> Answer:
    flow, volume = given.number("flow"), given.number("volume")
    changes = hydraulics.exchanges_per_hour(flow, volume)
    residence = hydraulics.residence_minutes(flow, volume) if flow > 0 else None
    volumes, hours = given.maybe("volumes"), given.maybe("hours")
    if volumes is not None and hours is not None:
        raise Refusal("volumes and hours both say how long: give one of them.")
    if hours is not None:
        if hours < 0:
            raise Refusal(f"hours has to be 0 h or more, not {hours:g}.")
        volumes = changes * hours
    replaced = None if volumes is None else hydraulics.replaced_fraction(volumes)
    return Answer(changes, {"residence": residence, "replaced": replaced})


def _density(given: Given) -> Answer:
    return Answer(hydraulics.stocking_density(given.number("number"), given.number("volume")))


def _oxygen(given: Given) -> Answer:
    numbers = (given.number(key) for key in ("demand", "inflow", "outflow"))
    return Answer(hydraulics.oxygen_flow(*numbers))


def _ammonia(given: Given) -> Answer:
    produced = hydraulics.ammonia_produced(
        given.number("feed"), given.number("protein"), given.number("factor")
    )
    tan = hydraulics.steady_ammonia(produced, given.number("flow"), given.number("inflow"))
    return Answer(tan, {"produced": produced})


CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        "flush-time",
        "Time to flush a tank",
        (
            Input("from", "concentration now", form=Form.LOOSE),
            Input("to", "concentration wanted, in that unit", form=Form.LOOSE),
            _FLOW,
            _VOLUME,
        ),
        Output("value", "min", 0),
        "t = V / Q ln(C0 / C1)",
        _STIRRED,
        "a well-mixed tank, clean water coming in; not a raceway with plug flow",
        _flush,
        example="from=25 | to=1 | flow=3.5 | volume=220",
        find="rinse washout exchange",
    ),
    Calculator(
        "tank-volume",
        "Water a tank holds",
        (
            Input("shape", "shape of the tank", form=Form.WORD, choices=tuple(hydraulics.SHAPES)),
            *(
                Input(key, words, "m", needed=False, meant=_SIZES)
                for key, words in _LENGTHS.items()
            ),
            Input("depth", "depth of the water, if not full", "m", needed=False, meant=_SIZES),
        ),
        Output("value", "L", 1, meant=(0.05, 1000000)),
        "cylinder pi d^2 h / 4; cone pi d^2 h / 12; frustum pi h (D^2 + D d + d^2) / 12;\n"
        "box l w h; cone-bottom pi d^2 h / 4 + pi d^2 c / 12",
        "Plane geometry",
        "inner lengths; a depth is measured up from the lowest point",
        _volume,
        example="shape=cylinder | diameter=0.76 | height=0.5",
        find="gallons liters capacity",
    ),
    Calculator(
        "exchange",
        "Tank volumes an hour",
        (
            _FLOW,
            _VOLUME,
            Input("volumes", "tank volumes passed", needed=False, meant=(0, 1000)),
            Input("hours", "hours passed, in their place", "h", needed=False, meant=(0, 2000)),
        ),
        Output("value", "per h"),
        "n = 60 Q / V; residence V / Q; replaced 1 - exp(-n)",
        f"Definition; {_STIRRED.lower()}",
        "replaced: a well-mixed tank; not a raceway with plug flow",
        _exchange,
        example="flow=3.5 | volume=220",
        also=(
            Output("residence", "min", 0, "mean time water stays"),
            Output("replaced", "fraction", 3, "part of the first water gone after those"),
        ),
        find="turnover water change residence",
    ),
    Calculator(
        "stocking-density",
        "Fish in a liter",
        (
            Input(
                "number", "fish in the tank", form=Form.COUNT, fact="number", meant=(0, 100000000)
            ),
            _VOLUME,
        ),
        Output("value", "per L", 1),
        "N / V",
        "Definition",
        "any; between counts the number of larvae is an upper guess",
        _density,
        example="number=1450 | volume=220",
        find="larvae biomass",
    ),
    Calculator(
        "oxygen-flow",
        "Flow for the oxygen used",
        (
            Input("demand", "oxygen used", "mg/h", meant=(0, 100000000)),
            Input("inflow", "oxygen coming in", "mg/L", meant=(0, 60), of="oxygen"),
            Input("outflow", "least oxygen wanted going out", "mg/L", meant=(0, 40), of="oxygen"),
        ),
        Output("value", "L/min"),
        "Q = demand / (60 (DO in - DO out))",
        "Mass balance",
        "steady use, nothing from aeration or from pure oxygen",
        _oxygen,
        example="demand=1200 | inflow=9.2 | outflow=7",
        caution=cautions.OXYGEN,
        find="DO demand water needed",
    ),
    Calculator(
        "ammonia-load",
        "Ammonia from feed",
        (
            Input("feed", "feed eaten", "g/d", meant=(0, 1000000)),
            Input("protein", "protein, a fraction of the feed", "fraction", valid=(0.2, 0.7)),
            _FLOW,
            Input(
                "inflow",
                "total ammonia coming in, as N",
                "mg/L as N",
                default=0,
                meant=(0, 50),
                of="ammonia",
            ),
            Input(
                "factor",
                "ammonia N for a gram of protein",
                "g/g",
                default=hydraulics.PROTEIN_TO_TAN,
                valid=(0.05, 0.16),
            ),
        ),
        Output("value", "mg/L as N", 3),
        "P = F PC 0.092; TAN = TAN in + P / (1440 Q)",
        "Ebeling, Timmons and Bisogni 2006, Aquaculture 257:346-358, P_TAN (from memory); "
        "mass balance of a single pass",
        "all feed eaten, steady, nothing nitrified in the tank; an extension note takes 22 % less",
        _ammonia,
        example="feed=150 | protein=0.5 | flow=3.5",
        also=(Output("produced", "mg/d", 0, "total ammonia made, as N"),),
        find="TAN feed protein",
    ),
)
