"""Live feed, declared: Artemia hatched and counted, rotifers grown, prey given and washed out."""

from __future__ import annotations

from itertools import pairwise

from tankwalk.errors import Refusal
from tankwalk.science import feeding, livefeed, prey
from tankwalk.science.calculators import cautions
from tankwalk.science.calculators.declare import (
    Answer,
    Calculator,
    Form,
    Given,
    Input,
    Limit,
    Output,
    always,
)
from tankwalk.science.ceilings import CYSTS

_FAO = "Lavens and Sorgeloos 1996, FAO Fisheries Technical Paper 361"
_STIRRED = "Mass balance of a stirred tank"
_SMALL_CONE = 20.0
_DENSE = 2.0
_CRASH = 0.15
_NORMAL_95 = 1.959964
"""Of the normal distribution, for 95 % limits."""

_FLOW = Input("flow", "water flowing in", "L/min", item="flow", meant=(0, 20000))
_VOLUME = Input("volume", "water in the tank", "L", fact="volume", meant=(0.05, 1000000))


def _numbers(given: Given, *keys: str) -> tuple[float, ...]:
    return tuple(given.number(key) for key in keys)


def _decapsulation(given: Given) -> Answer:
    mix = livefeed.decapsulation(
        *_numbers(given, "cysts", "bleach", "chlorine", "caustic", "total")
    )
    also = {"caustic": mix.caustic, "water": mix.water, "total": mix.total}
    return Answer(mix.bleach, also)


def _hatch_percent(given: Given) -> Answer:
    return Answer(livefeed.hatch_percent(*_numbers(given, "nauplii", "umbrella", "embryos")))


def _hatch_efficiency(given: Given) -> Answer:
    found = livefeed.hatch_efficiency(*_numbers(given, "count", "subsample", "volume", "cysts"))
    weight, full = given.maybe("weight"), given.maybe("per_gram")
    hatched = None if full is None else livefeed.hatch_yield(found, 1, full)
    too_many = ("more than all cysts of the tin's figure: look at count, grams and figure.",)
    also = {
        "output": None if weight is None else livefeed.hatch_output(found, weight),
        "hatched": hatched,
    }
    return Answer(found, also, too_many if hatched is not None and hatched > 100 else ())


def _cysts(given: Given) -> Answer:
    cysts = livefeed.cysts_needed(*_numbers(given, "nauplii", "efficiency", "recovery"))
    density = given.number("density")
    water = livefeed.hatching_water(cysts, density)
    warnings: tuple[str, ...] = ()
    if density > _DENSE and water >= _SMALL_CONE:
        warnings = (f"density {density:g} g/L is for cones below 20 L; larger ones take 2 g/L.",)
    return Answer(cysts, {"water": water}, warnings)


def _aliquot(given: Given) -> Answer:
    counts = given.series("counts")
    found = livefeed.aliquots(counts, *_numbers(given, "subsample", "volume", "dilution"))
    warnings = []
    if found.mixed is False:
        warnings.append("counts scatter more than chance: not well mixed. Stir and count again.")
    if len(counts) == 1:
        warnings.append("one count says nothing of the mixing; its limits take mixing as good.")
    mean = sum(counts) / len(counts)
    more = None
    if given.has("more") and mean > 0:
        to_total = found.total / mean
        more = [limit * to_total for limit in livefeed.aliquots_with(counts, given.count("more"))]
    also = {
        "low_more": None if more is None else more[0],
        "high_more": None if more is None else more[1],
        "density": found.density,
        "low": found.low,
        "high": found.high,
        "cv": found.cv,
        "dispersion": found.dispersion,
        "mixed": found.mixed,
        "needed": livefeed.aliquots_needed(mean, 0.1) if mean > 0 else None,
        "needed_95": livefeed.aliquots_needed(mean, 0.1) * _NORMAL_95**2 if mean > 0 else None,
    }
    return Answer(found.total, also, tuple(warnings))


def _growth(given: Given) -> Answer:
    found = livefeed.rotifer_growth(*_numbers(given, "start", "end", "days"))
    shrinks = ("the culture shrinks: no harvest holds it.",) if found.rate < 0 else ()
    return Answer(found.rate, {"doubling": found.doubling, "harvest": found.harvest}, shrinks)


