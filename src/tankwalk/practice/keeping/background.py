"""A backup made beside the program that runs: a process of its own, so that no key waits for it."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from tankwalk.clock import SystemClock

if TYPE_CHECKING:
    from subprocess import Popen

    from tankwalk.practice.site import Site

_running: list[Popen[bytes]] = []
"""The one that was begun last: a second one at the same time would copy the same."""


def real(site: Site) -> bool:
    """Whether it is work and no rehearsal: only then backups are made by themselves."""
    return isinstance(site.clock, SystemClock) and site.plan.rehearsal is None


def begin(site: Site) -> bool:
    """Begin a backup by the rule; whether one is under way now. Never raises, never waits."""
    if not real(site):
        return False
    if _running and _running[-1].poll() is None:
        return True
    import subprocess

    words = [sys.executable, "-m", "tankwalk", "backup", "--aside", "--site", str(site.folder)]
    try:
        begun = subprocess.Popen(
            words,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,  # a terminal that is closed does not end it
        )
    except OSError:
        return False
    _running[:] = [begun]
    return True
