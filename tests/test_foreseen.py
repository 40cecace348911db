"""What a number is held against is found while it is typed: nothing else comes of it."""

from __future__ import annotations

import tempfile
from collections.abc import Generator, Iterator
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from chance_faults import Fault, Maker
from chance_hall_water import water as hall
from chance_walk import _site, _Walker
from chance_water import water as room
from site_support import go_to, standing_at
from tankwalk.clock import Instant
from tankwalk.plan.model import Band, Item
from tankwalk.practice.judging import trends
from tankwalk.practice.judging.given import Kept, judged_here
from tankwalk.practice.judging.model.looks import Change
from tankwalk.practice.judging.trends import Told, Trends
from tankwalk.practice.round.questions import AskAgain
from tankwalk.practice.site import Site
from weighing_support import later, walked
from weighing_support import room as two_loops

ROUNDS = 14


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with two_loops(tmp_path / "room", sinking=("T03", 0.1)) as found:
        yield found


@pytest.fixture
def looked_for(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """An item for each time that changes are looked for through all parts."""
    found: list[str] = []
    plain = Trends._finding

    def noted(self: Trends, asked: trends.Asked) -> Generator[None, None, tuple[Change, ...]]:
        found.append(asked.item)
        return (yield from plain(self, asked))

    monkeypatch.setattr(Trends, "_finding", noted)
    return found


@pytest.mark.parametrize(("seed", "fault", "make"), [
    ("whole 1", Fault.METER_STEP, room), ("whole 2", Fault.LOOP_OXYGEN, hall),
])  # fmt: skip
def test_what_is_found_while_a_value_is_typed_is_what_is_found_of_it(
    seed: str, fault: Fault, make: Maker, monkeypatch: pytest.MonkeyPatch, looked_for: list[str]
) -> None:
    plain = Trends.at
    moved: list[Change] = []

    def both(
        self: Trends, place: str, item: Item, meter: str | None, value: float,
        band: Band | None, kept: Kept, now: Instant,
    ) -> Told | None:  # fmt: skip
        self._foreseen = None
        told = plain(self, place, item, meter, value, band, kept, now)
        tank = self.site.plan.find_tank(place)
        if tank is None or not judged_here(item):
            return told
        for typed in (value / 10, value):
            for _ in self.foreseen(tank, item, meter, typed, kept, now):
                pass
        looked_for.clear()
        assert plain(self, place, item, meter, value, band, kept, now) == told
        assert looked_for == []
        moved.extend([] if told is None else [told.change])
        return told

    monkeypatch.setattr(Trends, "at", both)
    water = make(Random(seed), fault, 8)
    with tempfile.TemporaryDirectory() as folder, _site(Path(folder), water.room) as walked_site:
        walker = _Walker(walked_site, water)
        for index in range(min(ROUNDS, len(water.room.stops))):
            walker.walk(index)
    assert moved


def test_what_was_typed_holds_for_that_number_at_that_tank_alone(
    site: Site, looked_for: list[str]
) -> None:
    walk = standing_at(site, "T03", "do")

    def typed(number: str) -> int:
        looked_for.clear()
        for _ in walk.ahead(typed=number):
            pass
        return len(looked_for)

    def entered(number: str) -> int:
        looked_for.clear()
        walk.answer(number)
        return len(looked_for)

    assert (typed("8.5"), entered("8.5")) == (1, 0)
    assert (typed("8.4"), entered("8.5")) == (1, 1)  # one digit more was typed and taken back
    assert typed("8.6") == 1
    go_to(walk, "T09", "do")
    assert entered("8.6") == 1
    assert typed("8.6") == 1
    later(site, 1)
    assert entered("8.6") == 1  # it is judged by the hour at which it is entered


@settings(
    max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)
@given(typed=st.text(max_size=8) | st.from_regex(r"[0-9.,</+*-]{1,8}", fullmatch=True))
def test_whatever_is_being_typed_nothing_is_kept_or_said_by_it(site: Site, typed: str) -> None:
    walk = standing_at(site, "T03", "do")
    stood = walk.at, walk.question, walk.said, site.reader.spine.last_number()
    for _ in walk.ahead(typed=typed):
        pass
    assert (walk.at, walk.question, walk.said, site.reader.spine.last_number()) == stood


def test_a_round_that_was_foreseen_key_by_key_says_what_one_that_was_not_says(
    site: Site, tmp_path: Path
) -> None:
    def reads(tank: str) -> float:
        return 7.9 if tank in ("T03", "T09", "T10") else 8.6

    plain = walked(site, reads)
    with two_loops(tmp_path / "again", sinking=("T03", 0.1)) as other:
        walk = standing_at(other, "T01", "do")
        for tank in plain:
            go_to(walk, tank, "do")
            number = f"{reads(tank):.1f}"
            for end in range(1, len(number) + 1):
                for _ in walk.ahead(typed=number[:end]):
                    pass
            said = walk.answer(number).sentence
            if isinstance(walk.question, AskAgain):
                said += f" {walk.question.words}"
            assert said == plain[tank].sentence
