"""One meal as one person has it in hand: its tanks, what it holds, and where they stand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.practice.feeding.dispensing import meal_list
from tankwalk.practice.feeding.sharing import Pour
from tankwalk.practice.judging.verdict import Judged
from tankwalk.practice.meal import listing
from tankwalk.practice.meal.held import EARLIEST_HOURS, Held, held
from tankwalk.practice.meal.questions import Question
from tankwalk.practice.meal.serving import Serving
from tankwalk.practice.meal.stops import Asked, Line, Portion, Stop, another
from tankwalk.practice.round.keeping import Keeping
from tankwalk.practice.round.questions import Reply
from tankwalk.practice.site import Site
from tankwalk.quantity import Quantity

if TYPE_CHECKING:
    from tankwalk.practice.judging.assess import Weighing


class AtMeal:
    """Holds a meal; `given_at` is when it is given, None for now."""

    def __init__(
        self, site: Site, meal: Instant, who: str, given_at: Instant | None = None
    ) -> None:
        self.site = site
        self.meal = meal
        self.who = who
        self.given_at = given_at
        self.serving = Serving(site, meal, who, given_at)
        self.keeping = Keeping(site, None, who, given_at)
        self.question: Question | None = None
        self.said = Reply()
        self.acts = 0
        """How often something changed: while it is the same, so is the view."""
        self.together: dict[int, tuple[int, ...]] = {}
        """Entries that one key made, by each of them: they are taken back together."""
        self._weighing: Weighing | None = None
        self._loaded = 0
        self.stops: tuple[Stop, ...] = ()
        self.held: Held
        self.where = (0, 0)
        """Which stop, and which of its lines; past the last stop is the end of the meal."""
        self.read_anew()

    def read_anew(self) -> None:
        """Read the list and the record; what a person chose besides the list stays."""
        code = "" if self.at_end else self.stop.tank.code
        chosen = {
            (stop.tank.code, one.feed): one
            for stop in self.stops
            for one in stop.portions
            if one.extra
        }
        self._loaded = self.site.reader.spine.others_wrote()
        feeding, since = self.site.reader.feeding, self.meal.utc - EARLIEST_HOURS * 3600
        found = meal_list(self.site, self.meal)
        self.stops = listing.stops(self.site.plan, found, feeding.poured(since))
        self.held = held(self.site, self.meal, self.stops)
        for place, feed in self.held.given:
            self._add(place, feed)
        for (place, _), one in chosen.items():
            self._put(place, one)
        index = next((i for i, s in enumerate(self.stops) if s.tank.code == code), None)
        if index is not None:
            line = min(self.where[1], max(0, len(self.stops[index].lines) - 1))
            self.where = index, line
        self.acts += 1

    def _add(self, place: str, feed: str) -> None:
        """A feed that went in at a tank and is not on the list."""
        planned = next((one for one in self.site.plan.feeds if one.code == feed), None)
        if planned is not None:
            self._put(place, listing.unlisted(planned, self.pours_of(feed)))

    def _put(self, place: str, portion: Portion) -> None:
        self.stops = tuple(
            another(one, portion) if one.tank.code == place else one for one in self.stops
        )

    def take_off(self, stop: Stop, portion: Portion) -> None:
        """A feed that a person chose besides the list and that did not go in after all."""
        index, _ = self.where
        lines = tuple(one for one in stop.lines if one != portion)
        self.stops = tuple(
            one._replace(lines=lines) if one.tank.code == stop.tank.code else one
            for one in self.stops
        )
        self.arrive(index)

    def look_up(self) -> None:
        """Read what the meal holds now; before writing, and after."""
        self.held = held(self.site, self.meal, self.stops, self.held)
        self.acts += 1

    def take_in(self, line: Asked, seen: Seen | None) -> None:
        """A reading that was kept, or None for one that was not taken."""
        key = line.slot.place, line.slot.item.code
        self.held = self.held._replace(seen={**self.held.seen, key: seen})

    def let_go(self, seen: Seen) -> None:
        """A reading that was taken back: it is asked again."""
        rest = {k: v for k, v in self.held.seen.items() if v is None or v.n != seen.n}
        self.held = self.held._replace(seen=rest)

    # ---- where one stands

    @property
    def at_end(self) -> bool:
        return self.where[0] >= len(self.stops)

    @property
    def stop(self) -> Stop:
        return self.stops[self.where[0]]

    @property
    def line(self) -> Line | None:
        """The line one stands at; None at the end, and at a tank that is not asked for anything."""
        if self.at_end or self.where[1] >= len(self.stop.lines):
            return None
        return self.stop.lines[self.where[1]]

    def arrive(self, index: int) -> None:
        """Stand at a tank: at its first open line."""
        lines = self.stops[index].lines if index < len(self.stops) else ()
        still = (i for i, line in enumerate(lines) if self.held.open(self.stops[index], line))
        self.where = index, next(still, 0)

    def go_to(self, tank: str) -> None:
        """Stand at a tank by its code."""
        for index, one in enumerate(self.stops):
            if one.tank.code == tank:
                self.arrive(index)
                self.acts += 1

    def stand_at_the_next_open(self, stop: int, line: int) -> None:
        """Stand at the next open line after one, round the end; at the end where none is."""
        still = [
            (i, j)
            for i, one in enumerate(self.stops)
            for j, each in enumerate(one.lines)
            if self.held.open(one, each)
        ]
        end = len(self.stops), 0
        self.where = next((at for at in still if at > (stop, line)), still[0] if still else end)
        self.question = None

    def newest_at(self) -> tuple[int, int]:
        """The line that was answered last at this meal: who comes back stands after it."""
        found = (0, (-1, -1))
        for i, stop in enumerate(self.stops):
            for j, line in enumerate(stop.lines):
                found = max(found, (self._newest(stop, line), (i, j)))
        return found[1] if found[0] else (-1, -1)

    def _newest(self, stop: Stop, line: Line) -> int:
        """The newest entry that answers a line; 0 where none does."""
        if isinstance(line, Asked):
            seen = self.held.seen.get((stop.tank.code, line.slot.item.code))
            return 0 if seen is None else seen.n
        none = self.held.none.get((stop.tank.code, line.feed))
        entries = [*self.held.gave(stop, line), *([] if none is None else [none])]
        return max((one.n for one in entries), default=0)

    def go_on(self) -> None:
        """Stand at what comes next."""
        self.stand_at_the_next_open(*self.where)

    def ask(self, question: Question) -> Reply:
        self.question = question
        return Reply()

    # ---- what there is

    def pours_of(self, feed: str) -> tuple[Pour, ...]:
        """A batch that a feed is poured from at this meal, as the list has it."""
        every = (one for stop in self.stops for one in stop.portions)
        return next((one.pours[:1] for one in every if one.feed == feed and one.pours), ())

    def judge(self, line: Asked, read: Quantity, *, sure: bool) -> Judged:
        """Weigh a reading as on any round, beside what the other tanks had at this meal."""
        if self._weighing is None:
            from tankwalk.practice.judging.assess import Weighing

            self._weighing = Weighing(self.site, None)
        slot = line.slot
        before = self.held.looks.get((slot.place, slot.item.code), ())
        kept = {key: (one,) for key, one in self.held.seen.items() if one is not None}
        last = before[-1] if before else None
        return self._weighing.weigh(
            slot.place, slot.item, slot.band, slot.instrument, read.value, read.typed, last, kept,
            sure=sure, below=read.below,
        )  # fmt: skip
