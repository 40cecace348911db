"""What only a whole round shows: kept in the record, told once, gone when two find no more."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tankwalk.ledger import chain
from tankwalk.pages.walk import draw
from tankwalk.practice.board import board
from tankwalk.practice.judging import whole
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.standing import flags
from tankwalk.practice.judging.standing.found import Found, Key
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.judging.whole import judge_whole
from tankwalk.practice.round.rounds import begin
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site
from weighing_support import TANKS, checked, later, room, walked

DRIFT = Found(
    Key("place", "T05", "do"),
    Rule.DRIFT,
    Flag.WATCH,
    "Oxygen has fallen since Fri 15:00: 0.4 in 5 looks",
    "",
    ("T05",),
    "do",
)
METER = Found(
    Key("meter", "B", "do"),
    Rule.METER_DOWN,
    Flag.WATCH,
    "Oxygen down 0.3 in T04 T05: suspect meter B",
    "Measure T04 with meter A.",
    ("T04", "T05"),
    "do",
)
LOOP = Found(
    Key("loop", "L2", "do"), Rule.LOOP_DOWN, Flag.WATCH, "Oxygen falls in L2", "", TANKS[6:9], "do"
)


SHOWN: list[Found] = []
"""What the next whole round shows."""


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Site]:
    monkeypatch.setattr(whole, "finders", lambda _: (lambda _site, _number: tuple(SHOWN),))
    SHOWN.clear()
    with room(tmp_path / "room") as opened_room:
        yield opened_room


def a_round(site: Site, *found: Found, do: dict[str, float] | None = None) -> list[str]:
    """The next round, some hours later, whose whole shows `found`; what the record kept of it."""
    later(site, 6)
    SHOWN[:] = found
    before = len(site.reader.flags.turns(0))
    walked(site, lambda tank: (do or {}).get(tank, 8.6))
    return [turn.event for turn in site.reader.flags.turns(0)][before:]


def newest(site: Site) -> int:
    return site.reader.rounds.newest(1)[0].number


def stands(site: Site) -> list[tuple[str, str]]:
    return [(one.place, one.sentence) for one in flags.standing(site)]


def on_board(site: Site) -> list[tuple[str, str, Flag]]:
    wrong = wrong_now(site, site.reader.readings.newest_of_all(), site.now()).wrong
    return [(one.place, one.sentence, one.flag) for one in wrong]


# ---- its life


def test_what_a_round_finds_stands_until_two_whole_rounds_find_it_no_more(site: Site) -> None:
    assert a_round(site, DRIFT) == ["raise"]
    assert stands(site) == [("T05", DRIFT.sentence)]
    a_round(site)
    assert stands(site) == [("T05", DRIFT.sentence)]
    a_round(site)
    assert stands(site) == []
    assert chain.verify(site.ledger.db) is None


def test_the_plan_says_how_many_calm_rounds_end_it(site: Site) -> None:
    judging = site.plan.judging._replace(calm_rounds=1)
    a_round(site, DRIFT)
    a_round(site)
    assert stands(site) == [("T05", DRIFT.sentence)]
    site.plan = site.plan._replace(judging=judging)
    assert stands(site) == []


def test_what_is_found_again_in_between_begins_the_count_anew(site: Site) -> None:
    for found in ((DRIFT,), (), (DRIFT,), ()):
        a_round(site, *found)
    assert stands(site) == [("T05", DRIFT.sentence)]


def test_it_is_kept_once_while_it_stands_and_again_when_it_is_worse(site: Site) -> None:
    a_round(site, DRIFT)
    [first] = flags.standing(site)
    assert a_round(site, DRIFT) == []
    worse = DRIFT._replace(flag=Flag.ACT, sentence="Oxygen has fallen 1.2")
    assert a_round(site, worse) == ["raise"]
    [one] = flags.standing(site)
    assert (one.flag, one.sentence, one.raised) == (Flag.ACT, worse.sentence, first.raised)


def test_a_round_that_is_judged_twice_misses_once(site: Site) -> None:
    a_round(site, DRIFT)
    assert a_round(site) == ["end"]
    assert judge_whole(site, newest(site), "AB") == ()
    assert stands(site) == [("T05", DRIFT.sentence)]


def test_a_correction_in_the_same_round_ends_what_it_had_raised_at_once(site: Site) -> None:
    a_round(site, DRIFT)
    SHOWN.clear()
    judge_whole(site, newest(site), "AB")
    assert stands(site) == []


def test_a_round_that_does_not_ask_the_item_misses_nothing(site: Site) -> None:
    a_round(site, DRIFT)
    SHOWN.clear()
    for _ in range(3):
        later(site, 6)
        walked(site, lambda _: 16.5, code="warm")
        judge_whole(site, newest(site), "AB")
    assert stands(site) == [("T05", DRIFT.sentence)]


# ---- what people do about it


@pytest.mark.parametrize("found", [DRIFT, METER, LOOP], ids=["tank", "meter", "loop"])
def test_a_person_ends_it_and_the_next_round_that_finds_it_raises_it_anew(
    site: Site, found: Found
) -> None:
    a_round(site, found)
    [one] = flags.standing(site)
    flags.close(site, one, "MV", "the stone was turned down on purpose")
    assert stands(site) == []
    assert on_board(site) == []
    assert a_round(site, found) == ["raise"]
    assert len(stands(site)) == 1


def test_a_flag_of_a_lot_that_is_closed_leaves_the_tanks_own_flags(site: Site) -> None:
    lot = LOOP._replace(key=Key("lot", "YOUNG", "do"), places=("T02", "T03"))
    a_round(site, lot, do={"T02": 6.5})
    of_lot = next(one for one in flags.standing(site) if one.found)
    assert of_lot.place == "lot YOUNG"
    flags.close(site, of_lot, "MV", "they were graded")
    assert [one.place for one in flags.standing(site)] == ["T02"]


def test_it_can_be_shelved_and_comes_back(site: Site) -> None:
    a_round(site, DRIFT)
    [one] = flags.standing(site)
    until = one.raised._replace(utc=site.now().utc + 2 * 3600)
    flags.shelve(site, one, "AB", until, "the stone is new")
    assert [one.state for one in flags.standing(site)] == ["shelved"]
    later(site, 3)
    assert [one.state for one in flags.standing(site)] == ["standing"]


@pytest.mark.parametrize("passed", [True, False])
def test_what_names_a_meter_is_over_when_that_meter_was_checked(site: Site, passed: bool) -> None:
    a_round(site, METER)
    assert stands(site) == [("meter B", METER.sentence)]
    later(site, 1)
    checked(site, "B", hours_ago=-7, passed=passed)
    assert stands(site) == []


def test_a_check_of_a_meter_ends_nothing_of_a_loop_that_is_called_as_it_is(site: Site) -> None:
    a_round(site, LOOP._replace(key=Key("loop", "B", "do")))
    later(site, 1)
    checked(site, "B", hours_ago=-7)
    assert stands(site) == [("B", LOOP.sentence)]


# ---- one line for one story


def test_the_tanks_of_a_loop_are_told_by_its_line_and_a_worse_one_by_its_own(site: Site) -> None:
    a_round(site, LOOP, do={"T07": 6.8, "T08": 5.5})
    assert [(place, flag) for place, _, flag in on_board(site)] == [
        ("T08", Flag.ACT),
        ("L2", Flag.WATCH),
    ]


def test_a_tank_of_other_water_that_is_out_stays_beside_the_line_of_a_loop(site: Site) -> None:
    a_round(site, LOOP, do={"T01": 6.8})
    assert {place for place, _, _ in on_board(site)} == {"T01", "L2"}


def test_the_line_of_a_loop_is_as_old_as_the_first_of_its_tanks_to_be_out(site: Site) -> None:
    a_round(site, do={"T07": 6.8})
    [first] = flags.standing(site)
    a_round(site, LOOP, do={"T07": 6.8})
    [line] = wrong_now(site, site.reader.readings.newest_of_all(), site.now()).wrong
    assert (line.place, line.raised) == ("L2", first.raised)
    assert first.raised.utc < site.now().utc


def test_of_two_about_the_same_tank_and_item_the_worse_one_speaks(site: Site) -> None:
    a_round(site, DRIFT, do={"T05": 5.5})
    [(place, sentence, flag)] = on_board(site)
    assert (place, flag) == ("T05", Flag.ACT)
    assert "5.5" in sentence


# ---- in the walk


@pytest.mark.parametrize(
    ("entered", "hours", "looks"), [(False, 0.1, 1), (True, 0.1, 2), (False, 24, 2)]
)
def test_the_signature_looks_again_at_what_was_entered_since_or_another_day(
    site: Site, monkeypatch: pytest.MonkeyPatch, entered: bool, hours: float, looks: int
) -> None:
    seen: list[int] = []

    def look(_site: Site, number: int) -> tuple[Found, ...]:
        seen.append(number)
        return (DRIFT,)

    monkeypatch.setattr(whole, "finders", lambda _: (look,))
    walk = Walk(site, begin(site, site.plan.checklist("am"), "AB"), "AB")
    for _ in TANKS:
        walk.answer("8.6")
    assert len(seen) == 1
    if entered:
        checked(site, "A")
    later(site, hours)
    walk.answer("+")
    assert walk.signed
    assert len(seen) == looks
    assert [turn.event for turn in site.reader.flags.turns(0)] == ["raise"]


def test_the_end_of_a_round_tells_what_the_whole_of_it_shows(site: Site) -> None:
    SHOWN.append(METER)
    later(site, 6)
    walk = Walk(site, begin(site, site.plan.checklist("am"), "AB"), "AB")
    for _ in TANKS[:-1]:
        assert "whole" not in walk.answer("8.6").sentence
    said = walk.answer("8.6")
    assert "The round as a whole: ! WATCH Oxygen down 0.3 in T04 T05: suspect meter B" in (
        said.sentence
    )
    assert said.sentence.endswith("First: Measure T04 with meter A.")
    page = "\n".join("".join(span.text for span in row) for row in draw(walk.view(), "", 80, 24))
    assert "THE WHOLE ROUND" in page
    assert "! WATCH meter B Oxygen down 0.3 in T04 T05: suspect meter B" in page
    walk.answer("+")
    assert walk.signed
    assert [one.key for one in board(site).wrong] == [METER.key]
    assert len(site.reader.flags.turns(0)) == 1


def test_a_look_at_one_place_is_no_whole_round(site: Site) -> None:
    SHOWN.append(DRIFT)
    assert judge_whole(site, 999, "AB") == ()
    assert stands(site) == []


def test_a_page_says_the_last_answer_before_the_whole_round_is_judged(site: Site) -> None:
    SHOWN.append(METER)
    later(site, 6)
    walk = Walk(site, begin(site, site.plan.checklist("am"), "AB"), "AB")
    walk.judges_later = True
    for _ in TANKS:
        assert not walk.judge_whole()
        assert "whole" not in walk.answer("8.6").sentence
    before = walk.view()
    assert walk.judge_whole()
    assert "The round as a whole: ! WATCH Oxygen down 0.3" in walk.said.sentence
    assert walk.view() is not before
    assert not walk.judge_whole()
