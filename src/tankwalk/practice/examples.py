"""An example of each calculator, as one would type it: numbers of a hatchery on a working day."""

from __future__ import annotations

from tankwalk.science.calculators.declare import Calculator, Form, Input

_TYPED: dict[str, str] = {
    "ammonia": "tan=1 | ph=8 | temperature=20",
    "ammonia-limit": "limit=0.02 | ph=7.6 | temperature=17",
    "nitrogen-basis": "value=0.66 | from=NO2 | to=N",
    "oxygen-saturation": "temperature=17 | elevation=300 m",
    "oxygen-percent": "oxygen=8.3 | temperature=17 | elevation=300 m",
    "oxygen-from-percent": "percent=85 | temperature=17",
    "air-pressure": "elevation=300 m",
    "gas-pressure": "delta_p=20 | pressure=740 | temperature=17 | oxygen=9",
    "salinity": "conductivity=3.2 mS/cm | temperature=17",
    "conductivity": "salinity=2 | temperature=17",
    "conductivity-25": "conductivity=450 uS/cm | temperature=17",
    "water-density": "temperature=17 | salinity=2",
    "salt-dose": "volume=220 | from=0.3 | to=3",
    "brine-dose": "volume=60 L | from=12 | to=25 | brine=250",
    "alkalinity-units": "value=90 | from=mg/L CaCO3 | to=dKH",
    "bicarbonate-dose": "volume=3600 | from=80 | to=110",
    "bicarbonate-rise": "volume=3600 | mass=250",
    "carbon-dioxide": "ph=7.4 | alkalinity=90 | temperature=17",
    "chloride-for-nitrite": "nitrite=0.3 | ratio=20 | volume=3600",
    "chlorine-strength": "percent=8.25 | basis=trade",
    "chlorine-neutralize": "chlorine=0.5 | volume=220",
    "dilution": "stock=100 | target=5 | volume=2",
    "bath": "volume=220 | dose=10 mg/L",
    "bath-flow": "flow=3.5 | minutes=60 | dose=100 | volume=220 | stock=350",
    "flush-time": "from=25 | to=1 | flow=3.5 | volume=220",
    "tank-volume": "shape=cylinder | diameter=0.76 | height=0.5",
    "exchange": "flow=3.5 | volume=220",
    "oxygen-flow": "demand=1200 | inflow=9.2 | outflow=7",
    "ammonia-load": "feed=150 | protein=0.5 | flow=3.5",
    "decapsulation": "cysts=100 | bleach=84",
    "hatch-percent": "nauplii=168 | umbrella=12 | embryos=20",
    "hatch-efficiency": "count=42 | subsample=0.25 | volume=1000 | cysts=2",
    "cysts-needed": "nauplii=6000000 | efficiency=220000 | recovery=0.85",
    "aliquot": "counts=31 28 36 | subsample=1 | volume=60",
    "rotifer-growth": "start=120 | end=310 | days=3",
    "rotifer-forecast": "start=120 | r=0.3 | days=3",
    "egg-ratio": "eggs=38 | females=110 | development=0.9",
    "rotifer-ration": "number=90000000 | ration=0.35",
    "prey-dose": "volume=220 | target=5 | residual=1.2 | concentrate=600",
    "prey-washout": "start=5 | flow=1.2 | volume=220 | hours=4 | floor=1",
    "prey-drip": "density=600 | flow=10 mL/min",
    "gape": "length=9.5",
    "growth-rate": "start=2.1 | end=9.8 | days=14",
    "condition": "weight=1.2 | length=5.4",
    "relative-condition": "weight=1.2 | length=54 | a=0.000008 | b=3",
    "dph": "hatched=2026-04-19 | on=2026-05-10",
    "thermal-growth": "start=0.5 | end=2 | degree_days=600",
    "thermal-weight": "start=0.5 | tgc=0.7 | degree_days=600",
    "degree-days": "temperatures=15.8 16.1 16.4 16.6",
    "size-spread": "values=9.1 9.6 8.8 10.2 9.4",
    "feed-conversion": "feed=820 | start=310 | end=1050 | dead=12",
    "ration": "number=400 | weight=250 | percent=4",
    "daily-mortality": "dead=7 | number=1450",
    "survival": "stocked=1500 | deaths=12 9 7 4 | days=4",
    "death-rate": "start=1500 | end=1310 | days=14",
    "count-gap": "stocked=1500 | dead=120 | sampled=20 | census=1290",
    "proportion": "count=7 | of=30",
    "count-limits": "count=31",
    "mortality-limit": "expected=4",
    "ewma": "values=7.6 7.5 7.6 7.4 7.3 | start=7.6 | sd=0.1",
    "cusum": "values=7.6 7.5 7.6 7.4 7.3 | mean=7.6 | slack=0.05",
    "compare": "groups=7.1 8.0 7.6; 9.2 8.8 9.9",
    "survival-curve": "times=3 5 8 12 | events=1 1 0 1 | at=10",
    "convert": "value=2.5 gal/min | to=L/min",
}

_BY_UNIT = {"degC": "17", "L": "220", "L/min": "3.5", "mmHg": "740", "%": "50", "m": "1"}


def example(asked: Calculator) -> dict[str, str]:
    """What one might type for a calculator, by key; only what it asks."""
    written = _TYPED.get(asked.name)
    if written is not None:
        typed = dict(part.strip().split("=", 1) for part in written.split(" | "))
        return {key: value for key, value in typed.items() if asked.input(key) is not None}
    return {i.key: _value(i) for i in asked.inputs if i.needed and i.default is None}


def _value(one: Input) -> str:
    match one.form:
        case Form.SERIES:
            return "31 28 36"
        case Form.GROUPS:
            return "7 8 15; 12 17 13"
        case Form.WORD:
            return one.choices[0]
        case Form.DAY:
            return "2026-05-10"
        case Form.UNIT:
            return "L"
        case Form.AMOUNT:
            return "1 L"
        case _:
            return _BY_UNIT.get(one.unit, "1")
