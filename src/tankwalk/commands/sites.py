"""A site: begun, and checked."""

from __future__ import annotations

import gc
from typing import TYPE_CHECKING

from tankwalk.commands.common import begun_anew, shares, station
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

    from tankwalk.clock import Instant


def start(arguments: argparse.Namespace) -> int:
    """Make a new site: a commented plan and an empty record.

    What lies there already is never written over: a record without its plan gets back the plan it
    holds, a plan without its record an empty one, where that is asked for by name.
    """
    from pathlib import Path

    from tankwalk import paths
    from tankwalk.clock import SystemClock, parse_instant, zone
    from tankwalk.ledger.store import FILE, Ledger
    from tankwalk.plan.start import start_text

    folder = Path(arguments.folder)
    plan = folder / paths.PLAN
    tz = zone(arguments.zone or paths.local_zone(paths.environment()))
    now = parse_instant(arguments.now, tz) if arguments.now else SystemClock(tz).now()
    here = station()
    if arguments.new_record:
        return _new_record(folder)
    if arguments.plan_from_record:
        return _plan_from_record(folder)
    try:
        if (folder / FILE).exists() and not plan.exists() and _plan_kept(folder) is not None:
            raise Refusal(
                f"{folder} holds a record without its plan: nothing was written. Get back the plan "
                f"that it holds with: tankwalk start {folder} --plan-from-record"
            )
        if plan.exists():
            raise Refusal(
                f"{plan} is there already: nothing was written. Edit it, or name a new DIR."
            )
        paths.make_folder(folder)
        Ledger.open(folder / FILE, here, create=True).close()
        # The plan comes last: where it is, its record is.
        paths.put_whole(plan, start_text(now.day, tz.key).encode("utf-8"))
    except OSError as fault:
        raise Refusal(
            f"{folder} cannot be written ({fault.strerror}): no site was made. Name another DIR."
        ) from fault
    begun_anew(folder)
    print(
        f"A new site is in {folder}, and tankwalk opens it from now on. "
        f"Edit {plan}, check it with: tankwalk check"
    )
    return 0


def _new_record(folder: Path) -> int:
    """An empty record beside the plan that is there."""
    from tankwalk import paths
    from tankwalk.ledger.store import FILE, Ledger
    from tankwalk.plan.file import load

    load(folder / paths.PLAN)
    if (folder / FILE).exists():
        raise Refusal(f"{folder / FILE} is there already: nothing was written.")
    Ledger.open(folder / FILE, station(), create=True).close()
    begun_anew(folder)
    print(f"An empty record was begun beside {folder / paths.PLAN}.")
    return 0


def _plan_kept(folder: Path) -> tuple[str, Instant] | None:
    """The text of the plan that the record in a folder held last, and since when."""
    from tankwalk.ledger.store import FILE, Ledger

    return Ledger.plan_held(folder / FILE)


def _plan_from_record(folder: Path) -> int:
    """The plan that the record holds, put where the record lies."""
    from tankwalk import paths

    plan = folder / paths.PLAN
    if plan.exists():
        raise Refusal(f"{plan} is there already: nothing was written. Rename it first.")
    found = _plan_kept(folder)
    if found is None:
        raise Refusal(
            f"The record in {folder} holds no plan: nothing was written. Make one with: "
            f"tankwalk start {folder}"
        )
    text, since = found
    try:
        paths.put_whole(plan, text.encode("utf-8", "surrogatepass"))
    except OSError as fault:
        raise Refusal(f"{plan} cannot be written ({fault.strerror}).") from fault
    paths.remember_site(folder, paths.environment())
    print(
        f"{plan} is the plan that was in force from {since.iso()}, as the record holds it. "
        "Check it with: tankwalk check"
    )
    return 0


def check(arguments: argparse.Namespace) -> int:
    """Check plan and record; 1 where either is not sound."""
    from tankwalk import paths
    from tankwalk.ledger.inspect import inspect
    from tankwalk.ledger.store import FILE
    from tankwalk.plan.advice import advice
    from tankwalk.plan.faults import PlanFaults
    from tankwalk.plan.file import load

    folder = paths.choose_site(arguments.site, paths.environment())
    sound = True
    print(f"Site: {folder}")
    try:
        plan = load(folder / paths.PLAN)
        print(f"Plan: sound, {len(plan.tanks)} tanks, {len(plan.items)} items.")
        for one in advice(plan):
            print(f"Advice: {one}")
    except PlanFaults as faults:
        print(str(faults))
        sound = False
    gc.enable()
    found = inspect(
        folder / FILE,
        shares("Checking the record"),
        seals=paths.seals(paths.environment(), folder),
        printed=arguments.seal,
    )
    for sentence in found.sentences:
        print(f"Record: {sentence}")
    if found.seal:
        print(f"Seal: {found.seal}")
    return 0 if sound and found.sound else 1
