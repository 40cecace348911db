"""A dose worked out: what goes in, what it should change, keeping it, and taking it back."""

from __future__ import annotations

from math import isclose

from tankwalk import quantity, text
from tankwalk.clock import Instant, past
from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.ledger.doses import DoseSeen
from tankwalk.ledger.entries import Dose, Entry, Note
from tankwalk.plan.model import Product
from tankwalk.practice.doing import follow_ups
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.workings.working_out import Held, Working
from tankwalk.quantity import sure_text
from tankwalk.rows import NamedTuple
from tankwalk.science.ceilings import CEILINGS
from tankwalk.science.dose_kinds import DoseKind

LOOK_MINUTES = (15, 30)
"""When to look at what a dose did. Common practice, no source."""

WATCHED = {
    DoseKind.BICARBONATE: "pH and NH3-N",
    DoseKind.BATH: "fish and the oxygen",
    DoseKind.ANESTHETIC: "fish",
    DoseKind.NEUTRALIZER: "chlorine and the oxygen",
}
"""What to look at after a dose of a kind, where it is something else than the item it moves."""

USUAL_NAMES = {
    DoseKind.SALT: "salt",
    DoseKind.BRINE: "salt brine",
    DoseKind.BICARBONATE: "sodium bicarbonate",
    DoseKind.NEUTRALIZER: "sodium thiosulfate",
}
"""What a dose is of where no product was named; what has no name here has to be named."""


class Planned(NamedTuple):
    """A dose worked out and not yet given; `shown` is the amount as a person reads it.

    `held` is what of it has a ceiling, and `made` how the amount came about, in words.
    """

    dose: Dose
    place: str
    kind: DoseKind
    item: str
    decimals: int
    held: tuple[Held, ...] = ()
    made: tuple[str, ...] = ()

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
        """The same dose of another amount: what it does goes with the mass in the same water."""
        dose, expected = self.dose, self.dose.expected
        times = amount / dose.amount
        decimals = max(self.decimals, _decimals(amount))
        return self._replace(
            dose=dose._replace(
                amount=amount, expected=None if expected is None else expected * times
            ),
            decimals=decimals,
            held=tuple(_scaled(one, times, expected) for one in self.held),
            made=(*self.made[:1], f"{number_text(amount)} {dose.unit} in place of {self.shown}"),
        )


def _scaled(held: Held, times: float, change: float | None) -> Held:
    """What a dose so many times as large comes to: a wanted salinity starts from what is there."""
    there = held.value - change if held.key == "to" and change is not None else 0.0
    return held._replace(value=there + (held.value - there) * times)


class _Number(NamedTuple):
    """A number of a working with its unit and decimals."""

    value: float
    unit: str
    decimals: int


def planned(site: Site, done: Working, place: str) -> Planned:
    """The dose a working comes to at a place; Refusal where there is none to keep."""
    says = done.calculator.dose
    if says is None:
        raise Refusal(f"{done.calculator.words} is no dose: keep it as a note.")
    if place == SITE:
        raise Refusal("Choose the tank or loop it goes into, with /: nothing was kept.")
    named = next((str(t.value) for t in done.inputs if t.key == "product"), "")
    chemical = named or USUAL_NAMES.get(says.kind, "")
    if not chemical:
        raise Refusal("Name the product in its field first: each product has its own usual.")
    amount = _number(done, says.amount)
    if amount is None or round(amount.value, amount.decimals) <= 0:
        raise Refusal("The dose comes to nothing, so there is none to keep.")
    expected = _number(done, says.expected) if says.expected else None
    volume = _number(done, says.volume) if says.volume else None
    dose = Dose(
        chemical,
        round(amount.value, amount.decimals),
        amount.unit,
        None if volume is None else volume.value,
        None if expected is None else float(f"{expected.value:.4g}"),
        None if expected is None else expected.unit,
    )
    product = product_named(site, says.kind, chemical)
    held = tuple(_by_product(one, says.kind, product) for one in done.held)
    return Planned(dose, place, says.kind, says.item, amount.decimals, held, _made(done, dose))


def product_named(site: Site, kind: DoseKind, name: str) -> Product | None:
    """The product of the plan that goes by a name; None for one that is not in it."""
    found = (p for p in site.plan.products if p.kind is kind and p.label == name)
    return next(found, None)


def _by_product(held: Held, kind: DoseKind, product: Product | None) -> Held:
    """What is held against the ceiling of a kind, against the product's own where it has one."""
    ceiling = CEILINGS.get(kind)
    if product is None or product.ceiling is None or ceiling != held.ceiling:
        return held
    own = ceiling._replace(most=product.ceiling, source=product.source or "the plan of this site")
    return held._replace(ceiling=own)


