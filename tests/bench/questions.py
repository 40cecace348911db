"""What the record is asked behind a screen, at a million readings and at more.

python tests/bench/questions.py SMALL BIG

Both are sites made by season.py. A line is the least processor time of many askings in one process,
in turn: what else the machine does is in none of them.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from tankwalk.ledger.questions import NO_LIMIT
from tankwalk.ledger.store import Station
from tankwalk.practice.board import board
from tankwalk.practice.budget import week
from tankwalk.practice.handover.drafting import draft
from tankwalk.practice.judging.assess import Weighing
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.round.agenda import agenda
from tankwalk.practice.site import Site, open_site

NOW = "2026-05-10T06:50"
TIMES = 15
Ask = Callable[[Site], object]


def _looks(site: Site) -> object:
    return site.reader.readings.looks("T07", "do", "mg/L", 16)


def _history(site: Site) -> object:
    return site.reader.readings.history("T07", "do", "mg/L", 90)


def _weigh(site: Site, code: str, value: float) -> object:
    """A reading judged from nothing, with eleven sisters read before it in the same round."""
    item = site.plan.item(code)
    newest = site.reader.readings.newest_of_all()
    kept = {
        (tank.code, code): [newest[tank.code, code]]
        for tank in site.plan.tanks[:11]
        if (tank.code, code) in newest
    }
    begun = time.process_time()
    Weighing(site, 1).weigh("T12", item, None, "A", value, str(value), None, kept, sure=True)
    return time.process_time() - begun


QUESTIONS: tuple[tuple[str, Ask], ...] = (
    ("the newest of everything", lambda s: s.ledger.reader.readings.newest_of_all()),
    ("16 looks of one item", _looks),
    ("90 readings of one item", _history),
    ("flags of 14 days", lambda s: s.ledger.reader.flags.flagged(s.now().utc - 14 * 86400)),
    ("follow-ups", lambda s: s.ledger.reader.follow_ups.open()),
    ("meals of a day", lambda s: s.ledger.reader.feeding.meals(s.now().utc - 86400)),
    ("rounds", lambda s: s.ledger.reader.rounds.newest()),
)
"""One question to the record each: at most 10 ms."""

WHOLE: tuple[tuple[str, Ask], ...] = (
    ("flags that stand", lambda s: wrong_now(s, s.ledger.reader.readings.newest_of_all(), s.now())),
    ("the week's flags", lambda s: week(s, s.now())),
    ("the whole board", board),
    ("the whole handover", draft),
    ("the agenda of a round", lambda s: agenda(
        s, s.plan.checklists[0], s.now().day, NO_LIMIT)),
    ("oxygen judged: sisters, loop, meter", lambda s: _weigh(s, "do", 8.5)),
    ("a count of dead judged", lambda s: _weigh(s, "morts", 12.0)),
)  # fmt: skip
"""What a screen does with many questions."""


def timed(site: Site, ask: Ask) -> float:
    """Milliseconds of processor time of one asking; where it measures itself, its own."""
    begun = time.process_time()
    own = ask(site)
    took = own if isinstance(own, float) else time.process_time() - begun
    return took * 1000


def compared(small: Path, big: Path) -> Iterator[tuple[str, bool, float, float]]:
    """Each question: its name, whether it is one alone, and its least milliseconds on both."""
    sites = [open_site(folder, Station("bench", "bench"), NOW) for folder in (small, big)]
    for questions in (QUESTIONS, WHOLE):
        for name, ask in questions:
            found: list[list[float]] = [[], []]
            for turn in range(TIMES + 2):
                for which, site in enumerate(sites):
                    took = timed(site, ask)
                    if turn >= 2:  # the first askings fill the caches
                        found[which].append(took)
            a, b = map(min, found)
            yield name, questions is QUESTIONS, a, b
    for site in sites:
        site.close()


def main(small: Path, big: Path) -> None:
    """The table."""
    print(f"| {'what':36} | {small.name:>9} | {big.name:>9} | ratio |")
    print(f"| {'-' * 36} | {'-' * 9} | {'-' * 9} | ----- |")
    for name, _, a, b in compared(small, big):
        print(f"| {name:36} | {a:6.2f} ms | {b:6.2f} ms | {b / a:4.2f}x |")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
