"""All that is said of some seasons by chance, and what it rests on, as it was recorded and read.

A change of judgement shows here first, however small. It is no fault by itself: read what is said
now, and record it where that is better.

    TANKWALK_GOLDEN=write python -m pytest tests/test_judging_recorded.py
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest

from chance_faults import Fault, Maker
from chance_hall_water import water as hall
from chance_walk import _site, _Walker
from chance_water import water as room
from tankwalk.clock import Instant
from tankwalk.plan.model import Item
from tankwalk.practice.judging.dead.counts import gather
from tankwalk.practice.judging.dead.mortality import fitted, worst
from tankwalk.practice.judging.given import judged_here
from tankwalk.practice.judging.model.evidence import held, suspects
from tankwalk.practice.judging.trends import Trends
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site

GOLDEN = Path(__file__).parent / "recorded"
MAKERS: dict[str, Maker] = {"room": room, "hall": hall}
TANKS = 8
SEASONS = (
    ("room", Fault.METER_DRIFT), ("hall", Fault.METER_STEP), ("room", Fault.LOOP_OXYGEN),
    ("hall", Fault.BICARBONATE), ("room", Fault.TANK_DRIFT), ("hall", Fault.COPIED),
    ("hall", Fault.MORT_JUMP), ("room", Fault.MORT_RISE), ("hall", Fault.QUIET),
)  # fmt: skip
"""Kinds that show over rounds, by turns of the two makers, all of one seed."""
SEED = "recorded/1"
COUNTS = (*range(13), 15, 18, 22, 27, 33, 40, 60, 90, 150, 300)
"""Dead that a tank is asked about."""


def said(walker: _Walker) -> list[tuple[int, str]]:
    """What was said at the tanks and stood on the board."""
    found = [
        (one.at, f"{one.place} {one.item}: {Flag(one.flag).name} {one.rule}: {one.sentence}")
        for one in walker.said
    ]
    return found + [
        (
            one.at,
            f"board, {one.key.kind} {one.key.code} {one.key.item}: {Flag(one.flag).name} "
            f"{one.rule}: {one.sentence} [{' '.join(one.tanks)}]",
        )
        for one in walker.stood
    ]


def of_water(site: Site, item: Item) -> Iterator[str]:
    """What the model makes of an item by now: its noise, and each part's best explained change."""
    given = Trends(site).given.gathered(item, site.now())
    noise = given.known.noise
    yield f"{item.code}: noise " + " ".join(f"{variance:.3g}" for variance in noise)
    for suspect in suspects(given.known):
        found = held(given.known, suspect, given.settings)
        told = "too few looks"
        if found is not None:
            onset = found.onset
            told = (
                f"z {onset.score:.2f}, {onset.shape} of {onset.size:.3g}, {found.looks} of "
                f"{len(found.points)} looks, beside {found.points[-1].beside}"
            )
        yield f"  {suspect.kind} {suspect.code}: {told}"


def of_the_dead(site: Site, tank: str, number: int) -> Iterator[str]:
    """What a tank should have, and what would be said of so many dead, where that begins."""
    known = gather(site, tank, site.now(), number)
    if known is None:
        yield f"  {tank}: no counts"
        return
    before = ""
    for count in COUNTS:
        of = fitted(count, known, site.plan.judging)
        if not count:
            for window in of.windows:
                mean, variance = window.expected
                yield f"  {tank}: {mean:.3g}, variance {variance:.3g}"
        signal = worst(of)
        now = "nothing"
        if signal is not None:
            now = f"{signal.flag.name} {signal.rule}: {signal.sentence}"
        kind = now.partition(":")[0]
        if kind != before:
            yield f"  {tank}, {count} dead: {now}"
        before = kind


def recorded(fault: Fault, make: Maker) -> Iterator[str]:
    """A season, line by line, with what it rests on at its half and at its end."""
    water = make(Random(SEED), fault, TANKS)
    stops = water.room.stops
    yield "nothing planted" if water.planted is None else f"planted: {water.planted.words}"
    with tempfile.TemporaryDirectory() as folder, _site(Path(folder), water.room) as site:
        walker = _Walker(site, water)
        for index in range(len(stops)):
            walker.walk(index)
            if index + 1 in (len(stops) // 2, len(stops)):
                yield f"\nwhat it rests on after {index + 1} rounds"
                for item in site.plan.items:
                    if judged_here(item):
                        yield from of_water(site, item)
                yield "morts:"
                for tank in water.room.tanks:
                    yield from of_the_dead(site, tank, index + 2)
        yield "\nwhat was said"
        for at, words in sorted(said(walker), key=lambda one: one[0]):
            yield f"{Instant(at, -300).short()} {words}"


@pytest.mark.parametrize(("maker", "fault"), SEASONS)
def test_a_season_is_judged_as_it_was_recorded(maker: str, fault: Fault) -> None:
    found = "\n".join(recorded(fault, MAKERS[maker])) + "\n"
    golden = GOLDEN / f"{maker}-{fault.name.lower().replace('_', '-')}.txt"
    if os.environ.get("TANKWALK_GOLDEN") == "write":
        golden.parent.mkdir(exist_ok=True)
        golden.write_text(found, "utf-8")
    assert found == golden.read_text("utf-8")
