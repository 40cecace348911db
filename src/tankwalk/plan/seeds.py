"""Shipped species profiles: seed bands by stage, each with its source, to be edited by a site."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache
from itertools import pairwise
from pathlib import Path

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.plan import derived
from tankwalk.plan.faults import Fault, PlanFaults
from tankwalk.plan.fields import Names, PlanRow
from tankwalk.plan.lines import Table
from tankwalk.plan.losses import read_loss
from tankwalk.plan.model import BandRule, Item, Profile, Stage
from tankwalk.plan.rules import Scope, read_rule

UNITS = {
    "temp": "degC",
    "do": "mg/L",
    "ph": "",
    "tan": "mg/L as N",
    "no2n": "mg/L as N",
    "no3n": "mg/L as N",
    "alk": "mg/L as CaCO3",
    "tgp": "%",
    "salinity": "g/kg",
    "chlorine": "mg/L",
    "turbidity": "NTU",
    "light": "lux",
    "chloride": "mg/L",
    "dark": "min",
    "film": "",
    "leftover": "",
    **derived.UNITS,
}
"""Items a profile has bands for, by code, and the unit of its numbers."""


_FOLDER = Path(__file__).parent / "profiles"


@cache
def species_shipped() -> tuple[str, ...]:
    """Species with a profile: "yellow perch" is kept in yellow-perch.toml."""
    return tuple(sorted(file.stem.replace("-", " ") for file in _FOLDER.glob("*.toml")))


@cache
def profile_of(species: str) -> Profile:
    """The shipped profile of a species. Read once."""
    return read_profile((_FOLDER / f"{species.replace(' ', '-')}.toml").read_text("utf-8"))


def profiles() -> tuple[Profile, ...]:
    """All shipped profiles, by species."""
    return tuple(profile_of(species) for species in species_shipped())


def read_profile(text: str) -> Profile:
    """A profile from its TOML; PlanFaults for one that does not make sense."""
    data = tomllib.loads(text)
    faults: list[Fault] = []
    top = {key: value for key, value in data.items() if key in ("species", "label")}
    head = PlanRow(Table("profile", 1, listed=False, values=top), faults, "profile")
    species = (head.text("species", need=True) or "").casefold()
    stages = []
    names = Names("stage")
    for nth, row in enumerate(_rows(data.get("stage", []), "stage", faults), 1):
        name = row.text("name", need=True)
        row.call(name, nth)
        names.declare(row, "name", name)
        stages.append(Stage(name or "", row.ages() or (0, 0)))
    bands = [_band(row, species, stages, names) for row in _rows(data["band"], "seed", faults)]
    _stages_meet(bands, faults)
    losses = [
        read_loss(row, None, species) for row in _rows(data.get("loss", []), "expected", faults)
    ]
    if faults:
        raise PlanFaults(faults)
    return Profile(
        species, head.text("label", need=True) or "", tuple(stages), tuple(bands),
        tuple(one._replace(line=0) for one in losses if one is not None),
    )  # fmt: skip


SHARED_DEGC = 3.0
"""Neighboring stages share this much, or the first day of one asks for a shock."""


def _stages_meet(bands: Sequence[BandRule], faults: list[Fault]) -> None:
    """Report stages whose temperatures do not share enough with those of the one before."""
    warm = sorted((b for b in bands if b.item == "temp" and b.dph), key=lambda b: b.dph or (0, 0))
    for before, after in pairwise(warm):
        lows = (before.limits.watch_below, after.limits.watch_below)
        highs = (before.limits.watch_above, after.limits.watch_above)
        low = max(value for value in lows if value is not None)
        high = min(value for value in highs if value is not None)
        if round(high - low, 9) < SHARED_DEGC:
            what = f"temp at {before.dph} and {after.dph} dph share {high - low:g} degC"
            mend = f"let them share {SHARED_DEGC:g} degC"
            faults.append(Fault(0, "[[band]] temp", what, mend))


def _rows(tables: Sequence[dict[str, object]], kind: str, faults: list[Fault]) -> list[PlanRow]:
    """Shipped files need no line numbers: a fault in one is ours, and a test finds it."""
    return [
        PlanRow(Table(kind, nth, listed=True, values=dict(values)), faults, kind)
        for nth, values in enumerate(tables, 1)
    ]


def _band(row: PlanRow, species: str, stages: Sequence[Stage], names: Names) -> BandRule:
    code = row.text("item", need=True) or ""
    unit = UNITS.get(code)
    if unit is None:
        row.fault("item", f"{code} is not an item profiles have bands for")
    if not row.has("source"):
        row.fault("source", "source is missing")
    stage = row.reference("stage", names)
    rule = read_rule(row, Item(code, code, unit=unit or ""), Scope(species=species))
    ages = next((s.dph for s in stages if s.name == stage), rule.dph)
    return rule._replace(dph=ages, line=0)


def in_unit(rule: BandRule, unit: str) -> BandRule:
    """A seed's rule in the unit a site keeps the item in; Refusal when there is no way."""
    given = UNITS[rule.item]
    if given == unit:
        return rule

    def value(number: float | None) -> float | None:
        return None if number is None else quantity.convert(number, given, unit)

    def distance(number: float | None) -> float | None:
        if number is None:
            return None
        apart = quantity.convert(number, given, unit) - quantity.convert(0.0, given, unit)
        return round(apart, 9)

    limits = rule.limits
    if rule.ramp is not None:
        raise Refusal("A shipped profile has no dates, so it has no ramp.")
    return rule._replace(
        limits=limits._replace(
            watch_below=value(limits.watch_below),
            watch_above=value(limits.watch_above),
            act_below=value(limits.act_below),
            act_above=value(limits.act_above),
            urgent_below=value(limits.urgent_below),
            urgent_above=value(limits.urgent_above),
            watch_change=distance(limits.watch_change),
            act_change=distance(limits.act_change),
            sees=value(limits.sees),
        ),
        target=value(rule.target),
        watch_within=distance(rule.watch_within),
        act_within=distance(rule.act_within),
        urgent_within=distance(rule.urgent_within),
    )
