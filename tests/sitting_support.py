"""A small room whose fish are looked at one by one, for tests of sittings."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fed_support import FED
from site_support import moment, opened
from tankwalk.ledger.entries import Entry, Sample
from tankwalk.practice.dialog import Asking, Talk
from tankwalk.practice.samples.fish import Look
from tankwalk.practice.samples.sitting import FishSitting, begin, going_on
from tankwalk.practice.site import Site

PLAN = FED + (
    '\n[[sampling]]\nwhat = "length"\nlabel = "Length"\nevery = "7 d"\ndph = [5, 60]\n'
    '\n[[sampling]]\nwhat = "mass"\nlabel = "Mass"\nevery = "7 d"\ndph = [5, 60]\n'
    '\n[[sampling]]\nwhat = "gut fill"\nlabel = "Gut fill"\nevery = "1 d"\ndph = [5, 60]\n'
)
NOW = "2026-05-10T13:05"
TRAY = (13.1, 14.8, 12.2, 15.6, 14.0, 13.7, 16.1, 11.9, 14.4, 15.0, 13.3)
"""Eleven fish of look.md's tray, in mm."""
BOTH = (Look.LENGTH, Look.MASS)


@pytest.fixture(name="site")
def site_fixture(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, PLAN, NOW) as open_now:
        yield open_now


def lengths(site: Site, *, planned: int = 20, values: tuple[float, ...] = TRAY) -> FishSitting:
    sitting = begin(site, "AB", "T01", (Look.LENGTH,), planned)
    for value in values:
        sitting.enter(f"{value:g}")
    return sitting


def anew(sitting: FishSitting, who: str = "CD") -> FishSitting:
    """The sitting as another program finds it in the record."""
    [seen] = [one for one in going_on(sitting.site) if one.n == sitting.seen.n]
    return FishSitting(sitting.site, who, seen)


def before(site: Site, what: str, mean: float, sd: float, unit: str, day: str) -> None:
    at = moment(day)
    sample = Sample(what, 20, mean=mean, sd=sd, unit=unit)
    site.record(Entry("sample", "AB", at, at, "T01"), sample, sure=True)


def typed(talk: Talk, *keys: str) -> str:
    """Each answer: Enter, a sign or number of a choice, or words and Enter."""
    asking = Asking(talk)
    for words in keys:
        assert not asking.over, asking.said
        if words == "enter":
            asking.enter()
        elif words in ("+", "*", "/") or (asking.step.choices and not asking.writing):
            asking.type(words)
        else:
            for character in words:
                asking.type(character)
            asking.enter()
    assert asking.over, asking.step.ask
    return asking.said
