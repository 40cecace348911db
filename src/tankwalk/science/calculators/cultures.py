"""Cultures and eggs, declared: how a hatch runs, algae counted and fed, enrichment, eggs."""

from __future__ import annotations

from tankwalk.errors import Refusal
from tankwalk.science import feeding, growth, livefeed, prey, survival
from tankwalk.science.calculators.declare import Answer, Calculator, Form, Given, Input, Output
from tankwalk.science.limits import above_zero

_FAO = "Lavens and Sorgeloos 1996, FAO Fisheries Technical Paper 361"
_CROWDED = 300.0
"""Nauplii in a mL of an enrichment, above which they lack oxygen: FAO 361, from memory."""
_INCH_MM = 25.4
_TROUGH = 12 * _INCH_MM


def _times(given: Given) -> Answer:
    found = livefeed.hatching_times(given.series("times"), given.series("hatched"))
    ends = (found.t10, found.t90)
    synchrony = None if None in ends else (found.t90 or 0.0) - (found.t10 or 0.0)
    early = ("more than a tenth was out at the first count: begin counting sooner.",)
    return Answer(synchrony, found._asdict(), early if found.t10 is None else ())


def _algae(given: Given) -> Answer:
    count, squares, dilution = (given.number(key) for key in ("count", "squares", "dilution"))
    found = livefeed.cells_counted(count, squares, dilution, given.number("depth"))
    few = ("count is below 100 cells: count more squares, or dilute less.",)
    also = {"low": found.low, "high": found.high}
    return Answer(found.density, also, few if count < 100 else ())


def _algae_feed(given: Given) -> Answer:
    cells = prey.prey_needed(*(given.number(key) for key in ("volume", "target", "residual")))
    return Answer(prey.concentrate_needed(cells, given.number("concentrate")), {"cells": cells})


def _enrichment(given: Given) -> Answer:
    volume, dose, feedings = (given.number(key) for key in ("volume", "dose", "feedings"))
    once = volume * dose
    number = given.maybe("nauplii")
    density = None if number is None else number / volume / 1000
    said = (
        (f"nauplii are {density:.0f} in a mL, more than {_CROWDED:g}: they will lack oxygen.",)
        if density is not None and density > _CROWDED
        else ()
    )
    return Answer(once, {"all": once * feedings, "density": density}, said)


def _harvest(given: Given) -> Answer:
    density, volume = given.number("density"), given.number("volume")
    taken = livefeed.culture_harvest(density, volume, given.number("part_taken"))
    wanted = given.maybe("wanted")
    thin = None if wanted is None else livefeed.culture_dilution(density, volume, wanted)
    also = {"number": taken.number, "density": taken.density, "thin": thin}
    return Answer(taken.water, also)


def _lasts(given: Given) -> Answer:
    found = feeding.lasts(
        given.number("stock"),
        given.series("uses"),
        given.number("delivery"),
        given.number("reserve"),
    )
    late = ("the day to order is over: it runs short before it comes.",)
    order = found.order
    return Answer(found.days, {"order": order}, late if order is not None and order < 0 else ())


def _eggs(given: Given) -> Answer:
    volume = given.number("volume")
    low = high = diameter = None
    warnings: tuple[str, ...] = ()
    if given.has("in_trough"):
        if given.has("counts") or given.has("subsample"):
            raise Refusal("in_trough is not asked when counts are given: type one way.")
        eggs = above_zero("in_trough", given.number("in_trough"))
        diameter = given.number("trough") / eggs
        total = growth.eggs_in_a_liter(diameter) * volume / 1000
        warnings = ("by their diameter, give or take 10 %: 3 % of a diameter is 9 % of the eggs.",)
    else:
        for key in ("counts", "subsample"):
            if not given.has(key):
                raise Refusal(f"{key} is missing: counts and subsample, or in_trough.")
        found = livefeed.aliquots(given.series("counts"), given.number("subsample"), volume / 1000)
        total, low, high = found.total, found.low, found.high
        if found.mixed is False:
            warnings = ("counts scatter more than chance: stir and draw again.",)
    share = share_low = share_high = None
    if given.has("good") or given.has("looked_at"):
        for key in ("good", "looked_at"):
            if not given.has(key):
                raise Refusal(f"{key} is missing: good ones, and how many were looked at.")
        good, of = given.number("good"), given.number("looked_at")
        share_low, share_high = survival.wilson_limits(good, of, 0.95)
        share = good / of
    also = {
        "low": low,
        "high": high,
        "diameter": diameter,
        "share": share,
        "share_low": share_low,
        "share_high": share_high,
        "good_eggs": None if share is None else total * share,
    }
    return Answer(total, also, warnings)


