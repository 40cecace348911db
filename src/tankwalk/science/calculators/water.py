"""The water itself, declared: ammonia, gases and salt."""

from __future__ import annotations

from tankwalk.errors import Refusal
from tankwalk.science import ammonia, gas, oxygen, salinity
from tankwalk.science.calculators.declare import Answer, Calculator, Form, Given, Input, Output

_AIR = (380.0, 836.0)
_HEIGHTS = (-500.0, 5000.0)
_SEA = (0.0, 42.0)

_EMERSON = "Emerson, Russo, Lund and Thurston 1975, J. Fish. Res. Board Can. 32:2379-2383"
_BELL = "from salinity 1 Bell, Johnson, Jickells and Liss 2007, Environ. Chem. 4:183"
_CLEGG = "total scale Clegg and Whitfield 1995, Geochim. Cosmochim. Acta 59:2403, eq. 18"
_BENSON = (
    "Benson and Krause 1984, Limnology and Oceanography 29:620-632, as in APHA Standard Methods "
    "4500-O"
)
_HEIGHT = "air by elevation, US Standard Atmosphere 1976"
_PSS = (
    "UNESCO 1983, Technical Papers in Marine Science 44 (PSS-78); below 2 Hill, Dauphinee and "
    "Woods 1986, IEEE J. Oceanic Eng. 11:109, joined at 2 as in IOC 2010, TEOS-10 manual"
)
_PSS_EQUATION = (
    "S = sum a_i Rt^(i/2) + (t - 15)/(1 + 0.0162 (t - 15)) sum b_i Rt^(i/2), Rt = C/(42.914 rt);\n"
    "below 2 less a_0/(1 + 1.5 X + X^2) + b_0 f/(1 + Y^0.5 + Y + Y^1.5), X = 400 Rt, Y = 100 Rt"
)
_PSS_RANGE = "salinity 0 to 42, -2 to 35 degC; an estimate below 2, where fresh water is no sea"
_SATURATION_RANGE = "0 to 40 degC, salinity 0 to 40, air pressure 380 to 836 mmHg where you are"
_FRACTION = "f = 1/(10^(pKa - pH) + 1), pKa = 0.09018 + 2729.92/(273.2 + t);"
_BELL_PK = "from salinity 1: pKa = 10.0423 - 0.0315536 t + 0.003071 S"
_AMMONIA_RANGE = "0 to 30 degC and pH 6 to 10 below salinity 1; 5 to 25 degC and 1 to 40 g/kg above"


def water_temperature(valid: tuple[float, float] | None, *, needed: bool = True) -> Input:
    return Input(
        "temperature",
        "water temperature",
        "degC",
        needed=needed,
        valid=valid,
        item="temp",
        meant=(-2, 40),
    )


def _salinity(valid: tuple[float, float] | None) -> Input:
    return Input(
        "salinity",
        "salinity of the water",
        "g/kg",
        default=0,
        valid=valid,
        item="salinity",
        meant=(0, 45),
        of="salt",
    )


PH = Input("ph", "pH of water just taken", item="ph", meant=(4, 11))
_OXYGEN = Input("oxygen", "dissolved oxygen", "mg/L", item="do", meant=(0, 40), of="oxygen")
_WATER_AND_AIR = (
    water_temperature((0, 40)),
    _salinity((0, 40)),
    Input("pressure", "air pressure here (else elevation, 760)", "mmHg", needed=False, valid=_AIR),
    Input(
        "elevation",
        "elevation above sea level",
        "m",
        needed=False,
        valid=_HEIGHTS,
        fact="elevation",
    ),
)  # fmt: skip
_USED = Output("pressure", "mmHg", 1, "air pressure it was worked with")


# ---- ammonia


def _ammonia(given: Given) -> Answer:
    tan, ph, temperature, salt = (
        given.number(key) for key in ("tan", "ph", "temperature", "salinity")
    )
    scale = given.word("scale")
    nitrogen = ammonia.unionized(tan, ph, temperature, salt, scale)
    also = {
        "fraction": 100 * ammonia.fraction(ph, temperature, salt, scale),
        "nh3": ammonia.nh3_mass(nitrogen),
        "pka": ammonia.pka(temperature, salt, scale),
    }
    return Answer(nitrogen, also, ammonia.outside(ph, temperature, salt, scale))


def _ammonia_limit(given: Given) -> Answer:
    limit, ph, temperature, salt = (
        given.number(key) for key in ("limit", "ph", "temperature", "salinity")
    )
    highest = ammonia.highest_tan(limit, ph, temperature, salt)
    return Answer(highest, warnings=ammonia.outside(ph, temperature, salt))


# ---- oxygen and the air


