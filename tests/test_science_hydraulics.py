"""Volumes worked out by hand, flows through a stirred tank, and what the water carries."""

from __future__ import annotations

import json
from math import exp, log, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculator_support import declared, never_fails, refuses_or_answers, warns_of
from outside import typed
from tankwalk.errors import Refusal
from tankwalk.practice.workings import working_out
from tankwalk.science import hydraulics
from tankwalk.science.calculators import ALL
from tankwalk.science.hydraulics import tank_volume

NAMES = ("flush-time", "tank-volume", "exchange", "oxygen-flow", "ammonia-load")
BASE = {
    "flush-time": typed(from_=5, to=0.5, flow=2, volume=200),
    "tank-volume": typed(shape="cylinder", diameter=1.2, height=0.7),
    "exchange": typed(flow=4, volume=800, volumes=2),
    "oxygen-flow": typed(demand=1500, inflow=9, outflow=6),
    "ammonia-load": typed(feed=35, protein=0.5, flow=2, inflow=0.05),
}


def value(name: str, **inputs: object) -> float:
    found = working_out.work(name, {**BASE[name], **typed(**inputs)}).value
    assert found is not None
    return found


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
    ("shape", "dims", "depth", "named"),
    [
        ("ball", {"diameter": 1.0}, None, "shape"),
        ("cylinder", {"diameter": 1.0}, None, "height is missing"),
        ("cylinder", {"diameter": 1.0, "height": 1.0, "width": 1.0}, None, "width is not"),
        ("cylinder", {"diameter": 0.0, "height": 1.0}, None, "diameter"),
        ("cylinder", {"diameter": float("nan"), "height": 1.0}, None, "diameter"),
        ("cone", {"diameter": 1.0, "height": -1.0}, None, "height"),
        ("frustum", {"top": 1.0, "bottom": 0.0, "height": 1.0}, None, "bottom"),
        ("cone-bottom", {"diameter": 1.0, "height": 1.0, "cone_height": 0.0}, None, "cone_height"),
        ("box", {"length": 1.0, "width": 1.0, "height": 1.0}, 1.001, "depth"),
        ("box", {"length": 1.0, "width": 1.0, "height": 1.0}, 0.0, "depth"),
    ],
)
def test_a_tank_that_cannot_be_is_refused(
    shape: str, dims: dict[str, float], depth: float | None, named: str
) -> None:
    with pytest.raises(Refusal, match=rf"^{named}\b"):
        tank_volume(shape, depth=depth, **dims)


def test_volumes_are_those_of_the_shapes_to_the_last_digit() -> None:
    assert tank_volume("cylinder", diameter=0.75, height=0.65) == pytest.approx(
        1000 * pi * 0.75**2 * 0.65 / 4, rel=1e-13
    )
    assert tank_volume("cone", diameter=0.5, height=0.45) == pytest.approx(
        1000 * pi * 0.25 * 0.45 / 12, rel=1e-13
    )
    assert tank_volume("frustum", top=1.1, bottom=0.7, height=0.5) == pytest.approx(
        1000 * pi * 0.5 * (1.21 + 0.77 + 0.49) / 12, rel=1e-13
    )
    assert tank_volume("cylinder", diameter=7.5, height=2) == pytest.approx(88357.3, abs=0.1)


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


# ---- the calculators


def test_a_tank_is_measured_in_what_the_tape_says() -> None:
    assert value("tank-volume") == pytest.approx(791.681, abs=0.001)
    assert value("tank-volume", depth=0.35) == pytest.approx(791.681 / 2, abs=0.001)
    assert value("tank-volume", diameter="120 cm", height="700 mm") == pytest.approx(
        value("tank-volume"), rel=1e-12
    )
    with pytest.raises(Refusal, match=r"^height is missing"):
        working_out.work("tank-volume", typed(shape="cone", diameter=1))
    with pytest.raises(Refusal, match=r"^width is not"):
        value("tank-volume", width=1)


def test_flushing_asks_for_two_strengths_in_one_unit_or_none() -> None:
    assert value("flush-time") == pytest.approx(100 * log(10), rel=1e-12)
    assert value("flush-time", from_="5 g/L", to="500 mg/L") == pytest.approx(230.2585, rel=1e-6)
    assert value("flush-time", from_="167 uL/L", to="16.7 uL/L") == pytest.approx(230.2585)
    with pytest.raises(Refusal, match=r"^to: "):
        value("flush-time", from_="5 g/L")


