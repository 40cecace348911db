"""The plan from its text: read whole, every fault at once, or refused."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.errors import Refusal
from tankwalk.plan import (
    asking,
    backups,
    cultures,
    feeding,
    guided,
    incidents,
    judging_table,
    livefeed,
    loggers,
    losses,
    products,
    rooms,
    rules,
    trials,
)
from tankwalk.plan.derived import derived_items
from tankwalk.plan.faults import Fault, PlanFaults
from tankwalk.plan.fields import Names, PlanRow, nearest
from tankwalk.plan.file import LARGEST, TOO_LARGE
from tankwalk.plan.keys import KEYS, ONCE, header
from tankwalk.plan.lines import Table, read_tables, slip_of_whole, tables_of_whole, too_deep, where
from tankwalk.plan.model import BandRule, Instrument, Item, Lot, Plan, Profile
from tankwalk.plan.seeds import UNITS, in_unit, profile_of, species_shipped
from tankwalk.sums import sha256

__all__ = ["Fault", "PlanFaults", "read_plan"]

MOST_NOTES = 9
"""One key of the number pad chooses a ready-made note."""

_NEEDED = ("site", "person", "loop", "tank", "item", "checklist")


def read_plan(text: str) -> Plan:
    """The plan a text states; PlanFaults with everything wrong with it, by line."""
    if len(text) > LARGEST:
        raise Refusal(TOO_LARGE)
    deep = too_deep(text)
    if deep is not None:
        raise Refusal(
            f"Line {deep} of the plan has a key of more than five parts, which no key of a plan "
            "has; nothing was read."
        )
    # A sound plan, which is nearly every one, is read in one go; only a faulty one is taken
    # apart line by line, five times as slowly, so that every fault gets its line.
    whole = tables_of_whole(text)
    if whole is not None:
        faults: list[Fault] = []
        plan = _plan(_sorted_rows(whole, faults), text, faults)
        if not faults:
            return plan
    faults = []
    tables, slips = read_tables(text)
    faults.extend(Fault(slip.line, slip.where, slip.what, slip.mend) for slip in slips)
    rows = _sorted_rows(tables, faults)
    plan = _plan(rows, text, faults)
    if not faults and (slip := slip_of_whole(text)):
        faults.append(Fault(slip.line, slip.where, slip.what, slip.mend))
    if faults:
        raise PlanFaults(faults)
    return plan


def _sorted_rows(tables: Sequence[Table], faults: list[Fault]) -> dict[str, list[PlanRow]]:
    """The tables by what they are, after a fault for each header that is not quite right."""
    rows: dict[str, list[PlanRow]] = {kind: [] for kind in KEYS}
    for table in tables:
        kind = table.name if table.name in KEYS else _nearest_kind(table)
        if kind is None and table.misread:
            continue
        if kind is None or (kind != table.name and not table.misread):
            near = f"write {header(kind)}" if kind else f"use one of: {', '.join(KEYS)}"
            what = f"{where(table)} is not a table of a plan"
            faults.append(Fault(table.line, where(table), what, near))
            if kind is None:
                continue
        elif table.listed == (kind in ONCE) and not table.misread:
            faults.append(
                Fault(
                    table.line,
                    where(table),
                    f"{where(table)} has {'two brackets' if table.listed else 'one bracket'} "
                    f"where {'one is' if kind in ONCE else 'two are'} wanted",
                    f"write {header(kind)}",
                )
            )
        if kind in ONCE and rows[kind]:
            first = rows[kind][0].table.line
            what = f"{header(kind)} is given twice, first on line {first}"
            faults.append(Fault(table.line, where(table), what, "put both under one header"))
            continue
        table.name, table.listed = kind, kind not in ONCE
        rows[kind].append(PlanRow(table, faults, kind))
    for kind in _NEEDED:
        if not rows[kind]:
            what = f"{header(kind)} is missing"
            faults.append(Fault(1, header(kind), what, f"add a {header(kind)} table"))
    return rows


def _nearest_kind(table: Table) -> str | None:
    """The table a header most likely means, first among those with as many brackets."""
    alike = [kind for kind in KEYS if table.listed != (kind in ONCE)]
    return nearest(table.name, alike, 0.7) or nearest(table.name, KEYS, 0.7)


def _plan(rows: dict[str, list[PlanRow]], text: str, faults: list[Fault]) -> Plan:
    """All tables read, each after those it refers to."""
    kinds = ("person", "loop", "lot", "treatment", "tank", "instrument", "item", "checklist")
    names = {kind: Names(kind) for kind in kinds}
    for kind in kinds:
        # A table that is missing altogether is one fault; what refers into it is none.
        names[kind].whole = bool(rows[kind]) or kind not in _NEEDED
    site = rooms.read_site(rows["site"][0]) if rows["site"] else rooms.SiteTable()
    people = rooms.read_people(rows["person"], names["person"])
    loops = rooms.read_loops(rows["loop"], names["loop"])
    lots = rooms.read_lots(rows["lot"], names["lot"])
    treatments = rooms.read_treatments(rows["treatment"], names["treatment"])
    tanks = rooms.read_tanks(
        rows["tank"], names["tank"], names["loop"], names["lot"], names["treatment"]
    )
    meters = rooms.read_instruments(rows["instrument"], names["instrument"], names["tank"])
    items = asking.read_items(rows["item"], names["item"], _meter_kinds(meters, rows))
    items = incidents.with_looks(items, rows["item"])
    row_of = {item.code: row for item, row in zip(items, rows["item"], strict=True)}
    by_code = {
        item.code: item
        for item in items
        # What refers to an item that is in doubt is not judged by it.
        if item.code and not row_of[item.code].unsure("unit", "kind", "level", "plausible")
    }
    checklists = asking.read_checklists(
        rows["checklist"], names["checklist"], names["item"], by_code
    )
    asking.all_are_asked(items, rows["item"], rows["checklist"])
    meters = feeding.read_checks(meters, rows["instrument"], names["item"], by_code)
    worked_out = derived_items(items)
    for one in worked_out:  # bands may be set for them, though no checklist asks for them
        by_code[one.code] = one
        names["item"].lines.setdefault(one.code, 0)
    species = _species(lots, rows["lot"])
    known = rules.KnownCodes(
        by_code, names["item"], names["tank"], names["loop"], names["treatment"], species
    )
    bands = rules.read_bands(rows["band"], known)
    product_names = Names("product")
    poured = products.read_products(rows["product"], product_names)
    _species_have_bands(rows, lots)
    codes, lots_of_cysts = Names("feed"), Names("cysts")
    feeds = feeding.read_feeds(rows["feed"], codes, names["treatment"])
    cysts = livefeed.read_cysts(rows["cysts"], lots_of_cysts)
    return Plan(
        name=site.name,
        zone=site.zone,
        elevation_m=site.elevation_m,
        people=people,
        loops=loops,
        tanks=tanks,
        lots=lots,
        treatments=treatments,
        instruments=meters,
        items=(*items, *worked_out),
        checklists=checklists,
        bands=bands,
        profiles=_profiles(lots, by_code, row_of),
        canned_notes=_canned(rows["notes"]),
        emergency=site.emergency,
        text=text,
        digest=sha256(text.encode("utf-8", "surrogatepass")).hexdigest(),
        rehearsal=site.rehearsal,
        parts_age_hours=site.parts_age_hours,
        idle_minutes=site.idle_minutes,
        feeds=feeds,
        meals=feeding.read_meals(rows["meal"], names["item"], by_code),
        samplings=feeding.read_samplings(rows["sampling"]),
        products=poured,
        decapsulation=guided.read_decapsulation(rows["decapsulation"], product_names, poured),
        disinfection=guided.read_disinfection(rows["disinfection"], product_names, poured),
        on_call=incidents.read_on_call(rows["on_call"], names["person"]),
        looks=incidents.read_looks(rows["looks"]),
        rations=livefeed.read_rations(rows["ration"], codes, names["treatment"], feeds),
        protocol=rooms.read_protocol(rows["protocol"]),
        hatching=livefeed.read_hatching(rows["hatching"]),
        cysts=cysts,
        cultures=cultures.read_cultures(rows["culture"], Names("culture")),
        stock=cultures.read_stock(rows["stock"], (codes, lots_of_cysts)),
        trial=trials.read_trial(rows["trial"], names["person"]),
        judging=judging_table.read_judging(rows["judging"], names["person"]),
        backups=backups.read_backups(rows["backup"]),
        losses=losses.read_losses(rows["loss"], names["lot"], species, names["treatment"]),
        loggers=loggers.read_loggers(
            rows["logger"], names["tank"], names["loop"], names["item"], by_code
        ),
    )


def _meter_kinds(meters: Sequence[Instrument], rows: dict[str, list[PlanRow]]) -> Names:
    kinds = Names("instrument of kind")
    for meter, row in zip(meters, rows["instrument"], strict=True):
        if meter.kind:
            kinds.lines.setdefault(meter.kind, row.table.line)
        else:
            kinds.whole = False
    return kinds


def _species(lots: Sequence[Lot], rows: Sequence[PlanRow]) -> Names:
    names = Names("species")
    for lot, row in zip(lots, rows, strict=True):
        if lot.species:
            names.lines.setdefault(lot.species, row.table.line)
        else:
            names.whole = False
    return names


def _species_have_bands(rows: dict[str, list[PlanRow]], lots: Sequence[Lot]) -> None:
    """Fish with no band at all would be judged by nothing, and nobody would be told."""
    written = [row.table.values.get("species") for row in rows["band"]]
    own = {species for species in written if isinstance(species, str)}
    shipped = set(species_shipped())
    for lot, row in zip(lots, rows["lot"], strict=True):
        if not lot.species or lot.species in shipped or lot.species in own:
            continue
        near = nearest(lot.species, shipped, 0.75)
        mend = (
            f'write species = "{near}"'
            if near
            else (
                f"use one of {', '.join(sorted(shipped))}, or add a [[band]] with "
                f'species = "{lot.species}"'
            )
        )
        row.fault("species", f'no bands are known for the species "{lot.species}"', mend)


def _profiles(
    lots: Sequence[Lot], items: dict[str, Item], row_of: dict[str, PlanRow]
) -> tuple[Profile, ...]:
    """Profiles of the species that are there, in the units the site keeps its items in."""
    species = sorted({lot.species for lot in lots} & set(species_shipped()))
    misfits: set[str] = set()
    kept = []
    for profile in map(profile_of, species):
        bands: list[BandRule] = []
        for rule in profile.bands:
            # What the plan does not ask may still be worked out, such as NH3-N from TAN.
            unit = items[rule.item].unit if rule.item in items else UNITS[rule.item]
            if rule.item in misfits:
                continue
            if rule.item in items and not items[rule.item].kind.by_band:
                continue  # what a seed gives as a score, this plan asks in words
            try:
                bands.append(in_unit(rule, unit))
            except Refusal as refusal:
                misfits.add(rule.item)
                what = f"the species bands of {rule.item} do not fit: {str(refusal).rstrip('.')}"
                row_of[rule.item].fault("unit", what, _unit_mend(rule.item))
        kept.append(profile._replace(bands=tuple(bands)))
    return tuple(kept)


def _unit_mend(code: str) -> str:
    unit = UNITS[code]
    return f'write unit = "{unit}"' if unit else "leave the unit out"


def _canned(rows: Sequence[PlanRow]) -> tuple[str, ...]:
    return rows[0].words("canned", limit=80, most=MOST_NOTES) if rows else ()
