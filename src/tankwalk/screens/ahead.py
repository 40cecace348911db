"""Loads what the first keys will need, a module at a time, once the first page stands."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from threading import Thread

from tankwalk import quantity
from tankwalk.screens.app import SCREENS

AHEAD = (
    "tankwalk.screens.who",
    "tankwalk.screens.walk",
    "tankwalk.ledger.append",
    "tankwalk.practice.judging.assess",
    "tankwalk.practice.judging.mortality",
    *(f"tankwalk.screens.{home.partition('.')[0]}" for home in SCREENS.values()),
    "tankwalk.screens.help",
    "tankwalk.practice.workings.worksheet",
    "tankwalk.science.calculators",
)
"""Modules in the order in which a person comes to need them."""

AFTER_SECONDS = 0.15
"""So long after the first paint it begins: the page in front is read and drawn before."""

QUIET_SECONDS = 0.1
"""So long after a key nothing is loaded: the next key is likely on its way."""


def steps() -> Iterator[str]:
    """Load one module at each step, and give its name; the converter of units comes last.

    pint loads as one piece of a tenth of a second and more, so it loads beside the keys.
    """
    for name in AHEAD:
        import_module(name)
        yield name
    Thread(target=quantity.make_ready, name="units", daemon=True).start()
