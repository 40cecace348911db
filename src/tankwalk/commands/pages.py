"""Pages printed: the board, the handover, a round for a sheet of paper, the meters."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import open_site_of, page
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    import argparse

    from tankwalk.clock import Instant
    from tankwalk.pages.lines import Line
    from tankwalk.practice.board import Board
    from tankwalk.practice.handover.drafting import HandoverDraft
    from tankwalk.practice.meters.meter_view import Shown
    from tankwalk.practice.site import Site
    from tankwalk.practice.transcribing.blank import Blank


def board_text(site: Site, width: int) -> str:
    """The board as text."""
    from tankwalk.pages.lines import plain

    return plain(_board_lines(_board(site), width))


def _board(site: Site) -> Board:
    """The board with what is to be ordered."""
    from tankwalk.practice.board import board
    from tankwalk.practice.due.counts_left import counts_left
    from tankwalk.practice.due.ordering import orders_due
    from tankwalk.practice.keeping.age import backups_due

    now = site.now()
    left = (*counts_left(site, now), *backups_due(site, now))
    return board(site).with_later(orders_due(site), left)


def _board_lines(found: Board, width: int) -> list[Line]:
    from tankwalk.pages import board as words

    return words.draw(found, width, None)


def handover_text(site: Site, width: int) -> str:
    """The handover as text."""
    from tankwalk.pages.lines import plain
    from tankwalk.practice.handover.drafting import draft

    return plain(_handover_lines(draft(site), width))


def _handover_lines(found: HandoverDraft, width: int) -> list[Line]:
    from tankwalk.pages import handover as words

    return words.draw(found, width)


def board_page(arguments: argparse.Namespace) -> int:
    """Print the board, or write it for the printer."""

    def on_paper(found: Board, seal: str) -> str:
        from tankwalk.pages import paper

        return paper.board(found, seal)

    return page(arguments, "BOARD", _board, _board_lines, on_paper)


def handover_page(arguments: argparse.Namespace) -> int:
    """Print the handover, or write it for the printer."""

    def read(site: Site) -> HandoverDraft:
        from tankwalk.practice.handover.drafting import draft

        return draft(site)

    def on_paper(found: HandoverDraft, seal: str) -> str:
        from tankwalk.pages import paper

        return paper.handover(found, seal)

    return page(arguments, "HANDOVER", read, _handover_lines, on_paper)


def sheet_page(arguments: argparse.Namespace) -> int:
    """Print a round to be filled in with a pencil."""
    from tankwalk.pages import sheet, sheet_html
    from tankwalk.practice.round import rounds
    from tankwalk.practice.transcribing.blank import blank

    def asked(site: Site) -> Blank:
        return blank(site, rounds.named_checklist(site, arguments.round))

    return page(
        arguments,
        "ROUND",
        asked,
        sheet.draw,
        sheet_html.sheet,
    )


class _Meters(NamedTuple):
    """The meters of a site as they stand at a moment."""

    site: str
    now: Instant
    meters: list[Shown]


def meters(arguments: argparse.Namespace) -> int:
    """Print the meters, or enter the check of one; 1 where it is left unfit."""
    if arguments.found is None:
        return page(arguments, "METERS", lambda site: _meters(site, arguments.code), _meter_lines)
    from tankwalk.practice import clock_check
    from tankwalk.practice.meters.check_talk import typed_check

    site = open_site_of(arguments)
    clock_check.refuse(site)
    done = typed_check(site, arguments.code or "", vars(arguments))
    site.close()
    print(done.sentence)
    return 0 if done.fit else 1


def _meters(site: Site, code: str | None) -> _Meters:
    from tankwalk.practice.meters.meter_view import shown

    now = site.now()
    return _Meters(site.plan.name, now, shown(site, now, only=code))


def _meter_lines(found: _Meters, width: int) -> list[Line]:
    from tankwalk.pages import meters as words

    return words.draw(found.meters, found.site, found.now, width, None)
