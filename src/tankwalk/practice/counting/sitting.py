"""A count on its way into the record: every number kept as it is typed, one entry at the end.

While it goes on it is a note that each number replaces by a new one, so that nothing typed is
lost; the entry that keeps the count takes the place of the last such note.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.ledger.entries import Batch, Counted, Detail, Entry, Movement, Note
from tankwalk.ledger.feeding import BatchEvent
from tankwalk.practice.counting import pad
from tankwalk.practice.counting.pad import About, Count, Out, Sort, Worked
from tankwalk.practice.counting.under_way import GO_ON_HOURS, UNDER_WAY, Left, read, reason
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple


class Draft(NamedTuple):
    """A count under way as the record holds it: its note, and whose it is."""

    n: int
    begun: Count
    who: str
    at: Instant
    what: str = ""
    """A word of `stock.What` where fish of a tank are counted."""


def drafts(site: Site) -> list[Draft]:
    """Counts under way that can be gone on with, newest first."""
    now = site.now()
    found = []
    for note in site.reader.notes.since(now.utc - GO_ON_HOURS * 3600):
        left = read(note)
        if left is None:
            continue
        seen = site.reader.feeding.counts([note.n]).get(note.n, [])
        if not seen:
            continue
        about = About(Sort(left.sort), seen[0].ml, seen[0].dilution, liters=left.liters)
        about = about_of(site, left.of, about)
        count = pad.read_back(about, {one.what: one.counts for one in seen}, left.marks)
        found.append(Draft(note.n, count, note.who, note.at, left.what))
    return found


def about_of(site: Site, of: str, about: About) -> About:
    """What a count is for, with the tank or the batch it is of and what the record knows of it."""
    if not of:
        return about
    if site.plan.find_tank(of) is not None:
        return about._replace(place=of)
    if about.sort is Sort.HATCH:
        return about._replace(batch=of, lot=of)
    about = about._replace(batch=of)
    for one in site.reader.feeding.batch(of):
        if one.event == BatchEvent.SET:
            about = about._replace(lot=one.lot, grams=one.grams)
        if one.litres is not None:
            about = about._replace(liters=one.litres)
    return about


class Sitting:
    """One person at one count."""

    def __init__(self, site: Site, who: str, about: About, what: str = "") -> None:
        """`what` is a word of `stock.What` where fish of a tank are counted."""
        self.site, self.who, self.what = site, site.signs(who), what
        self.count = Count(about)
        self._draft: int | None = None
        before = next((one for one in drafts(site) if _same(one.begun.about, about)), None)
        if before is not None:
            self._draft = before.n
            size = before.begun.about
            about = about._replace(ml=size.ml, dilution=size.dilution)
            self.count = before.begun._replace(about=about)

    def hand_to(self, who: str) -> None:
        """Somebody else goes on, under their own initials from the next number on."""
        self.who = self.site.signs(who)

    @property
    def worked(self) -> Worked | None:
        """What was counted comes to."""
        return pad.work(self.count)

    def _take(self, count: Count) -> None:
        """On with another count, kept first."""
        self._draft = self._noted(count)
        self.count = count

    def add(self, number: int) -> None:
        """Keep one more number."""
        self._take(pad.add(self.count, number))

    def again(self) -> None:
        """The sub-sample one stands at is counted again; both stay."""
        self._take(pad.again(self.count))

    def leave_out(self, why: Out) -> None:
        """Leave the sub-sample one stands at out, with a reason."""
        self._take(pad.leave_out(self.count, why))

    def undo(self) -> None:
        """Take the newest number back."""
        self._take(pad.undo(self.count))

    def move(self, way: int) -> None:
        """To the sub-sample before or after."""
        self.count = pad.move(self.count, way)

    def _noted(self, count: Count) -> int | None:
        """Keep the count as it stands, in place of what stood before."""
        now, about = self.site.now(), count.about
        kept = counted(count, whole=True)
        if not kept:
            if self._draft is not None:
                self.site.record(
                    Entry("void", self.who, now, now, SITE, amends=self._draft, reason="taken back")
                )
            return None
        left = Left(about.sort.value, pad.marks(count), about.of, about.liters, self.what)
        entry = Entry(
            "note", self.who, now, now, about.place or SITE, amends=self._draft, reason=reason(left)
        )
        words = f"{UNDER_WAY.capitalize()}: {about.of} {about.sort.value}".replace("  ", " ")
        return self.site.record(entry, Note(words), *kept)

    def keep(self, words: str, movement: str = "", why: str | None = None) -> int:
        """Keep the count as one entry, in place of what stood of it; `words` tell it.

        `movement` is a word of `stock.What` for fish of a tank, `why` the reason then. The
        entry's number. Refusal where there is nothing to keep.
        """
        worked = self.worked
        if worked is None or self.count.part:
            raise Refusal("Nothing is kept yet: type the number of this one first.")
        now, about = self.site.now(), self.count.about
        detail = self._detail(worked, words, movement)
        kind = {Batch: "batch", Movement: "movement", Note: "note"}[type(detail)]
        entry = Entry(kind, self.who, now, now, about.place or SITE, amends=self._draft, reason=why)
        n = self.site.record(entry, detail, *counted(self.count))
        self._draft = None
        return n

    def _detail(self, worked: Worked, words: str, movement: str) -> Batch | Movement | Note:
        """What the count tells of: a batch, the fish of a tank, or nothing but itself."""
        about = self.count.about
        if movement and worked.total is not None:
            half = pad.fish_error(self.count).half
            return Movement(movement, round(worked.total), round(half, 1), words)
        if about.batch is None:
            return Note(words)
        out = "; ".join(
            f"left out {'/'.join(map(str, one.counts))}: {one.out.value}"
            for one in self.count.samples
            if one.out is not None
        )
        hatch = None if worked.hatch_percent is None else round(worked.hatch_percent, 1)
        if about.sort is Sort.HATCH:
            return Batch(about.batch, BatchEvent.TEST_HATCH, about.lot, hatch_percent=hatch,
                         text=out or None)  # fmt: skip
        return Batch(
            about.batch,
            BatchEvent.COUNT,
            litres=about.liters,
            per_ml=float(number_text(float(f"{worked.per_ml:.4g}"))),
            hatch_percent=hatch,
            text=out or None,
        )


def counted(count: Count, *, whole: bool = False) -> Sequence[Detail]:
    """The sub-samples as details of an entry."""
    about = count.about
    return [
        Counted(what, about.ml, about.dilution, counts)
        for what, counts in pad.written(count, whole=whole)
    ]


def _same(one: About, other: About) -> bool:
    return (one.sort, one.of) == (other.sort, other.of)
