"""What would be seen here, and how soon: from the noise, and tried on looks by chance."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from learning_support import ph_room
from model_support import LOOK, SETTINGS, WATER, Moves, rounds
from tankwalk.practice.judging.model.evidence import changes
from tankwalk.practice.judging.model.levels import GOES_ON, Noise, levels
from tankwalk.practice.judging.model.looks import Part
from tankwalk.practice.learning.sees import sees, smallest
from tankwalk.practice.past.window import window
from tankwalk.practice.site import Site
from tankwalk.science.changing import Shape

TRIES = 60
BEFORE = 30
"""Rounds before the change."""


def told(size: float, shape: Shape, looks: int) -> float:
    """The part of so many rooms in which a change of T03 was told after so many looks."""

    def moves(tank: str, _loop: str, _meter: str | None, number: int) -> float:
        if tank != "T03" or number < BEFORE:
            return 0.0
        return size if shape is Shape.STEP else size * (number - BEFORE + 1) / 2

    return _told(moves, looks)


def _told(moves: Moves, looks: int) -> float:
    seen = 0
    for seed in range(1, TRIES + 1):
        found = changes(rounds(BEFORE + looks, moves, seed=seed), SETTINGS)
        seen += any(one.kind is Part.TANK and one.code == "T03" for one in found)
    return seen / TRIES


def foretold(shape: Shape, hours: float) -> tuple[float, int]:
    """The smallest change and how many looks it takes, by the noise that the looks really have."""
    known = levels(rounds(60, seed=7), SETTINGS).noise
    size, took = smallest(known, SETTINGS, 5, 2.0, shape, hours)
    return size, round(took / 12)


@pytest.mark.parametrize(("shape", "hours"), [(Shape.STEP, 24.0), (Shape.RAMP, 96.0)])
def test_a_change_as_large_as_foretold_is_told_8_times_in_10_and_half_of_it_seldom(
    shape: Shape, hours: float
) -> None:
    size, looks = foretold(shape, hours)
    # Set before it was run: 8 in 10, of 60 rooms, within three standard errors (0.15).
    assert 0.65 <= told(size, shape, looks) <= 0.97
    assert told(size / 2, shape, looks) <= 0.35


def test_noise_is_estimated_from_the_looks_themselves() -> None:
    known = levels(rounds(80, seed=3), SETTINGS).noise
    # The step of 0.1 that is read adds 0.1^2 / 12 to the variance of a look.
    assert known.look == pytest.approx(LOOK**2 + 0.1**2 / 12, rel=0.25)
    # Water without memory, of which the model takes half to go on, is taken for twice as much.
    assert known.loop == pytest.approx(WATER**2 / (1 - GOES_ON), rel=0.6)


def test_twice_the_noise_needs_twice_the_change_and_more_looks_less() -> None:
    quiet, loud = (Noise(v, 0.0, 0.0) for v in (0.01, 0.04))
    one = smallest(quiet, SETTINGS, 5, 2.0, Shape.STEP, 24)
    assert smallest(loud, SETTINGS, 5, 2.0, Shape.STEP, 24)[0] == pytest.approx(2 * one[0])
    assert smallest(quiet, SETTINGS, 5, 4.0, Shape.STEP, 24)[0] < one[0]
    assert one[1] == 24.0


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with ph_room(tmp_path / "room") as made:
        yield made


def test_a_site_is_told_what_its_own_looks_would_show(site: Site) -> None:
    (ph,) = sees(site, window(site, site.now(), 30), site.now())
    assert (ph.item.code, ph.looks, ph.beside) == ("ph", 360, 5)
    # Even chances over 0.2 have a standard deviation of 0.2 / sqrt(12) = 0.058.
    assert ph.look == pytest.approx(0.058, rel=0.3)
    assert 0.1 < ph.step < 0.5
