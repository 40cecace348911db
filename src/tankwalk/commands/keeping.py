"""Backups on the command line: made, rehearsed, put back."""

from __future__ import annotations

import gc
import os
from typing import TYPE_CHECKING

from tankwalk.commands.common import open_site_of, shares
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse
    from pathlib import Path


CHECKING = "Checking the backup"
"""Shown with its share while one is made: five years of a site take some seconds."""


def backup(arguments: argparse.Namespace) -> int:
    """Make a checked backup of record and plan: where it is named, else by the rule of the plan.

    1 where one of the rule's places took none, or a rehearsal finds another record.
    """
    from pathlib import Path

    from tankwalk.pages import keeping_words
    from tankwalk.practice.keeping import rule

    gc.enable()
    if arguments.aside and hasattr(os, "nice"):
        os.nice(10)  # whoever types comes first
    site = open_site_of(arguments)
    try:
        if arguments.rehearse:
            from tankwalk.commands.pages import board_text
            from tankwalk.practice.keeping.rehearsing import rehearse

            where = None if arguments.file is None else Path(arguments.file)
            found = rehearse(site, lambda there: board_text(there, 80), where)
            print(keeping_words.rehearsed(found))
            return 0 if found.same else 1
        if arguments.file is not None:
            print(keeping_words.made(rule.make_at(site, Path(arguments.file), shares(CHECKING))))
            return 0
        kept = rule.keep(site, shares(CHECKING))
        for one in kept:
            print(keeping_words.kept(one))
        if site.plan.backups.second == "":
            print(
                "These lie on the same disk as the record. Name a second disk or stick in the "
                'plan: [backup] second = "/media/stick/tankwalk"'
            )
        return 0 if all(one.made is not None for one in kept) else 1
    finally:
        site.close()


def restore(arguments: argparse.Namespace) -> int:
    """Put a backup in place of a record; what lay there is kept under another name."""
    from pathlib import Path

    from tankwalk import paths
    from tankwalk.clock import SystemClock, parse_instant, zone
    from tankwalk.pages import keeping_words
    from tankwalk.practice.keeping.restoring import restore as put_back

    gc.enable()
    environ = paths.environment()
    folder = _target(arguments)
    tz = zone(paths.local_zone(environ))
    now = parse_instant(arguments.now, tz) if arguments.now else SystemClock(tz).now()
    done = put_back(Path(arguments.file), folder, now, paths.seals(environ, folder))
    paths.remember_site(folder, environ)
    for words in keeping_words.restored(done, now):
        print(words)
    if not (folder / paths.PLAN).exists():
        print(f"There is no plan yet: make one with tankwalk start {folder} --plan-from-record.")
    else:
        print("Open it with: tankwalk")
    return 0


def _target(arguments: argparse.Namespace) -> Path:
    """Where to: the folder that is named, else the site in use, be its plan there or not."""
    from pathlib import Path

    from tankwalk import paths

    named = arguments.to or arguments.site
    if named:
        return Path(named)
    folder = paths.last_site(paths.environment())
    if folder is None:
        raise Refusal(
            "No site is chosen yet: nothing was changed. Say where the site is to be: tankwalk "
            f"restore {arguments.file} --to DIR"
        )
    return folder
