"""Carbonate, declared: carbon dioxide and what goes with alkalinity."""

from __future__ import annotations

from tankwalk.science import carbonate, ceilings, dosing
from tankwalk.science.calculators import cautions
from tankwalk.science.calculators.declare import (
    Answer,
    Calculator,
    Given,
    Input,
    Limit,
    Output,
    always,
)
from tankwalk.science.calculators.water import PH, water_temperature

IONS_MATTER = 5.0
"""% too high, from which on it is said."""


def _carbon_dioxide(given: Given) -> Answer:
    ph, alkalinity, temperature = (given.number(key) for key in ("ph", "alkalinity", "temperature"))
    value = carbonate.carbon_dioxide(ph, alkalinity, temperature)
    low, high = (
        carbonate.carbon_dioxide(min(max(moved, 0), 14), alkalinity, temperature)
        for moved in (ph + carbonate.PH_ERROR, ph - carbonate.PH_ERROR)
    )
    strength = carbonate.ionic_strength(alkalinity, given.maybe("conductivity"))
    ions = carbonate.bicarbonate_activity(strength, temperature)
    also = {
        "low": low,
        "high": high,
        "with_ions": value * ions,
        "pk1": carbonate.pk1(temperature),
        "air_equilibrium": carbonate.air_equilibrium(temperature),
    }
    said = (
        ("ph and alkalinity do not go together: hydroxide alone is more than the alkalinity.",)
        if carbonate.hydroxide_alone(ph, alkalinity, temperature)
        else ()
    )
    over = 100 * (1 / ions - 1)
    notes = (
        (f"ions are left out, which makes this some {over:.0f} % too high: see with_ions.",)
        if over >= IONS_MATTER
        else ()
    )
    return Answer(value, also, said, notes=notes)


def _hardness(given: Given) -> Answer:
    calcium, magnesium = given.number("calcium"), given.number("magnesium")
    hard = carbonate.hardness(calcium, magnesium)
    return Answer(
        hard,
        {
            "equivalents": hard / carbonate.CACO3_MG_PER_EQ * 1000,
            "degrees": hard / DEGREE,
            "of_calcium": carbonate.hardness(calcium, 0.0),
        },
    )


DEGREE = 17.848
"""mg/L as CaCO3 of a German degree, 10 mg/L of CaO; from memory."""


def _caustic(given: Given) -> Answer:
    volume, now, to, purity = (given.number(key) for key in ("volume", "from", "to", "purity"))
    mass = dosing.caustic_mass(volume, now, to, purity)
    rise = to - now
    steep = (
        f"rise of {rise:g} mg/L at once lifts the pH sharply, and NH3-N with it: "
        f"{GENTLE:g} mg/L at a time, or bicarbonate.",
    )
    also = {"rise": rise, "bicarbonate": dosing.bicarbonate_mass(volume, now, to)}
    return Answer(mass, also, steep if rise > GENTLE else ())


GENTLE = 5.0
"""mg/L as CaCO3 of caustic at a time. Common practice, no source."""


CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        "carbon-dioxide",
        "CO2 from pH and alkalinity",
        (
            PH._replace(valid=(6, 9)),
            Input("alkalinity", "total alkalinity", "mg/L as CaCO3", item="alk", meant=(0, 2000)),
            water_temperature((0, 60)),
            Input(
                "conductivity", "conductivity at 25 degC", "uS/cm", needed=False, meant=(1, 120000)
            ),
        ),
        Output("value", "mg/L", 1),
        "CO2 = 44009.5 (A - Kw/H + H) / (K1/H + 2 K1 K2/H^2), A = alkalinity/50043.5;\n"
        "with ions x g, log g = -A (I^0.5 / (1 + I^0.5) - 0.3 I), I = 1.6e-5 SC, else 1.5 A;\n"
        "at the air: KH x 420e-6 x (1 - Pw)",
        "Plummer and Busenberg 1982, Geochim. Cosmochim. Acta 46:1011; Kw of Harned and Owen 1958; "
        "from memory",
        "pH 6 to 9, 0 to 60 degC, fresh water; ions are left out: 3 % high at 30 uS/cm, 7 % at "
        "140, 9 % at 250, 13 % at 450; with_ions is within 5 % up to 800 uS/cm",
        _carbon_dioxide,
        example="ph=7.4 | alkalinity=90 | temperature=17",
        also=(
            Output("low", "mg/L", 1, "if pH is 0.1 higher"),
            Output("high", "mg/L", 1, "if pH is 0.1 lower"),
            Output("with_ions", "mg/L", 1, "with the ions of such water"),
            Output("pk1", "", 3),
            Output("air_equilibrium", "mg/L", 2, "with air of 420 ppm"),
        ),
        shaky=("ph", 0.1),
        find="CO2 degassing",
    ),
    Calculator(
        "caustic-dose",
        "Caustic for an alkalinity",
        (
            Input("volume", "water to be treated", "L", fact="volume", meant=(1, 10**6)),
            Input("from", "alkalinity now", "mg/L as CaCO3", item="alk", meant=(0, 2000)),
            Input("to", "alkalinity wanted", "mg/L as CaCO3", valid=(0, 500)),
            Input("purity", "purity", "fraction", default=1, valid=(0.1, 1)),
        ),
        Output("value", "g", 2, "sodium hydroxide"),
        "m = V (A2 - A1) 39.997 / 50.0435 / 1000 / purity",
        "One equivalent each; IUPAC molar masses, from memory",
        "what stays dissolved; it takes up CO2 and lifts the pH far more than bicarbonate",
        _caustic,
        example="volume=3600 | from=80 | to=84",
        also=(
            Output("rise", "mg/L as CaCO3", 1),
            Output("bicarbonate", "g", 1, "or sodium bicarbonate"),
        ),
        caution=cautions.CAUSTIC,
        limits=(Limit("rise", ceilings.ALKALINITY_RISE),),
        dangerous=always,
        find="sodium hydroxide NaOH lye caustic soda pH alkalinity",
    ),
    Calculator(
        "hardness",
        "Hardness from calcium and magnesium",
        (
            Input("calcium", "calcium", "mg/L", meant=(0, 2000)),
            Input("magnesium", "magnesium", "mg/L", meant=(0, 2000)),
        ),
        Output("value", "mg/L as CaCO3", 1),
        "2.497 Ca + 4.118 Mg",
        "APHA Standard Methods 2340 B, from memory",
        "what strontium and iron add is left out",
        _hardness,
        example="calcium=38 | magnesium=11",
        also=(
            Output("equivalents", "meq/L", 2),
            Output("degrees", "", 1, "German degrees"),
            Output("of_calcium", "mg/L as CaCO3", 1, "of the calcium"),
        ),
        find="calcium magnesium GH general hard water",
    ),
)
