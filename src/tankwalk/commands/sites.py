"""A site: begun, checked, copied."""

from __future__ import annotations

import gc
from typing import TYPE_CHECKING

from tankwalk.commands.common import open_site_of, shares, station
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse


def start(arguments: argparse.Namespace) -> int:
    """Make a new site: a commented plan and an empty record."""
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
    try:
        if plan.exists():
            raise Refusal(
                f"{plan} is there already: nothing was written. Edit it, or name a new DIR."
            )
        folder.mkdir(parents=True, exist_ok=True)
        part = plan.with_suffix(".partial")
        part.write_text(start_text(now.day, tz.key), "utf-8")
    except OSError as fault:
        raise Refusal(
            f"{folder} cannot be written ({fault.strerror}): no site was made. Name another DIR."
        ) from fault
    try:
        Ledger.open(folder / FILE, here, create=True).close()
    except Refusal:
        part.unlink(missing_ok=True)
        raise
    part.replace(plan)
    paths.remember_site(folder, paths.environment())
    print(
        f"A new site is in {folder}, and tankwalk opens it from now on. "
        f"Edit {plan}, check it with: tankwalk check"
    )
    return 0


def check(arguments: argparse.Namespace) -> int:
    """Check plan and record; 1 where either is not sound."""
    from tankwalk import paths
    from tankwalk.ledger.inspect import inspect
    from tankwalk.ledger.store import FILE
    from tankwalk.plan.faults import PlanFaults
    from tankwalk.plan.file import load

    folder = paths.choose_site(arguments.site, paths.environment())
    sound = True
    print(f"Site: {folder}")
    try:
        plan = load(folder / paths.PLAN)
        print(f"Plan: sound, {len(plan.tanks)} tanks, {len(plan.items)} items.")
    except PlanFaults as faults:
        print(str(faults))
        sound = False
    gc.enable()
    found = inspect(folder / FILE, shares("Checking the record"))
    for sentence in found.sentences:
        print(f"Record: {sentence}")
    return 0 if sound and found.sound else 1


def backup_to(arguments: argparse.Namespace) -> int:
    """Write a checked copy of the record."""
    from pathlib import Path

    site = open_site_of(arguments)
    site.ledger.back_up(Path(arguments.file))
    site.close()
    print(f"A checked copy is in {arguments.file}.")
    return 0