def test_exchange_says_how_long_water_stays_and_how_much_is_new() -> None:
    done = working_out.work("exchange", BASE["exchange"])
    assert done.value == pytest.approx(0.3, rel=1e-12)
    assert done.also["residence"] == pytest.approx(200, rel=1e-12)
    assert done.also["replaced"] == pytest.approx(1 - exp(-2), rel=1e-12)
    hours = working_out.work("exchange", typed(flow=4, volume=800, hours=5))
    assert hours.also["replaced"] == pytest.approx(1 - exp(-1.5), rel=1e-12)


def test_without_a_flow_nothing_is_replaced_and_water_stays_for_ever() -> None:
    done = working_out.work("exchange", typed(flow=0, volume=800, hours=5))
    assert (done.value, done.also["residence"], done.also["replaced"]) == (0, None, 0)
    trickle = working_out.work("exchange", typed(flow=0.0005, volume=800))
    assert trickle.also["residence"] == pytest.approx(1.6e6)
    plain = working_out.work("exchange", typed(flow=4, volume=800))
    assert plain.also["replaced"] is None


@pytest.mark.parametrize(
    ("demand", "inflow", "outflow", "flow"),
    [(1500, 9.0, 6.0, 25 / 3), (60, 8.8, 6.5, 1 / 2.3), (300, 9.2, 7.0, 5 / 2.2), (0, 9, 6, 0)],
)
def test_flow_for_oxygen(demand: float, inflow: float, outflow: float, flow: float) -> None:
    found = value("oxygen-flow", demand=demand, inflow=inflow, outflow=outflow)
    assert found == pytest.approx(flow, rel=1e-12)


@pytest.mark.parametrize(
    ("feed", "protein", "produced"),
    [(100, 0.45, 4140), (35, 0.5, 1610), (0, 0.5, 0), (100, 0, 0), (100, 1, 9200)],
)
def test_ammonia_from_feed(feed: float, protein: float, produced: float) -> None:
    done = working_out.work("ammonia-load", {**BASE["ammonia-load"],
                                          **typed(feed=feed, protein=protein)})  # fmt: skip
    assert done.also["produced"] == pytest.approx(produced, rel=1e-12)
    assert done.value == pytest.approx(0.05 + produced / 2880, rel=1e-12)
    assert hydraulics.ammonia_produced(feed, protein) == pytest.approx(produced)


def test_ammonia_load_as_the_reference_works_it() -> None:
    assert value("ammonia-load") == pytest.approx(0.609028, abs=1e-6)
    assert value("ammonia-load", protein="50 %") == pytest.approx(0.609028, abs=1e-6)
    clean = {k: v for k, v in BASE["ammonia-load"].items() if k != "inflow"}
    assert working_out.work("ammonia-load", clean).value == pytest.approx(1610 / 2880, rel=1e-12)
    assert value("ammonia-load", factor=0.1) == pytest.approx(0.05 + 1750 / 2880, rel=1e-12)
    assert hydraulics.steady_ammonia(1610, 2) == pytest.approx(1610 / 2880, rel=1e-12)


def test_fish_in_a_liter() -> None:
    assert hydraulics.stocking_density(16000, 800) == 20
    assert hydraulics.stocking_density(0, 800) == 0
    assert working_out.work("stocking-density", typed(number=16000, volume=800)).value == 20
    with pytest.raises(Refusal, match=r"^volume\b"):
        hydraulics.stocking_density(10, 0)
    with pytest.raises(Refusal, match=r"^number\b"):
        hydraulics.stocking_density(-1, 5)


def test_usual_values_and_ranges_are_those_of_the_sources() -> None:
    assert declared(NAMES) == {
        ("ammonia-load", "protein"): (None, (0.2, 0.7)),
        ("ammonia-load", "inflow"): (0, None),
        ("ammonia-load", "factor"): (0.092, (0.05, 0.16)),
    }
    for key, inside, outside in (("protein", 0.7, 0.71), ("factor", 0.05, 0.049)):
        assert not warns_of("ammonia-load", BASE["ammonia-load"], key, inside)
        assert warns_of("ammonia-load", BASE["ammonia-load"], key, outside)


@pytest.mark.parametrize(
    ("name", "key", "bad"),
    [
        ("flush-time", "from", "0"),
        ("flush-time", "to", "0"),
        ("flush-time", "to", "5.001"),
        ("flush-time", "flow", "0"),
        ("flush-time", "volume", "0"),
        ("tank-volume", "shape", "ball"),
        ("tank-volume", "diameter", "0"),
        ("tank-volume", "height", "-1"),
        ("tank-volume", "depth", "0.701"),
        ("exchange", "flow", "-1"),
        ("exchange", "volume", "0"),
        ("exchange", "volumes", "-1"),
        ("oxygen-flow", "demand", "-1"),
        ("oxygen-flow", "inflow", "-1"),
        ("oxygen-flow", "outflow", "-1"),
        ("oxygen-flow", "outflow", "9"),
        ("ammonia-load", "feed", "-1"),
        ("ammonia-load", "protein", "1.0005"),
        ("ammonia-load", "protein", "-0.1"),
        ("ammonia-load", "flow", "0"),
        ("ammonia-load", "inflow", "-1"),
        ("ammonia-load", "factor", "-1"),
    ],
)
def test_a_refusal_names_the_input_by_its_key(name: str, key: str, bad: str) -> None:
    with pytest.raises(Refusal, match=rf"^{key}\b"):
        working_out.work(name, {**BASE[name], key: bad})


