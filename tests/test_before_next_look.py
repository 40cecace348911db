"""A value on its way is held against the next look: through its limit before it is read again."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import NOW, moment, opened
from tankwalk.clock import Instant
from tankwalk.ledger.readings import ValueSeen
from tankwalk.plan.model import Band, Item, Limits
from tankwalk.practice.board import board
from tankwalk.practice.judging.ahead import Ahead, ahead, next_look, usually, words
from tankwalk.practice.judging.baseline import Usual
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from weighing_support import PLAN, remembered, room, walked

AT = moment(NOW)
OXYGEN = Item("do", "Oxygen", unit="mg/L", deadband=0.3)
LIMITS = Limits(watch_below=7.0, act_below=6.0, urgent_below=5.0)
BAND = Band(LIMITS, None, "our plan")
SCATTER = 0.1


def look(hours_ago: float, value: float, flag: int = 0) -> ValueSeen:
    at = AT.utc - round(3600 * hours_ago)
    return ValueSeen(at, value, at, flag, False, None, "A")


def known(*looks: ValueSeen, scatter: float = SCATTER) -> Usual:
    return Usual(looks, tuple(one.value for one in looks), 8.6, scatter)


def found(value: float, past: Usual, hours: float, band: Band | None = BAND) -> Ahead | None:
    until = Instant(AT.utc + round(3600 * hours), AT.offset)
    return ahead(OXYGEN, value, band, past, AT, until)


# ---- the sum


def test_a_fall_through_its_limit_before_the_next_look_is_told_and_a_later_one_not() -> None:
    # 8.6 to 7.6 in 2 h is 0.5 an hour; less two errors of 0.1 * sqrt(2) / 2 it is 0.359 at the
    # slowest, which takes 1.6 / 0.359 = 4.46 h to 6.0.
    past = known(look(2, 8.6))
    assert found(7.6, past, 4.4) is None
    told = found(7.6, past, 4.5)
    assert told is not None
    assert told.limit == 6.0
    assert told.hours == pytest.approx(3.2)
    assert words(OXYGEN, told, AT) == (
        "falls 0.5 an hour: 6.0 in about 3 h 12 min, before it is read next at 11:30"
    )


def test_beyond_act_it_is_the_urgent_limit_that_is_named() -> None:
    told = found(5.8, known(look(2, 6.8)), 8)
    assert told is not None
    assert told.limit == 5.0


def test_what_two_noisy_looks_can_feign_is_no_slope() -> None:
    assert found(8.2, known(look(0.5, 8.6), scatter=0.15), 24) is None
    assert found(8.2, known(look(0.5, 8.6), scatter=0.02), 24) is not None


def test_how_the_water_goes_at_this_time_every_day_is_no_slope() -> None:
    days = [one for day in (3, 2, 1) for one in (look(24 * day + 4, 8.6), look(24 * day, 7.8))]
    assert usually(tuple(days), AT.utc - 4 * 3600, AT.utc) == pytest.approx(-0.8)
    assert found(7.8, known(*days, look(4, 8.6)), 16) is None
    assert found(7.8, known(look(4, 8.6)), 16) is not None
    faster = found(7.0, known(*days, look(4, 8.6)), 16)
    assert faster is not None
    assert faster.rate == pytest.approx(-0.2)  # 1.6 in 4 h, of which 0.8 is of the day


@pytest.mark.parametrize("hours", [0.05, 6.5])
def test_a_look_of_a_moment_ago_or_of_this_morning_tells_no_rate(hours: float) -> None:
    assert found(7.2, known(look(hours, 8.6)), 24) is None


def test_nothing_is_told_of_no_band_no_look_the_deadband_and_the_way_back() -> None:
    assert found(7.2, known(look(2, 8.6)), 24, None) is None
    assert found(7.2, known(), 24) is None
    assert found(8.3, known(look(2, 8.6), scatter=0.0), 24) is None
    assert found(7.5, known(look(2, 5.5, 3)), 24) is None


# ---- the next look


def test_the_next_look_is_the_next_round_that_asks_it(tmp_path: Path) -> None:
    evening = '\n[[checklist]]\ncode = "pm"\nlabel = "Evening"\nat = "15:00"\ntank = ["do"]\n'
    with opened(tmp_path / "room", PLAN + evening, NOW) as site:
        plan, now = site.plan, site.now()
        assert now.hm() == "07:00"

        def at(item: str) -> str:
            return next_look(plan, plan.item(item), "T01", now).short()

        assert at("do") == "Sun 10 May 15:00"
        assert at("temp") == "Sun 10 May 09:00"
        rare = plan.item("do")._replace(every_days=3)
        assert next_look(plan, rare, "T01", now).hours_since(now) == 24
        before = Instant(now.utc + int(7.5 * 3600), now.offset)  # the round in hand is no next one
        assert next_look(plan, plan.item("do"), "T01", before).short() == "Mon 11 May 07:00"


# ---- as it is read


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with room(tmp_path / "room") as opened_room:
        yield opened_room


def test_in_band_and_through_act_before_the_next_round_is_watched_and_looked_at_soon(
    site: Site,
) -> None:
    remembered(site, "T05", "do", 8.6, 2)
    said = walked(site, lambda _: 7.6, tanks=["T05"])
    assert said["T05"].flag is Flag.WATCH
    assert "falls 0.5 an hour" in said["T05"].sentence
    [one] = board(site).wrong
    assert one.rule is Rule.AHEAD
    [dealt] = board(site).incidents
    assert dealt.look is not None
    assert dealt.look.hours_since(dealt.behind.at) == 0.5  # as for ACT
    assert [step.words for step in dealt.steps] == ["Open the oxygen"]


def test_out_and_through_act_before_the_next_round_is_acted_on(site: Site) -> None:
    remembered(site, "T05", "do", 8.3, 3)
    remembered(site, "T05", "do", 7.8, 2)
    said = walked(site, lambda _: 6.8, tanks=["T05"])
    assert said["T05"].flag is Flag.ACT
    assert "before it is read next at Mon 11 May 07:00" in said["T05"].sentence


def test_out_after_one_step_that_may_be_over_is_watched_and_told_where_it_would_go(
    site: Site,
) -> None:
    remembered(site, "T05", "do", 8.6, 3)
    remembered(site, "T05", "do", 8.6, 2)
    said = walked(site, lambda _: 6.8, tanks=["T05"])
    assert said["T05"].flag is Flag.WATCH
    assert "before it is read next at Mon 11 May 07:00" in said["T05"].sentence


def test_out_and_standing_is_watched(site: Site) -> None:
    remembered(site, "T05", "do", 6.9, 2)
    assert walked(site, lambda _: 6.8, tanks=["T05"])["T05"].flag is Flag.WATCH
