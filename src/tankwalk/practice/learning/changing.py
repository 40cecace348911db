"""A limit that was tried is written into the plan, or the newest such change taken back.

The plan is checked whole before it takes the place of its file, the record keeps both, and it
holds from that moment. Only a lead does it, and says why.
"""

from __future__ import annotations

from pathlib import Path

from tankwalk import paths, text
from tankwalk.errors import Refusal
from tankwalk.plan.edit import Because
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Plan
from tankwalk.practice.learning.trying import Case, tried
from tankwalk.practice.site import SITE, Site

DUTY = "lead"
"""Whose a limit of the plan is."""
LONGEST_WHY = 200
BACK = "taken back: "
"""How the reason begins by which a plan was put back."""


def write(site: Site, known: Case, moved: dict[str, float], who: str, why: str) -> Plan:
    """Write other WATCH limits of a case into the plan; the new plan is in force from now on.

    Refusal for one who is no lead, without a reason, for limits that `tried` refuses, and where
    the plan's file is not the plan in force.
    """
    person = _lead(site, who)
    said = text.clean(why, limit=LONGEST_WHY)
    if not said:
        raise Refusal("A reason is needed: nothing was written.")
    day = site.now().day
    source = f"common practice at this site, {day}"
    found = tried(
        site, known,
        moved.get("watch_below"), moved.get("watch_above"),
        moved.get("watch_within", moved.get("watch_within_percent")),
        Because(person, source, day, said),
    )  # fmt: skip
    _put(site, found.plan, person, said)
    return found.plan


def newest(site: Site) -> tuple[str, str] | None:
    """Who changed the plan on this page last and why, where that plan still holds; else None."""
    plans = site.reader.spine.plans(2)
    if len(plans) < 2 or plans[0].digest != site.plan.digest:
        return None
    why = plans[0].reason
    return None if why is None or why.startswith(BACK) else (plans[0].who, why)


def take_back(site: Site, who: str) -> Plan:
    """Put the plan back as it was before the newest change of this page.

    Refusal for one who is no lead, and where there is no such change.
    """
    person = _lead(site, who)
    last = newest(site)
    if last is None:
        raise Refusal("The plan was not changed from this page, or by hand since: nothing to undo.")
    before = read_plan(site.reader.spine.plans(2)[1].text)
    _put(site, before, person, f"{BACK}{last[1]}"[:LONGEST_WHY])
    return before


NO_LEAD = 'The plan names no lead (duty = "lead" of a person): nothing was written.'


def leads(plan: Plan) -> tuple[str, ...]:
    """Whose the limits of a plan are, by their initials."""
    return tuple(one.initials for one in plan.people if one.duty == DUTY)


def _lead(site: Site, who: str) -> str:
    """The initials of a lead as the plan writes them; Refusal for anybody else."""
    person = site.signs(who)
    known = leads(site.plan)
    if not known:
        raise Refusal(NO_LEAD)
    if person not in known:
        raise Refusal(
            f"A limit of the plan is the lead's ({', '.join(known)}), and {person} is none: "
            "nothing was written."
        )
    return person


def _put(site: Site, plan: Plan, who: str, why: str) -> None:
    """Record a plan and put it in its file, both or neither; it holds from then on."""
    from tankwalk.ledger.entries import Entry, PlanVersion

    file = site.folder / paths.PLAN
    now = site.now()
    with site.ledger.writing():
        if _read(file) != site.plan.text:
            raise Refusal(
                f"{file.name} was changed since this program read it: nothing was written. Leave "
                "(q), start again, and try it once more."
            )
        site.record(
            Entry("plan", who, now, now, SITE, reason=why), PlanVersion(plan.digest, plan.text)
        )
        _replace(file, plan.text)
    site.plan = plan


def _read(file: Path) -> str:
    try:
        return file.read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        raise Refusal(f"{file.name} could not be read: nothing was written.") from None


def _replace(file: Path, words: str) -> None:
    """Put a text in place of a file's, whole or not at all."""
    try:
        paths.put_whole(file, words.encode("utf-8"))
    except OSError as fault:
        raise Refusal(
            f"{file.name} could not be written ({fault.strerror}): the plan is as it was."
        ) from fault
