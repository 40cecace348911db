"""The Stock pages as one value: every tank with its numbers, and the animal-use ledger."""

from __future__ import annotations

from datetime import date

from tankwalk.clock import Instant
from tankwalk.plan.model import Plan, Tank
from tankwalk.plan.walking_order import walking_order
from tankwalk.practice.feeding.rations import MASS, SAMPLE_DAYS, Weighed
from tankwalk.practice.samples import sampling
from tankwalk.practice.samples.since import samples_since
from tankwalk.practice.site import Site
from tankwalk.practice.stock import reconciling
from tankwalk.practice.stock.animal_use import AnimalUse, animal_use
from tankwalk.practice.stock.dead import DeadDay, by_day
from tankwalk.practice.stock.numbers import StockNumbers, Survival, numbers, survival
from tankwalk.practice.stock.reconciling import Judged
from tankwalk.rows import NamedTuple

RECENT_DAYS = 3
"""The newest days of the dead are told by day."""


class DeadSpan(NamedTuple):
    """The dead of a stretch of ages in dph, first to last; `stage` is its name in the profile."""

    first: int
    last: int
    stage: str
    fish: int


class StockRow(NamedTuple):
    """One tank: its numbers, what follows from them, and the next handling by the plan.

    `handling` is days a sample is late (below 0: days to go), None where none is planned. Biomass
    is in g, by the best estimate and the last mass sample as it was; density in fish per L.
    """

    tank: Tank
    age: int | None
    numbers: StockNumbers | None
    survival: Survival | None = None
    judged: tuple[Judged, ...] = ()
    per_l: float | None = None
    weighed: Weighed | None = None
    biomass_g: float | None = None
    handling: float | None = None
    spans: tuple[DeadSpan, ...] = ()
    days: tuple[DeadDay, ...] = ()


class StockView(NamedTuple):
    """All tanks in walking order, and the ledger of animals."""

    now: Instant
    rows: tuple[StockRow, ...]
    use: AnimalUse

    def row(self, tank: str) -> StockRow | None:
        return next((row for row in self.rows if row.tank.code == tank), None)


def view(site: Site) -> StockView:
    """Every tank of the plan with its fish."""
    plan, now = site.plan, site.now()
    tanks = walking_order(plan, now.day)
    with site.ledger.reading():
        every = numbers(site, [tank.code for tank in tanks], now)
        weighed = _weighed(site, now)
        late = _handling(site)
    rows = tuple(
        _row(plan, tank, every.get(tank.code), weighed.get(tank.code), late.get(tank.code), now)
        for tank in tanks
    )
    protocol = plan.protocol
    use = animal_use(
        (one for tank in tanks if (one := every.get(tank.code)) is not None),
        protocol.code,
        protocol.approved,
    )
    return StockView(now, rows, use)


def _weighed(site: Site, now: Instant) -> dict[str, Weighed]:
    """The last mass sample of each tank."""
    found = {}
    for one in samples_since(site, now.utc - SAMPLE_DAYS * 86400):
        if one.what == MASS and one.mean:
            found[one.place] = Weighed(one.mean, one.looked_at, one.at)
    return found


def _handling(site: Site) -> dict[str, float]:
    """Days the most urgent sample of each tank is late."""
    found = {}
    for row in sampling.view(site).rows:
        late = [cell.late for cell in row.cells if cell.late is not None]
        if late:
            found[row.tank.code] = max(late)
    return found


def _row(
    plan: Plan,
    tank: Tank,
    its: StockNumbers | None,
    weighed: Weighed | None,
    late: float | None,
    now: Instant,
) -> StockRow:
    age = plan.age(tank, now.day)
    if its is None:
        return StockRow(tank, age, None, handling=late)
    days = by_day(its.counts)
    return StockRow(
        tank,
        age,
        its,
        survival(its),
        tuple(reconciling.judge(gap, plan.age(tank, gap.at.day)) for gap in its.gaps),
        its.best.fish / tank.volume_l if tank.volume_l > 0 else None,
        weighed,
        None if weighed is None else its.best.fish * weighed.mg / 1000,
        late,
        _spans(plan, tank, days),
        tuple(days),
    )


def _spans(plan: Plan, tank: Tank, days: list[DeadDay]) -> tuple[DeadSpan, ...]:
    """The dead by stage of life, as the profile of the species has them; () without ages."""
    found: dict[tuple[int, int, str], int] = {}
    for day in days:
        age = plan.age(tank, day.day)
        if age is None:
            return ()
        first, last, name = _stage(plan, tank, age)
        found[first, last, name] = found.get((first, last, name), 0) + day.fish
    return tuple(DeadSpan(*key, fish) for key, fish in found.items())


def _stage(plan: Plan, tank: Tank, age: int) -> tuple[int, int, str]:
    lot = plan.lot_of(tank)
    for profile in plan.profiles:
        if lot is not None and profile.species == lot.species:
            for stage in profile.stages:
                if stage.dph[0] <= age <= stage.dph[1]:
                    return (*stage.dph, stage.name)
    return (age // 10 * 10, age // 10 * 10 + 9, "")


def on_day(row: StockRow, day: date) -> int | None:
    """The dead that were counted in a tank on a local day; None where nobody counted."""
    return next((one.fish for one in row.days if one.day == day), None)
