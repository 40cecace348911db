"""The season entered anew, and what the program said when: flags as the board raised them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from tankwalk.clock import FixedClock, Instant
from tankwalk.ledger import queries
from tankwalk.ledger.store import FILE, Ledger, Station
from tankwalk.practice.board import wrong_now
from tankwalk.practice.budget import ACT_A_DAY, WATCH_A_DAY
from tankwalk.practice.flags import Key, Standing
from tankwalk.practice.judging import Flag
from tankwalk.practice.site import Site
from tankwalk_demo.acts import Act
from tankwalk_demo.days import DAYS, FIRST
from tankwalk_demo.recording import Recorder
from tankwalk_demo.room import SEED, plan
from tankwalk_demo.story import in_order


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


class Day(NamedTuple):
    """How many flags one day raised."""

    number: int
    watch: int
    act: int

    @property
    def within_budget(self) -> bool:
        return self.watch <= WATCH_A_DAY and self.act <= ACT_A_DAY


def replay(
    folder: Path, *, seed: int = SEED, acts: list[Act] | None = None, until: Instant | None = None,
    heard: Callable[[Raised], None] | None = None,
) -> list[Raised]:  # fmt: skip
    """Enter the season act by act in an empty record in `folder`; every flag in order of time.

    The board is looked at whenever something was out of band, and as each round begins and ends.
    """
    found: list[Raised] = []
    with Ledger.open(folder / FILE, Station("replay", "replay"), create=True) as ledger:
        end = until or Instant(1 << 60, 0)
        site = Site(folder, plan(), ledger, FixedClock(Instant(0, 0)))
        recorder = Recorder(site, end)
        standing: dict[Key, Standing] = {}
        with ledger.writing():
            for act in in_order(seed) if acts is None else acts:
                if act.entered >= end.utc:
                    break
                flag = recorder.put(act)
                if flag < Flag.WATCH and act.kind not in ("round", "calibration", "flag"):
                    continue
                now = {one.key: one for one in _wrong(site)}
                for key, one in now.items():
                    old = standing.get(key)
                    if old is None or (one.flag > old.flag and one.flag >= Flag.ACT):
                        raised = Raised(site.now(), key, one.flag, one.place, one.sentence)
                        found.append(raised)
                        if heard is not None:
                            heard(raised)
                standing = now
    return found


def _wrong(site: Site) -> tuple[Standing, ...]:
    return wrong_now(site, queries.newest_of_all(site.ledger.db), site.now()).wrong


def by_day(raised: list[Raised]) -> list[Day]:
    """Flags a day, over the whole season."""
    found = []
    for number in DAYS:
        today = [one for one in raised if one.day == number]
        acted = sum(one.flag >= Flag.ACT for one in today)
        found.append(Day(number, len(today) - acted, acted))
    return found


def line(one: Raised) -> str:
    """One flag as a line of text."""
    return f"day {one.day:2}  {one.at.short():16} {one.flag.mark:10} {one.place:8} {one.sentence}"


def days(raised: list[Raised]) -> str:
    """The table of flags a day against the budget, as text."""
    every = by_day(raised)
    lines = [f"day   WATCH  ACT   budget {WATCH_A_DAY} and {ACT_A_DAY}"]
    for day in every:
        over = "" if day.within_budget else "   over"
        lines.append(f"{day.number:3}   {day.watch:5}  {day.act:3}{over}")
    lines.append(f"sum   {sum(d.watch for d in every):5}  {sum(d.act for d in every):3}")
    return "\n".join(lines)
