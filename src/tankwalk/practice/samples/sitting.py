"""A sitting: fish of one tank looked at one by one, every number on disk as it is typed.

Each number is an entry "fish" that takes the place of what was known of the fish before; what is
asked next follows from the record, so that a sitting goes on at the very fish after a plug was
pulled. Ending it writes the samples that rations and pages go by, and what became of the fish.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.ledger.entries import Entry, Fish, Movement, Note, Sample
from tankwalk.ledger.entries import Sitting as Sat
from tankwalk.ledger.samples import Event, Fate, FishSeen, SittingSeen
from tankwalk.ledger.stock import What
from tankwalk.practice.feeding import rations
from tankwalk.practice.samples import doubts, fish, since
from tankwalk.practice.samples.doubts import Doubt
from tankwalk.practice.samples.fish import ASKED_AGAIN, Look, Worked
from tankwalk.practice.samples.sampling import GO_ON_HOURS
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.clock import Instant

ENDED_LATE_HOURS = 1.0
"""A sitting that is ended so long after its last fish is dated by that fish. Common practice."""

LET_GO = "no sample: never ended"

NOT_SECOND = "no second number"
"""Why a number in doubt stays out where the sitting ended before it was measured again."""


class Asked(NamedTuple):
    """Which fish is asked for, and what of it; `again` where it had been looked at before."""

    nth: int
    look: Look
    again: bool = False


class Ration(NamedTuple):
    """What a tank gets of a feed a day before its new mass, and after it."""

    feed: str
    before: float | None
    after: float
    unit: str


class Ended(NamedTuple):
    """What the end of a sitting wrote: samples, what became of the fish, and rations refreshed."""

    samples: tuple[Sample, ...]
    fate: Fate
    kept: int
    died: int
    rations: tuple[Ration, ...]


def going_on(site: Site) -> list[SittingSeen]:
    """Sittings that were not ended and can be gone on with, newest first."""
    now = site.now()
    return [one for one in site.reader.samples.open_sittings() if now.hours_since(one.at) > -1]


def let_go(site: Site, who: str, seen: SittingSeen) -> None:
    """End a sitting that becomes no sample: it is taken back, its fish stay in the record."""
    now = site.now()
    entry = Entry("void", site.signs(who), now, now, seen.place, amends=seen.n, reason=LET_GO)
    site.record(entry)


def begin(site: Site, who: str, tank: str, looks: tuple[Look, ...], planned: int) -> FishSitting:
    """Begin to look at fish of a tank."""
    now = site.now()
    what = " ".join(look.value for look in looks)
    opening = Sat(Event.OPEN, what, planned)
    n = site.record(Entry("sampling", site.signs(who), now, now, tank), opening)
    [seen] = [one for one in site.reader.samples.open_sittings() if one.n == n]
    return FishSitting(site, site.signs(who), seen)


class FishSitting:
    """One sitting at one tank, gone on with by one person."""

    def __init__(self, site: Site, who: str, seen: SittingSeen) -> None:
        self.site, self.who, self.seen = site, who, seen
        self.looks = fish.looks_of(seen.what)
        self.before = since.before(site, seen.place, seen.at, seen.n)
        self.fish: list[FishSeen] = []
        self.doubt: Doubt | None = None
        self._passed: set[tuple[int, Look]] = set()
        self._again: list[Asked] = []
        self._warm: tuple[date, dict[date, float]] | None = None
        self._undo: list[tuple[int, FishSeen | None]] = []
        self._read()
        self._doubt_of_before()

    def hand_to(self, who: str) -> None:
        """Somebody else goes on, under their own initials from the next number on."""
        self.who = self.site.signs(who)

    @property
    def taken(self) -> Instant:
        """When its fish were looked at: now while one looks, else the moment of the newest."""
        now = self.site.now()
        newest = max((one.at for one in self.fish), key=lambda at: at.utc, default=now)
        return newest if now.hours_since(newest) > ENDED_LATE_HOURS else now

    @property
    def of_another_day(self) -> bool:
        """Whether it was begun so long ago that a fish looked at now is no fish of its day."""
        return self.site.now().hours_since(self.seen.at) > GO_ON_HOURS

    def _read(self) -> None:
        """The fish as the record holds them now; another may write at the same sitting."""
        self.fish = self.site.reader.samples.fish(self.seen.n)

    def _doubt_of_before(self) -> None:
        """Take up again the question that a number in doubt was left at."""
        last = self.fish[-1] if self.fish else None
        if last is None or last.left_out != ASKED_AGAIN:
            return
        look = next(
            (one for one in reversed(self.looks) if fish.value_of(last, one) is not None), None
        )
        value = None if look is None else fish.value_of(last, look)
        if look is not None and value is not None:
            expected = self.before.expected(look, self.site.now())
            again = doubts.doubt(self.fish, last.nth, look, value, expected)
            self.doubt = again or Doubt(last.nth, look, value, doubts.Why.FAR, value)

    def warm(self, start: Instant, end: Instant) -> dict[date, float]:
        """The daily means of the tank's water since a moment, read once a day of sitting."""
        if self._warm is None or self._warm[0] != end.day:
            self._warm = end.day, since.warmth(self.site, self.seen.place, start, end)
        return self._warm[1]

    # ---- what is asked

    @property
    def worked(self) -> Worked:
        """What the fish so far come to."""
        return fish.work(self.fish)

    @property
    def asked(self) -> Asked:
        """What is asked now."""
        if self.doubt is not None:
            return Asked(self.doubt.nth, self.doubt.look, again=True)
        if self._again:
            return self._again[0]
        last = self.fish[-1] if self.fish else None
        if last is not None and last.left_out is None:
            for look in self.looks:
                open_ = fish.value_of(last, look) is None and (last.nth, look) not in self._passed
                if open_:
                    return Asked(last.nth, look)
        return Asked(1 if last is None else last.nth + 1, self.looks[0])

    def _still(self, asked: Asked) -> Asked:
        """What is asked now that the record was read again; another may have written here."""
        self._read()
        now = self.asked
        if now.look is not asked.look:
            raise Refusal(
                f"Another entry came in between: {now.look.value} of fish {now.nth} is asked now. "
                "Nothing was kept."
            )
        return now

    def of(self, nth: int) -> FishSeen | None:
        """A fish by its number."""
        return next((one for one in self.fish if one.nth == nth), None)

    # ---- answers

    def enter(self, words: str) -> None:
        """Keep a number of a measured look, or hold it for a second one where it is in doubt.

        Refusal where it cannot be read or measured; then nothing was kept.
        """
        asked = self.asked
        look = asked.look
        if not look.measured:
            raise Refusal("+ as it should be, - it is not: no number is kept here.")
        value = quantity.read(words, look.unit, most=doubts.MOST[look]).value
        if not 0 < value <= doubts.MOST[look]:
            raise Refusal(f"{value:g} {look.unit} is no fish: nothing was kept.")
        if self.doubt is not None:
            self._second(self.doubt, value)
            return
        asked = self._still(asked)
        expected = self.before.expected(look, self.site.now())
        this = self.of(asked.nth)
        found = doubts.doubt(self.fish, asked.nth, look, value, expected)
        why = "measured again" if asked.again and this is not None else None
        if found is None:
            self._write(asked.nth, look, value, reason=why)
            self._on(asked)
            return
        self._write(asked.nth, look, value, out=ASKED_AGAIN, reason=why)
        self.doubt = found

    def _second(self, doubt: Doubt, value: float) -> None:
        """A second number of a look in doubt."""
        look = doubt.look
        if doubts.agree(look, doubt.first, value):
            both = f"{number_text(doubt.first)} and {number_text(value)} {look.unit}"
            self._decide(value, f"asked again, {doubt.why.value}: both agree, {both}")
            return
        both = f"{number_text(doubt.first)}, then {number_text(value)}"
        self._write(doubt.nth, look, value, out=ASKED_AGAIN, reason=f"asked again: {both}")
        self.doubt = doubt._replace(guesses=(), second=value)

    def choose(self, number: int) -> None:
        """Take one of the numbers a doubt offers, from 1."""
        doubt = self.doubt
        if doubt is None or not 1 <= number <= len(doubt.choices):
            raise Refusal(f"There is no number {number} in the list.")
        value = doubt.choices[number - 1]
        offered = ", ".join(map(number_text, doubt.choices))
        self._decide(value, f"asked again, {doubt.why.value}: {number_text(value)} of {offered}")

    def _decide(self, value: float, reason: str) -> None:
        doubt = self.doubt
        if doubt is not None:
            asked = self._again[0] if self._again else self.asked
            self._write(doubt.nth, doubt.look, value, reason=reason)
            self.doubt = None
            self._on(asked)

    def measure_again(self) -> None:
        """A doubt that offers numbers: type a new one in place of choosing."""
        if self.doubt is not None:
            first = self.doubt.first if self.doubt.second is None else self.doubt.second
            self.doubt = self.doubt._replace(first=first, guesses=(), second=None)

    def is_right(self, right: bool) -> None:
        """A look that is no number: as it should be, or not."""
        asked = self.asked
        if asked.look.measured:
            raise Refusal(f"A number in {asked.look.unit} is asked here.")
        asked = self._still(asked)
        good = asked.look.as_it_should_be
        this = self.of(asked.nth)
        why = "looked at again" if asked.again and this is not None else None
        self._write(asked.nth, asked.look, good if right else 1 - good, reason=why)
        self._on(asked)

    def pass_by(self) -> None:
        """This look is not taken of this fish: the next one is asked."""
        asked = self.asked
        if self.doubt is not None:
            raise Refusal("Measure it again, or choose: this number is in doubt.")
        if self._again:
            self._on(asked)
            return
        if self.of(asked.nth) is None and asked.look is self.looks[-1]:
            raise Refusal("Nothing was taken of this fish yet: + ends, or type it.")
        if self.of(asked.nth) is None:
            # A fish without its first look: the row is there, so that the next look has a place.
            self._read()
            self._put(Fish(self.seen.n, asked.nth), None)
        self._passed.add((asked.nth, asked.look))

    def _on(self, asked: Asked) -> None:
        """On to what is asked next of a fish that is looked at again."""
        if self._again and self._again[0] == asked:
            self._again.pop(0)
            if not self._again:
                self._doubt_of_before()

    def again(self, nth: int) -> None:
        """Look at a fish again, from its first look: what was found stays in the record."""
        if self.of(nth) is None:
            raise Refusal(f"There is no fish {nth} yet.")
        self.doubt = None
        self._again = [Asked(nth, look, again=True) for look in self.looks]

    @property
    def at_again(self) -> bool:
        """Whether a fish is looked at again just now."""
        return bool(self._again)

    def leave_out(self, nth: int, why: str) -> None:
        """Leave a fish out of the sums, with the reason; it stays in the record."""
        this = self.of(nth)
        if this is None:
            raise Refusal("No fish is entered yet.")
        if self.doubt is not None and self.doubt.nth == nth:
            self.doubt = None
        self._again = [one for one in self._again if one.nth != nth]
        self._put(_detail(self.seen.n, this)._replace(left_out=why), this, reason=why)

    def undo(self) -> str:
        """Take the newest number back, and say which."""
        self._read()
        while self._undo:
            nth, earlier = self._undo.pop()
            this = self.of(nth)
            if this is not None:
                break
        else:
            if not self.fish:
                raise Refusal("No fish is entered yet.")
            this = self.fish[-1]
            nth = this.nth
            done = [one for one in self.looks if fish.value_of(this, one) is not None]
            earlier = None
            if len(done) > 1:
                without: dict[str, Any] = {done[-1].value: None, "left_out": None}
                earlier = this._replace(**without)
        self.doubt = None
        self._again = []
        self._passed = {one for one in self._passed if one[0] != nth}
        if earlier is None or not _anything(earlier):
            now = self.site.now()
            self.site.record(
                Entry("void", self.who, now, now, self.seen.place, amends=this.n, reason="undone")
            )
        else:
            self._record(_detail(self.seen.n, earlier), this, "undone")
        self._read()
        self._doubt_of_before()
        return f"Fish {nth}: the newest number is taken back."

    # ---- writing

    def _write(
        self, nth: int, look: Look, value: float, out: str | None = None, reason: str | None = None
    ) -> None:
        """Keep a value of a fish in place of what was known of it."""
        this = self.of(nth)
        known = Fish(self.seen.n, nth) if this is None else _detail(self.seen.n, this)
        found: dict[str, Any] = {look.value: value if look.measured else int(value)}
        self._put(known._replace(**found, left_out=out), this, reason)

    def _put(self, kept: Fish, this: FishSeen | None, reason: str | None = None) -> None:
        self._undo.append((kept.nth, this))
        self._record(kept, this, reason)
        self._read()

    def _record(self, kept: Fish, this: FishSeen | None, reason: str | None) -> None:
        now = self.site.now()
        amends = None if this is None else this.n
        entry = Entry("fish", self.who, now, now, self.seen.place, amends=amends, reason=reason)
        self.site.record(entry, kept)

    # ---- the end

    def end(self, fate: Fate, many: int, died: int, some_kept: int = 0) -> Ended:
        """End the sitting: samples for all that was looked at, and where `many` fish went.

        Of those put back, `died` did not live; they went as sampled fish do, as did `some_kept`
        that were not put back. One transaction, dated when the fish were looked at.
        Refusal where nothing was looked at.
        """
        site, tank, now = self.site, self.seen.place, self.site.now()
        self._read()
        kept = self.samples()
        if not kept:
            raise Refusal("No fish counts yet, so there is no sample to keep.")
        before, at = _rations(site, tank, now), self.taken
        with site.ledger.writing():
            for one in self.fish:
                if one.left_out == ASKED_AGAIN:
                    self.leave_out(one.nth, NOT_SECOND)
            for sample in kept:
                site.record(Entry("sample", self.who, at, now, tank), sample)
            taken = many if fate is Fate.KEPT else some_kept
            for gone, method in ((taken, "fish by fish"), (died, "died at the sampling")):
                if gone:
                    gone_as = Movement(What.SAMPLED, gone, 0.0, method)
                    site.record(Entry("movement", self.who, at, now, tank), gone_as)
            back_in = many - taken - died
            if fate is Fate.RETURNED and back_in > 0:
                back = Movement(What.RETURNED, back_in, 0.0, "fish by fish")
                site.record(Entry("movement", self.who, at, now, tank), back)
            closing = Sat(
                Event.END, " ".join(self.seen.what), len(self.fish), self.seen.n, fate.value
            )
            site.record(Entry("sampling", self.who, now, now, tank), closing)
        refreshed = tuple(
            Ration(feed, before.get(feed, (None, ""))[0], amount, unit)
            for feed, (amount, unit) in _rations(site, tank, now).items()
            if amount is not None and before.get(feed, (None, ""))[0] != amount
        )
        return Ended(kept, fate, taken + died, died, refreshed)

    def samples(self) -> tuple[Sample, ...]:
        """The samples that the fish so far make, by the plan's words and units."""
        found = []
        worked = self.worked
        for look in self.looks:
            word, unit = self._kept_as(look)
            sizes = worked.sizes(look) if look.measured else None
            share = next((one for one in worked.shares if one.look is look), None)
            if sizes is not None:
                digits = _digits(fish.standing(self.fish, look), look.unit, unit)
                mean = rations.in_unit(sizes.mean, look.unit, unit)
                sd = None if sizes.sd is None else rations.in_unit(sizes.sd, look.unit, unit)
                found.append(
                    Sample(word, sizes.n, mean=round(mean, digits),
                           sd=None if sd is None else round(sd, digits), unit=unit)
                )  # fmt: skip
            elif share is not None:
                found.append(Sample(word, share.of, with_it=share.had))
        return tuple(found)

    def _kept_as(self, look: Look) -> tuple[str, str]:
        """The plan's word for a look and the unit it is kept in."""
        for one in self.site.plan.samplings:
            if since.look_of(one.what) is look:
                return one.what, one.unit or look.unit
        return look.word, look.unit

    def bath(self, words: str) -> None:
        """Keep what is known of the bath they were held in."""
        now = self.site.now()
        reason = f"sampling bath; {self.seen.n}"
        amends = self.bath_note
        entry = Entry("note", self.who, now, now, self.seen.place, amends=amends, reason=reason)
        self.site.record(entry, Note(words))

    @property
    def bath_note(self) -> int | None:
        """The note that tells of the bath, None without a bath."""
        reason = f"sampling bath; {self.seen.n}"
        notes = self.site.reader.notes.since(self.seen.at.utc)
        return next((one.n for one in notes if one.reason == reason), None)


