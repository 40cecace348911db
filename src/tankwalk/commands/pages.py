"""Pages printed: the board, the handover, a round for a sheet of paper, the meters."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import on_paper, open_site_of, printed

if TYPE_CHECKING:
    import argparse

    from tankwalk.practice.round.paper_round import Blank
    from tankwalk.practice.site import Site


def board_text(site: Site, width: int) -> str:
    """The board as text."""
    from tankwalk.pages import board as page
    from tankwalk.pages.lines import plain
    from tankwalk.practice.board import board

    return plain(page.draw(board(site), width, None))


def handover_text(site: Site, width: int) -> str:
    """The handover as text."""
    from tankwalk.pages import handover as page
    from tankwalk.pages.lines import plain
    from tankwalk.practice.handover.drafting import draft

    return plain(page.draw(draft(site), width))


def board_page(arguments: argparse.Namespace) -> int:
    """Print the board, or write it for the printer."""
    if arguments.html is None:
        return printed(arguments, board_text)
    from tankwalk.pages import paper
    from tankwalk.practice.board import board
    from tankwalk.practice.round.paper_round import last_entry

    def page(site: Site) -> str:
        last = last_entry(site)
        return paper.board(board(site), last)

    return on_paper(arguments, page)


def handover_page(arguments: argparse.Namespace) -> int:
    """Print the handover, or write it for the printer."""
    if arguments.html is None:
        return printed(arguments, handover_text)
    from tankwalk.pages import paper
    from tankwalk.practice.handover.drafting import draft

    return on_paper(arguments, lambda site: paper.handover(draft(site)))


def sheet_page(arguments: argparse.Namespace) -> int:
    """Print a round to be filled in with a pencil."""
    from tankwalk.pages import sheet, sheet_html
    from tankwalk.pages.lines import plain
    from tankwalk.practice.round import rounds
    from tankwalk.practice.round.paper_round import blank

    def asked(site: Site) -> Blank:
        return blank(site, rounds.named_checklist(site, arguments.round))

    if arguments.html is None:
        return printed(arguments, lambda site, width: plain(sheet.draw(asked(site), width)))
    return on_paper(arguments, lambda site: sheet_html.sheet(asked(site)))


def meters(arguments: argparse.Namespace) -> int:
    """Print the meters, or enter the check of one; 1 where it is left unfit."""
    from tankwalk.pages import meters as page
    from tankwalk.pages.lines import plain
    from tankwalk.practice import clock_check
    from tankwalk.practice.meters.check_talk import typed_check
    from tankwalk.practice.meters.meter_view import shown

    def listed(site: Site, width: int) -> str:
        now = site.now()
        found = shown(site, now, only=arguments.code)
        return plain(page.draw(found, site.plan.name, now, width, None))

    if arguments.found is None:
        return printed(arguments, listed)
    site = open_site_of(arguments)
    clock_check.refuse(site)
    done = typed_check(site, arguments.code or "", vars(arguments))
    site.close()
    print(done.sentence)
    return 0 if done.fit else 1
