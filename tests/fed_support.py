"""A trial room of four tanks that is fed by plan, for tests of what is due."""

from __future__ import annotations

from site_support import SMALL, moment
from tankwalk.ledger.entries import Batch, Calibration, Entry, Meal, Sample, Served
from tankwalk.practice.site import SITE, Site

_TANKS = SMALL[SMALL.index('[[tank]]\ncode = "T01"') : SMALL.index("[[instrument]]")]

_FOUR = "".join(
    f'[[tank]]\ncode = "T0{n}"\nloop = "L1"\nvolume = "220 L"\nlot = "YOUNG"\ntreatment = "{arm}"\n'
    for n, arm in ((1, "E8"), (2, "M12"), (3, "E8"), (4, "M12"))
)

FED = (
    SMALL.replace(_TANKS, _FOUR)
    + """
[[treatment]]
code = "E8"
[[treatment]]
code = "M12"
[[feed]]
code = "Art"
label = "nauplii"
treatment = "E8"
dph = [4, 14]
[[feed]]
code = "Art"
label = "nauplii"
treatment = "M12"
dph = [4, 18]
[[feed]]
code = "D1"
label = "dry feed D1"
treatment = "E8"
dph = [8, 60]
[[feed]]
code = "D1"
label = "dry feed D1"
treatment = "M12"
dph = [12, 60]
[[meal]]
at = "08:00"
[[meal]]
at = "12:00"
[[meal]]
at = "16:00"
[[meal]]
at = "16:14"
weekdays = ["Sat", "Sun"]
"""
)
"""Lot YOUNG is 9 dph on Sunday 10 May 2026: E8 gets both feeds, M12 nauplii alone."""


def tanks(plan: str, *codes: str) -> str:
    """A plan with more tanks of treatment M12."""
    more = '\n[[tank]]\ncode = "{}"\nloop = "L1"\nvolume = 220\nlot = "YOUNG"\ntreatment = "M12"\n'
    return plan + "".join(more.format(code) for code in codes)


def fed(site: Site, place: str, when: str, feed: str = "Art", amount: float = 20.0) -> int:
    """A tank was given feed."""
    at = moment(when)
    return site.record(Entry("meal", "AB", at, at, place), Meal(feed, amount, "g"))


def served(
    site: Site, place: str, when: str, meal_at: str, amount: float = 20.0, *,
    planned: float | None = None, event: str | None = None, feed: str = "Art",
) -> int:  # fmt: skip
    """A tank was given feed of a planned meal; or with `event` it was not."""
    at = moment(when)
    meal = Meal(feed, amount, "g", planned, event=event)
    return site.record(Entry("meal", "AB", at, at, place), meal, Served(moment(meal_at).utc))


def all_fed(site: Site, when: str, but: str = "") -> None:
    """Every tank was given nauplii, at once, but one."""
    for tank in site.plan.tanks:
        if tank.code != but:
            fed(site, tank.code, when)


def no_feed(site: Site, place: str, when: str, words: str) -> int:
    """A pause was entered."""
    at = moment(when)
    return site.record(Entry("meal", "AB", at, at, place), Meal("Art", 0.0, "g", event=words))


def cone(
    site: Site, when: str, batch: str, event: str, due: str | None = None, **more: float
) -> int:
    """Something happened to a cone."""
    at = moment(when)
    due_at = None if due is None else moment(due).utc
    detail = Batch(batch, event, due_at=due_at, **more)  # type: ignore[arg-type]
    return site.record(Entry("batch", "AB", at, at, SITE), detail)


def checked(site: Site, meter: str, when: str, passed: bool = True) -> int:
    """A meter was checked."""
    at = moment(when)
    detail = Calibration(meter, "moist air", 100.0, 100.0, 100.0, "%", passed)
    return site.record(Entry("calibration", "AB", at, at, SITE), detail)


def sampled(site: Site, place: str, what: str, when: str) -> int:
    """Fish of a tank were looked at."""
    at = moment(when)
    return site.record(Entry("sample", "AB", at, at, place), Sample(what, 20, mean=9.0))
