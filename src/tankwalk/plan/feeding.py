"""Reading what is planned day by day: feeds, meal times, samplings, and checks of meters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import time

from tankwalk import quantity
from tankwalk.plan.asking import every_days, weekdays
from tankwalk.plan.fields import Names, PlanRow, quoted
from tankwalk.plan.model import Feed, FeedKind, Instrument, Item, Level, MealTime, Sampling

WIDEST_UM = 5000.0
"""Wider than any feed of larvae."""


def read_feeds(rows: Sequence[PlanRow], names: Names, treatments: Names) -> tuple[Feed, ...]:
    """The [[feed]] tables; two lines of one feed for one treatment may not share an age.

    What a feed is, how wide and where from is told on any one of its lines and holds for all.
    """
    feeds: list[tuple[PlanRow, Feed]] = []
    kinds: dict[str, tuple[PlanRow, FeedKind]] = {}
    widths: dict[str, tuple[PlanRow, float]] = {}
    cultured: set[str] = set()
    for nth, row in enumerate(rows, 1):
        code = row.code("code", need=True)
        treatment = row.reference("treatment", treatments)
        row.call(" ".join(filter(None, (code, treatment))) or None, nth)
        if code is None:
            names.whole = False
        else:
            names.lines.setdefault(code, row.table.line)
            _kind_and_width(row, code, kinds, widths)
            if row.one_of("from", {"cysts": "cysts", "culture": "culture"}, "cysts") == "culture":
                cultured.add(code)
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
    return tuple(
        _whole(feed, kinds, widths)._replace(cultured=feed.code in cultured) for _, feed in feeds
    )


def _kind_and_width(
    row: PlanRow,
    code: str,
    kinds: dict[str, tuple[PlanRow, FeedKind]],
    widths: dict[str, tuple[PlanRow, float]],
) -> None:
    """What one line says of its feed; what another line says otherwise is a fault."""
    if row.has("kind"):
        kind = row.one_of("kind", {k.value: k for k in FeedKind}, FeedKind.DRY)
        first, said = kinds.setdefault(code, (row, kind))
        if said is not kind and not row.unsure("kind"):
            what = f"{code} is {said.value} on line {first.table.line_of('kind')}"
            row.fault("kind", what, "write the same, or leave it out on all lines but one")
    width = row.measure("width", "um")
    if width is None:
        return
    if not 0 < width <= WIDEST_UM:
        row.fault("width", f"width {width:g} um is not above 0 and at most {WIDEST_UM:g}")
        return
    first, known = widths.setdefault(code, (row, width))
    if known != width:
        what = f"{code} is {known:g} um wide on line {first.table.line_of('width')}"
        row.fault("width", what, "write the same, or leave it out on all lines but one")


def _whole(
    feed: Feed,
    kinds: Mapping[str, tuple[PlanRow, FeedKind]],
    widths: Mapping[str, tuple[PlanRow, float]],
) -> Feed:
    kind, width = kinds.get(feed.code), widths.get(feed.code)
    return feed._replace(
        kind=FeedKind.DRY if kind is None else kind[1],
        width_um=None if width is None else width[1],
    )


def read_meals(
    rows: Sequence[PlanRow], names: Names, items: Mapping[str, Item]
) -> tuple[MealTime, ...]:
    """The [[meal]] tables, in the order of the clock; no two at one time of one day."""
    meals: list[tuple[PlanRow, MealTime]] = []
    for nth, row in enumerate(rows, 1):
        at = row.time_of_day("at", need=True)
        row.call(None if at is None else f"{at:%H:%M}", nth)
        days = weekdays(row)
        before, after = (_asked(row, key, names, items) for key in ("before", "after"))
        twice = set(before) & set(after)
        if twice:
            what = f"{min(twice)} is asked before the feed and after it"
            row.fault("after", what, "leave it out of one of the two")
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
        meals.append((row, MealTime(at, days, before, after)))
    return tuple(sorted((meal for _, meal in meals), key=_clock))


def _asked(row: PlanRow, key: str, names: Names, items: Mapping[str, Item]) -> tuple[str, ...]:
    """Items asked at each tank of a meal; one of a loop or of the site cannot be."""
    codes = row.references(key, names)
    for code in codes:
        item = items.get(code)
        if item is not None and (item.level is not Level.TANK or item.derived):
            how = "is worked out" if item.derived else f"is asked of each {item.level.value}"
            row.fault(key, f"{key} names {code}, which {how}", "name items asked of each tank")
    return codes


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
        samplings.append((row, Sampling(what, label, every, ages, _sample_unit(row, what))))
    return tuple(sampling for _, sampling in samplings)


MEASURED = {"length": "mm", "mass": "mg"}
"""What is measured in every hatchery, and its unit where the plan names none."""


def _sample_unit(row: PlanRow, what: str) -> str | None:
    """The unit fish are measured in; None where they are only looked at."""
    value = row.text("unit", limit=20)
    if value is None:
        return MEASURED.get(what)
    known = quantity.canonical(value)
    if known is None:
        mend = "leave it out where fish are looked at and counted"
        row.fault("unit", f"unit {quoted(value)} is not known", mend)
    return known


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
