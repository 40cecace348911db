"""Loads what the first keys will need, a module at a time, once the first page stands."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from importlib import import_module
from threading import Thread

FIRST = (
    "tankwalk.screens.who",
    "tankwalk.screens.walk",
    "tankwalk.practice.incidents.at_place",
    "tankwalk.pages.incident_words",
    "tankwalk.practice.round.answering",
    "tankwalk.ledger.append",
    "tankwalk.practice.judging.assess",
    "tankwalk.practice.judging.dead.mortality",
    "tankwalk.practice.past.dead_days",
    "tankwalk.practice.past.dead_usual",
    "tankwalk.pages.walk_dead",
)
"""Modules of the keys of a round, in the order in which a person comes to need them."""

NEXT = (
    "tankwalk.practice.board",
    "tankwalk.practice.due.ordering",
    "tankwalk.practice.due.counts_left",
    "tankwalk.practice.keeping.age",
    "tankwalk.science.growth",
    "tankwalk.pages.board",
    "tankwalk.screens.feed",
    "tankwalk.screens.handover",
    "tankwalk.screens.open_list",
    "tankwalk.screens.help",
)
"""Modules of where a round leads, loaded after the first key: a board left standing has no use
for them, and they take 1.4 MiB. All others load as they are opened; all there are took twice the
memory.
"""

AFTER_SECONDS = 0.15
"""So long after the first paint it begins: the page in front is read and drawn before."""

TIMERS_SECONDS = 0.05
"""So long after the first paint what runs by the clock is read: one question to the record."""

UNITS_SECONDS = 0.3
"""So long after a page on which units are usual first stands what converts them is loaded."""

READ_SECONDS = 0.03
"""So long after a key what the next one will show is read ahead: a question takes a fifth of a
millisecond, where a module takes ten and more.
"""

DIGIT_SECONDS = 0.06
"""So long after a digit what is typed is held against the record: the next digit of one who types
fast comes before, and does not wait for a step of it."""

QUIET_SECONDS = 0.1
"""So long after a key nothing is loaded: the next key is likely on its way."""


def steps(names: Iterable[str]) -> Iterator[str]:
    """Load one module at each step, and give its name."""
    for name in names:
        import_module(name)
        yield name


def values() -> Iterator[str]:
    """Compile what reads a value, and say so."""
    from tankwalk import quantity

    quantity.make_ready()
    yield "values"


@cache
def load_units() -> None:
    """Load what converts units, once: where units are usual, and where one begins to be typed.

    pint loads as one piece of a tenth of a second and more, so it loads beside the keys; and it
    takes some 5 MiB of memory, which neither a board nor most rounds have a use for.
    """
    from tankwalk import quantity

    Thread(target=quantity.load_units, name="units", daemon=True).start()