def _air(given: Given) -> tuple[float, tuple[str, ...]]:
    """Air pressure at the station in mmHg, and what is to be said of it."""
    if given.has("pressure"):
        if given.has("elevation"):
            raise Refusal(
                "elevation is not asked when pressure is given: the air pressure already has it."
            )
        return given.number("pressure"), ()
    if not given.has("elevation"):
        return oxygen.ATMOSPHERE_MMHG, ()
    here = oxygen.station_pressure(given.number("elevation"))
    low, high = _AIR
    if low <= here <= high:
        return here, ()
    return here, (
        f"elevation gives {here:.0f} mmHg of air, outside {low:g} to {high:g} mmHg, "
        "the range of the equation.",
    )


def _saturation(given: Given) -> Answer:
    here, said = _air(given)
    temperature = given.number("temperature")
    full = oxygen.saturation(temperature, given.number("salinity"), here)
    also = {"vapour_pressure": oxygen.vapor_pressure(temperature), "pressure": here}
    return Answer(full, also, said)


def _percent(given: Given) -> Answer:
    here, said = _air(given)
    temperature, salt = given.number("temperature"), given.number("salinity")
    share = oxygen.percent(given.number("oxygen"), temperature, salt, here)
    full = oxygen.saturation(temperature, salt, here)
    return Answer(share, {"saturation": full, "pressure": here}, said)


def _from_percent(given: Given) -> Answer:
    here, said = _air(given)
    temperature, salt = given.number("temperature"), given.number("salinity")
    there = oxygen.from_percent(given.number("percent"), temperature, salt, here)
    return Answer(there, {"pressure": here}, said)


def _air_pressure(given: Given) -> Answer:
    return Answer(oxygen.station_pressure(given.number("elevation"), given.number("sea_level")))


def _gas(given: Given) -> Answer:
    pressure, salt, depth = (given.number(key) for key in ("pressure", "salinity", "depth"))
    if given.has("delta_p") and given.has("total"):
        raise Refusal("total is not asked when delta_p is given: type one of the two.")
    if given.has("total"):
        excess = gas.delta_p(given.number("total"), pressure)
    elif given.has("delta_p"):
        excess = given.number("delta_p")
    else:
        raise Refusal("delta_p is missing: type delta_p in mmHg or total in %.")
    if given.has("oxygen") and not given.has("temperature"):
        raise Refusal("temperature is missing: oxygen has no pressure without it.")
    warm = given.maybe("temperature")
    column = gas.USUAL_TEMPERATURE if warm is None else warm
    value = gas.total_percent(excess, pressure)
    also: dict[str, float | None] = {
        "delta_p": excess,
        "oxygen_pressure": None,
        "oxygen_percent": None,
        "nitrogen_argon": None,
        "uncompensated": gas.uncompensated(excess, depth, column, salt),
        "compensation_depth": gas.compensation_depth(excess, column, salt),
    }
    if warm is None or not given.has("oxygen"):
        return Answer(value, dict(also))
    parts = gas.parts(excess, given.number("oxygen"), warm, salt, pressure)
    said = (
        ()
        if parts.nitrogen_argon is not None
        else ("oxygen and water vapor alone are more than all the gas: measure both again.",)
    )
    return Answer(value, {**also, **parts._asdict()}, said)


# ---- salt


def _practical(given: Given) -> Answer:
    if given.has("conductivity") and given.has("sc25"):
        raise Refusal("sc25 is not asked when conductivity is given: type one of the two.")
    if given.has("sc25"):
        found = salinity.from_sc25(given.number("sc25"))
        return _salty("sc25", found, given.number("sc25"))
    if not given.has("conductivity"):
        raise Refusal("conductivity is missing: type conductivity in mS/cm or sc25 in uS/cm.")
    if not given.has("temperature"):
        raise Refusal("temperature is missing: conductivity means nothing without it.")
    found = salinity.salinity(given.number("conductivity"), given.number("temperature"))
    return _salty("conductivity", found, None)


_SALTIEST = 300.0
"""g/kg a salinity can have, as in `limits.salt`; PSS-78 goes on beyond it without meaning."""


def _salty(key: str, found: float, sc25: float | None) -> Answer:
    if found > _SALTIEST:
        raise Refusal(f"{key} is more than any water has at this temperature.")
    _, high = _SEA
    said: tuple[str, ...] = ()
    if found > high:
        said = (f"salinity {found:.1f} is above {high:g}, the range of the equation.",)
    return Answer(found, {"sc25": salinity.sc25_of(found) if sc25 is None else sc25}, said)


def _conductivity(given: Given) -> Answer:
    salt = given.number("salinity")
    there = salinity.conductivity(salt, given.number("temperature"))
    return Answer(there, {"sc25": salinity.sc25_of(salt)})


