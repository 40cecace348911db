"""A dose before it is kept: what it should change, and whether that is ten times the usual."""

from __future__ import annotations

from math import isclose
from typing import NamedTuple

from tankwalk import quantity
from tankwalk.clock import Instant, ago
from tankwalk.errors import Refusal
from tankwalk.ledger.doses import DoseSeen
from tankwalk.ledger.entries import Dose, Entry
from tankwalk.plan.bands import band_at
from tankwalk.practice.doing import follow_ups
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.workings.working_out import Working
from tankwalk.quantity import sure_text
from tankwalk.science.middle import median

TIMES = 3.0
"""How many times the usual change a dose may make, or how small a part of it, unasked."""

LOOK_MINUTES = (15, 30)
"""When to look at what a dose did. Common practice, no source."""

WATCHED = {"alk": "pH"}
"""What to look at first after a dose that moves an item, where it is something else."""


class Planned(NamedTuple):
    """A dose worked out and not yet given; `shown` is the amount as a person reads it."""

    dose: Dose
    place: str
    item: str
    decimals: int

    @property
    def shown(self) -> str:
        return (
            f"{sure_text(round(self.dose.amount, self.decimals), self.dose.unit)} {self.dose.unit}"
        )

    @property
    def words(self) -> str:
        """The dose in one line: what, how much, where, and what it should do."""
        change = f", expected {change_words(self)}" if self.dose.expected is not None else ""
        return f"{self.shown} {self.dose.chemical} into {self.place}{change}"

    def of(self, amount: float) -> Planned:
        """The same dose of another amount: the change goes with the mass in the same water."""
        dose, expected = self.dose, self.dose.expected
        if expected is not None and dose.amount:
            expected = expected * amount / dose.amount
        decimals = max(self.decimals, _decimals(amount))
        return self._replace(
            dose=dose._replace(amount=amount, expected=expected), decimals=decimals
        )


class _Number(NamedTuple):
    """A number of a working with its unit and decimals."""

    value: float
    unit: str
    decimals: int


def planned(done: Working, place: str) -> Planned:
    """The dose a working comes to at a place; Refusal where there is none to keep."""
    says = done.calculator.dose
    if says is None:
        raise Refusal(f"{done.calculator.words} is no dose: keep it as a note.")
    if place == SITE:
        raise Refusal("Choose the tank or loop it goes into, with /: nothing was kept.")
    amount = _number(done, says.amount)
    if amount is None or round(amount.value, amount.decimals) <= 0:
        raise Refusal("The dose comes to nothing, so there is none to keep.")
    expected = _number(done, says.expected) if says.expected else None
    volume = _number(done, says.volume) if says.volume else None
    dose = Dose(
        says.chemical,
        round(amount.value, amount.decimals),
        amount.unit,
        None if volume is None else volume.value,
        None if expected is None else float(f"{expected.value:.4g}"),
        None if expected is None else expected.unit,
    )
    return Planned(dose, place, says.item, amount.decimals)


def _number(done: Working, key: str) -> _Number | None:
    """A number of a working by its key: the answer, one beside it, or an input."""
    output = done.calculator.output
    if key in ("value", output.key):
        value, unit, decimals = done.value, done.unit, output.decimals
        return None if value is None else _Number(value, unit, decimals)
    for beside in done.calculator.also:
        found = done.also.get(key)
        if beside.key == key and isinstance(found, float | int):
            return _Number(float(found), beside.unit, beside.decimals)
    for taken in done.inputs:
        if taken.key == key and isinstance(taken.value, float):
            return _Number(taken.value, taken.unit, _decimals(taken.value))
    return None


def _decimals(value: float) -> int:
    """Decimals a typed number has, at most six."""
    return len(f"{value:.6f}".rstrip("0").partition(".")[2])


# ---- whether it is asked twice


def doubt(site: Site, dose: Planned) -> str:
    """Why the dose has to be typed again before it is kept; "" where it need not."""
    past = site.reader.doses.newest(dose.dose.chemical, dose.place)
    change, unit = dose.dose.expected, dose.dose.expected_unit
    if change is None:
        given = [one.amount for one in past if one.unit == dose.dose.unit]
        if not given or not _far(dose.dose.amount, median(given)):
            return ""
        return f"{dose.shown}, usual {median(given):g} {dose.dose.unit}: type the dose again"
    before = [x.expected for x in past if x.expected is not None and x.expected_unit == unit]
    said = f"expected {_signed(change)}{_bare(unit)}"
    if before and median(before):
        usual = median(before)
        if not _far(change, usual):
            return ""
        return f"{said}, usual {_signed(usual)}: type the dose again"
    wide = _band_width(site, dose)
    if wide is None or abs(change) <= wide:
        return ""
    return f"{said}, the band is {_plain(wide)} wide: type the dose again"


