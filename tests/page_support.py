"""What the pages say of what practice found: its facts in words, for tests that read a page."""

from __future__ import annotations

from collections.abc import Iterable

from tankwalk.clock import Instant
from tankwalk.pages import due_words, handover
from tankwalk.practice.handover import drafting
from tankwalk.practice.handover.drafting import HandoverDraft
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import Due

Said = list[tuple[str, str]]
"""What is due and how it stands, in words."""


def due_said(found: Iterable[Due], now: Instant) -> Said:
    """What the board says of things that are due."""
    return [(due_words.what(one), due_words.said(one, now)) for one in found]


def section(site: Site, name: str) -> list[str]:
    """The lines of one section of the handover as drafted now."""
    return section_of(drafting.draft(site), name)


def section_of(page: HandoverDraft, name: str) -> list[str]:
    """The lines of one section of a draft."""
    return [one.words for one in handover.said(page.section(name), page.now)]


def give(site: Site, who: str, page: HandoverDraft | None = None) -> int:
    """Give the room with a page, else with the one that is drafted now."""
    return drafting.give(site, who, handover.given(page or drafting.draft(site)))
