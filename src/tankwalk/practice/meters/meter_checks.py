"""Meters: checked as found and as left, and what a failed check says of the readings before it.

A failed check marks every reading since the meter last passed as suspect, in one entry; none of
them is changed. Taking that entry back frees them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.follow_up_kinds import MayClose
from tankwalk.ledger.meters import CheckSeen, MarkSeen
from tankwalk.plan.model import Instrument, Plan
from tankwalk.practice.meters.suspects import covered, looks_of
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:  # the board reads meters; what writes is loaded by who enters a check
    from tankwalk.ledger.entries import Calibration

UNPLANNED_HOURS = 48.0
"""A meter whose plan says not how often it is checked is told of after so long, if it ever was.
Common practice, no source."""


# ---- what stands


class MeterState(NamedTuple):
    """A meter as its checks leave it.

    `marks` are all that stand for it, `mark` that of the failure it is out of use for; `readings`
    are the looks they make suspect, second readings apart.
    """

    meter: Instrument
    last: CheckSeen | None
    as_found: float | None
    age_hours: float | None
    overdue: bool
    marks: tuple[MarkSeen, ...]
    mark: MarkSeen | None
    readings: int

    @property
    def passed(self) -> bool | None:
        """Whether it passed when it was checked last; None for one that never was."""
        return None if self.last is None else self.last.passed

    @property
    def off(self) -> bool:
        """Whether it is out of use until it passes a check."""
        return self.last is not None and not self.last.passed


def states(site: Site, now: Instant, *, counting: bool = True) -> tuple[MeterState, ...]:
    """Every meter of the plan, in the plan's order.

    Without `counting`, only what made a meter go out of use is counted: enough for a line.
    """
    meters = site.plan.instruments
    newest = site.reader.meters.newest_checks([m.code for m in meters])
    marks = site.reader.meters.marks()
    found = []
    for meter in meters:
        late = newest[meter.code]
        last = late[0] if late else None
        as_found = next((c.as_found for c in late if c.as_found is not None), None)
        age = None if last is None else now.hours_since(last.at)
        here = tuple(m for m in marks if m.instrument == meter.code)
        passed = max((c.at.utc for c in late if c.passed), default=0)
        off = last is not None and not last.passed
        mark = next((m for m in reversed(here) if off and m.at.utc >= passed), None)
        looks = looks_of(site, here if counting else () if mark is None else (mark,))
        overdue = _overdue(meter, last, now)
        found.append(MeterState(meter, last, as_found, age, overdue, here, mark, looks))
    return tuple(found)


def _overdue(meter: Instrument, last: CheckSeen | None, now: Instant) -> bool:
    """Whether a check is late: by days of the calendar, as whatever else is due every few days."""
    every = meter.check_every_days
    if every is None:
        return last is not None and now.hours_since(last.at) > UNPLANNED_HOURS
    return last is None or days_late(meter, last, now) >= 1


def days_late(meter: Instrument, last: CheckSeen, now: Instant) -> float:
    """Days past the day a check was due; 0 on that day, below 0 before it."""
    return (now.day - last.at.day).days - (meter.check_every_days or math.inf)


def name(meter: Instrument) -> str:
    """The meter as people call it: "oxygen meter B"."""
    return f"{meter.kind} {meter.code}"


def altered(site: Site, now: Instant) -> tuple[MeterState, ...]:
    """Meters that are not as normal: `due` tells of planned checks that are late.

    Those out of use; and those the plan wants checked at no set time whose check is long past.
    """
    return tuple(
        state
        for state in states(site, now, counting=False)
        if state.off or (state.overdue and state.meter.check_every_days is None)
    )


def last_checks(site: Site) -> dict[str, CheckSeen]:
    """The newest check of each meter that was ever checked, by its code."""
    found = site.reader.meters.newest_checks([m.code for m in site.plan.instruments])
    return {code: late[0] for code, late in found.items() if late}


def looks_words(count: int) -> str:
    """A number of readings in words: "1 reading", "48 readings"."""
    return f"{count} reading" if count == 1 else f"{count} readings"


# ---- the check


class Failure(NamedTuple):
    """What follows from a meter that failed: its mark since when, and the action that was opened.

    `mark` is None where the plan names no reading that the check concerns, `follow_up` where an
    action stands already. `readings` are the looks marked suspect, `again` their second readings.
    """

    mark: int | None = None
    since: Instant | None = None
    readings: int = 0
    again: int = 0
    follow_up: int | None = None


class Checked(NamedTuple):
    """What became of a check: its entry, the verdicts, what follows, and all of it in words.

    `passed` is of the meter as found, `fit` as it was left.
    """

    entry: int
    passed: bool
    fit: bool
    failure: Failure
    sentence: str


def find(plan: Plan, code: str) -> Instrument:
    """The meter of a code, in capitals or not; Refusal for one the plan does not name."""
    for meter in plan.instruments:
        if meter.code.upper() == code.strip().upper():
            return meter
    known = ", ".join(m.code for m in plan.instruments)
    raise Refusal(f"{code[:12]!r} is not among the meters of the plan ({known}): nothing was kept.")


def check(
    site: Site,
    who: str,
    code: str,
    as_found: float,
    as_left: float | None = None,
    what: str | None = None,
    reference: float | None = None,
) -> Checked:
    """Enter a check of a meter; all that follows from it is kept with it, or nothing is.

    Values are in the plan's unit for this check; `reference` stands in place of the plan's where
    the right answer is the day's (see `expected_air`). A meter that failed as found and passed as
    left has two checks of the same moment. Refusal for a meter, a person or a value that is none,
    and where the plan says not when the meter passes.
    """
    from tankwalk.ledger.entries import Calibration
    from tankwalk.practice.meters.tolerance import against, passes, right_value

    meter, who = find(site.plan, code), site.signs(who)
    right = right_value(meter, reference)
    passed = passes(meter, as_found, right)
    fit = passed if as_left is None else passes(meter, as_left, right)
    told = text.clean(what or "") or meter.check
    failure = Failure()
    with site.ledger.writing():
        both = passed and fit
        first = Calibration(
            meter.code, told, right, as_found, as_left if both else None,
            meter.check_unit or None, passed,
        )  # fmt: skip
        entry = _kept(site, who, first)
        if not passed:
            failure = fail(site, who, meter, as_found, right)
        if as_left is not None and not both:
            _kept(site, who, first._replace(as_found=None, as_left=as_left, passed=fit))
    verdict = "passed" if passed else f"failed. {_failure_words(meter, failure)}"
    words = f"Meter {meter.code}, {told}: {against(meter, as_found, right)}: {verdict}."
    if as_left is not None:
        words += f" {_left_words(meter, as_left, right, fit)}"
    return Checked(entry, passed, fit, failure, words)


def leave(
    site: Site, who: str, code: str, as_left: float, reference: float | None = None
) -> Checked:
    """Enter how a meter was left after its check: within limits puts it back in service.

    Refusal as `check`.
    """
    from tankwalk.ledger.entries import Calibration
    from tankwalk.practice.meters.tolerance import passes, right_value

    meter, who = find(site.plan, code), site.signs(who)
    right = right_value(meter, reference)
    fit = passes(meter, as_left, right)
    unit = meter.check_unit or None
    entry = _kept(site, who, Calibration(meter.code, meter.check, right, None, as_left, unit, fit))
    words = _left_words(meter, as_left, right, fit)
    return Checked(entry, fit, fit, Failure(), words)


def _left_words(meter: Instrument, as_left: float, right: float, fit: bool) -> str:
    from tankwalk.practice.meters.tolerance import against

    told = f"Left at {against(meter, as_left, right)}"
    if fit:
        return f"{told}: meter {meter.code} is in service, what it reads from now on counts."
    return f"{told}: meter {meter.code} stays out of use."


def _kept(site: Site, who: str, detail: Calibration) -> int:
    from tankwalk.ledger.entries import Entry

    now = site.now()
    return site.record(Entry("calibration", who, now, now, SITE), detail)


def fail(site: Site, who: str, meter: Instrument, as_found: float, right: float) -> Failure:
    """What follows from a failed check: marks what the meter read, opens an action for the lead."""
    failure = Failure()
    if site.plan.find_item(meter.checks) is not None:
        failure = _mark(site, who, meter, as_found, right)
    return failure._replace(follow_up=_follow(site, who, meter, as_found, right, failure))


def _mark(site: Site, who: str, meter: Instrument, as_found: float, right: float) -> Failure:
    """Mark what the meter read since it last passed; without that, since it was read first."""
    from tankwalk.ledger.entries import Entry, Suspect
    from tankwalk.practice.meters.tolerance import against

    now, reader = site.now(), site.reader
    item = site.plan.item(meter.checks)
    last_pass = reader.meters.last_pass(meter.code, now.utc)
    if last_pass is not None:
        since = last_pass.at
    else:
        where = reader.spine.places()
        first = reader.meters.first_with(meter.code, item.code, item.unit, where)
        since = now if first is None else Instant(min(first, now.utc), now.offset)
    entry = Entry(
        "suspect", who, now, now, SITE, item.code, item.unit,
        reason=f"{meter.check} {against(meter, as_found, right)}",
    )  # fmt: skip
    n = site.record(entry, Suspect(meter.code, since.utc, now.utc))
    found = covered(site, next(m for m in reader.meters.marks() if m.n == n))
    again = sum(one.recheck for one in found)
    return Failure(n, since, len(found) - again, again)


def _failure_words(meter: Instrument, failure: Failure) -> str:
    if failure.since is None:
        return "The plan names no reading that this check concerns: none is marked"
    if not failure.readings:
        since = failure.since.short()
        return f"Meter {meter.code} read nothing since {since}, so no value is suspect"
    twice = f" ({failure.again} taken twice)" if failure.again else ""
    many = "is" if failure.readings == 1 else "are"
    return (
        f"{looks_words(failure.readings).capitalize()} of meter {meter.code}{twice} since "
        f"{failure.since.short()} {many} marked suspect; none was changed"
    )


def _follow(
    site: Site, who: str, meter: Instrument, as_found: float, right: float, failure: Failure
) -> int | None:
    """Open one action for the lead, where none stands for this meter."""
    from tankwalk.practice.doing import follow_ups
    from tankwalk.practice.meters.tolerance import against

    about = f"flag meter {meter.code} "
    for one in site.reader.follow_ups.open():
        if one.rule is MayClose.METER and f"{one.about} ".startswith((f"{meter.code} ", about)):
            return None
    words = f"Meter {meter.code} failed its check ({meter.check} "
    words += f"{against(meter, as_found, right)}): mend it and check it again"
    if failure.readings and failure.since is not None:
        words += f"; look at its {looks_words(failure.readings)} since {failure.since.short()}"
    lead = next(iter(follow_ups.leads(site.plan)), None)
    return follow_ups.open_action(
        site, who, words, owner=lead, rule=MayClose.METER, about=meter.code
    )


# ---- drift


class Found(NamedTuple):
    """What a meter read when it was checked, and what it should have read."""

    at: Instant
    value: float
    reference: float | None
    passed: bool


def drift(site: Site, code: str, limit: int = 30) -> tuple[Found, ...]:
    """As found over time, oldest first: the record of a meter's drift."""
    seen = site.reader.meters.checks(code, limit)
    return tuple(
        Found(c.at, c.as_found, c.reference, c.passed)
        for c in reversed(seen)
        if c.as_found is not None
    )
