"""Whether a dose is asked about before it is kept: above a ceiling, unlike the usual, the first."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from math import log10

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.ledger.doses import DoseSeen
from tankwalk.practice.site import Site
from tankwalk.practice.workings.doses import Planned, bare, change_words, signed
from tankwalk.practice.workings.working_out import Held
from tankwalk.rows import NamedTuple
from tankwalk.science.ceilings import SALT_PER_HOUR
from tankwalk.science.dose_kinds import DoseKind
from tankwalk.science.middle import median

TWICE = 2.0
"""More than so many times the usual of a product is asked about. Common practice, no source."""
THIRD = 1 / 3
"""Less than this part of the usual is asked about too: tenfold the other way lies in it."""

DAY_HOURS = 24.0


class Doubt(Enum):
    """Why a dose is met before it is kept."""

    FIRST = "first"
    MORE = "more"
    LESS = "less"


class Review(NamedTuple):
    """What is said of a dose before it is kept: why it is asked, its ceilings, the arithmetic."""

    doubt: Doubt | None
    above: tuple[Held, ...]
    headline: str
    lines: tuple[str, ...]


def review(site: Site, dose: Planned) -> Review:
    """A dose held against the record: every dose of its product at its place that stands."""
    past = site.reader.doses.newest(dose.dose.chemical, dose.place)
    alike = _alike(past, dose)
    amount = median([value for value, _ in alike]) if alike else None
    changes = [seen.expected for _, seen in alike if seen.expected_unit == dose.dose.expected_unit]
    given = [change for change in changes if change]
    change = median(given) if given else None
    doubt = _doubt(dose, amount, change)
    above = tuple(one for one in (_today(site, past, one, dose) for one in dose.held) if one.passed)
    return Review(doubt, above, _headline(dose, doubt, amount, change), _lines(site, dose))


def _alike(past: Sequence[DoseSeen], dose: Planned) -> list[tuple[float, DoseSeen]]:
    """Past doses with their amount in the unit of this one; those in no such unit left out."""
    found = []
    for seen in past:
        try:
            found.append((quantity.convert(seen.amount, seen.unit, dose.dose.unit), seen))
        except Refusal:
            continue
    return found


def _doubt(dose: Planned, amount: float | None, change: float | None) -> Doubt | None:
    """The worse of both measures: a wrong volume gives the right change by a wrong amount."""
    if amount is None:
        return Doubt.FIRST
    times = [dose.dose.amount / amount]
    if change is not None and dose.dose.expected is not None:
        times.append(dose.dose.expected / change)
    if max(times) > TWICE * (1 + 1e-9):
        return Doubt.MORE
    return Doubt.LESS if min(times) < THIRD * (1 - 1e-9) else None


def _today(site: Site, past: Sequence[DoseSeen], held: Held, dose: Planned) -> Held:
    """What a ceiling for a day holds: this dose with those of the last 24 hours."""
    if dose.kind is not DoseKind.BICARBONATE:
        return held
    now = site.now()
    recent = (seen for seen in past if abs(now.hours_since(seen.at)) < DAY_HOURS)
    before = sum(s.expected or 0.0 for s in recent if s.expected_unit == dose.dose.expected_unit)
    return held._replace(value=held.value + before)


def _headline(
    dose: Planned, doubt: Doubt | None, amount: float | None, change: float | None
) -> str:
    if amount is None:
        return f"First {dose.dose.chemical} into {dose.place}: read it through."
    usual = f"Usual here {_four(amount)} {dose.dose.unit}"
    if change is not None and dose.dose.expected is not None:
        usual += f", {signed(change)}{bare(dose.dose.expected_unit)}"
    if doubt is None:
        return f"{usual}."
    times = dose.dose.amount / amount
    if abs(times - 1) < 0.05 and change and dose.dose.expected is not None:
        return f"{usual}: this does {_three(dose.dose.expected / change)} times as much."
    return f"{usual}: this is {_three(times)} times as much."


def _four(value: float) -> str:
    return number_text(float(f"{value:.4g}"))


def _three(value: float) -> str:
    return number_text(float(f"{value:.3g}"))


def _lines(site: Site, dose: Planned) -> tuple[str, ...]:
    """The whole arithmetic: how much of what into how much water, and what that changes."""
    lines = list(dose.made)
    if dose.dose.expected is not None:
        lines.append(f"Expected: {_moved(site, dose)} {change_words(dose)}.")
    rise = dose.dose.expected or 0.0
    if dose.kind in (DoseKind.SALT, DoseKind.BRINE) and dose.item and rise > SALT_PER_HOUR:
        lines.append(f"At most {SALT_PER_HOUR:g} g/kg an hour: give it in parts.")
    if dose.kind is DoseKind.BICARBONATE:
        lines.append(_ph_line(site, dose))
    return tuple(lines)


def _moved(site: Site, dose: Planned) -> str:
    item = site.plan.find_item(dose.item)
    return {"salinity": "salinity"}.get(dose.item, "change") if item is None else item.label


def _ph_line(site: Site, dose: Planned) -> str:
    """What bicarbonate does to pH while carbon dioxide stays as it is, and so to NH3-N."""
    alk = _newest(site, dose.place, "alk")
    rise = dose.dose.expected or 0.0
    if alk is None or alk <= 0:
        return "It raises pH and so NH3-N: measure TAN and pH first."
    up = log10((alk + rise) / alk)
    return (
        f"It raises pH by up to {up:.1f} (alkalinity {alk:g} now) and NH3-N up to {10**up:.1f} "
        "times: measure TAN and pH first."
    )


def _newest(site: Site, place: str, code: str) -> float | None:
    """The newest reading of an item here or in the water here, however old."""
    item = site.plan.find_item(code)
    if item is None:
        return None
    tank = site.plan.find_tank(place)
    for at in (place, *([tank.loop] if tank else [])):
        seen = site.reader.readings.newest(at, item.code, item.unit)
        if seen is not None and seen.value is not None:
            return seen.value
    return None
