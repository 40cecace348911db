"""A round walked: on the screen, or line by line."""

from __future__ import annotations

import gc
import sys
from typing import TYPE_CHECKING

from tankwalk.commands.common import lines_in, need_terminal, on_screen, open_site_of, said
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse

    from tankwalk.practice.site import Site
    from tankwalk.screens.beginnings import Start


def walk(arguments: argparse.Namespace) -> int:
    """Walk the round that is due, on the screen or line by line."""
    if not arguments.plain:
        need_terminal()
        site = open_site_of(arguments)
        return on_screen(site, _begun(site, arguments) if arguments.who else "who")
    from tankwalk import plain

    if sys.stdin is None:
        raise Refusal(
            "Standard input is closed: a walk line by line takes its answers there. "
            "Nothing was begun."
        )
    gc.enable()
    site = open_site_of(arguments)
    try:
        return plain.walk(site, lines_in(), said, arguments.who, arguments.round)
    finally:
        site.close()


def transcribe(arguments: argparse.Namespace) -> int:
    """Type in a round that was walked on paper, on the screen or line by line."""
    from tankwalk.practice import clock_check

    if not arguments.plain:
        need_terminal("transcribe")
        from tankwalk.practice.round import rounds
        from tankwalk.screens.beginnings import SheetAt

        site = open_site_of(arguments)
        clock_check.refuse(site)
        named = arguments.checklist
        code = "" if named is None else rounds.named_checklist(site, named).code
        who = "" if arguments.who is None else site.signs(arguments.who)
        return on_screen(site, SheetAt(code, who))
    from tankwalk import plain_sheet

    gc.enable()
    site = open_site_of(arguments)
    try:
        clock_check.refuse(site)
        return plain_sheet.transcribe(site, lines_in(), said, arguments.checklist, arguments.who)
    finally:
        site.close()


def look(arguments: argparse.Namespace) -> int:
    """Look at one place, on the screen or line by line: a small round that signs itself."""
    items = arguments.item or ()
    if not arguments.plain:
        need_terminal(f"look {arguments.place}")
        from tankwalk.practice.round.looks import asked_at
        from tankwalk.screens.beginnings import LookAt

        site = open_site_of(arguments)
        if arguments.who is None:
            site.close()
            raise Refusal("Say who looks: tankwalk look PLACE --who INITIALS.")
        asked = asked_at(site, arguments.place, items)
        return on_screen(site, LookAt(asked, site.signs(arguments.who)))
    from tankwalk import plain

    gc.enable()
    site = open_site_of(arguments)
    try:
        return plain.look(site, lines_in(), said, arguments.who, arguments.place, items)
    finally:
        site.close()


def count(arguments: argparse.Namespace) -> int:
    """Count sub-samples, on the screen or line by line."""
    if not arguments.plain:
        need_terminal("count")
        from tankwalk.screens.beginnings import CountAt

        site = open_site_of(arguments)
        return on_screen(site, CountAt(arguments.batch, arguments.who))
    from tankwalk.plain_count import PlainCount
    from tankwalk.practice import clock_check
    from tankwalk.practice.counting.talk import of_batch

    gc.enable()
    site = open_site_of(arguments)
    try:
        clock_check.refuse(site)
        about = None if arguments.batch is None else of_batch(site, arguments.batch)
        return PlainCount(site, lines_in(), said, arguments.who).run(about)
    finally:
        site.close()


def guided(arguments: argparse.Namespace) -> int:
    """A guided procedure line by line; Refusal for a name that is not under way."""
    if not arguments.plain:
        need_terminal("guided")
        from tankwalk.practice.livefeed.guided_sitting import taken_up
        from tankwalk.screens.beginnings import GuidedAt

        site, name = open_site_of(arguments), arguments.name or ""
        try:
            taken_up(site, name)
        except Refusal:
            site.close()
            raise
        return on_screen(site, GuidedAt(name))
    from tankwalk.plain_guided import PlainGuided
    from tankwalk.practice import clock_check

    gc.enable()
    site = open_site_of(arguments)
    try:
        clock_check.refuse(site)
        return PlainGuided(site, lines_in(), said, arguments.who).run(arguments.name)
    finally:
        site.close()


def _begun(site: Site, arguments: argparse.Namespace) -> Start:
    """The round that is due, or the one named, begun or taken up by the person named."""
    from tankwalk.practice import clock_check
    from tankwalk.practice.round import rounds

    clock_check.refuse(site)
    checklist = rounds.named_checklist(site, arguments.round)
    return rounds.begin(site, checklist, arguments.who), site.signs(arguments.who)
