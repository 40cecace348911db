"""A band of the plan's text moved for one place: its table is changed, or a new one put at the end.

All else stays as it was written, comments too. The whole text is checked as any plan is before
anybody has it in hand.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date

from tankwalk.errors import Refusal
from tankwalk.plan.lines import Table, read_tables
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import BandRule, Item, Level, Plan
from tankwalk.rows import NamedTuple

_EDGES = ("watch_below", "watch_above", "act_below", "act_above", "urgent_below", "urgent_above")
_DISTANCES = (
    "watch_within",
    "act_within",
    "urgent_within",
    "watch_within_percent",
    "act_within_percent",
)
_CHANGES = ("watch_change", "act_change")
_OTHERS = (
    "doubled_within",
    "watch_fall_percent",
    "act_fall_percent",
    "watch_ratio_below",
    "act_ratio_below",
    "watch_share_percent",
    "act_share_percent",
)


class Because(NamedTuple):
    """Whose a band is, where it comes from, since when, and why it was set so."""

    owner: str
    source: str
    dated: date
    note: str


def with_band(
    plan: Plan,
    rule: BandRule,
    item: Item,
    place: str,
    moved: Mapping[str, float],
    because: Because,
) -> Plan:
    """The plan with a band of `rule` for an item at one place, but for what is `moved`.

    `moved` are keys of a [[band]] with their numbers in the item's unit. Where the rule is that
    place's own its table is changed; else a new one holds for the same ages as the rule does.
    Refusal, PlanFaults: the plan would not be sound.
    """
    scope = _scope(item, place)
    own = rule.treatment is None and (rule.tank, rule.loop) == (
        scope.get("tank"),
        scope.get("loop"),
    )
    table = _table_of(plan.text, rule) if own and rule in plan.bands else None
    if table is None:
        text = _with_new(plan.text, rule, scope, moved, because)
    else:
        text = _changed(plan.text, table, moved, because)
    found = read_plan(text)
    left = [_placed(one) for one in found.bands]
    before = [_placed(one) for one in plan.bands]
    changed = [one for one in left if one not in before]
    others = len(before) - sum(one in left for one in before)
    if len(changed) > 1 or others > int(table is not None):
        raise Refusal("Another band would have changed as well: nothing was written.")
    return found


def _placed(rule: BandRule) -> BandRule:
    """A rule wherever it stands in the text."""
    return rule._replace(line=0)


def _scope(item: Item, place: str) -> dict[str, str]:
    """What a [[band]] says of whom it holds for."""
    if item.level is Level.SITE:
        return {}
    return {"loop" if item.level is Level.LOOP else "tank": place}


# ---- a table that is there


def _table_of(text: str, rule: BandRule) -> Table | None:
    """The table of a rule of the plan."""
    tables, _ = read_tables(text)
    return next((one for one in tables if one.name == "band" and one.line == rule.line), None)


_ASSIGNED = re.compile(
    r"(\s*[\w\"'-]+\s*=\s*)(\"(?:[^\"\\]|\\.)*\"|'[^']*'|[^#\"'\[{]*?)(\s*(?:#.*)?)", re.DOTALL
)
"""A key with one number, day or text: what stands before it, itself, its comment and line end."""


def _changed(text: str, table: Table, moved: Mapping[str, float], because: Because) -> str:
    """The text with numbers of one table moved, and its owner, source, date and note renewed."""
    lines = re.split(r"(?<=\n)", text)
    end = "\r\n" if "\r\n" in text else "\n"
    said = {key: f"{value:.9g}" for key, value in moved.items()} | _because(because)
    new = []
    for key, value in said.items():
        if key not in table.lines:
            new.append(f"{key} = {value}{end}")
            continue
        at = table.lines[key] - 1
        found = _ASSIGNED.fullmatch(lines[at])
        if found is None:
            raise Refusal(f"Line {at + 1} of the plan is not one number or text: mend it by hand.")
        lines[at] = f"{found[1]}{value}{found[3]}"
    first = table.line_of("item")
    if new and not lines[first - 1].endswith("\n"):
        lines[first - 1] += end
    return "".join([*lines[:first], *new, *lines[first:]])


# ---- a new table


def _with_new(
    text: str,
    rule: BandRule,
    scope: Mapping[str, str],
    moved: Mapping[str, float],
    because: Because,
) -> str:
    end = "\r\n" if "\r\n" in text else "\n"
    said: dict[str, str] = {"item": _quoted(rule.item)}
    said |= {key: _quoted(code) for key, code in scope.items()}
    if rule.dph is not None:
        said["dph"] = f"[{rule.dph[0]}, {rule.dph[1]}]"
    if rule.ramp is not None:
        points = (f"{{on = {on}, target = {target:.9g}}}" for on, target in rule.ramp.points)
        said["ramp"] = f"[{', '.join(points)}]"
    numbers: dict[str, float | None] = {"target": None if rule.ramp else rule.target}
    numbers |= {key: getattr(rule, key) for key in _DISTANCES}
    numbers |= {key: getattr(rule.limits, key) for key in (*_EDGES, *_CHANGES, *_OTHERS, "sees")}
    numbers |= moved
    said |= {key: f"{value:.9g}" for key, value in numbers.items() if value is not None}
    if rule.limits.change_way != "either":
        said["change_way"] = _quoted(rule.limits.change_way)
    if rule.limits.ratio_of is not None:
        said["ratio_of"] = _quoted(rule.limits.ratio_of)
    said |= _because(because)
    table = "".join(f"{key} = {value}{end}" for key, value in said.items())
    begun = text if not text or text.endswith("\n") else text + end
    return f"{begun}{end}[[band]]{end}{table}"


def _because(because: Because) -> dict[str, str]:
    said = {
        "owner": _quoted(because.owner),
        "source": _quoted(because.source),
        "dated": str(because.dated),
    }
    return said | ({"note": _quoted(because.note)} if because.note else {})


def _quoted(words: str) -> str:
    """A text as TOML writes it."""
    return json.dumps(words, ensure_ascii=False)
