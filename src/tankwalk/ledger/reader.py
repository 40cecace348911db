"""The one reader of the record: every question that can be put to it, by topic.

A topic's file is loaded when its first question is put, so that a start loads what it asks. Every
question seeks through an index or stops early (tests hold it to that), so that the record of five
years answers as fast as a day's.
"""

from __future__ import annotations

import sqlite3
from functools import cached_property
from typing import TYPE_CHECKING

from tankwalk.ledger.questions import NO_LIMIT

if TYPE_CHECKING:
    from tankwalk.ledger.corrections import CorrectionQuestions
    from tankwalk.ledger.doses import DoseQuestions
    from tankwalk.ledger.feeding import FeedingQuestions
    from tankwalk.ledger.flags import FlagQuestions
    from tankwalk.ledger.follow_ups import FollowUpQuestions
    from tankwalk.ledger.handovers import HandoverQuestions
    from tankwalk.ledger.imports import ImportQuestions
    from tankwalk.ledger.incidents import IncidentQuestions
    from tankwalk.ledger.meters import MeterQuestions
    from tankwalk.ledger.notes import NoteQuestions
    from tankwalk.ledger.paper import PaperQuestions
    from tankwalk.ledger.readings import ReadingQuestions
    from tankwalk.ledger.rounds import RoundQuestions
    from tankwalk.ledger.samples import SampleQuestions
    from tankwalk.ledger.spine import SpineQuestions
    from tankwalk.ledger.stock import StockQuestions
    from tankwalk.ledger.words import WordQuestions


class Reader:
    """All questions to one open record; each answers with what holds now, amendments applied."""

    def __init__(self, db: sqlite3.Connection, until: int = NO_LIMIT) -> None:
        self._db = db
        self._until = until

    def then(self, until: int) -> Reader:
        """The same record without the readings and checks of meters seen after a UTC second.

        All else is as it stands now.
        """
        return Reader(self._db, until)

    @cached_property
    def corrections(self) -> CorrectionQuestions:
        """What was corrected, taken back, or entered late."""
        from tankwalk.ledger.corrections import CorrectionQuestions

        return CorrectionQuestions(self._db)

    @cached_property
    def doses(self) -> DoseQuestions:
        """Chemicals that went in."""
        from tankwalk.ledger.doses import DoseQuestions

        return DoseQuestions(self._db)

    @cached_property
    def feeding(self) -> FeedingQuestions:
        """Meals, batches of live feed, samples of fish."""
        from tankwalk.ledger.feeding import FeedingQuestions

        return FeedingQuestions(self._db)

    @cached_property
    def flags(self) -> FlagQuestions:
        """Readings that were out of band, and what was done about it."""
        from tankwalk.ledger.flags import FlagQuestions

        return FlagQuestions(self._db)

    @cached_property
    def follow_ups(self) -> FollowUpQuestions:
        """Open actions, and what is not as normal."""
        from tankwalk.ledger.follow_ups import FollowUpQuestions

        return FollowUpQuestions(self._db)

    @cached_property
    def handovers(self) -> HandoverQuestions:
        """Handovers given and taken, and people's own words on them."""
        from tankwalk.ledger.handovers import HandoverQuestions

        return HandoverQuestions(self._db)

    @cached_property
    def imports(self) -> ImportQuestions:
        """Files that were imported, and their values."""
        from tankwalk.ledger.imports import ImportQuestions

        return ImportQuestions(self._db)

    @cached_property
    def incidents(self) -> IncidentQuestions:
        """What was done about flags, calls, and looks at one place."""
        from tankwalk.ledger.incidents import IncidentQuestions

        return IncidentQuestions(self._db)

    @cached_property
    def meters(self) -> MeterQuestions:
        """Checks of meters, suspect readings, what was read with them."""
        from tankwalk.ledger.meters import MeterQuestions

        return MeterQuestions(self._db, self._until)

    @cached_property
    def notes(self) -> NoteQuestions:
        """Words about a place."""
        from tankwalk.ledger.notes import NoteQuestions

        return NoteQuestions(self._db)

    @cached_property
    def paper(self) -> PaperQuestions:
        """Rounds typed in from paper."""
        from tankwalk.ledger.paper import PaperQuestions

        return PaperQuestions(self._db)

    @cached_property
    def readings(self) -> ReadingQuestions:
        """Values of items at places, and how derived ones were worked out."""
        from tankwalk.ledger.readings import ReadingQuestions

        return ReadingQuestions(self._db, self._until)

    @cached_property
    def rounds(self) -> RoundQuestions:
        """Rounds opened and signed."""
        from tankwalk.ledger.rounds import RoundQuestions

        return RoundQuestions(self._db)

    @cached_property
    def samples(self) -> SampleQuestions:
        """Fish looked at one by one."""
        from tankwalk.ledger.samples import SampleQuestions

        return SampleQuestions(self._db)

    @cached_property
    def spine(self) -> SpineQuestions:
        """The entries themselves: the newest, the plan in force, what was amended."""
        from tankwalk.ledger.spine import SpineQuestions

        return SpineQuestions(self._db)

    @cached_property
    def stock(self) -> StockQuestions:
        """Fish that came, went, were counted or died."""
        from tankwalk.ledger.stock import StockQuestions

        return StockQuestions(self._db)

    @cached_property
    def words(self) -> WordQuestions:
        """All that people wrote."""
        from tankwalk.ledger.words import WordQuestions

        return WordQuestions(self._db)
