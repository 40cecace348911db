"""What the feed walk writes: feed given, feed not given, and what is taken back.

Each is one entry with the planned meal it belongs to and what of which batch went in.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.entries import Entry, Note, Poured
from tankwalk.ledger.feeding import MealSeen
from tankwalk.practice.feeding import giving
from tankwalk.practice.feeding.sharing import Pour
from tankwalk.practice.judging.standing.withdrawn import UNDONE
from tankwalk.practice.meal.stops import Portion
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
        portion: Portion,
        amount: float,
        pours: Sequence[Pour],
        amends: MealSeen | None = None,
        reason: str | None = None,
    ) -> int | None:
        """Feed that went in; a correction keeps the time of what it amends."""
        planned = 0.0 if portion.extra else portion.full
        poured = [Poured(p.batch, round(p.ml, 2), p.per_ml) for p in pours if p.ml > 0]
        return giving.give(
            self.site, self.who, place, portion.feed, round(amount, 3), portion.unit, sure=True,
            planned=planned, meal_at=self.meal, poured=poured, when=self.at, amends=amends,
            reason=reason,
        ).n  # fmt: skip

    def none(self, place: str, portion: Portion, why: str, *, lasting: bool = False) -> int:
        """No feed and why: at this meal alone, or with `lasting` from now on."""
        return giving.pause(
            self.site, self.who, place, why, meal_at=None if lasting else self.meal,
            feed=portion.feed, unit=portion.unit, planned=portion.full, when=self.at,
        )  # fmt: skip

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
