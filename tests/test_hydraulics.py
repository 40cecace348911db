"""Volumes worked out by hand, and flows through a stirred tank."""

from __future__ import annotations

import pytest

from tankwalk.errors import Refusal
from tankwalk.science import hydraulics
from tankwalk.science.hydraulics import tank_volume


@pytest.mark.parametrize(
    ("shape", "dims", "litres"),
    [
        # pi x 0.75^2 x 0.65 / 4 = 0.287161 m3
        ("cylinder", {"diameter": 0.75, "height": 0.65}, 287.161),
        ("cylinder", {"diameter": 1.2, "height": 0.7}, 791.681),
        # pi x 0.5^2 x 0.45 / 12 = 0.0294524 m3
        ("cone", {"diameter": 0.5, "height": 0.45}, 29.4524),
        ("box", {"length": 2.4, "width": 0.5, "height": 0.4}, 480.0),
        # pi x 0.6 x (1 + 0.8 + 0.64) / 12 = 0.383274 m3
        ("frustum", {"top": 1.0, "bottom": 0.8, "height": 0.6}, 383.274),
        # pi x 0.36 x 0.5 / 4 + pi x 0.36 x 0.2 / 12 = 0.141372 + 0.018850 m3
        ("cone-bottom", {"diameter": 0.6, "height": 0.5, "cone_height": 0.2}, 160.221),
    ],
)
def test_a_tank_holds_what_geometry_says(shape: str, dims: dict[str, float], litres: float) -> None:
    assert tank_volume(shape, **dims) == pytest.approx(litres, abs=0.001)
    full = dims["height"] + dims.get("cone_height", 0)
    assert tank_volume(shape, depth=full, **dims) == pytest.approx(litres, abs=0.001)


@pytest.mark.parametrize(
    ("shape", "dims", "depth", "litres"),
    [
        ("cylinder", {"diameter": 1.2, "height": 0.7}, 0.35, 791.681 / 2),
        ("box", {"length": 2.4, "width": 0.5, "height": 0.4}, 0.3, 360.0),
        # A cone filled to half its height holds an eighth.
        ("cone", {"diameter": 0.5, "height": 0.45}, 0.225, 29.4524 / 8),
        # Diameter at half height 0.9: pi x 0.3 x (0.81 + 0.72 + 0.64) / 12 = 0.170432 m3
        ("frustum", {"top": 1.0, "bottom": 0.8, "height": 0.6}, 0.3, 170.432),
        ("cone-bottom", {"diameter": 0.6, "height": 0.5, "cone_height": 0.2}, 0.1, 18.850 / 8),
        ("cone-bottom", {"diameter": 0.6, "height": 0.5, "cone_height": 0.2}, 0.45, 89.535),
    ],
)
def test_a_part_filled_tank_holds_up_to_its_water_line(
    shape: str, dims: dict[str, float], depth: float, litres: float
) -> None:
    assert tank_volume(shape, depth=depth, **dims) == pytest.approx(litres, abs=0.001)


@pytest.mark.parametrize(
    ("shape", "dims", "depth"),
    [
        ("ball", {"diameter": 1.0}, None),
        ("cylinder", {"diameter": 1.0}, None),
        ("cylinder", {"diameter": 1.0, "height": 1.0, "width": 1.0}, None),
        ("cylinder", {"diameter": 0.0, "height": 1.0}, None),
        ("cylinder", {"diameter": float("nan"), "height": 1.0}, None),
        ("box", {"length": 1.0, "width": 1.0, "height": 1.0}, 1.1),
        ("box", {"length": 1.0, "width": 1.0, "height": 1.0}, 0.0),
    ],
)
def test_a_tank_that_cannot_be_is_refused(
    shape: str, dims: dict[str, float], depth: float | None
) -> None:
    with pytest.raises(Refusal):
        tank_volume(shape, depth=depth, **dims)


def test_flow_turns_a_tank_over() -> None:
    assert hydraulics.exchanges_per_hour(4, 800) == pytest.approx(0.3)
    assert hydraulics.residence_minutes(4, 800) == pytest.approx(200)


@pytest.mark.parametrize(("volumes", "part"), [(0, 0), (1, 0.632), (2, 0.865), (3, 0.950)])
def test_one_volume_replaces_less_than_two_thirds(volumes: float, part: float) -> None:
    """Textbook values of a stirred tank: 63.2, 86.5, 95.0 percent."""
    assert hydraulics.replaced_fraction(volumes) == pytest.approx(part, abs=0.0006)


def test_flushing_a_salt_bath_takes_its_time() -> None:
    # From 5 to 0.5 g/L is a factor of 10: 2.3026 volumes of 100 min each.
    assert hydraulics.flush_minutes(5, 0.5, 2, 200) == pytest.approx(230.26, abs=0.01)
    assert hydraulics.flush_minutes(5, 5, 2, 200) == 0
    with pytest.raises(Refusal):
        hydraulics.flush_minutes(0.5, 5, 2, 200)


@pytest.mark.parametrize(("flow", "volume"), [(0, 100), (2, 0), (-1, 100), (float("inf"), 100)])
def test_no_residence_without_flow_and_volume(flow: float, volume: float) -> None:
    with pytest.raises(Refusal):
        hydraulics.residence_minutes(flow, volume)
