"""Reading what is asked: items, and the checklists that put them in order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import time

from tankwalk import quantity
from tankwalk.plan import kinds
from tankwalk.plan.fields import Names, PlanRow, nearest, quoted
from tankwalk.plan.kinds import Kind
from tankwalk.plan.model import ITEM_HAZARDS, Checklist, Hazard, Item, Level
from tankwalk.plan.rooms import read_code

# One key of the number pad chooses a word.
MOST_CHOICES = 9
LONGEST_EVERY_DAYS = 400.0

TYPED_TWICE = ("do", "tan", "no2n", "morts")
"""Items that are typed twice from paper where the plan does not say: a slip there costs fish, or
a count of them. Common practice, no source."""
_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
WEEKDAYS = {day[:length]: n for n, day in enumerate(_DAYS, 1) for length in (3, len(day))}


def read_items(rows: Sequence[PlanRow], names: Names, meters: Names) -> tuple[Item, ...]:
    """The [[item]] tables; `meters` are the kinds of instrument the site has."""
    items = []
    for nth, row in enumerate(rows, 1):
        code = read_code(row, names, nth)
        kind = row.one_of("kind", kinds.KINDS, kinds.NUMBER)
        unit = _unit(row)
        decimals = row.whole("decimals", 0 if kind.whole else 1, 0, 4)
        choices, watch_on, act_on = _choices(row, kind)
        old = row.steps("first_response")
        items.append(
            Item(
                code=code,
                label=row.text("label", need=True, limit=40) or "",
                kind=kind,
                level=row.one_of("level", {n.value: n for n in Level}, Level.TANK),
                unit=unit,
                decimals=decimals,
                plausible=_plausible(row, unit),
                instrument=row.reference("instrument", meters),
                every_days=every_days(row, "every"),
                dph=row.ages(),
                choices=choices,
                watch_on=watch_on,
                act_on=act_on,
                act_dph=row.ages("act_dph"),
                when_low=row.steps("when_low") or old if not kind.by_words else (),
                when_high=row.steps("when_high") or old if not kind.by_words else (),
                when=_when(row, choices, watch_on + act_on, old) if kind.by_words else (),
                deadband=_deadband(row, unit),
                hazard=_hazard(row, code),
                twice=row.flag("twice", code in TYPED_TWICE and not kind.by_words),
            )
        )
        if not row.unsure("kind"):
            _only_for_its_kind(row, kind)
    return tuple(_seeing(item, row, names) for item, row in zip(items, rows, strict=True))


def _seeing(item: Item, row: PlanRow, names: Names) -> Item:
    """The item with those it sends a person to, which may stand further down in the plan."""
    see = row.references("see", names)
    if item.code and item.code in see:
        row.fault("see", f"see of {item.code} names {item.code} itself", "name another item")
    return item._replace(see=see)


def _hazard(row: PlanRow, code: str) -> Hazard | None:
    """What can hurt at an item; the dead do so unless the plan says otherwise."""
    usual = Hazard.DEAD if code == "morts" else None
    return row.one_of("hazard", {h.value: h for h in ITEM_HAZARDS}, usual)


def _unit(row: PlanRow) -> str:
    value = row.text("unit")
    if value is None:
        return ""
    known = quantity.canonical(value)
    if known is None:
        near = nearest(value, [name for name in quantity.UNITS if name])
        mend = f'write unit = "{near}"' if near else "leave the unit out and name it in the label"
        row.fault("unit", f"unit {quoted(value)} is not known", mend)
    return known or ""


def _plausible(row: PlanRow, unit: str) -> tuple[float, float] | None:
    value = row.take("plausible")
    if value is None or row.unsure("unit"):
        return None
    if not isinstance(value, list) or len(value) != 2:
        row.fault("plausible", f"plausible {quoted(value)} is not a lowest and a highest value")
        return None
    low, high = (row.as_measure("plausible", end, unit) for end in value)
    if low is None or high is None:
        return None
    if low >= high:
        what = f"plausible runs from {low:g} down to {high:g}"
        row.fault("plausible", what, f"write plausible = [{high:g}, {low:g}]")
        return None
    return low, high


def every_days(row: PlanRow, key: str, *, need: bool = False) -> float | None:
    """An interval in days; None when it is missing or makes no sense."""
    days = row.measure(key, "d", need=need)
    if days is not None and not 0 < days <= LONGEST_EVERY_DAYS:
        row.fault(key, f"{key} {days:g} d is not between 0 and {LONGEST_EVERY_DAYS:g} days")
        return None
    return days


def _deadband(row: PlanRow, unit: str) -> float | None:
    if row.unsure("unit"):
        return None
    deadband = row.measure("deadband", unit, difference=True)
    if deadband is not None and deadband <= 0:
        row.fault("deadband", f"deadband {deadband:g} is not above 0", "leave the line out")
        return None
    return deadband


Words = tuple[str, ...]


def _choices(row: PlanRow, kind: Kind) -> tuple[Words, Words, Words]:
    """The words of a choice, those that raise a watch, and those that call for action."""
    choices = row.words("choices", limit=20)
    watch_on, act_on = row.words("watch_on", limit=20), row.words("act_on", limit=20)
    if "choices" not in kind.keys:
        return choices, watch_on, act_on
    for key in kind.needs:
        if not row.has(key):
            row.fault(key, f"{key} is missing, and this is a {kind.word}")
    if row.has("choices") and (len(choices) == 1 or len(choices) > MOST_CHOICES):
        what = f"choices has {len(choices)} words, and a {kind.word} has 2 to {MOST_CHOICES}"
        row.fault("choices", what)
    for key, words in (("watch_on", watch_on), ("act_on", act_on)):
        for word in words if choices else ():
            if word not in choices:
                row.fault(
                    key,
                    f"{key} names {quoted(word)}, which is none of the choices",
                    f"use one of: {', '.join(choices)}",
                )
            elif word == choices[0]:
                row.fault(
                    key,
                    f"{key} names {quoted(word)}, and the first choice is all right",
                    "put the word for all right first in choices",
                )
            elif key == "act_on" and word in watch_on:
                row.fault(
                    key, f"{quoted(word)} is in watch_on and in act_on", "leave it in one of them"
                )
    return choices, watch_on, act_on


def _when(
    row: PlanRow, choices: Words, flagged: Words, old: Words
) -> tuple[tuple[str, Words], ...]:
    """What is done first by the word answered; `old` steps are those of each word that flags."""
    value = row.take("when")
    if value is not None and not isinstance(value, dict):
        row.wrong("when", value, "a table of words, each with its steps,")
        return ()
    found = {word: old for word in flagged} if old else {}
    for word, steps in (value or {}).items():
        if choices and word not in choices:
            row.fault(
                "when",
                f"when names {quoted(word)}, which is none of the choices",
                f"use one of: {', '.join(choices)}",
            )
        else:
            found[word] = row.as_steps("when", steps)
    return tuple(found.items())


def _only_for_its_kind(row: PlanRow, kind: Kind) -> None:
    """Report keys that mean nothing for this kind of item, for they were meant to do something."""
    for key in kinds.OWN_KEYS:
        if key not in kind.keys and row.has(key):
            instead = next(other.word for other in kinds.KINDS.values() if key in other.keys)
            mend = f'leave it out, or write kind = "{instead}"'
            row.fault(key, f"{key} means nothing for a {kind.word}", mend)
    if kind.whole and "decimals" in kind.keys and row.take("decimals") not in (None, 0):
        row.fault("decimals", f"a {kind.word} has no decimals", "leave the line out")


def read_checklists(
    rows: Sequence[PlanRow], names: Names, item_names: Names, items: Mapping[str, Item]
) -> tuple[Checklist, ...]:
    """The [[checklist]] tables."""
    checklists = []
    for nth, row in enumerate(rows, 1):
        code = read_code(row, names, nth)
        glance = row.reference("glance", item_names)
        if glance is not None and glance in items:
            _at_level(row, "glance", (glance,), Level.TANK, items)
            if not items[glance].kind.by_words:
                row.fault(
                    "glance",
                    f"glance asks {glance}, which is no choice",
                    "give an item that is answered with one key",
                )
        asked: dict[Level, Words] = {}
        for level in Level:
            asked[level] = row.references(level.value, item_names)
            _at_level(row, level.value, asked[level], level, items)
        if not any(row.has(key) for key in ("glance", *Level)):
            row.fault("tank", "this checklist asks nothing")
        checklists.append(
            Checklist(
                code=code,
                label=row.text("label", need=True, limit=40) or "",
                at=row.time_of_day("at", need=True) or time(0),
                glance=glance,
                site=asked[Level.SITE],
                loop=asked[Level.LOOP],
                tank=asked[Level.TANK],
                weekdays=weekdays(row),
            )
        )
    return tuple(checklists)


def _at_level(
    row: PlanRow, key: str, codes: Words, level: Level, items: Mapping[str, Item]
) -> None:
    """Report each item that is asked of something else than the list it stands in."""
    for code in codes:
        item = items.get(code)
        if item is not None and item.level is not level:
            row.fault(
                key,
                f"{key} lists {code}, which is asked of each {item.level.value}",
                f'move it to {item.level.value} = [...], or give {code} level = "{level.value}"',
            )


def all_are_asked(
    items: Sequence[Item], rows: Sequence[PlanRow], checklists: Sequence[PlanRow]
) -> None:
    """Report what is due every so many days and on no checklist: it would be overdue for ever."""
    if any(row.unsure("glance", *Level) for row in checklists):
        return
    asked: set[object] = set()
    for row in checklists:
        for key in ("glance", *Level):
            value = row.table.values.get(key)
            asked.update(value if isinstance(value, list) else [value])
    for item, row in zip(items, rows, strict=True):
        if item.every_days is not None and item.code and item.code not in asked:
            row.fault(
                "every",
                f"{item.code} is due every {item.every_days:g} d and no checklist asks it",
                f"add it to {item.level.value} = [...] of a checklist, or leave every out",
            )


def weekdays(row: PlanRow) -> tuple[int, ...]:
    """ISO weekdays from the names of days; () when the row names none."""
    days = []
    for word in row.words("weekdays"):
        day = WEEKDAYS.get(word.casefold())
        if day is None:
            row.fault(
                "weekdays", f"weekdays names {quoted(word)}", "use Mon Tue Wed Thu Fri Sat Sun"
            )
        else:
            days.append(day)
    return tuple(sorted(set(days)))
