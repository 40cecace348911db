"""How many dead would be told here: from the dispersion of this site's own counts.

The judge of the dead (`judging/dead/mortality.py`) fits what a tank should have; here its numbers
are turned round: which count would be a jump, and after how many counts a rise is told.
"""

from __future__ import annotations

from math import ceil, sqrt

from tankwalk.clock import Instant
from tankwalk.plan.judging import JudgingLimits
from tankwalk.practice.judging.dead.counts import gather
from tankwalk.practice.judging.dead.mortality import FEWEST, RISE_TIMES, fitted
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science import negative_binomial as nb


class DeadSeen(NamedTuple):
    """What would be told of the dead of the tank that has the middle of the usual counts.

    `usual` dead a count, with `dispersion` the variance over the mean of counts here; `jump` is
    the smallest count that is told at once. A rise to `times` the usual is told after `counts`
    counts, as a rule; None: not within those that are looked back over.
    """

    tank: str
    usual: float
    dispersion: float
    jump: int
    times: float
    counts: int | None


def dead_seen(site: Site, now: Instant) -> DeadSeen | None:
    """What would be told at the newest count of each tank; None where too few were counted."""
    limits = site.plan.judging
    found = []
    for tank in site.plan.tanks:
        known = gather(site, tank.code, now, None)
        if known is None or not known.own:
            continue
        last = known.own[-1]
        of = fitted(
            last.fish,
            known._replace(now=last.at, part=last.part, own=known.own[:-1]),
            limits,
        )
        if of.windows:
            mean, variance = of.windows[0].expected
            found.append(_of(tank.code, mean, variance, of.laid.room.dispersion, limits))
    found.sort(key=lambda one: one.usual)
    return found[len(found) // 2] if found else None


def _of(
    tank: str, mean: float, variance: float, dispersion: float, limits: JudgingLimits
) -> DeadSeen:
    least = max(FEWEST, ceil(sqrt(limits.ratio) * mean))
    jump = max(least, nb.quantile(1 - limits.tail, mean, variance) + 1)
    return DeadSeen(
        tank, mean, dispersion, jump, limits.ratio,
        rise_counts(mean, variance, dispersion, limits),
    )  # fmt: skip


def rise_counts(
    mean: float, variance: float, dispersion: float, limits: JudgingLimits
) -> int | None:
    """After how many counts of `ratio` times the usual a rise is told; None within the onset.

    What is not known of the mean itself goes along with every count.
    """
    unsure = max(0.0, variance - dispersion * mean) / mean**2
    for counts in range(2, limits.onset_looks + 1):
        usual = counts * mean
        total = round(limits.ratio * usual)
        spread = dispersion * usual + unsure * usual**2
        chance = nb.at_least(total, usual, max(spread, usual))
        if total >= FEWEST and chance < RISE_TIMES * limits.tail:
            return counts
    return None
