"""The season entered anew, and what the program said when: flags and what was overdue."""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import date
from pathlib import Path
from typing import NamedTuple

from tankwalk.clock import FixedClock, Instant
from tankwalk.ledger.store import FILE, Ledger, Station
from tankwalk.pages import due_words
from tankwalk.plan.judging import JudgingLimits
from tankwalk.practice.due import all_due
from tankwalk.practice.judging.standing.flags import Key, Standing
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import DueKind
from tankwalk_demo.days import DAYS, FIRST
from tankwalk_demo.recording import Recorder
from tankwalk_demo.room import SEED, plan
from tankwalk_demo.story import in_order

BORNE = JudgingLimits()
"""What an ordinary day may raise."""


class Raised(NamedTuple):
    """A flag that came up on the board, or became more serious there."""

    at: Instant
    key: Key
    flag: Flag
    place: str
    sentence: str

    @property
    def day(self) -> int:
        """The season's numbered day."""
        return (self.at.day - FIRST).days + 1


class Overdue(NamedTuple):
    """Something that the board began to say is overdue."""

    at: Instant
    kind: DueKind
    what: str
    sentence: str


TOLD = (
    DueKind.UNATTENDED,
    DueKind.HARVEST,
    DueKind.CONE,
    DueKind.HATCH,
    DueKind.MEAL,
    DueKind.METER,
    DueKind.DEVIATION,
)
"""Kinds of what is due that the replay tells of: what the incidents are made of."""

TICK_S = 900
"""What is due is looked at every quarter of an hour, while somebody may be in the room."""

AWAKE = range(6, 22)
"""Hours of the day at which somebody may be."""


class Day(NamedTuple):
    """How many flags one day raised."""

    number: int
    watch: int
    act: int

    @property
    def within_budget(self) -> bool:
        return self.watch <= BORNE.watch_a_day and self.act <= BORNE.act_a_day


class Replay:
    """Somebody looks at the board while the season is entered act by act."""

    def __init__(
        self,
        site: Site,
        heard: Callable[[Raised | Overdue], None] | None,
        days: Collection[date] | None,
    ) -> None:
        self.site = site
        self.heard = heard
        self._days = days
        self.flags: list[Raised] = []
        self.overdue: list[Overdue] = []
        self._standing: dict[Key, Standing] = {}
        self._due: set[tuple[DueKind, str]] = set()
        self._tick = 0

    def look(self) -> None:
        """See which flags came up since the last look, or became more serious."""
        now = {one.key: one for one in _wrong(self.site)}
        for key, one in now.items():
            old = self._standing.get(key)
            if old is None or (one.flag > old.flag and one.flag >= Flag.ACT):
                self.flags.append(Raised(self.site.now(), key, one.flag, one.place, one.sentence))
                self._tell(self.flags[-1])
        self._standing = now

    def pass_time(self, until: int, offset: int) -> None:
        """Let the clock run to a UTC second, looking at what becomes overdue."""
        if self._tick == 0:
            self._tick = until - until % TICK_S
        while self._tick < until:
            now = Instant(self._tick, offset)
            if now.wall.hour in AWAKE and (self._days is None or now.day in self._days):
                self.site.clock = FixedClock(now)
                self._look_at_due()
            self._tick += TICK_S

    def _look_at_due(self) -> None:
        now = self.site.now()
        newest = self.site.reader.readings.newest_of_all()
        late = [
            one
            for one in all_due.everything(self.site, now, newest)
            if one.overdue and one.kind in TOLD
        ]
        for one in late:
            what = due_words.what(one)
            if (one.kind, what) not in self._due:
                self.overdue.append(Overdue(now, one.kind, what, due_words.said(one, now)))
                self._tell(self.overdue[-1])
        self._due = {(one.kind, due_words.what(one)) for one in late}

    def _tell(self, one: Raised | Overdue) -> None:
        if self.heard is not None:
            self.heard(one)


def replay(
    folder: Path,
    *,
    seed: int = SEED,
    heard: Callable[[Raised | Overdue], None] | None = None,
    days_of_due: Collection[date] | None = None,
) -> Replay:
    """Enter the season act by act in an empty record in `folder`, and look on.

    Flags are looked at whenever something was out of band and as each round begins and ends, what
    is due every quarter of an hour (on `days_of_due` alone, where they are given, since that takes
    most of the time). `heard` is called with each as it comes up.
    """
    with Ledger.open(folder / FILE, Station("replay", "replay"), create=True) as ledger:
        site = Site(folder, plan(), ledger, FixedClock(Instant(0, 0)))
        recorder = Recorder(site, Instant(1 << 60, 0))
        seen = Replay(site, heard, days_of_due)
        with ledger.writing():
            for act in in_order(seed):
                seen.pass_time(act.entered, act.at.offset)
                flag = recorder.put(act)
                if flag >= Flag.WATCH or act.kind in ("round", "calibration", "flag"):
                    seen.look()
    return seen


def _wrong(site: Site) -> tuple[Standing, ...]:
    return wrong_now(site, site.reader.readings.newest_of_all(), site.now()).wrong


def by_day(raised: list[Raised]) -> list[Day]:
    """Flags a day, over the whole season."""
    found = []
    for number in DAYS:
        today = [one for one in raised if one.day == number]
        acted = sum(one.flag >= Flag.ACT for one in today)
        found.append(Day(number, len(today) - acted, acted))
    return found


def line(one: Raised | Overdue) -> str:
    """One thing that came up as a line of text."""
    day = (one.at.day - FIRST).days + 1
    head = f"day {day:2}  {one.at.short():16}"
    if isinstance(one, Raised):
        return f"{head} {one.flag.mark:10} {one.place:8} {one.sentence}"
    return f"{head} {'overdue':10} {one.what}: {one.sentence}"


def days(raised: list[Raised]) -> str:
    """The table of flags a day against the budget, as text."""
    every = by_day(raised)
    lines = [f"day   WATCH  ACT   budget {BORNE.watch_a_day:g} and {BORNE.act_a_day:g}"]
    for day in every:
        over = "" if day.within_budget else "   over"
        lines.append(f"{day.number:3}   {day.watch:5}  {day.act:3}{over}")
    lines.append(f"sum   {sum(d.watch for d in every):5}  {sum(d.act for d in every):3}")
    return "\n".join(lines)