def _made(done: Working, dose: Dose) -> tuple[str, ...]:
    """How the amount came about: the equation, then what was put in and what came out."""
    parts = ", ".join(f"{t.key} {t.shown}" for t in done.inputs if t.key != "product")
    lines = [done.calculator.equation.split("\n")[0], f"{parts}: {number_text(dose.amount)} "
             f"{dose.unit}"]  # fmt: skip
    if dose.volume_l:
        each = dose.amount / dose.volume_l
        small = {
            "kg": ("g", 1000.0),
            "g": ("mg", 1000.0),
            "L": ("mL", 1000.0),
            "mL": ("uL", 1000.0),
        }
        unit, times = small.get(dose.unit, (dose.unit, 1.0))
        lines.append(f"That is {each * times:.4g} {unit} for each of {dose.volume_l:g} L.")
    return tuple(lines)


_A_THOUSANDTH = {"kg": "g", "g": "mg", "L": "mL", "mL": "uL"}


def _number(done: Working, key: str) -> _Number | None:
    """A number of a working by its key: the answer, one beside it, or an input."""
    output = done.calculator.output
    if key in ("value", output.key):
        value, unit, decimals = done.value, done.unit, output.decimals
        return None if value is None else _Number(value, unit, decimals)
    for beside in done.calculator.also:
        found = done.also.get(key)
        if beside.key == key and isinstance(found, float | int):
            return _Number(float(found), done.units.get(key, beside.unit), beside.decimals)
    for taken in done.inputs:
        if taken.key == key and isinstance(taken.value, float):
            return _Number(taken.value, taken.unit, _decimals(taken.value))
    return None


def _decimals(value: float) -> int:
    """Decimals a typed number has, at most six."""
    return len(f"{value:.6f}".rstrip("0").partition(".")[2])


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


# ---- keeping it, and taking it back


class Decided(NamedTuple):
    """Who decided that a dose may lie above its ceiling, and why."""

    by: str
    why: str


def keep(
    site: Site, dose: Planned, who: str, number: int | None, decided: Decided | None = None
) -> str:
    """Put a dose on the disk with the look that has to follow it; what to do next, in words.

    What was decided about its ceiling is kept beside it as a note.
    """
    who, now = site.signs(who), site.now()
    watched = WATCHED.get(dose.kind) or _label(site, dose.item) or "fish and the water"
    first, last = LOOK_MINUTES
    words = f"look at the {watched} after {dose.shown} {dose.dose.chemical}"
    due = now.utc + last * 60
    with site.ledger.writing():
        site.record(Entry("dose", who, now, now, dose.place, round=number), dose.dose)
        if decided is not None:
            above = " ".join(one.words for one in dose.held if one.passed)
            note = f"{dose.shown} {dose.dose.chemical} above its ceiling. {above} " \
                   f"Decided by {decided.by}: {decided.why}"  # fmt: skip
            site.record(Entry("note", who, now, now, dose.place, round=number), Note(note))
        follow_ups.open_action(site, who, words, dose.place, due_at=due, number=number)
    return (
        f"Kept: {dose.words} ({who}). Now look at the {watched} in {first} to {last} min: "
        f"by {Instant(due, now.offset).hm()} it stands under TO DO."
    )


def _label(site: Site, code: str) -> str:
    item = site.plan.find_item(code)
    return "" if item is None else item.label


def take_back(site: Site, old: DoseSeen, who: str, why: str) -> str:
    """Withdraw a dose: both stay in the record, and it is nobody's usual any more."""
    why = text.clean(why)
    if not why:
        raise Refusal("A dose is taken back with a reason: nothing was changed.")
    who, now = site.signs(who), site.now()
    site.record(Entry("void", who, now, now, old.place, amends=old.n, reason=why))
    return f"Taken back: {seen_words(old)} ({who}: {why}). The record holds both."


def newest_here(site: Site, dose: Planned) -> DoseSeen | None:
    """The dose of this product given here last that stands; None before the first."""
    past = site.reader.doses.newest(dose.dose.chemical, dose.place, 1)
    return past[0] if past else None


def last_here(site: Site, dose: Planned) -> str:
    """The dose of this product given here last, in words."""
    last = newest_here(site, dose)
    if last is None:
        return f"No {dose.dose.chemical} into {dose.place} is in the record yet."
    when = past(site.now().hours_since(last.at))
    return f"Last into {dose.place}: {last.amount:g} {last.unit}, {when} ({last.who})."


def seen_words(seen: DoseSeen) -> str:
    """A dose of the record in a few words: how much of what, where and when."""
    return f"{seen.amount:g} {seen.unit} {seen.chemical} into {seen.place}, {seen.at.short()}"


def change_words(dose: Planned) -> str:
    """The change a dose should make, as "+41 mg/L"."""
    return f"{signed(dose.dose.expected or 0.0)}{bare(dose.dose.expected_unit)}"


def bare(unit: str | None) -> str:
    """A unit after a number, without the words that name its basis."""
    name = (unit or "").partition(" as ")[0]
    return f" {name}" if name else ""


def signed(change: float) -> str:
    """A change with its sign, in the figures one would say aloud."""
    return f"+{_plain(change)}" if change > 0 else _plain(change)


def _plain(value: float) -> str:
    if abs(value) >= 10:
        return f"{value:.0f}"
    return f"{value:.1f}" if abs(value) >= 1 else f"{value:.2g}"