def _forecast(given: Given) -> Answer:
    return Answer(livefeed.rotifer_forecast(*_numbers(given, "start", "r", "days")))


def _eggs(given: Given) -> Answer:
    ratio = livefeed.egg_ratio(*_numbers(given, "eggs", "females"))
    development = given.maybe("development")
    births = None if development is None else livefeed.birth_rate(ratio, development)
    low = (
        (
            "below 0.15 eggs a female, with slow swimming, has gone before crashes "
            "(common practice, weak evidence).",
        )
        if ratio < _CRASH
        else ()
    )
    return Answer(ratio, {"birth_rate": births}, low)


def _ration(given: Given) -> Answer:
    return Answer(livefeed.rotifer_ration(*_numbers(given, "number", "ration")))


def _dose(given: Given) -> Answer:
    needed = prey.prey_needed(*_numbers(given, "volume", "target", "residual"))
    return Answer(prey.concentrate_needed(needed, given.number("concentrate")), {"prey": needed})


def _washout(given: Given) -> Answer:
    start, flow, volume, hours, eaten = _numbers(given, "start", "flow", "volume", "hours", "eaten")
    left = prey.density_after(start, flow, volume, hours, eaten)
    floor = given.maybe("floor")
    until = None if floor is None else prey.hours_to(start, floor, flow, volume, eaten)
    return Answer(left, {"hours_to_floor": until, "meals_per_day": prey.meals_a_day(until)})


def _drip(given: Given) -> Answer:
    return Answer(prey.drip(*_numbers(given, "density", "flow")))


def _day(given: Given) -> Answer:
    volume, flow, target, eaten = _numbers(given, "volume", "flow", "target", "eaten")
    at = given.series("meals")
    if any(not 0 <= hour < 24 for hour in at):
        raise Refusal("meals has to be hours of the day, 0 to below 24.")
    if any(later <= earlier for earlier, later in pairwise(at)):
        raise Refusal("meals has to rise from one hour to the next.")
    # From the last meal of a day to that of the next one: every day is then alike.
    since = [hour + 24 - at[-1] for hour in at]
    day = feeding.filled(volume, flow, target, since, 24, target, eaten)
    also = {
        "washed": day.washed / day.given if day.given > 0 else None,
        "eaten_part": day.eaten / day.given if day.given > 0 else None,
        "lowest": min(span.before for span in day.spans if span.hour > 0),
        "empty": day.empty,
    }
    return Answer(day.given, also)


def _gape(given: Given) -> Answer:
    length, width = given.number("length"), given.maybe("width")
    mouth = prey.gape(length)
    found = None if width is None else prey.fitted(width, length)
    also = {
        "height": mouth.height,
        "part": None if found is None else found.part,
        "fit": None if found is None else found.fit.value,
    }
    return Answer(mouth.width, also)


CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        "decapsulation",
        "Bleach, caustic and water for cysts",
        (
            Input("cysts", "dry cysts", "g", meant=(0.1, 5000)),
            Input("bleach", "available chlorine, as tested", "g/L", valid=(35, 160)),
            Input(
                "chlorine",
                "chlorine for a gram of cysts",
                "g/g",
                default=livefeed.CHLORINE,
                valid=(0.17, 0.6),
            ),
            Input(
                "caustic",
                "sodium hydroxide for a gram of cysts",
                "g/g",
                default=livefeed.CAUSTIC,
                valid=(0.1, 0.2),
            ),
            Input(
                "total",
                "whole mix for a gram of cysts",
                "mL/g",
                default=livefeed.TOTAL,
                valid=(7, 15),
            ),
        ),
        Output("value", "mL", 0, "bleach"),
        "bleach = 1000 x 0.5 m / c; caustic = 0.15 m; total = 14 m; water = total - bleach",
        f"{_FAO}, worksheet 4.3.2, after Bruggeman, Sorgeloos and Vanhaecke 1980; from memory",
        "liquid bleach of 35.7 g/L or more; published recipes use 0.17 to 0.6 g of chlorine a gram",
        _decapsulation,
        example="cysts=100 | bleach=84",
        also=(
            Output("caustic", "g", 1, "sodium hydroxide"),
            Output("water", "mL", 0, "cold salt water"),
            Output("total", "mL", 0, "whole mix"),
        ),
        caution=cautions.DECAPSULATION,
        limits=(Limit("cysts", CYSTS),),
        dangerous=always,
        find="Artemia brine shrimp cysts bleach",
    ),
    Calculator(
        "hatch-percent",
        "Hatching percentage",
        (
            Input("nauplii", "nauplii counted"),
            Input("umbrella", "umbrella stages counted"),
            Input("embryos", "embryos not hatched"),
        ),
        Output("value", "%", 1),
        "H = 100 N / (N + U + E)",
        f"{_FAO}, worksheet 4.3.4; from memory",
        "embryos counted after their shells are dissolved in hypochlorite",
        _hatch_percent,
        example="nauplii=168 | umbrella=12 | embryos=20",
        find="Artemia brine shrimp nauplii hatch rate",
    ),
    Calculator(
        "hatch-efficiency",
        "Nauplii from a gram of cysts",
        (
            Input("count", "mean count of the subsamples", meant=(0, 5000)),
            Input("subsample", "volume of one subsample", "mL", meant=(0.01, 200)),
            Input("volume", "volume of the hatch", "mL", meant=(10, 2000000)),
            Input("cysts", "cysts set", "g", meant=(0.05, 5000)),
            Input("weight", "dry weight of one nauplius", "ug", needed=False, valid=(1, 4)),
            Input(
                "per_gram",
                "nauplii of a gram, if all hatch",
                "per g",
                needed=False,
                valid=(100000, 500000),
            ),
        ),
        Output("value", "per g", 0, meant=(0, 400000)),
        "HE = N / subsample x volume / cysts; output = HE x weight / 1000;\n"
        "hatched = 100 HE / nauplii of a gram, if all hatch",
        f"{_FAO}, worksheet 4.3.4 (N x 4 x 80 / 1.6); from memory",
        "a well-mixed hatch; good cysts give 200 000 to 300 000",
        _hatch_efficiency,
        example="count=42 | subsample=0.25 | volume=1000 | cysts=2",
        also=(
            Output("output", "mg/g", 0, "dry nauplii from a gram"),
            Output("hatched", "%", 1, "of what the tin could give"),
        ),
        find="Artemia brine shrimp nauplii hatch",
    ),
    Calculator(
        "cysts-needed",
        "Cysts to set",
        (
            Input("nauplii", "nauplii wanted", meant=(1000, 10000000000)),
            Input("efficiency", "nauplii from a gram", "per g", valid=(50000, 350000)),
            Input("recovery", "part that is harvested", "fraction", default=1),
            Input(
                "density",
                "cysts in a liter",
                "g/L",
                default=livefeed.HATCHING_DENSITY,
                valid=(0.1, 5),
            ),
        ),
        Output("value", "g", 1),
        "m = N / (HE recovery); water = m / density",
        "Definition; density of the FAO freshwater prawn manual, annex 4",
        "2 g/L, and up to 5 g/L below 20 L",
        _cysts,
        example="nauplii=6000000 | efficiency=220000 | recovery=0.85",
        also=(Output("water", "L", 1, "hatching water"),),
        find="Artemia brine shrimp eggs",
    ),
    Calculator(
        "aliquot",
        "Population from subsamples",
        (
            Input("counts", "count of each subsample", form=Form.SERIES, meant=(0, 20000)),
            Input("subsample", "volume of one subsample", "mL", meant=(0.00001, 1000)),
            Input("dilution", "times diluted", form=Form.TIMES, default=1, meant=(1, 1000000)),
            Input("volume", "volume it stands for", "L", meant=(0.001, 1000000)),
            Input("more", "counts to add", form=Form.COUNT, needed=False, meant=(0, 50)),
        ),
        Output("value", "", 0, "total"),
        "density = mean / subsample x dilution; total = density x volume;\n"
        "dispersion = sum (x - m)^2 / m, against chi-square(0.975, n - 1)",
        "Fisher 1950, Biometrics 6:17, index of dispersion; Garwood 1936, Biometrika 28:437, exact "
        "Poisson limits; Elliott 1977, n = 1 / (m D^2), D a standard "
        "error; 95 % limits take 3.84 times as many (from memory)",
        "95 % limits: exact Poisson while well mixed, Student's of the counts where not",
        _aliquot,
        example="counts=31 28 36 | subsample=1 | volume=60",
        also=(
            Output("density", "per mL", 2),
            Output("low", "", 0, "total, lower limit"),
            Output("high", "", 0, "total, upper limit"),
            Output("low_more", "", 0, "lower limit with the counts to add"),
            Output("high_more", "", 0, "upper limit with the counts to add"),
            Output("cv", "%", 1, "spread of the counts"),
            Output("dispersion", "", 2, "index of dispersion"),
            Output("mixed", "", 0, "looks well mixed"),
            Output("needed", "", 1, "such counts for a standard error of 10 %"),
            Output("needed_95", "", 1, "such counts for 95 % limits of 10 % either way"),
        ),
        find="count sample subsample density rotifers Artemia larvae",
    ),
    Calculator(
        "rotifer-growth",
        "Growth of a culture",
        (
            Input("start", "density at the start", "per mL", meant=(0, 50000)),
            Input("end", "density at the end", "per mL", meant=(0, 50000)),
            Input("days", "days between", "d", meant=(0.1, 60)),
        ),
        Output("value", "per d", 3),
        "r = ln(Nt / N0) / t; doubling = ln 2 / r; harvest = 1 - exp(-r)",
        "Definition of exponential growth",
        "nothing harvested or diluted meanwhile; most reported 1.02 a day (Rothhaupt 1990)",
        _growth,
        example="start=120 | end=310 | days=3",
        also=(
            Output("doubling", "d", 2),
            Output("harvest", "fraction", 3, "part a day that holds it"),
        ),
        find="doubling culture",
    ),
    Calculator(
        "rotifer-forecast",
        "Density of a culture to come",
        (
            Input("start", "density now", "per mL", meant=(0, 50000)),
            Input("r", "growth rate", "per d", valid=(-2, 1.1)),
            Input("days", "days from now", "d", meant=(0.1, 30)),
        ),
        Output("value", "per mL", 1),
        "Nt = N0 exp(r t)",
        "Definition of exponential growth",
        "food, water and room enough; most reported 1.02 a day (Rothhaupt 1990)",
        _forecast,
        example="start=120 | r=0.3 | days=3",
        find="culture growth",
    ),
    Calculator(
        "egg-ratio",
        "Eggs a female, and births",
        (
            Input("eggs", "eggs counted"),
            Input("females", "females counted"),
            Input("development", "days an egg takes", "d", needed=False, meant=(0.2, 10)),
        ),
        Output("value", "", 3, "eggs a female"),
        "E = eggs / females; b = ln(1 + E) / D",
        "Edmondson 1960, Mem. Ist. Ital. Idrobiol. 12:21; Paloheimo 1974, Limnology and "
        "Oceanography 19:692, b; from memory",
        "a sample drawn at random, loose eggs counted too",
        _eggs,
        example="eggs=38 | females=110 | development=0.9",
        also=(Output("birth_rate", "per d", 3),),
        find="rotifers fecundity",
    ),
    Calculator(
        "rotifer-ration",
        "Feed for a culture",
        (
            Input("number", "rotifers in the culture", meant=(1000, 1000000000000)),
            Input("ration", "feed for a million a day", "g per million per d", valid=(0.5, 2)),
        ),
        Output("value", "g/d"),
        "feed = number / 1 000 000 x ration",
        f"{_FAO}; from memory",
        "baker's yeast about 1, yeast with oil 0.8 to 2.0",
        _ration,
        example="number=90000000 | ration=1",
        find="algae yeast paste feed",
    ),
    Calculator(
        "prey-dose",
        "Prey for a meal",
        (
            _VOLUME,
            Input("target", "density wanted", "per mL", meant=(0, 200)),
            Input("residual", "density left, as counted", "per mL", meant=(0, 200)),
            Input("concentrate", "density of the concentrate", "per mL", meant=(1, 1000000)),
        ),
        Output("value", "mL", 0),
        "N = (target - residual) V 1000, not below 0; mL = N / concentrate",
        "Definition",
        "a residual that was counted, not assumed",
        _dose,
        example="volume=220 | target=5 | residual=1.2 | concentrate=600",
        also=(Output("prey", "", 0, "prey to add"),),
        find="Artemia brine shrimp rotifers live feed",
    ),
    Calculator(
        "prey-washout",
        "Prey left after washout",
        (
            Input("start", "density after the meal", "per mL", meant=(0, 1000)),
            _FLOW,
            _VOLUME,
            Input("hours", "hours since", "h", meant=(0, 72)),
            Input("floor", "least density wanted", "per mL", needed=False, meant=(0, 200)),
            Input("eaten", "prey eaten in the tank", "per h", default=0),
        ),
        Output("value", "per mL"),
        "C = (C0 + g/k) exp(-k t) - g/k, k = 60 Q / V, g = eaten / (1000 V);\n"
        "hours to floor = ln((C0 + g/k) / (C1 + g/k)) / k; meals = 24 / hours, rounded up",
        _STIRRED,
        "a well-mixed tank, eating at one rate",
        _washout,
        example="start=5 | flow=1.2 | volume=220 | hours=4 | floor=1",
        also=(
            Output("hours_to_floor", "h", 2),
            Output("meals_per_day", "", 0),
        ),
        find="Artemia brine shrimp rotifers live feed",
    ),
    Calculator(
        "prey-day",
        "A day of live feed in a tank",
        (
            _VOLUME,
            _FLOW,
            Input("target", "density each meal brings it to", "per mL", meant=(0, 200)),
            Input("meals", "hours of the day with a meal", form=Form.SERIES),
            Input("eaten", "prey eaten in the tank", "per h", default=0),
        ),
        Output("value", "", 0, "prey a day"),
        "each meal = (target - left) V 1000, left = (C0 + g/k) exp(-k t) - g/k;\n"
        "given = eaten + washed out, from the last meal of a day to that of the next",
        _STIRRED,
        "a well-mixed tank, eating at one rate day and night; every day alike",
        _day,
        example="volume=220 | flow=0.6 | target=5 | meals=8.33 10 12 14 15.67 | eaten=90000",
        also=(
            Output("washed", "fraction", 2, "washed out, of it"),
            Output("eaten_part", "fraction", 2, "eaten, of it"),
            Output("lowest", "per mL", 2, "least that a meal finds"),
            Output("empty", "h", 1, "without prey"),
        ),
        find="Artemia brine shrimp rotifers live feed washout balance ration meals",
    ),
    Calculator(
        "prey-drip",
        "Prey to hold a density",
        (Input("density", "density to hold", "per mL", meant=(0, 1000000)), _FLOW),
        Output("value", "prey/min", 0),
        "prey = 1000 Q C",
        _STIRRED,
        "what is washed out; what is eaten comes on top",
        _drip,
        example="density=600 | flow=10 mL/min",
        find="Artemia brine shrimp rotifers live feed",
    ),
    Calculator(
        "gape",
        "Mouth of a yellow perch larva",
        (
            Input("length", "total length", "mm", valid=(0, 10)),
            Input("width", "width of the prey", "um", needed=False, meant=(20, 3000)),
        ),
        Output("value", "mm", 3, "width of the mouth"),
        "width = 0.081599 + 0.006664 L^2; height = 0.060535 + 0.007155 L^2;\n"
        "prey fits up to half of the width, is marginal above, too wide at all of it",
        "Oetker 1998, thesis, Michigan State University, abstract",
        "yellow perch below 10 mm; prey is judged by its width, most often 1/4 to 1/2 of it",
        _gape,
        example="length=9.5",
        also=(
            Output("height", "mm", 3, "height of the mouth"),
            Output("part", "fraction", 2, "width of the prey over the mouth's"),
            Output("fit", "", 0, "the prey"),
        ),
        find="mouth size prey",
    ),
)
