"""A small room with live feed, and people who answer its talks by number."""

from __future__ import annotations

from fed_support import FED
from site_support import moment
from tankwalk.ledger.entries import Batch, BatchOf, Counted, Entry
from tankwalk.practice.dialog import Asking, Talk
from tankwalk.practice.site import SITE, Site

LIVE = (
    FED.replace('code = "Art"\nlabel = "nauplii"', 'code = "Art"\nlabel = "nauplii"\nkind = "live"')
    + """
[hatching]
density = "2 g/L"
hours = 24
salinity = "25 g/kg"
harvest = "08:30"
[[cysts]]
code = "AC-7"
label = "cysts AC-7"
per_gram = 210000
hatch = 0.8
order_at = "150 g"
[[culture]]
code = "R1"
kind = "rotifers"
volume = "60 L"
harvest = "25 %"
count_at = "09:00"
food = "paste"
food_per_million = "1 g"
[[culture]]
code = "R2"
kind = "rotifers"
volume = "60 L"
harvest = "25 %"
count_at = "09:00"
food = "paste"
food_per_million = "1 g"
[[culture]]
code = "N1"
kind = "algae"
volume = "20 L"
split_every = "7 d"
[[stock]]
of = "D1"
lead = "7 d"
keep = "3 d"
[[stock]]
of = "AC-7"
lead = "7 d"
"""
)
"""The four tanks of `FED`, with a lot of cysts, two rotifer vessels and one of algae."""


def batch(
    site: Site, when: str, name: str, event: str, kind: str | None = None,
    source: str | None = None, due: str | None = None, who: str = "AB", **more: object,
) -> int:  # fmt: skip
    """Something happened to a batch."""
    at = moment(when)
    due_at = None if due is None else moment(due).utc
    detail = Batch(name, event, due_at=due_at, **more)  # type: ignore[arg-type]
    beside = () if kind is None else (BatchOf(kind, source),)
    return site.record(Entry("batch", who, at, at, SITE), detail, *beside)


def culture_count(site: Site, when: str, name: str, per_ml: float, females: int, eggs: int) -> int:
    """A culture was counted, 1 mL of it."""
    at = moment(when)
    return site.record(
        Entry("batch", "AB", at, at, SITE),
        Batch(name, "count", per_ml=per_ml),
        Counted("rotifers", 1.0, 1.0, str(females)),
        Counted("eggs", 1.0, 1.0, str(eggs)),
    )


def answered(talk: Talk, *answers: str) -> str:
    """What a talk says at its end; each answer is a digit, a key that answers at once, or typed."""
    asking = Asking(talk)
    for answer in answers:
        assert not asking.over, (answer, asking.said)
        quick = dict(asking.step.quick)
        writes = asking.writing and answer not in quick
        for character in answer:
            asking.type(character)
        if writes or (asking.writing and asking.typed):
            asking.enter()
    assert asking.over, (asking.step.ask, asking.step.choices, asking.step.told)
    return asking.said


def question(talk: Talk, *answers: str) -> tuple[str, tuple[str, ...], str]:
    """What a talk asks after some answers: the question, its choices, and what is told."""
    asking = Asking(talk)
    for answer in answers:
        quick = dict(asking.step.quick)
        writes = asking.writing and answer not in quick
        for character in answer:
            asking.type(character)
        if writes:
            asking.enter()
    assert not asking.over, asking.said
    return asking.step.ask, asking.step.choices, asking.step.told
