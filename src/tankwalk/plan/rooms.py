"""Reading who and what is there: the site, people, loops, lots, treatments, tanks, meters."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from tankwalk import clock
from tankwalk.errors import Refusal
from tankwalk.plan.derived import MAX_AGE_HOURS
from tankwalk.plan.fields import Names, PlanRow, quoted
from tankwalk.plan.model import DUTIES, Instrument, Loop, Lot, Person, Protocol, Tank, Treatment
from tankwalk.plan.people import IDLE_MINUTES
from tankwalk.science.hydraulics import SHAPES, tank_volume

_INITIALS = re.compile(r"[^\W\d_]{2,4}")
LONGEST_SIDE_M = 30.0
LARGEST_TANK_L = 1e6
LARGEST_LOOP_L = 1e8
MOST_ANIMALS = 10**9


@dataclass(frozen=True, slots=True)
class SiteTable:
    """What the plan says of the place as a whole."""

    name: str = ""
    zone: str = "UTC"
    elevation_m: float = 0.0
    emergency: str = ""
    rehearsal: str | None = None
    parts_age_hours: float = MAX_AGE_HOURS
    idle_minutes: float = IDLE_MINUTES


def read_protocol(rows: Sequence[PlanRow]) -> Protocol:
    """The [protocol] table: which animals may be used, and how many."""
    if not rows:
        return Protocol()
    row = rows[0]
    written = "approved" in row.table.values
    approved = row.whole("approved", 1, 1, MOST_ANIMALS)
    return Protocol(row.text("code", limit=20) or "", approved if written else 0)


def read_site(row: PlanRow) -> SiteTable:
    """The [site] table."""
    zone = row.text("zone", need=True)
    if zone is not None:
        try:
            clock.zone(zone)
        except Refusal:
            what = f"zone {quoted(zone)} is not a time zone known here"
            row.fault("zone", what, 'write one such as zone = "America/Chicago"')
    elevation = row.measure("elevation", "m", need=True)
    if elevation is not None and not -430 <= elevation <= 6000:
        what = f"elevation {elevation:g} m is not between -430 and 6000 m"
        row.fault("elevation", what)
    age = row.measure("parts_age", "h")
    if age is not None and not 0.25 <= age <= 48:
        row.fault("parts_age", f"parts_age {age:g} h is not between a quarter of an hour and 48 h")
    idle = row.measure("ask_again", "min")
    if idle is not None and not 1 <= idle <= 600:
        row.fault("ask_again", f"ask_again {idle:g} min is not between 1 min and 10 h")
    return SiteTable(
        name=row.text("name", need=True, limit=60) or "",
        zone=zone or "UTC",
        elevation_m=elevation or 0.0,
        emergency=row.text("emergency", need=True, limit=200) or "",
        rehearsal=_rehearsal(row),
        parts_age_hours=MAX_AGE_HOURS if age is None else age,
        idle_minutes=IDLE_MINUTES if idle is None else idle,
    )


def _rehearsal(row: PlanRow) -> str | None:
    value = row.take("rehearsal")
    if value is None:
        return None
    moment = value if isinstance(value, datetime) else None
    if isinstance(value, str):
        try:
            moment = datetime.fromisoformat(value.strip())
        except ValueError:
            moment = None
    if moment is None or moment.tzinfo is None:
        what = f"rehearsal {quoted(value)} is not a date and time with its offset from UTC"
        row.fault("rehearsal", what)
        return None
    return moment.isoformat()


def read_people(rows: Sequence[PlanRow], names: Names) -> tuple[Person, ...]:
    """The [[person]] tables."""
    people = []
    for nth, row in enumerate(rows, 1):
        initials = row.text("initials", need=True)
        row.call(initials, nth)
        if initials is not None and not _INITIALS.fullmatch(initials):
            row.fault("initials", f"initials {quoted(initials)} are not 2 to 4 letters")
            initials = None
        names.declare(row, "initials", initials)
        since, until = row.day("since"), row.day("until")
        if since is not None and until is not None and until < since:
            row.fault("until", f"until {until} is before since {since}")
        people.append(
            Person(
                initials or "",
                row.text("name") or "",
                row.text("role") or "",
                row.text("phone", limit=40) or "",
                row.one_of("duty", {duty: duty for duty in DUTIES}, DUTIES[0]),
                since,
                until,
            )
        )
    return tuple(people)


def read_loops(rows: Sequence[PlanRow], names: Names) -> tuple[Loop, ...]:
    """The [[loop]] tables."""
    loops = []
    for nth, row in enumerate(rows, 1):
        code = read_code(row, names, nth)
        volume = row.measure("volume", "L")
        if volume is not None and not 0 < volume <= LARGEST_LOOP_L:
            row.fault("volume", f"volume {volume:g} L is not a volume of a loop")
        loops.append(Loop(code, row.text("label", limit=60) or "", volume))
    return tuple(loops)


def read_lots(rows: Sequence[PlanRow], names: Names) -> tuple[Lot, ...]:
    """The [[lot]] tables. Whether a species has bands is for the caller to check."""
    lots = []
    for nth, row in enumerate(rows, 1):
        code = read_code(row, names, nth)
        species = row.text("species", need=True, limit=40) or ""
        lots.append(Lot(code, species.casefold(), row.day("hatched")))
    return tuple(lots)


def read_treatments(rows: Sequence[PlanRow], names: Names) -> tuple[Treatment, ...]:
    """The [[treatment]] tables."""
    return tuple(
        Treatment(read_code(row, names, nth), row.text("label", limit=80) or "")
        for nth, row in enumerate(rows, 1)
    )


def read_tanks(
    rows: Sequence[PlanRow], names: Names, loops: Names, lots: Names, treatments: Names
) -> tuple[Tank, ...]:
    """The [[tank]] tables."""
    tanks = []
    for nth, row in enumerate(rows, 1):
        code = read_code(row, names, nth)
        tanks.append(
            Tank(
                code=code,
                loop=row.reference("loop", loops, need=True) or "",
                volume_l=_tank_volume(row),
                lot=row.reference("lot", lots),
                treatment=row.reference("treatment", treatments),
                block=row.code("block"),
                where=row.text("where", limit=60) or "",
                quarantine=row.flag("quarantine"),
            )
        )
    return tuple(tanks)


_LENGTHS = ("diameter", "height", "top", "bottom", "length", "width", "cone_height", "depth")


def _tank_volume(row: PlanRow) -> float:
    """Volume in L, as given or from the shape and its lengths; 0.0 after a fault."""
    given = [key for key in _LENGTHS if row.has(key)]
    if row.has("volume"):
        volume = row.measure("volume", "L")
        if row.has("shape") or given:
            extra = "shape" if row.has("shape") else given[0]
            row.fault(extra, f"{extra} is given as well as volume", f"leave out volume or {extra}")
    elif not row.has("shape"):
        row.fault("volume", "volume is missing", 'write volume = "220 L", or a shape and its size')
        return 0.0
    else:
        volume = _shaped_volume(row, given)
    if volume is None:
        return 0.0
    if not 0 < volume <= LARGEST_TANK_L:
        key = "volume" if row.has("volume") else "shape"
        row.fault(key, f"a volume of {volume:g} L is not that of a tank")
    return volume


def _shaped_volume(row: PlanRow, given: list[str]) -> float | None:
    shape = row.one_of("shape", {name: name for name in SHAPES}, "")
    if not shape:
        return None
    wanted = SHAPES[shape]
    dims: dict[str, float] = {}
    for key in wanted:
        length = _length(row, key, need=True)
        if length is not None:
            dims[key] = length
    for key in given:
        if key not in (*wanted, "depth"):
            what = f"{key} is not a length of a {shape}, which has {', '.join(wanted)}"
            row.fault(key, what, "leave the line out")
    depth = _length(row, "depth")
    if len(dims) < len(wanted) or (row.has("depth") and depth is None):
        return None
    try:
        return tank_volume(shape, depth=depth, **dims)
    except Refusal as refusal:
        row.fault("depth", str(refusal).rstrip("."))
        return None


def _length(row: PlanRow, key: str, *, need: bool = False) -> float | None:
    length = row.measure(key, "m", need=need)
    if length is not None and not 0 < length <= LONGEST_SIDE_M:
        what = f"{key} of {length:g} m is not a length of a tank; a bare number is in m"
        row.fault(key, what)
        return None
    return length


def read_instruments(rows: Sequence[PlanRow], names: Names, tanks: Names) -> tuple[Instrument, ...]:
    """The [[instrument]] tables."""
    instruments = []
    for nth, row in enumerate(rows, 1):
        code = read_code(row, names, nth)
        kind = row.text("kind", need=True, limit=40) or ""
        label = row.text("label", limit=60) or ""
        instruments.append(Instrument(code, kind, label, row.references("tanks", tanks)))
    return tuple(instruments)


def read_code(row: PlanRow, names: Names, nth: int) -> str:
    """The code of a row, declared; "" after a fault."""
    code = row.code("code", need=True)
    row.call(code, nth)
    names.declare(row, "code", code)
    return code or ""
