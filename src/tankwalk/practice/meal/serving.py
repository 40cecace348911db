"""What the feed walk writes: feed given, feed not given, and what is taken back.

Each is one entry with the planned meal it belongs to and what of which batch went in.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.entries import Detail, Entry, Meal, Note, Poured, Served
from tankwalk.ledger.feeding import MealSeen
from tankwalk.practice.judging.withdrawn import UNDONE
from tankwalk.practice.meal.stops import Pour
from tankwalk.practice.site import Site


class Serving:
    """Writes one person's entries of one planned meal; `at` is when it is given, None for now."""

    def __init__(self, site: Site, meal: Instant, who: str, at: Instant | None = None) -> None:
        self.site = site
        self.meal = meal
        self.who = who
        self.at = at

    def given(
        self,
        place: str,
        feed: str,
        amount: float,
        unit: str,
        planned: float | None,
        pours: Sequence[Pour],
        amends: MealSeen | None = None,
        reason: str | None = None,
    ) -> int:
        """Feed that went in; a correction keeps the time of what it amends."""
        entry = self._entry("meal", place)
        if amends is not None:
            entry = entry._replace(observed=amends.at, amends=amends.n, reason=reason)
        details: list[Detail] = [
            Meal(feed, round(amount, 3), unit, planned),
            Served(self.meal.utc),
        ]
        details += [Poured(one.batch, round(one.ml, 2), one.per_ml) for one in pours if one.ml > 0]
        return self.site.record(entry, *details)

    def none(self, place: str, feed: str, unit: str, why: str, *, lasting: bool = False) -> int:
        """No feed and why: at this meal alone, or with `lasting` from now on."""
        meal = Meal(feed, 0.0, unit, event=why)
        details = () if lasting else (Served(self.meal.utc),)
        return self.site.record(self._entry("meal", place), meal, *details)

    def note(self, place: str, words: str) -> int:
        """Words about a tank at this meal."""
        return self.site.record(self._entry("note", place), Note(words))

    def undo(self, old: MealSeen) -> int:
        """Void an entry: both stay in the record, and the old one no longer stands."""
        now = self.site.now()
        return self.site.record(
            Entry("void", self.who, now, now, old.place, amends=old.n, reason=UNDONE)
        )

    def _entry(self, kind: str, place: str) -> Entry:
        now = self.site.now()
        return Entry(kind, self.who, self.at or now, now, place)
