"""A change in words: how far and since when, what stayed, and what would tell its causes apart."""

from __future__ import annotations

import pytest

from site_support import NOW, moment
from tankwalk.plan.model import Item
from tankwalk.practice.judging.assess import Past, beyond
from tankwalk.practice.judging.model.looks import Change, Part, Suspect
from tankwalk.practice.judging.model.naming import Facts, far, words
from tankwalk.practice.judging.trends import Told
from tankwalk.practice.judging.verdict import Flag, Judged
from tankwalk.science.changing import Shape

OXYGEN = Item("do", "Oxygen", unit="mg/L", decimals=1, instrument="oxygen meter")
FACTS = Facts(OXYGEN, moment(NOW), ("A", "B"))
SINCE = moment("2026-05-07T07:00").utc
SANK = Change(
    Part.TANK, "T05", ("T05",), SINCE, 6, Shape.RAMP, -0.5, -0.17, -5.0, beside=5, stayed=5,
)  # fmt: skip
METER = SANK._replace(kind=Part.METER, code="B", tanks=("T04", "T05", "T06"), beside=3, stayed=3)
B, A = Suspect(Part.METER, "B"), Suspect(Part.METER, "A")


def test_a_drift_says_how_fast_and_a_step_does_not() -> None:
    drift = words(SANK, FACTS, "Oxygen 8.1 mg/L").headline
    assert drift == "Oxygen 8.1 mg/L down 0.5 since Thu 7 May 07:00, about 0.17 a day"
    step = words(SANK._replace(shape=Shape.STEP, a_day=0.0), FACTS).headline
    assert step == "Oxygen in T05 down 0.5 since Thu 7 May 07:00"


@pytest.mark.parametrize(("looks", "beside", "stayed", "reasons"), [
    (6, 5, 5, "in 6 looks; 5 other tanks of its water stayed"),
    (6, 5, 4, "in 6 looks; 4 of 5 other tanks of its water stayed"),
    (6, 5, 0, "in 6 looks; further than 5 other tanks of its water, which moved too"),
    (1, 1, 1, "1 other tank of its water stayed"),
    (2, 0, 0, "in 2 looks; no other tank of its water was read"),
])  # fmt: skip
def test_a_tank_says_in_how_many_looks_and_who_stayed(
    looks: int, beside: int, stayed: int, reasons: str
) -> None:
    found = words(SANK._replace(looks=looks, beside=beside, stayed=stayed), FACTS)
    assert found.reasons == (reasons,)


def test_what_moved_at_this_look_alone_has_no_day() -> None:
    one = SANK._replace(looks=1, shape=Shape.STEP, size=0.4)
    assert words(one, FACTS, "Oxygen 9.0 mg/L").headline == (
        "Oxygen 9.0 mg/L up 0.4 from what it was"
    )


def test_a_meter_is_named_with_who_stayed_unless_the_other_meter_may_be_it() -> None:
    alone = words(METER._replace(size=0.4), FACTS._replace(checked=moment(NOW).utc - 5 * 86400))
    assert alone.headline == (
        "Oxygen up 0.4 in T04 T05 T06 since Thu 7 May 07:00, one meter, same direction: suspect "
        "oxygen meter B"
    )
    assert alone.reasons == ("last checked 5 d ago", "3 tanks by another meter did not move")
    assert alone.do == "Measure one of these with meter A; check meter B before it is used."
    either = words(METER._replace(rivals=(A,)), FACTS)
    assert either.headline.endswith("suspect oxygen meter B or A")
    assert either.reasons == ()
    assert either.do == "Check meters B and A before they are used."


@pytest.mark.parametrize(("meters", "do"), [
    (("A", "B"), "Measure T05 with meter A first: meter B read all that moved."),
    (("B",), "Check meter B first: it read all that moved."),
])  # fmt: skip
def test_a_tank_or_its_meter_are_told_apart_by_another_meter_where_there_is_one(
    meters: tuple[str, ...], do: str
) -> None:
    assert words(SANK._replace(rivals=(B,)), FACTS._replace(meters=meters)).do == do
    assert words(SANK, FACTS._replace(meters=meters)).do == ""


def test_a_loop_or_the_meter_that_read_all_of_it() -> None:
    loop = SANK._replace(kind=Part.LOOP, code="L2", tanks=("T07", "T08"), rivals=(B,))
    assert words(loop, FACTS).headline == (
        "Oxygen down 0.5 in T07 T08 of L2, moved together since Thu 7 May 07:00: look at loop L2, "
        "or check meter B that read them all"
    )
    assert words(loop, FACTS).do == (
        "Measure one of these with meter A first: meter B read all that moved."
    )


def test_a_small_change_is_shown_with_the_digits_it_needs() -> None:
    assert far(SANK._replace(size=-0.03), OXYGEN) == "down 0.03"
    assert far(SANK._replace(size=0.5), OXYGEN) == "up 0.5"


@pytest.mark.parametrize(("looks", "said"), [
    (1, "Oxygen down 0.5 in T07 T08 of L2, moved together: look at loop L2"),
    (2, "Oxygen 6.6 mg/L, band >= 7.0"),
])  # fmt: skip
def test_a_tank_that_is_out_since_its_loop_went_a_look_ago_speaks_for_itself(
    looks: int, said: str
) -> None:
    loop = SANK._replace(kind=Part.LOOP, code="L2", tanks=("T07", "T08"), looks=looks)
    past = Past(told=Told(loop, FACTS, known=False, trusted=False))
    out = Judged(Flag.WATCH, "Oxygen 6.6 mg/L, band >= 7.0")
    judged = beyond(out, OXYGEN, 6.6, None, past, moment(NOW), "6.6")
    assert judged.sentence.startswith(said)
