"""What is asked only where a round is typed in from paper: times of stops, and second entries."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.practice.round.agenda import Slot
from tankwalk.quantity import Quantity
from tankwalk.rows import NamedTuple


class AskStopTime(NamedTuple):
    """From paper: when this stop was walked, by its sheet."""

    title: str
    before: Instant | None
    """When the stop before was walked, or the round was begun."""

    @property
    def words(self) -> str:
        return f"{self.title}: what time does the sheet say?"

    def options(self) -> Sequence[tuple[str, str]]:
        same = [] if self.before is None else [("+", f"{self.before.hm()}, as before")]
        return [("0-9", "time, as 0715"), *same, ("-", "other initials")]


class AskWalker(NamedTuple):
    """From paper: whose initials stand at this stop."""

    title: str
    people: tuple[str, ...]

    @property
    def words(self) -> str:
        return f"{self.title}: whose initials stand there?"

    def options(self) -> Sequence[tuple[str, str]]:
        return [(str(nth), initials) for nth, initials in enumerate(self.people, 1)]


class AskSecond(NamedTuple):
    """From paper: a value that matters is typed a second time, with the first one out of sight."""

    slot: Slot
    first: Seen

    @property
    def words(self) -> str:
        return f"{self.slot.place} {self.slot.item.label}: type it a second time, from the sheet."

    @property
    def why(self) -> str:
        return "By the plan (twice = true): a slip of the finger here is seen by nothing else."

    def options(self) -> Sequence[tuple[str, str]]:
        return [("0-9", "second entry, then Enter")]


class AskWhich(NamedTuple):
    """From paper: the second entry is another one than the first. Which stands on the sheet?"""

    slot: Slot
    first: Seen
    second: Quantity

    @property
    def words(self) -> str:
        label = f"{self.slot.place} {self.slot.item.label}"
        return f"{label}: {self.first.typed}, then {self.second.typed}. Look at the sheet: which?"

    def options(self) -> Sequence[tuple[str, str]]:
        item, first = self.slot.item, self.first
        return [
            ("1", f"{item.shown(first.value or 0.0, first.typed)}, typed first"),
            ("2", f"{item.shown(self.second.value, self.second.typed)}, typed second"),
            ("*", "neither: type it again"),
        ]


OnPaper = AskStopTime | AskWalker | AskSecond | AskWhich
"""What is asked only where a round is typed in from paper."""
