"""A value against the tank's own looks, rule by rule and at its edges."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from site_support import NOW, moment
from tankwalk.ledger.meters import MarkSeen
from tankwalk.ledger.readings import ValueSeen
from tankwalk.plan.model import Band, Item, Limits
from tankwalk.practice.judging import change
from tankwalk.practice.judging.baseline import Usual, usual, valid

ITEM = Item("orp", "Redox", unit="mV", decimals=0, instrument="redox meter", deadband=2.0)
AT = moment(NOW)
LIMITS = Limits(
    watch_below=-20, watch_above=40, act_below=-50, act_above=70, urgent_below=-80, urgent_above=100
)
FREE = Band(LIMITS, None, "", "")
"""Half of it is 30 wide."""
AIMED = Band(LIMITS, 10.0, "", "")


def look(hours_ago: float, value: float, flag: int = 0, **more: object) -> ValueSeen:
    made = ValueSeen(1, value, AT.utc - int(3600 * hours_ago), flag, False, None, "A")
    return made._replace(**more)  # type: ignore[arg-type]


def past(*values: float, flags: Sequence[int] = (), apart: float = 2.0) -> Usual:
    """Looks so many hours apart, the newest as long ago."""
    levels = flags or [0] * len(values)
    looks = [
        look(apart * (len(values) - nth), value, flag)
        for nth, (value, flag) in enumerate(zip(values, levels, strict=True))
    ]
    return usual(ITEM, looks, lambda _: 0.0)


# ---- what is usual


def test_usual_is_the_middle_of_four_looks_and_scatter_that_of_eight() -> None:
    here = past(90, 0, 0, 8, 8, 8, 20, 22, 10)
    assert here.recent == 15.0  # of 8, 20, 22, 10
    assert here.scatter == pytest.approx(1.4826 * 5.0)  # from their middle of 8: 8 8 0 0 0 12 14 2
    assert past(0, 4).recent is None
    assert past(0, 4, 6).recent == 4.0
    assert past(5, 5, 5).scatter == 1.0  # never finer than the meter shows


def test_a_planned_ramp_is_taken_out_of_the_looks() -> None:
    looks = [look(hours, 10.0) for hours in (6, 4, 2)]
    here = usual(ITEM, looks, lambda at: (AT.utc - at) / 3600)
    assert here.levels == (16.0, 14.0, 12.0)
    assert here.recent == 14.0


def test_a_first_value_that_was_measured_again_in_its_round_is_no_look() -> None:
    first = look(4, 50.0, round=1)
    again = look(3.9, 10.0, round=1, recheck=True)
    assert valid([first, again], "orp", []) == [again]
    other = again._replace(round=2)
    assert valid([first, other], "orp", []) == [first, other]
    beside = again._replace(recheck=False)
    assert valid([first, beside], "orp", []) == [first, beside]


@pytest.mark.parametrize(("meter", "item", "since", "until", "counts"), [
    ("A", "orp", 4, 4, False),
    ("A", "orp", 5, 3, False),
    ("A", "orp", 3.9, 3, True),
    ("A", "orp", 5, 4.1, True),
    ("B", "orp", 5, 3, True),
    ("A", "do", 5, 3, True),
])  # fmt: skip
def test_a_look_of_a_meter_that_failed_its_check_does_not_count(
    meter: str, item: str, since: float, until: float, counts: bool
) -> None:
    first, last = (AT.utc - int(3600 * hours) for hours in (since, until))
    mark = MarkSeen(1, meter, item, "mV", first, last, AT, "AB", None)
    assert bool(valid([look(4, 10.0)], "orp", [mark])) == counts


# ---- a slope


def test_without_a_look_of_before_nothing_is_told_ahead() -> None:
    assert change.ahead(ITEM, 50, LIMITS, None, AT) == ""
    assert change.ahead(ITEM, 50, LIMITS, look(0, 10), AT) == ""  # at the same second


@pytest.mark.parametrize(("was", "hours", "value", "words"), [
    (42, 2, 50, "at this rate 70 in about 5 h"),
    (42, 2, 75, "at this rate 100 in about 1 h 31 min"),
    (60, 2, 50, ""),  # on its way back
    (-42, 2, -51, "at this rate -80 in about 6 h 27 min"),
    (-22, 2, -30, "at this rate -50 in about 5 h"),
    (-40, 2, -30, ""),
    (49, 1, 50, "at this rate 70 in about 20 h"),
    (49, 2, 50, ""),  # later than a day
    (59, 2, 60, "at this rate 70 in about 20 h"),
    (-39, 2, -40, "at this rate -50 in about 20 h"),
    (45, 1, 46, "at this rate 70 in about 24 h"),
    (90, 1, 110, ""),  # beyond the last limit
])  # fmt: skip
def test_a_value_that_is_out_is_told_when_it_reaches_the_next_limit(
    was: float, hours: float, value: float, words: str
) -> None:
    assert change.ahead(ITEM, value, LIMITS, look(hours, was), AT) == words


@pytest.mark.parametrize(("value", "level", "flags", "goes"), [
    (12, 11, [0] * 4, True),
    (11, 12, [0] * 4, True),
    (11, 12, [0, 0, 0, 2], False),
    (11, 12, [2, 0, 0, 0], False),
    (11, 12, [2, 0, 0, 0, 0], True),  # five looks ago
    (11, 12, [0, 0, 0, 1], True),  # a question is not out of band
])  # fmt: skip
def test_without_a_target_a_value_goes_away_unless_a_recent_look_was_out(
    value: float, level: float, flags: list[int], goes: bool
) -> None:
    assert change.away(value, level, FREE, past(*[10.0] * len(flags), flags=flags)) == goes


@pytest.mark.parametrize(("value", "level", "goes"), [
    (12, 11, True), (11, 12, False), (8, 9, True), (9, 8, False), (8, 12, False),
])  # fmt: skip
def test_with_a_target_a_value_goes_away_when_it_gets_farther_from_it(
    value: float, level: float, goes: bool
) -> None:
    assert change.away(value, level, AIMED, past(10, 10, 10, flags=[2, 2, 2])) == goes
