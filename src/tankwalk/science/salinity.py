"""Salt in water by its conductivity, and how heavy salty water is."""

from __future__ import annotations

from math import sqrt

from tankwalk.rows import NamedTuple
from tankwalk.science.limits import salt, water_temperature, within

STANDARD = 42.914
"""mS/cm of seawater of practical salinity 35 at 15 degC: Culkin and Smith 1980."""

T68 = 1.00024
"""degC of 1968 for one of 1990: both equations are written for the older scale."""

LOW = 2.0
"""Practical salinity below which the scale is extended by Hill et al. 1986."""

_A = (0.0080, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081)
_B = (0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144)
_C = (0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9)
_WATER = (999.842594, 6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9)
_SALT = (8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9)
_SALT_ROOT = (-5.72466e-3, 1.0227e-4, -1.6546e-6)


def _poly(factors: tuple[float, ...], x: float) -> float:
    total = 0.0
    for factor in reversed(factors):
        total = total * x + factor
    return total


class _Scale(NamedTuple):
    """The practical salinity scale at one temperature: `ratio` of standard seawater, `warm`."""

    ratio: float
    warm: float

    def plain(self, root: float) -> float:
        """PSS-78, from the root of the conductivity ratio at this temperature."""
        return _poly(_A, root) + self.warm * _poly(_B, root)

    def slope(self, root: float) -> float:
        def rise(factors: tuple[float, ...]) -> float:
            return _poly(tuple(i * f for i, f in enumerate(factors))[1:], root)

        return rise(_A) + self.warm * rise(_B)

    def hill(self, root: float) -> float:
        """PSS-78 less the terms that make it nothing at no conductivity."""
        x, y = 400 * root * root, 10 * root
        return (
            self.plain(root)
            - _A[0] / (1 + x * (1.5 + x))
            - _B[0] * self.warm / (1 + y * (1 + y * (1 + y)))
        )

    def root_at(self, salinity: float) -> float:
        """The root of the ratio at which PSS-78 is this, by Newton's steps."""
        root = sqrt(salinity)
        for _ in range(20):
            root -= (self.plain(root) - salinity) / self.slope(root)
        return root

    def joint(self) -> float:
        """What the extension is multiplied with, so that both meet at a salinity of 2."""
        return LOW / self.hill(self.root_at(LOW))


def _scale(temperature: float) -> _Scale:
    old = water_temperature(temperature) * T68
    return _Scale(_poly(_C, old), (old - 15) / (1 + 0.0162 * (old - 15)))


def salinity(conductivity: float, temperature: float) -> float:
    """Practical salinity from conductivity, PSS-78, below 2 with the extension of Hill.

    Parameters: conductivity in mS/cm as measured (not turned to 25 degC), temperature in degC.
    Returns practical salinity, no unit (close to g/kg). Range: 0 to 42, -2 to 35 degC; below 2 an
    estimate, since fresh water has another mix of ions than the sea, and 0 below some 2 uS/cm.
    Errors: Refusal for a conductivity below 0 or above 300 mS/cm, or a temperature water cannot
    have. Source: UNESCO 1983, Technical Papers in Marine Science 44 (PSS-78); Hill, Dauphinee and
    Woods 1986, IEEE J. Oceanic Eng. 11:109, scaled to meet PSS-78 at 2 as in IOC, SCOR and IAPSO
    2010, TEOS-10 manual.
    """
    scale = _scale(temperature)
    root = sqrt(within("conductivity", conductivity, 0, 300, "mS/cm") / STANDARD / scale.ratio)
    if not root:
        return 0.0  # and not what rounding leaves of it
    plain = scale.plain(root)
    return plain if plain >= LOW else max(0.0, scale.joint() * scale.hill(root))


