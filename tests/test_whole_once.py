"""A whole round uses what its walk gathered, and finds what it would find without."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path
from random import Random

import pytest

from chance_faults import Fault, Maker
from chance_hall_water import water as hall
from chance_walk import _site, _Walker
from chance_water import water as room
from tankwalk.practice.judging import trends
from tankwalk.practice.judging.given import Gathered
from tankwalk.practice.judging.standing.found import Found
from tankwalk.practice.meters import meter_checks
from tankwalk.practice.site import Site

ROUNDS = 14
FAULTS = (Fault.METER_STEP, Fault.LOOP_OXYGEN)


@pytest.mark.parametrize(
    ("seed", "make"), [(n, make) for n in (1, 2) for make in (room, hall)]
)  # fmt: skip
def test_a_whole_round_finds_the_same_by_what_its_walk_gathered(
    seed: int, make: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = trends.whole_round
    spared: list[str] = []

    def both(site: Site, number: int, walked: Mapping[str, Gathered] | None) -> tuple[Found, ...]:
        found = plain(site, number, walked)
        assert found == plain(site, number)
        spared.extend(walked or {})
        return found

    monkeypatch.setattr(trends, "whole_round", both)
    fault = FAULTS[seed - 1]
    water = make(Random(f"whole {seed}"), fault, 8)
    with tempfile.TemporaryDirectory() as folder, _site(Path(folder), water.room) as site:
        walker = _Walker(site, water)
        for index in range(min(ROUNDS, len(water.room.stops))):
            walker.walk(index)
    assert spared


def test_what_was_gathered_is_gathered_anew_where_a_meter_failed_meanwhile() -> None:
    water = room(Random("whole 1"), Fault.QUIET, 8)
    with tempfile.TemporaryDirectory() as folder, _site(Path(folder), water.room) as site:
        walker = _Walker(site, water)
        for index in range(8):
            walker.walk(index)
        item, now = site.plan.item("do"), site.now()
        first = site.reader.spine.last_number() + 1
        before = trends.Trends(site, first).given.gathered(item, now)
        walked = {item.code: before}
        assert trends.Trends(site, first, walked=walked).given.gathered(item, now) is before
        meter = water.room.meters[0]
        meter_checks.check(site, "AB", meter, 60.0)
        after = trends.Trends(site, first, walked=walked).given.gathered(item, now)
        assert after is not before
        assert after.looks != before.looks


def test_bands_of_all_places_are_those_of_each() -> None:
    water = room(Random("whole 2"), Fault.QUIET, 8)
    with tempfile.TemporaryDirectory() as folder, _site(Path(folder), water.room) as site:
        walker = _Walker(site, water)
        for index in range(5):
            walker.walk(index)
        ask, compared = site.reader.readings, 0
        for item in site.plan.items:
            for until in (site.now().utc, site.now().utc - 86400):
                for limit in (1, 3, 60):
                    every = ask.bands_by_place(item.code, item.unit, limit, until)
                    for tank in site.plan.tanks:
                        one = ask.bands(tank.code, item.code, item.unit, limit, until)
                        assert every.get(tank.code, []) == one
                        compared += len(one)
        assert compared
