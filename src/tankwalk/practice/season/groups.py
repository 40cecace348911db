"""What went into the fish of a lot and treatment, and what came out: sums, and means over tanks.

The tank is what is compared: a mean here is one over tanks, with how many there are. What a loop
was dosed with went to all of its tanks and stands by the loop.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.doses import DoseSeen
from tankwalk.ledger.feeding import MealSeen, SampleSeen
from tankwalk.plan.feed_model import FeedKind
from tankwalk.plan.model import Plan, Tank
from tankwalk.practice.feeding.rations import MASS
from tankwalk.practice.samples.since import samples_since
from tankwalk.practice.site import Site
from tankwalk.practice.stock.numbers import StockNumbers, numbers, quadrature
from tankwalk.rows import NamedTuple


class Sum(NamedTuple):
    """Fish of some tanks together with its error (95 %, fish; None: not known).

    `tanks` is how many of the group it is of.
    """

    fish: int
    plus_minus: float | None
    tanks: int


class Amount(NamedTuple):
    """How much of something went in, how often, and in how many tanks."""

    code: str
    label: str
    unit: str
    amount: float
    times: int
    tanks: int


class Mean(NamedTuple):
    """A mean over tanks, lowest and highest among them, and how many tanks."""

    mean: float
    low: float
    high: float
    tanks: int


class FeedPerGain(NamedTuple):
    """Dry feed per biomass gained since the first sample of mass; `live` of it was not counted.

    `ratio` is None where it cannot be worked out, and `why` says why.
    """

    ratio: float | None
    dry_g: float
    gain_g: float | None
    since: Instant | None
    live: bool
    why: str = ""


class Group(NamedTuple):
    """The fish of one lot and treatment, with what they were fed since they were stocked.

    `alive_out` are those taken out alive (sampled, culled, cannibals, moved or escaped); masses are
    in mg, biomass in g. `census` and `unaccounted` are None where no tank of it was counted.
    """

    lot: str
    treatment: str
    label: str
    tanks: tuple[str, ...]
    stocked: Sum
    feeds: tuple[Amount, ...]
    doses: tuple[Amount, ...]
    dead: Sum
    alive_out: int
    census: Sum | None
    unaccounted: Sum | None
    best: Sum
    mass: Mean | None
    biomass_g: float | None
    dry_per_fish: float | None
    """Dry feed in mg, by the best estimate of the fish that are there."""
    gain: FeedPerGain


def groups(site: Site, since: Instant, until: Instant, seen: Sequence[MealSeen]) -> list[Group]:
    """Every lot and treatment that holds fish, or held them, by the order of the plan."""
    plan = site.plan
    found = numbers(site, [one.code for one in plan.tanks], until)
    here: dict[tuple[str, str], list[Tank]] = {}
    for tank in plan.tanks:
        if tank.code in found:
            here.setdefault((tank.lot or "", tank.treatment or ""), []).append(tank)
    of_mass = [
        one
        for one in samples_since(site, since.utc)
        if one.what == MASS and one.mean is not None and one.at.utc <= until.utc
    ]
    first = min((one.at for one in of_mass), key=lambda at: at.utc, default=None)
    then = {} if first is None else numbers(site, found, Instant(first.utc + 86_400, first.offset))
    last = max((one.at for one in of_mass), key=lambda at: at.utc, default=None)
    at_last = {} if last is None else numbers(site, found, last)
    doses = [one for one in site.reader.doses.since(since.utc) if one.at.utc <= until.utc]
    return [
        _group(plan, lot, treatment, tanks, found, (then, at_last), of_mass, seen, doses)
        for (lot, treatment), tanks in here.items()
    ]


def _group(
    plan: Plan,
    lot: str,
    treatment: str,
    tanks: Sequence[Tank],
    found: Mapping[str, StockNumbers],
    weighed: tuple[Mapping[str, StockNumbers], Mapping[str, StockNumbers]],
    of_mass: Sequence[SampleSeen],
    meals: Sequence[MealSeen],
    doses: Sequence[DoseSeen],
) -> Group:
    codes = tuple(one.code for one in tanks)
    here = [found[code] for code in codes]
    fed = [one for one in meals if one.place in codes and not before(found, one)]
    feeds = tuple(fed_with(plan, fed))
    newest, oldest = _by_tank(of_mass, codes), _by_tank(reversed(of_mass), codes)
    masses = [one.mean for one in newest.values() if one.mean is not None]
    biomass = None
    if len(newest) == len(codes):
        biomass = sum(found[code].best.fish * _mg(newest[code]) for code in codes) / 1000
    best = _sum([(one.best.fish, one.best.plus_minus) for one in here])
    dry = _dry(plan, feeds)
    counted = [one for one in here if one.census is not None]
    label = next((one.label for one in plan.treatments if one.code == treatment), "")
    return Group(
        lot,
        treatment,
        label,
        codes,
        _sum([(one.stocked.fish, one.stocked.plus_minus) for one in here]),
        feeds,
        tuple(dosed(doses, codes)),
        _sum([(one.dead.fish, one.dead.plus_minus) for one in here]),
        sum(one.removed for one in here),
        _sum([(c.fish, c.plus_minus) for one in counted if (c := one.census)]) if counted else None,
        _sum([(u.fish, u.plus_minus) for one in counted if (u := one.unaccounted)])
        if counted
        else None,
        best,
        Mean(sum(masses) / len(masses), min(masses), max(masses), len(masses)) if masses else None,
        biomass,
        1000 * dry / best.fish if dry and best.fish else None,
        _gain(plan, codes, weighed, oldest, fed, newest),
    )


def before(stock: Mapping[str, StockNumbers], meal: MealSeen) -> bool:
    """Whether a meal was eaten before the fish that are in its tank were stocked."""
    there = stock.get(meal.place)
    return there is None or meal.at.utc < there.since.utc


def _sum(each: Sequence[tuple[int, float | None]]) -> Sum:
    return Sum(sum(fish for fish, _ in each), quadrature(*(pm for _, pm in each)), len(each))


def _mg(sample: SampleSeen) -> float:
    return sample.mean or 0.0


def _by_tank(samples: Iterable[SampleSeen], codes: Sequence[str]) -> dict[str, SampleSeen]:
    """Of each tank the last of these."""
    return {one.place: one for one in samples if one.place in codes}


def fed_with(plan: Plan, fed: Sequence[MealSeen]) -> Iterable[Amount]:
    """What was given, by feed; thousands of live feed as such."""
    labels = {feed.code: feed.label or feed.code for feed in reversed(plan.feeds)}
    order = {feed.code: nth for nth, feed in enumerate(plan.feeds)}
    sums: dict[tuple[str, str], list[MealSeen]] = {}
    for one in fed:
        sums.setdefault((one.feed, one.unit), []).append(one)
    for (code, unit), several in sorted(sums.items(), key=lambda k: order.get(k[0][0], 999)):
        amount = sum(one.amount for one in several)
        tanks = len({one.place for one in several})
        yield Amount(code, labels.get(code, code), unit, amount, len(several), tanks)


def dosed(doses: Iterable[DoseSeen], places: Sequence[str]) -> Iterable[Amount]:
    """What some places were dosed with."""
    sums: dict[tuple[str, str], list[DoseSeen]] = {}
    for one in doses:
        if one.place in places:
            sums.setdefault((one.chemical, one.unit), []).append(one)
    for (chemical, unit), several in sums.items():
        where = len({one.place for one in several})
        yield Amount(chemical, chemical, unit, sum(one.amount for one in several), len(several),
                     where)  # fmt: skip


def _dry_codes(plan: Plan) -> set[str]:
    return {feed.code for feed in plan.feeds if feed.kind is FeedKind.DRY}


def _dry(plan: Plan, feeds: Iterable[Amount]) -> float:
    """Dry feed in g."""
    codes = _dry_codes(plan)
    return sum(one.amount for one in feeds if one.code in codes and one.unit == "g")


def _gain(
    plan: Plan,
    codes: Sequence[str],
    weighed: tuple[Mapping[str, StockNumbers], Mapping[str, StockNumbers]],
    oldest: Mapping[str, SampleSeen],
    fed: Sequence[MealSeen],
    newest: Mapping[str, SampleSeen],
) -> FeedPerGain:
    """Dry feed per gain, as far as it can be told honestly.

    `weighed` is how many fish there were at the first and at the last samples of mass: what was
    harvested or died since then was fed and grown.
    """
    then, at_last = weighed
    dry_codes = _dry_codes(plan)
    if len(oldest) < len(codes) or any(code not in here for here in weighed for code in codes):
        return FeedPerGain(None, 0.0, None, None, False, "no sample of mass of every tank")
    first = min((one.at for one in oldest.values()), key=lambda at: at.utc)
    last = max((one.at for one in newest.values()), key=lambda at: at.utc)
    start = sum(then[code].best.fish * _mg(oldest[code]) for code in codes) / 1000
    # What was eaten after the last sample did not make the gain up to it.
    since = [one for one in fed if first.utc <= one.at.utc <= last.utc]
    dry = sum(one.amount for one in since if one.feed in dry_codes and one.unit == "g")
    live = any(one.feed not in dry_codes for one in since)
    end = sum(at_last[code].best.fish * _mg(newest[code]) for code in codes) / 1000
    gained = end - start
    why = ""
    if first.utc == last.utc:
        why = "one sample of mass alone"
    elif gained <= 0:
        why = "no gain since the first sample of mass"
    elif not dry:
        why = "no dry feed since the first sample of mass"
    return FeedPerGain(None if why else dry / gained, dry, gained, first, live, why)