def conductivity(salinity: float, temperature: float) -> float:
    """Conductivity of a practical salinity, the inverse of `salinity`.

    Parameters: practical salinity (g/kg is close), temperature in degC. Returns mS/cm.
    Range: as `salinity`. Errors: Refusal for a salinity or temperature water cannot have.
    Source: as `salinity`, solved by halving.
    """
    salt(salinity)
    scale = _scale(temperature)
    if not salinity:
        return 0.0
    if salinity >= LOW:
        root = scale.root_at(salinity)
    else:
        joint, low, root = scale.joint(), 0.0, scale.root_at(LOW)
        for _ in range(60):
            middle = (low + root) / 2
            if joint * scale.hill(middle) < salinity:
                low = middle
            else:
                root = middle
    return STANDARD * scale.ratio * root * root


def conductivity_25(conductivity: float, temperature: float, coefficient: float = 0.0191) -> float:
    """Conductivity turned to 25 degC, EC / (1 + a (t - 25)).

    Parameters: conductivity in any unit, temperature in degC, coefficient a per degC. Returns the
    same unit. Range: 0 to 30 degC; fresh water; some meters take 0.02 or the curve of ISO 7888.
    Errors: Refusal for a conductivity below 0, a coefficient outside 0 to 0.03, or a temperature
    water cannot have. Source: APHA Standard Methods 2510, linear form, from memory.
    """
    within("conductivity", conductivity, 0, 300000, "uS/cm")
    within("coefficient", coefficient, 0, 0.03)
    return conductivity / (1 + coefficient * (water_temperature(temperature) - 25))


def from_sc25(sc25: float) -> float:
    """Practical salinity from conductivity that the meter has turned to 25 degC.

    Parameters: sc25 in uS/cm. Returns practical salinity. Range, errors and source: as `salinity`.
    """
    return salinity(within("sc25", sc25, 0, 300000, "uS/cm") / 1000, 25)


def sc25_of(salinity: float) -> float:
    """Conductivity at 25 degC of a practical salinity.

    Parameters: practical salinity. Returns uS/cm. Range, errors and source: as `conductivity`.
    """
    return conductivity(salinity, 25) * 1000


def density(temperature: float, salinity: float = 0) -> float:
    """Density of water at one atmosphere, rho_w + A S + B S^1.5 + 4.8314e-4 S^2.

    Parameters: temperature in degC, salinity in g/kg. Returns kg/m3.
    Range: -2 to 40 degC, salinity 0 to 42.
    Errors: Refusal for a temperature or salinity water cannot have.
    Source: Millero and Poisson 1981, Deep-Sea Research 28A:625-629 (EOS-80, one atmosphere).
    """
    old = water_temperature(temperature) * T68
    s = salt(salinity)
    return (
        _poly(_WATER, old)
        + _poly(_SALT, old) * s
        + _poly(_SALT_ROOT, old) * s * sqrt(s)
        + 4.8314e-4 * s * s
    )


def by_liter(grams_per_kilogram: float) -> float:
    """Salt in a liter of salt water at 20 degC, x rho, rho = 0.9982 + 0.00702 w + 2.3e-5 w^2.

    Parameters: salt in g/kg of the solution, 0 to 300 (w is it in percent by weight).
    Returns g/L. Range: to 260 g/kg within 0.2 %; sea water too.
    Errors: Refusal outside 0 to 300 g/kg.
    Source: a curve through the densities of sodium chloride solutions at 20 degC, 0.9982, 1.0707
    at 10 % and 1.1478 at 20 %, of the CRC Handbook; from memory.
    """
    percent = salt(grams_per_kilogram) / 10
    return grams_per_kilogram * (0.9982 + 0.00702 * percent + 2.3e-5 * percent * percent)


def by_kilogram(grams_per_liter: float) -> float:
    """Salt in a kilogram of salt water at 20 degC, from g/L: `by_liter` turned round.

    Parameters: salt in g/L, 0 to 370. Returns g/kg. Range and source: as `by_liter`.
    Errors: Refusal outside it.
    """
    wanted = within("salinity", grams_per_liter, 0, by_liter(300), "g/L")
    low, high = 0.0, 300.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if by_liter(middle) < wanted else (low, middle)
    return (low + high) / 2
