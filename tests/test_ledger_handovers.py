"""Handovers in the record: given, taken, said back, and people's own words on them."""

from __future__ import annotations

from ledger_support import at, fresh, void
from tankwalk.ledger.entries import Handover, Note, SaidBack
from tankwalk.ledger.handovers import HandoverSeen, SaidSeen, Untaken
from tankwalk.ledger.store import Ledger
from test_queries import plain


def give(ledger: Ledger, minutes: float, page: str = "page", who: str = "AB") -> int:
    return ledger.append(*plain("handover", minutes, Handover("give", page), who=who))


def take(ledger: Ledger, given: int, minutes: float, *said: SaidBack, who: str = "CD") -> int:
    detail = Handover("take", "read", "in person", given)
    return ledger.append(*plain("handover", minutes, detail, *said, who=who))


def word(ledger: Ledger, minutes: float, part: str, words: str) -> int:
    """Words for a handover."""
    return ledger.append(*plain("note", minutes, Note(words), reason=f"handover: {part}"))


def test_the_last_handover_says_who_took_it_when_how_and_what_was_said_back() -> None:
    with fresh() as ledger:
        assert ledger.reader.handovers.last() is None
        old = give(ledger, 0, "old page")
        said = (SaidBack("Which tank is worst?", "T07", 2), SaidBack("What is due?", "06:50", 1))
        take(ledger, old, 9, *said)
        assert ledger.reader.handovers.last() == HandoverSeen(
            old, "old page", at(0), "AB", at(9), "CD", "in person",
            (SaidSeen("What is due?", "06:50", 1), SaidSeen("Which tank is worst?", "T07", 2)),
        )  # fmt: skip
        new = give(ledger, 60, "new page", "CD")
        assert ledger.reader.handovers.last() == HandoverSeen(
            new, "new page", at(60), "CD", None, None, None
        )
        for minutes, who in ((70, "EF"), (71, "AB")):
            take(ledger, new, minutes, who=who)
        last = ledger.reader.handovers.last()
        assert last is not None
        assert (last.taken_by, last.taken) == ("EF", at(70)), "who took it first has the room"


def test_a_handover_that_is_taken_back_was_not_given() -> None:
    with fresh() as ledger:
        old, new = give(ledger, 0), give(ledger, 60)
        ledger.append(void(61, new))
        last = ledger.reader.handovers.last()
        assert last is not None
        assert last.n == old


def test_a_handover_was_never_taken_when_the_next_one_came_first() -> None:
    with fresh() as ledger:
        one, two, three = give(ledger, 0), give(ledger, 60, who="CD"), give(ledger, 120)
        take(ledger, one, 5)
        assert ledger.reader.handovers.never_taken(0) == [Untaken(two, at(60), "CD", three)]
        assert ledger.reader.handovers.never_taken(at(61).utc) == []
        late = take(ledger, two, 130)
        assert ledger.reader.handovers.never_taken(0) == []
        ledger.append(void(131, late))
        assert [u.n for u in ledger.reader.handovers.never_taken(0)] == [two]


def test_the_newest_handover_that_was_taken_is_known() -> None:
    with fresh() as ledger:
        assert ledger.reader.handovers.last_taken() == 0
        one = give(ledger, 0)
        assert ledger.reader.handovers.last_taken() == 0
        take(ledger, one, 1)
        two = give(ledger, 60)
        assert ledger.reader.handovers.last_taken() == one
        taken = take(ledger, two, 61)
        assert ledger.reader.handovers.last_taken() == two
        ledger.append(void(62, taken))
        assert ledger.reader.handovers.last_taken() == one


def test_words_for_a_handover_are_told_by_part_and_other_notes_are_not() -> None:
    with fresh() as ledger:
        one = word(ledger, 0, "STOCK", "two cylinders left")
        ledger.append(*plain("note", 1, Note("larvae on the wall"), place="T02"))
        ledger.append(*plain("note", 2, Note("by the way"), reason="asked by the lead"))
        two = word(ledger, 3, "EXPECT", "if the drum stops: restart it")
        found = ledger.reader.handovers.words(0)
        assert [(w.n, w.part, w.text, w.at, w.who) for w in found] == [
            (one, "STOCK", "two cylinders left", at(0), "AB"),
            (two, "EXPECT", "if the drum stops: restart it", at(3), "AB"),
        ]
        assert [w.n for w in ledger.reader.handovers.words(one)] == [two]
        ledger.append(void(4, two))
        assert [w.n for w in ledger.reader.handovers.words(0)] == [one]
