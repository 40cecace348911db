"""A dose that stands on a paper sheet, typed in later: its amount always twice."""

from __future__ import annotations

from collections.abc import Generator
from datetime import date, timedelta

from tankwalk import quantity
from tankwalk.clock import Instant, at, zone
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Dose, Entry, SecondEntry
from tankwalk.plan.model import Product
from tankwalk.practice import times
from tankwalk.practice.dialog import Answer, Hand, Step, writer
from tankwalk.practice.site import Site
from tankwalk.practice.transcribing.sheet_site import SheetSite
from tankwalk.practice.workings import dose_doubt
from tankwalk.practice.workings.doses import Planned
from tankwalk.quantity import Quantity

UNITS = ("g", "kg", "mL", "L", "mg")
"""Units that a sheet may have an amount in, by number."""

DAYS = 7
"""So many days back a dose is typed in by number. Common practice, no source."""


def dose(site: Site, hand: Hand) -> Generator[Step, Answer, str]:
    """Ask all that the sheet says of one dose, keep it as of then; what was kept, in words."""
    products = site.plan.products
    if not products:
        raise Refusal("The plan names no product: write [[product]] for what goes into water.")
    typist = yield from writer(site, hand, "Who types it in?")
    day = yield from _day(site)
    answer = yield Step(
        "Whose initials stand at the dose?", tuple(p.initials for p in site.plan.people_on(day))
    )
    who = answer.words
    given = yield from _time(site, day)
    answer = yield Step("What went in?", tuple(one.label for one in products))
    product = products[answer.number - 1]
    places = (*(t.code for t in site.plan.tanks), *(one.code for one in site.plan.loops))
    place = (yield Step(f"Into what did the {product.label} go?", places)).words
    unit = (yield Step("In which unit is its amount on the sheet?", UNITS)).words
    amount = yield from _twice(product, place, unit)
    then = SheetSite(site, typist, given)
    made = Dose(product.label, amount.value, unit)
    planned = Planned(made, place, product.kind, "", 6)
    review = dose_doubt.review(then, planned)
    if review.doubt in (dose_doubt.Doubt.MORE, dose_doubt.Doubt.LESS):
        answer = yield Step(
            f"{review.headline} Does the sheet say {amount.typed} {unit}?",
            ("no: keep nothing", "yes: keep it as it stands"),
        )
        if answer.number == 1:
            return "Nothing was kept: begin again with the sheet at hand."
    with site.ledger.writing():
        n = then.record(Entry("dose", then.signs(who), given, given, place), made)
        now = site.now()
        site.record(Entry("sheet", typist, now, now, place), SecondEntry(n, amount.typed))
    shown = f"{amount.typed} {unit} {product.label} into {place}"
    return f"Kept: {shown}, {given.told(now)}, {who}; both entries agree ({typist})."


def _day(site: Site) -> Generator[Step, Answer, date]:
    now, tz = site.now(), zone(site.plan.zone)
    days = [now.day - timedelta(days=back) for back in range(DAYS)]
    words = [at(day, 12, 0, tz).short()[:-6] for day in days]
    words[:2] = [f"today, {words[0]}", f"yesterday, {words[1]}"]
    answer = yield Step("Of which day is the sheet?", tuple(words))
    return days[answer.number - 1]


def _time(site: Site, day: date) -> Generator[Step, Answer, Instant]:
    told, tz = "", zone(site.plan.zone)
    while True:
        answer = yield Step(
            "When did it go in, by the sheet? A time, as 0715", writes=True, told=told
        )
        try:
            given = at(day, *times.of_day(answer.words), tz)
            if given.utc <= site.now().utc:
                return given
            told = f"{given.told(site.now())} is still to come: read the sheet again."
        except Refusal as refusal:
            told = str(refusal)


def _twice(product: Product, place: str, unit: str) -> Generator[Step, Answer, Quantity]:
    """An amount typed twice, the first out of sight at the second; which, where they differ."""
    what = f"{product.label} into {place}, in {unit}"
    while True:
        first = yield from _amount(f"How much {what}?", unit)
        second = yield from _amount(
            f"A second time, from the sheet: how much {what}? A slip of a dose is seen by "
            "nothing else.",
            unit,
        )
        if second.value == first.value:
            return first
        answer = yield Step(
            f"{first.typed}, then {second.typed}. Look at the sheet: which?",
            (f"{first.typed} {unit}, typed first", f"{second.typed} {unit}, typed second"),
            zero="neither: type it again",
        )
        if answer.number:
            return (first, second)[answer.number - 1]


def _amount(ask: str, unit: str) -> Generator[Step, Answer, Quantity]:
    told = ""
    while True:
        answer = yield Step(ask, writes=True, told=told, figure=True)
        try:
            read = quantity.read(answer.words, unit, allow_negative=False)
            if read.value > 0:
                return read
            told = "A dose of 0 is none: Esc goes back."
        except Refusal as refusal:
            told = str(refusal)