def _far(value: float, usual: float) -> bool:
    """Whether a dose does more than some times the usual, or less than that part of it."""
    return not 1 / TIMES <= value / usual <= TIMES


def same_amount(dose: Planned, typed: str) -> float | None:
    """The amount typed again, None where it is another than the planned one within what is shown.

    Refusal: what was typed is no amount.
    """
    amount = typed_amount(dose, typed)
    half = 0.5 * 10.0**-dose.decimals
    same = abs(amount - dose.dose.amount) <= half or isclose(amount, dose.dose.amount)
    return dose.dose.amount if same else None


def typed_amount(dose: Planned, typed: str) -> float:
    """An amount as typed, in the unit of the dose; Refusal where it is none."""
    amount = quantity.read(typed, dose.dose.unit, allow_negative=False).value
    if amount <= 0:
        raise Refusal("A dose of 0 is none: Esc goes back.")
    return amount


def _band_width(site: Site, dose: Planned) -> float | None:
    """How wide the band of the item is at the place, in the unit of the expected change."""
    item = site.plan.find_item(dose.item)
    if item is None:
        return None
    band = band_at(site.plan, item, dose.place, site.now().day)
    if band is None:
        return None
    limits = band.limits
    lows = (limits.watch_below, limits.act_below, limits.urgent_below)
    highs = (limits.watch_above, limits.act_above, limits.urgent_above)
    low = next((v for v in lows if v is not None), None)
    high = next((v for v in highs if v is not None), None)
    if low is None or high is None or not _same_basis(item.unit, dose.dose.expected_unit):
        return None
    return high - low


def _same_basis(one: str, other: str | None) -> bool:
    return _bare(one) == _bare(other)


# ---- keeping it


def keep(site: Site, dose: Planned, who: str, number: int | None) -> str:
    """Put a dose on the disk with the look that has to follow it; what to do next, in words."""
    who, now = site.signs(who), site.now()
    watched = WATCHED.get(dose.item) or _label(site, dose.item) or "what it changed"
    first, last = LOOK_MINUTES
    words = f"look at the {watched} after {dose.shown} {dose.dose.chemical}"
    due = now.utc + last * 60
    with site.ledger.writing():
        site.record(Entry("dose", who, now, now, dose.place, round=number), dose.dose)
        follow_ups.open_action(site, who, words, dose.place, due_at=due, number=number)
    return (
        f"Kept: {dose.words} ({who}). Now look at the {watched} in {first} to {last} min: "
        f"by {Instant(due, now.offset).hm()} it stands under TO DO."
    )


def _label(site: Site, code: str) -> str:
    item = site.plan.find_item(code)
    return "" if item is None else item.label


def last_here(site: Site, dose: Planned) -> str:
    """The dose of this chemical given here last, in words; "" before the first."""
    past: list[DoseSeen] = site.reader.doses.newest(dose.dose.chemical, dose.place)
    if not past:
        return f"No {dose.dose.chemical} into {dose.place} is in the record yet."
    last = past[0]
    since = ago(site.now().hours_since(last.at))
    when = "just now" if since == "now" else f"{since} ago"
    return f"Last into {dose.place}: {last.amount:g} {last.unit}, {when} ({last.who})."


def change_words(dose: Planned) -> str:
    """The change a dose should make, as "+41 mg/L"."""
    return f"{_signed(dose.dose.expected or 0.0)}{_bare(dose.dose.expected_unit)}"


def _bare(unit: str | None) -> str:
    """A unit after a number, without the words that name its basis."""
    name = (unit or "").partition(" as ")[0]
    return f" {name}" if name else ""


def _signed(change: float) -> str:
    return f"+{_plain(change)}" if change > 0 else _plain(change)


def _plain(value: float) -> str:
    """A change in the figures one would say aloud."""
    if abs(value) >= 10:
        return f"{value:.0f}"
    return f"{value:.1f}" if abs(value) >= 1 else f"{value:.2g}"
