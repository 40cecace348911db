"""Tables of an export that say what codes stand for: by the plan, and what only the record has."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date

from tankwalk.ledger.export import Names
from tankwalk.ledger.export_columns import As, Column
from tankwalk.plan.model import Level, Limits, Plan
from tankwalk.rows import NamedTuple

Cell = str | float | bool | date | None


class Listed(NamedTuple):
    """A short table: its name, what it is, its columns, its key and its rows."""

    name: str
    says: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    rows: list[tuple[Cell, ...]]


def _column(
    name: str, says: str, kind: As = As.WORDS, unit: str = "", refers: str = "",
    one_of: tuple[str, ...] = (), needed: bool = False,
) -> Column:  # fmt: skip
    return Column(name, "", kind, says, unit, one_of, refers, needed)


def lists(plan: Plan, names: Names, places: Sequence[str]) -> list[Listed]:
    """Places, items, people, meters, lots, treatments, bands and workings."""
    return [
        _lots(plan), _treatments(plan), _places(plan, [*names.places.values(), *places]),
        _items(plan, [*names.items.values()]), _people(plan, [*names.people.values()]),
        _meters(plan, [*names.meters.values()]), _bands(names), _workings(names),
    ]  # fmt: skip


def _lots(plan: Plan) -> Listed:
    return Listed(
        "lots", "Fish of one hatch, by the plan.",
        (_column("lot", "code of the lot", needed=True), _column("species", "species"),
         _column("hatched", "the day half of it had hatched: 0 dph", As.DAY)),
        ("lot",), [(one.code, one.species, one.hatched) for one in plan.lots],
    )  # fmt: skip


def _treatments(plan: Plan) -> Listed:
    return Listed(
        "treatments", "Arms of the trial, by the plan.",
        (_column("treatment", "code of the treatment", needed=True), _column("label", "its name")),
        ("treatment",), [(one.code, one.label or None) for one in plan.treatments],
    )  # fmt: skip


def _places(plan: Plan, known: Sequence[str]) -> Listed:
    rows: dict[str, tuple[Cell, ...]] = {}
    for tank in plan.tanks:
        rows[tank.code] = (
            tank.code, "tank", None, tank.loop, float(tank.volume_l), tank.lot, tank.treatment,
            tank.block, tank.where or None, True,
        )  # fmt: skip
    for loop in plan.loops:
        rows[loop.code] = (
            loop.code, "loop", loop.label or None, None,
            None if loop.volume_l is None else float(loop.volume_l), None, None, None, None, True,
        )  # fmt: skip
    rows["site"] = ("site", "site", plan.name, *[None] * 6, True)
    for code in dict.fromkeys(known):
        rows.setdefault(code, (code, "other", *[None] * 7, False))
    return Listed(
        "places",
        "Tanks, loops and the site, by the plan in force. The tank is the experimental unit.",
        (_column("place", "code of the place", needed=True),
         _column("level", "what it is", one_of=("tank", "loop", "site", "other"), needed=True),
         _column("label", "its name"), _column("loop", "the loop of a tank"),
         _column("volume_l", "how much water it holds", As.NUMBER, "L"),
         _column("lot", "the lot in it", refers="lots.lot"),
         _column("treatment", "its treatment", refers="treatments.treatment"),
         _column("block", "its block"), _column("where_it_stands", "where it stands"),
         _column("in_plan", "whether the plan in force has it", As.YES_NO, needed=True)),
        ("place",), [*rows.values()],
    )  # fmt: skip


def _items(plan: Plan, known: Sequence[tuple[str, str]]) -> Listed:
    rows: dict[tuple[str, str], tuple[Cell, ...]] = {}
    for one in plan.items:
        low, high = one.plausible or (None, None)
        rows[one.code, one.unit] = (
            one.code, one.unit, one.label, one.kind.word, one.level.value, one.decimals,
            low, high, " | ".join(one.choices) or None, one.derived or None, True,
        )  # fmt: skip
    for code, unit in known:
        rows.setdefault((code, unit), (code, unit, *[None] * 8, False))
    return Listed(
        "items", "What is looked at or measured, by the plan in force; one row a unit.",
        (_column("item", "code of the item", needed=True), _column("unit", "its unit"),
         _column("label", "its name"), _column("kind", "how it is read"),
         _column("level", "of what it is asked", one_of=tuple(one.value for one in Level)),
         _column("decimals", "decimals it is read to", As.WHOLE),
         _column("plausible_low", "lowest that is taken, in `unit`", As.NUMBER),
         _column("plausible_high", "highest that is taken, in `unit`", As.NUMBER),
         _column("words", "its words, from 0, with | between"),
         _column("calculator", "what works it out"),
         _column("in_plan", "whether the plan in force has it", As.YES_NO, needed=True)),
        ("item", "unit"), [*rows.values()],
    )  # fmt: skip


def _people(plan: Plan, known: Sequence[str]) -> Listed:
    rows: dict[str, tuple[Cell, ...]] = {
        one.initials: (one.initials, one.role or None, one.duty, True) for one in plan.people
    }
    for initials in known:
        rows.setdefault(initials, (initials, None, None, False))
    return Listed(
        "people", "Who signs, by initials. Names and numbers are not exported.",
        (_column("person", "initials", needed=True), _column("role", "what they do here"),
         _column("duty", "what they may decide goes by this"),
         _column("in_plan", "whether the plan in force has them", As.YES_NO, needed=True)),
        ("person",), [*rows.values()],
    )  # fmt: skip


def _meters(plan: Plan, known: Sequence[str]) -> Listed:
    rows: dict[str, tuple[Cell, ...]] = {
        one.code: (one.code, one.kind, one.label or None, True) for one in plan.instruments
    }
    for code in known:
        rows.setdefault(code, (code, None, None, False))
    return Listed(
        "meters", "Meters, by the plan in force.",
        (_column("meter", "code of the meter", needed=True), _column("kind", "what it is"),
         _column("label", "its name"),
         _column("in_plan", "whether the plan in force has it", As.YES_NO, needed=True)),
        ("meter",), [*rows.values()],
    )  # fmt: skip


_WORDS = ("change_way", "ratio_of")
"""Limits that are words; all others are numbers."""


def _bands(names: Names) -> Listed:
    """Bands as they were in force: what a newer program put there stands in `limits` too."""
    fields = Limits._fields
    rows: list[tuple[Cell, ...]] = []
    for n, limits in names.bands.items():
        said = json.loads(limits)
        values = [said.get(one) for one in fields]
        rows.append(
            (n, *(v if v is None or isinstance(v, str) else float(v) for v in values),
             said.get("source"), limits)
        )  # fmt: skip
    return Listed(
        "bands", "Bands by which readings were judged, in the unit of the item; "
        "a value at a limit is inside.",
        (_column("band", "number of the band", As.WHOLE, needed=True),
         *(_column(one, one.replace("_", " "), As.WORDS if one in _WORDS else As.NUMBER)
           for one in fields),
         _column("source", "where it comes from"), _column("limits", "all of it as JSON")),
        ("band",), rows,
    )  # fmt: skip


def _workings(names: Names) -> Listed:
    return Listed(
        "workings", "How readings were worked out.",
        (_column("working", "number of the working", As.WHOLE, needed=True),
         _column("calculator", "calculator"), _column("equation", "its equation"),
         _column("facts", "what the plan gave, JSON")),
        ("working",), [(n, *said) for n, said in names.workings.items()],
    )  # fmt: skip
