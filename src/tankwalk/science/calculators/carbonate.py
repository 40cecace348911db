"""Carbonate, declared: carbon dioxide and what goes with alkalinity."""

from __future__ import annotations

from tankwalk.science import carbonate
from tankwalk.science.calculators.declare import Answer, Calculator, Given, Input, Output
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
)
