"""What the pages of the meters show: each meter as it stands, and one check under way."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.plan.model import Instrument
from tankwalk.practice.meters import meter_checks, moist_air, tolerance
from tankwalk.practice.meters.check_talk import Asked, Checking
from tankwalk.practice.meters.meter_checks import Found, MeterState
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

LATELY = 12
"""Checks of which the list shows what was found."""


class Passes(NamedTuple):
    """What a meter is checked by, and the lowest and highest value that passes, in its unit."""

    check: str
    right: float
    low: float
    high: float
    unit: str


class Shown(NamedTuple):
    """A meter with what was found when it was checked, oldest first, and what passes now."""

    state: MeterState
    drift: tuple[Found, ...]
    passes: Passes | None = None


def right_now(meter: Instrument, drift: Sequence[Found]) -> float | None:
    """What it should show: the plan's, or that of its newest check where it is the day's air."""
    newest = next((f.reference for f in reversed(drift) if f.reference is not None), None)
    return newest if moist_air.needs_air(meter) else meter.reference


def _passes(meter: Instrument, drift: Sequence[Found]) -> Passes | None:
    """What passes; None where neither the plan nor a check says."""
    right = right_now(meter, drift)
    if right is None or meter.within is None:
        return None
    low, high = tolerance.limits(meter, right)
    return Passes(meter.check or "", right, low, high, meter.check_unit or "")


def shown(site: Site, now: Instant, limit: int = LATELY, only: str | None = None) -> list[Shown]:
    """All meters of a site as they stand, or one by its code, each with its newest checks.

    Refusal for a meter the plan does not name.
    """
    code = None if only is None else meter_checks.find(site.plan, only).code
    with site.ledger.reading():
        found = []
        for one in meter_checks.states(site, now):
            if code in (None, one.meter.code):
                drift = meter_checks.drift(site, one.meter.code, limit)
                found.append(Shown(one, drift, _passes(one.meter, drift)))
        return found


class CheckView(NamedTuple):
    """A check as it stands: its step, what is asked, and what was just said."""

    meter: Instrument
    step: str
    asked: Asked
    digits: int
    """Digits of the numbers in the list that is asked from."""
    who: str
    limits: str
    """What passes, in words; "" where the plan does not say."""
    said: str
    wrong: bool
    """Whether what was said is bad news."""


def check_view(checking: Checking) -> CheckView:
    """What the page of one meter shows of a check now."""
    return CheckView(
        checking.meter,
        checking.step,
        checking.asks(),
        checking.digits,
        checking.who,
        checking.limits,
        checking.said,
        checking.wrong,
    )