def _detail(sitting: int, one: FishSeen) -> Fish:
    """A fish as the record keeps it."""
    return Fish(
        sitting, one.nth, one.length, one.mass, one.bladder, one.gut, one.deformed, one.left_out
    )


def _anything(one: FishSeen) -> bool:
    """Whether anything was found in a fish."""
    return any(fish.value_of(one, look) is not None for look in Look)


def _digits(values: list[float], unit: str, kept_in: str) -> int:
    """Decimals of a mean: one more than the fish were measured to, and two at the least."""
    texts = (number_text(one) for one in values)
    most = max((len(text.partition(".")[2]) for text in texts), default=0)
    return max(2, most + 1) + (3 if unit != kept_in else 0)


def _rations(site: Site, tank: str, now: Instant) -> dict[str, tuple[float | None, str]]:
    """What a tank gets of each feed a day by what it weighs, by the feed's code."""
    here = site.plan.find_tank(tank)
    known = rations.known_now(site, now).get(tank)
    if here is None or known is None:
        return {}
    return {
        one.feed.label or one.feed.code: (one.day, one.feed.unit)
        for one in rations.owed(site.plan, here, now.day, known)
        if any(fact.what is rations.What.ALL for fact in one.facts)
        or one.missing is rations.Missing.MASS
    }