def _at_25(given: Given) -> Answer:
    numbers = (given.number(key) for key in ("conductivity", "temperature", "coefficient"))
    return Answer(salinity.conductivity_25(*numbers))


def _density(given: Given) -> Answer:
    return Answer(salinity.density(given.number("temperature"), given.number("salinity")))


CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        "ammonia",
        "Un-ionized ammonia, NH3-N",
        (
            Input(
                "tan",
                "total ammonia nitrogen",
                "mg/L as N",
                item="tan",
                meant=(0, 200),
                of="ammonia",
            ),
            PH,
            water_temperature(None),
            _salinity(None),
            Input(
                "scale",
                "how the pH meter is set",
                form=Form.WORD,
                default="nbs",
                choices=ammonia.SCALES,
            ),
        ),
        Output("value", "mg/L as N", 4, "NH3-N"),
        f"NH3-N = TAN f; {_FRACTION}\n{_BELL_PK}",
        f"{_EMERSON}; {_BELL}; {_CLEGG}",
        f"{_AMMONIA_RANGE}; total scale -2 to 40 degC, 0 to 40 g/kg",
        _ammonia,
        example="tan=1 | ph=8 | temperature=20",
        also=(
            Output("fraction", "%", 3, "un-ionized fraction"),
            Output("nh3", "mg/L", 4, "as NH3"),
            Output("pka", "", 3),
        ),
        shaky=("ph", 0.1),
        find="un-ionized free toxic NH3 TAN",
    ),
    Calculator(
        "ammonia-limit",
        "Most total ammonia for an NH3-N limit",
        (
            Input("limit", "highest NH3-N wanted", "mg/L as N", meant=(0, 5), of="ammonia"),
            PH,
            water_temperature(None),
            _salinity(None),
        ),
        Output("value", "mg/L as N", 2, "highest TAN"),
        f"TAN = NH3-N / f; {_FRACTION}\n{_BELL_PK}",
        f"{_EMERSON}; {_BELL}",
        _AMMONIA_RANGE,
        _ammonia_limit,
        example="limit=0.02 | ph=7.6 | temperature=17",
        shaky=("ph", 0.1),
        find="TAN allowed safe NH3",
    ),
    Calculator(
        "oxygen-saturation",
        "Oxygen that water holds",
        _WATER_AND_AIR,
        Output("value", "mg/L", 2, "at 100 %"),
        "ln C* = A(T) - S (1.7674e-2 - 10.754/T + 2140.7/T^2), T = 273.15 + t;\n"
        "C = C* P (1 - Pw/P)(1 - th P) / ((1 - Pw)(1 - th)), P in atm",
        f"{_BENSON}; {_HEIGHT}",
        _SATURATION_RANGE,
        _saturation,
        example="temperature=17 | elevation=300 m",
        also=(Output("vapour_pressure", "mmHg", 2), _USED),
        shaky=("temperature", 0.5),
        find="DO solubility",
    ),
    Calculator(
        "oxygen-percent",
        "Oxygen as percent of saturation",
        (_OXYGEN, *_WATER_AND_AIR),
        Output("value", "%", 1),
        "100 DO / C(t, S, P)",
        f"{_BENSON}; {_HEIGHT}",
        _SATURATION_RANGE,
        _percent,
        example="oxygen=8.3 | temperature=17 | elevation=300 m",
        also=(Output("saturation", "mg/L", 2, "that is 100 %"), _USED),
        shaky=("oxygen", 0.2),
        find="DO saturation",
    ),
    Calculator(
        "oxygen-from-percent",
        "Oxygen from percent of saturation",
        (Input("percent", "percent of saturation", "%", meant=(5, 400)), *_WATER_AND_AIR),
        Output("value", "mg/L", 2),
        "percent x C(t, S, P) / 100",
        f"{_BENSON}; {_HEIGHT}",
        _SATURATION_RANGE,
        _from_percent,
        example="percent=85 | temperature=17",
        also=(_USED,),
        shaky=("temperature", 0.5),
        find="DO saturation",
    ),
    Calculator(
        "air-pressure",
        "Air pressure at an elevation",
        (
            Input("elevation", "elevation above sea level", "m", valid=_HEIGHTS, fact="elevation"),
            Input(
                "sea_level",
                "sea-level pressure, weather report",
                "mmHg",
                default=760,
                valid=(650, 815),
            ),
        ),
        Output("value", "mmHg", 1, "at the station"),
        "P = P0 (1 - 2.25577e-5 h)^5.25588",
        "US Standard Atmosphere 1976; from memory",
        "-500 to 5000 m; a sea-level pressure of 650 to 815 mmHg",
        _air_pressure,
        example="elevation=300 m",
        find="barometer altitude",
    ),
    Calculator(
        "gas-pressure",
        "Total gas pressure, and which gas",
        (
            Input(
                "delta_p", "pressure above that of the air", "mmHg", needed=False, meant=(-300, 500)
            ),
            Input("total", "total gas pressure", "%", needed=False, item="tgp", meant=(60, 200)),
            Input("pressure", "air pressure here", "mmHg", default=760, valid=_AIR, item="baro"),
            water_temperature((0, 40), needed=False),
            _salinity((0, 40)),
            _OXYGEN._replace(needed=False),
            Input("depth", "depth where the fish are", "m", default=0, meant=(0, 50)),
        ),
        Output("value", "%", 1),
        "TGP % = 100 (BP + dP)/BP; pO2 = DO/C* x 0.20946 (760 - Pw); left by depth dP - rho g Z;\n"
        "N2+Ar % = 100 (BP + dP - pO2 - Pw)/(0.7902 (BP - Pw))",
        "Colt 1984, American Fisheries Society Special Publication 14, from memory; CCME 1999, "
        "dissolved gas supersaturation, eq. 1",
        "0 to 40 degC, salinity 0 to 40; a depth without temperature is taken at 20 degC",
        _gas,
        example="delta_p=20 | pressure=740 | temperature=17 | oxygen=9",
        also=(
            Output("delta_p", "mmHg", 1, "pressure above that of the air"),
            Output("oxygen_pressure", "mmHg", 1),
            Output("oxygen_percent", "%", 1, "of what air gives"),
            Output("nitrogen_argon", "%", 1, "of what air gives"),
            Output("uncompensated", "mmHg", 1, "excess at that depth"),
            Output("compensation_depth", "m", 2, "below it no bubble grows"),
        ),
        find="TGP supersaturation gas bubble nitrogen",
    ),
    Calculator(
        "salinity",
        "Salinity from conductivity",
        (
            Input(
                "conductivity",
                "conductivity as read, not at 25 degC",
                "mS/cm",
                needed=False,
                meant=(0, 120),
            ),
            water_temperature((-2, 35), needed=False),
            Input(
                "sc25", "conductivity turned to 25 degC", "uS/cm", needed=False, meant=(1, 120000)
            ),
        ),
        Output("value", "", 3, "practical salinity, close to g/kg"),
        _PSS_EQUATION,
        _PSS,
        _PSS_RANGE,
        _practical,
        example="conductivity=3.2 mS/cm | temperature=17",
        also=(Output("sc25", "uS/cm", 0, "at 25 degC"),),
        shaky=("temperature", 0.5),
        find="salt conductivity EC ppt",
    ),
    Calculator(
        "conductivity",
        "Conductivity of a salinity",
        (
            Input(
                "salinity",
                "practical, close to g/kg",
                "g/kg",
                valid=_SEA,
                item="salinity",
                of="salt",
            ),
            water_temperature((-2, 35)),
        ),
        Output("value", "mS/cm", 3),
        f"the conductivity C for which\n{_PSS_EQUATION}",
        _PSS,
        _PSS_RANGE,
        _conductivity,
        example="salinity=2 | temperature=17",
        also=(Output("sc25", "uS/cm", 0, "at 25 degC"),),
        find="EC salinity",
    ),
    Calculator(
        "conductivity-25",
        "Conductivity turned to 25 degC",
        (
            Input("conductivity", "conductivity as read", "uS/cm", meant=(1, 120000)),
            water_temperature((0, 30)),
            Input(
                "coefficient",
                "part per degC, as the meter is set",
                default=0.0191,
                valid=(0.015, 0.025),
            ),
        ),
        Output("value", "uS/cm", 0, "at 25 degC"),
        "SC25 = EC / (1 + a (t - 25))",
        "APHA Standard Methods 2510, linear form; from memory",
        "fresh water, 0 to 30 degC; some meters take 0.02, or the curve of ISO 7888",
        _at_25,
        example="conductivity=450 uS/cm | temperature=17",
        shaky=("temperature", 0.5),
        find="EC specific conductance",
    ),
    Calculator(
        "water-density",
        "Density of water",
        (water_temperature((-2, 40)), _salinity(_SEA)),
        Output("value", "kg/m3", 3),
        "rho = rho_w + A S + B S^1.5 + 4.8314e-4 S^2, each a polynomial of t",
        "Millero and Poisson 1981, Deep-Sea Research 28A:625-629 (EOS-80, one atmosphere)",
        "-2 to 40 degC, salinity 0 to 42, at the surface",
        _density,
        example="temperature=17 | salinity=2",
        find="weight of water",
    ),
)
