"""Reading what is planned day by day: feeds, meal times, samplings, and checks of meters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import time

from tankwalk import quantity
from tankwalk.plan.asking import every_days, weekdays
from tankwalk.plan.fields import Names, PlanRow, quoted
from tankwalk.plan.model import Feed, Instrument, Item, MealTime, Sampling


def read_feeds(rows: Sequence[PlanRow], treatments: Names) -> tuple[Feed, ...]:
    """The [[feed]] tables; two lines of one feed for one treatment may not share an age."""
    feeds: list[tuple[PlanRow, Feed]] = []
    for nth, row in enumerate(rows, 1):
        code = row.code("code", need=True)
        treatment = row.reference("treatment", treatments)
        row.call(" ".join(filter(None, (code, treatment))) or None, nth)
        row.take("dph", need=True)
        ages = row.ages()
        label = row.text("label", limit=60) or ""
        if code is None or ages is None or row.unsure("treatment"):
            continue
        feed = Feed(code, label, treatment, ages)
        for other_row, other in feeds:
            same = (other.code, other.treatment) == (code, treatment)
            if same and _share_an_age(other.dph, ages):
                whom = f" for {treatment}" if treatment else ""
                row.fault(
                    "dph",
                    f"{code}{whom} at {ages[0]}-{ages[1]} dph is already planned "
                    f"on line {other_row.table.line}",
                    "leave one out, or give the two different treatments or ages",
                )
                break
        feeds.append((row, feed))
    return tuple(feed for _, feed in feeds)


def read_meals(rows: Sequence[PlanRow]) -> tuple[MealTime, ...]:
    """The [[meal]] tables, in the order of the clock; no two at one time of one day."""
    meals: list[tuple[PlanRow, MealTime]] = []
    for nth, row in enumerate(rows, 1):
        at = row.time_of_day("at", need=True)
        row.call(None if at is None else f"{at:%H:%M}", nth)
        days = weekdays(row)
        if at is None or row.unsure("weekdays"):
            continue
        for other_row, other in meals:
            shared = not days or not other.weekdays or set(days) & set(other.weekdays)
            if other.at == at and shared:
                row.fault(
                    "at",
                    f"{at:%H:%M} is already the meal on line {other_row.table.line}",
                    "leave one out, or give the two different weekdays",
                )
                break
        meals.append((row, MealTime(at, days)))
    return tuple(sorted((meal for _, meal in meals), key=_clock))


def _clock(meal: MealTime) -> time:
    return meal.at


def read_samplings(rows: Sequence[PlanRow]) -> tuple[Sampling, ...]:
    """The [[sampling]] tables; one sample may not be due by two lines at one age."""
    samplings: list[tuple[PlanRow, Sampling]] = []
    for nth, row in enumerate(rows, 1):
        what = row.text("what", need=True, limit=40)
        row.call(what, nth)
        every = every_days(row, "every", need=True)
        ages = row.ages()
        label = row.text("label", limit=60) or what or ""
        if what is None or every is None or row.unsure("dph"):
            continue
        for other_row, other in samplings:
            both = other.dph is None or ages is None or _share_an_age(other.dph, ages)
            if other.what == what and both:
                row.fault(
                    "what",
                    f"{quoted(what)} is already sampled by line {other_row.table.line}",
                    "leave one out, or give the two different ages",
                )
                break
        samplings.append((row, Sampling(what, label, every, ages)))
    return tuple(sampling for _, sampling in samplings)


def _share_an_age(one: tuple[int, int], two: tuple[int, int]) -> bool:
    return one[0] <= two[1] and two[0] <= one[1]


_CHECK_KEYS = ("checks", "reference", "within", "check_unit", "check_every")


def read_checks(
    meters: Sequence[Instrument], rows: Sequence[PlanRow], names: Names, items: Mapping[str, Item]
) -> tuple[Instrument, ...]:
    """The meters with what they are checked against; read after the items, which they name."""
    return tuple(
        _checked(meter, row, names, items) for meter, row in zip(meters, rows, strict=True)
    )


def _checked(
    meter: Instrument, row: PlanRow, names: Names, items: Mapping[str, Item]
) -> Instrument:
    check = row.text("check", limit=60)
    given = [key for key in _CHECK_KEYS if row.has(key)]
    if given and not row.has("check"):
        row.fault("check", f"{given[0]} is given, and check does not say against what")
    checks = row.reference("checks", names)
    item = items.get(checks or "")
    if item is not None and item.instrument is not None and item.instrument != meter.kind:
        row.fault(
            "checks",
            f"checks names {item.code}, whose instrument is {quoted(item.instrument)}",
            "name an item that this meter measures",
        )
    unit = _check_unit(row)
    reference = within = None
    if not row.unsure("check_unit"):
        reference = row.measure("reference", unit)
        within = row.measure("within", unit, difference=True)
    if row.has("reference") != row.has("within"):
        one, other = ("reference", "within") if row.has("reference") else ("within", "reference")
        row.fault(other, f"{one} is given without {other}")
    if within is not None and within <= 0:
        row.fault("within", f"within {within:g} is not above 0")
        within = None
    return meter._replace(
        check=check or "",
        checks=checks or "",
        reference=reference,
        within=within,
        check_unit=unit,
        check_every_days=every_days(row, "check_every"),
    )


def _check_unit(row: PlanRow) -> str:
    value = row.text("check_unit")
    if value is None:
        return ""
    known = quantity.canonical(value)
    if known is None:
        what = f"check_unit {quoted(value)} is not a unit known here"
        row.fault("check_unit", what, "leave it out for what has none, such as pH")
    return known or ""