def test_how_long_is_said_once() -> None:
    with pytest.raises(Refusal, match=r"^volumes and hours"):
        value("exchange", hours=2)
    with pytest.raises(Refusal, match=r"^hours\b"):
        working_out.work("exchange", typed(flow=4, volume=800, hours=-1))
    with pytest.raises(Refusal, match=r"^volumes\b"):
        hydraulics.replaced_fraction(-1)
    none = working_out.work("exchange", typed(flow=4, volume=800, hours=0))
    assert none.also["replaced"] == 0


@pytest.mark.parametrize("name", NAMES)
def test_each_answer_can_be_written(name: str) -> None:
    json.dumps(working_out.as_json(working_out.work(name, BASE[name])), allow_nan=False)
    assert ALL[name].words


@given(st.floats(0.01, 100), st.floats(0.01, 100), st.floats(1, 1e5), st.floats(0.1, 0.99))
def test_a_flush_leaves_what_was_asked_for(
    start: float, flow: float, volume: float, part: float
) -> None:
    minutes = hydraulics.flush_minutes(start, start * part, flow, volume)
    volumes = hydraulics.exchanges_per_hour(flow, volume) * minutes / 60
    assert 1 - hydraulics.replaced_fraction(volumes) == pytest.approx(part, rel=1e-9)
    assert hydraulics.flush_minutes(start, start * part, 2 * flow, volume) < minutes


@given(st.floats(0.1, 10), st.floats(0.1, 10), st.floats(0.1, 5), st.floats(0.01, 0.99))
def test_a_fuller_tank_holds_more(top: float, bottom: float, height: float, part: float) -> None:
    dims = {"top": top, "bottom": bottom, "height": height}
    some = tank_volume("frustum", depth=height * part, **dims)
    assert 0 < some < tank_volume("frustum", **dims)


@given(st.floats(1, 1e4), st.floats(5, 12), st.floats(0, 4.9))
def test_the_flow_brings_the_oxygen(demand: float, inflow: float, outflow: float) -> None:
    flow = hydraulics.oxygen_flow(demand, inflow, outflow)
    assert 60 * flow * (inflow - outflow) == pytest.approx(demand, rel=1e-12)


@pytest.mark.parametrize(
    ("name", "there", "same"),
    [
        ("flush-time", {"flow": "120 L/h"}, {"flow": "2"}),
        ("exchange", {"flow": "2.5 gal/min", "volume": "200 gal"},
         {"flow": "9.46352946", "volume": "757.0823568"}),
        ("ammonia-load", {"inflow": "50 ug/L as N"}, {"inflow": "0.05"}),
        ("oxygen-flow", {"inflow": "9000 ug/L"}, {"inflow": "9"}),
        ("tank-volume", {"diameter": "4 ft"}, {"diameter": "1.2192"}),
    ],
)  # fmt: skip
def test_the_unit_it_is_typed_in_changes_nothing(
    name: str, there: dict[str, str], same: dict[str, str]
) -> None:
    values = [working_out.work(name, {**BASE[name], **typed}).value for typed in (there, same)]
    assert values[0] == pytest.approx(values[1], rel=1e-11)


def test_whatever_is_typed_there_is_an_answer_or_a_refusal() -> None:
    never_fails(NAMES)


@pytest.mark.parametrize(
    ("name", "many"),
    [
        ("exchanges_per_hour", 2), ("residence_minutes", 2), ("replaced_fraction", 1),
        ("flush_minutes", 4), ("oxygen_flow", 3), ("ammonia_produced", 3), ("steady_ammonia", 3),
    ],
)  # fmt: skip
def test_a_sum_gives_a_number_or_a_refusal(name: str, many: int) -> None:
    refuses_or_answers(getattr(hydraulics, name), many)


@pytest.mark.parametrize("shape", hydraulics.SHAPES)
def test_a_volume_is_a_number_or_a_refusal(shape: str) -> None:
    needs = hydraulics.SHAPES[shape]

    def sum_(depth: float, *lengths: float) -> float:
        return tank_volume(shape, depth=depth, **dict(zip(needs, lengths, strict=True)))

    refuses_or_answers(sum_, 1 + len(needs))