VOLUMES = (0.05, 1e6)
"""L; from a beaker to all the water of a site."""

CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        "hatch-times",
        "How close together a hatch comes",
        (
            Input("times", "hours since set, rising", "h", Form.SERIES, meant=(0, 200)),
            Input("hatched", "nauplii at each, or percent", form=Form.SERIES),
        ),
        Output("value", "h", 1, "T10 to T90", meant=(0.1, 60)),
        "T where 10, 50 and 90 % of the most are out, on straight lines; synchrony = T90 - T10",
        f"{_FAO}, hatching rate; from memory",
        "counts an hour or two apart, until none are added",
        _times,
        example="times=14 16 18 20 22 24 | hatched=0 12 61 118 139 142",
        also=(
            Output("t10", "h", 1, "a tenth is out"),
            Output("t50", "h", 1, "half is out"),
            Output("t90", "h", 1, "nine tenths are out"),
        ),
        find="Artemia brine shrimp synchrony hatching rate T10 T90",
    ),
    Calculator(
        "culture-harvest",
        "Harvest of a culture",
        (
            Input("density", "density as counted", "per mL", meant=(0.1, 10**9)),
            Input("volume", "water of the culture", "L", meant=VOLUMES),
            Input("part_taken", "part that is taken", "fraction"),
            Input("wanted", "or density to thin it to", "per mL", needed=False),
        ),
        Output("value", "L", 1, "to take"),
        "water = V h; animals = 1000 C V h; then C (1 - h); thinned: V (1 - wanted / C)",
        "Definition",
        "a well-mixed culture, filled up again with water without animals",
        _harvest,
        example="density=258 | volume=60 | part_taken=25 % | wanted=180",
        also=(
            Output("number", "", 0, "animals in it"),
            Output("density", "per mL", 1, "after filling up"),
            Output("thin", "L", 1, "to change for the density wanted"),
        ),
        find="rotifers algae dilute dilution thin culture harvest",
    ),
    Calculator(
        "feed-lasts",
        "Days of feed left, and when to order",
        (
            Input("stock", "what there is", "g", meant=(0, 10**7)),
            Input("uses", "each day's use, today first", "g", Form.SERIES, meant=(0, 10**6)),
            Input("delivery", "days from order to shelf", "d", default=0, meant=(0, 120)),
            Input("reserve", "days that should be left then", "d", default=0, meant=(0, 60)),
        ),
        Output("value", "d", 1),
        "stock less each day's use, the last one for all days after; order = days - delivery - "
        "reserve",
        "Definition",
        "use as planned, spread over each day",
        _lasts,
        example="stock=454 | uses=13.1 13.1 15 18 | delivery=10 | reserve=5",
        also=(Output("order", "d", 1, "from now to order"),),
        find="stock cysts tin dry feed bag run out supply",
    ),
    Calculator(
        "algae-count",
        "Algae from a counting chamber",
        (
            Input("count", "cells counted in all", form=Form.COUNT),
            Input("squares", "squares of 1 mm that were counted", default=4, meant=(0.01, 50)),
            Input("dilution", "times diluted", form=Form.TIMES, default=1, meant=(1, 10**6)),
            Input("depth", "depth of the chamber", "mm", default=0.1, valid=(0.01, 1)),
        ),
        Output("value", "per mL", 0),
        "cells = count / squares / (depth / 1000) x dilution; x 10 000 for 0.1 mm",
        "Definition of the chamber; limits of Garwood 1936, Biometrika 28:437",
        "single cells, 100 or more of them, one counted side of a line",
        _algae,
        example="count=212 | squares=4 | dilution=1:10",
        also=(Output("low", "per mL", 0, "95 %"), Output("high", "per mL", 0, "95 %")),
        find="haemocytometer hemocytometer cells microalgae green water",
    ),
    Calculator(
        "algae-feed",
        "Algae or paste for a density of cells",
        (
            Input("volume", "water in the tank or culture", "L", fact="volume", meant=VOLUMES),
            Input("target", "cells wanted", "per mL", meant=(1000, 10**8)),
            Input("residual", "cells left, as counted", "per mL", default=0, meant=(0, 10**8)),
            Input("concentrate", "cells in the algae or paste", "per mL", meant=(10**5, 10**12)),
        ),
        Output("value", "mL", 1),
        "cells = (target - residual) V 1000, not below 0; mL = cells / concentrate",
        "Definition",
        "a paste by its own count, not its label's; live cells and dead ones are not the same",
        _algae_feed,
        example="volume=220 | target=50000 | residual=12000 | concentrate=2100000000",
        also=(Output("cells", "", 0, "cells to add"),),
        find="green water paste rotifers microalgae Nannochloropsis culture",
    ),
    Calculator(
        "enrichment-dose",
        "Enrichment for live feed",
        (
            Input("volume", "water of the enrichment", "L", meant=(0.5, 10000)),
            Input("dose", "product in a liter, each time", "g/L", meant=(0.01, 2)),
            Input("feedings", "times it is given", default=1, meant=(1, 10)),
            Input("nauplii", "nauplii or rotifers in it", needed=False, meant=(1000, 10**11)),
        ),
        Output("value", "g", 1, "product each time"),
        "g = V x dose; density = number / V / 1000",
        "Definition; at most 300 nauplii in a mL, FAO 361, from memory",
        "the dose and hours on the product's label; oxygen above 4 mg/L throughout",
        _enrichment,
        example="volume=40 | dose=0.3 | feedings=2 | nauplii=8000000",
        also=(
            Output("all", "g", 1, "product in all"),
            Output("density", "per mL", 0, "animals"),
        ),
        find="Artemia brine shrimp rotifers HUFA DHA emulsion boost",
    ),
    Calculator(
        "egg-number",
        "Number of eggs, and how many are good",
        (
            Input("volume", "eggs in all, drained", "mL", meant=(0.5, 200000)),
            Input("counts", "eggs in each sample", form=Form.SERIES, needed=False),
            Input("subsample", "volume of one sample", "mL", needed=False, meant=(0.1, 1000)),
            Input("in_trough", "or eggs in a row in the trough", needed=False, meant=(5, 400)),
            Input("trough", "length of the trough", "mm", default=_TROUGH, meant=(50, 1000)),
            Input("good", "fertilized or hatched ones", form=Form.COUNT, needed=False),
            Input("looked_at", "of so many looked at", form=Form.COUNT, needed=False),
        ),
        Output("value", "", 0, "eggs"),
        "counts: mean / subsample x volume; trough: d = length / eggs, "
        "0.614 x 1000 / (pi d^3 / 6) a mL;\n"
        "share: Wilson's limits at 95 %",
        "Garwood 1936, Biometrika 28:437; the trough after von Bayer, packing of Scott 1960, "
        "Nature 188:908, from memory; Wilson 1927, J. Am. Stat. Assoc. 22:209",
        "eggs swollen and drained alike; by the trough give or take 10 %",
        _eggs,
        example="volume=1850 | counts=142 151 138 | subsample=1 | good=172 | looked_at=200",
        also=(
            Output("low", "", 0, "eggs, lower limit"),
            Output("high", "", 0, "eggs, upper limit"),
            Output("diameter", "mm", 3, "of one egg", meant=(0.5, 10)),
            Output("share", "fraction", 3, "good ones"),
            Output("share_low", "fraction", 3, "good ones, lower limit"),
            Output("share_high", "fraction", 3, "good ones, upper limit"),
            Output("good_eggs", "", 0, "good eggs"),
        ),
        find="fecundity fertilization volumetric von Bayer trough spawn hatch walleye",
    ),
)
