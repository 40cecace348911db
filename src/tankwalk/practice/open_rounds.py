"""Rounds that were begun and can still be taken up: what is kept meanwhile belongs to one."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.plan.model import Checklist
from tankwalk.practice.site import Site

OPEN_HOURS = 18.0
"""A round left unsigned longer than this is not taken up again. Common practice, no source."""


def open_rounds(site: Site, now: Instant) -> list[RoundSeen]:
    """Rounds that are not signed and were begun at most `OPEN_HOURS` ago, the newest first.

    One that is typed in from paper is none of them: nobody walks it now.
    """
    return [
        one
        for one in site.reader.rounds.newest()
        if one.signed is None and one.typist is None and now.hours_since(one.opened) <= OPEN_HOURS
    ]


NEWEST = 60
"""So many rounds are looked through for one that is typed in from paper."""


def from_paper(site: Site, checklist: Checklist | None = None) -> list[RoundSeen]:
    """Rounds that are being typed in from paper and are not signed, the newest first."""
    return [
        one
        for one in site.reader.rounds.newest(NEWEST)
        if one.signed is None
        and one.typist is not None
        and (checklist is None or one.checklist == checklist.code)
    ]
