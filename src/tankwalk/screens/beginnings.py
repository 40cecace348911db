"""What the program can begin with: a page, a round, a look, a count, a sample, a procedure."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tankwalk.ledger.rounds import RoundSeen

if TYPE_CHECKING:
    from tankwalk.practice.round.looks import Asked


class LookAt(NamedTuple):
    """What to look at first, by place and item code, and who looks."""

    asked: Asked
    who: str


class CountAt(NamedTuple):
    """What is counted first: a batch, or None to be asked; and who counts, where known."""

    batch: str | None
    who: str | None


class SampleAt(NamedTuple):
    """Whose fish are looked at one by one, by whom where known, and whether blind."""

    tank: str
    who: str = ""
    blind: bool = False


class GuidedAt(NamedTuple):
    """A guided procedure by its name: a batch under way, or which is begun; "" is asked."""

    name: str


class SheetAt(NamedTuple):
    """A paper round typed in: of which checklist, and by whom; each "" is asked."""

    checklist: str = ""
    who: str = ""


Start = str | tuple[RoundSeen, str] | LookAt | CountAt | SampleAt | GuidedAt | SheetAt
"""A screen by name, a round and who walks it, what to look at, to count, or to sample."""
