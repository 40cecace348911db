"""Who signs: the register of initials, who has left, and who is asked again after a pause."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from site_support import GOOD, SMALL, clock_shows, finish, moment, opened, walking
from tankwalk import plain
from tankwalk.errors import Refusal
from tankwalk.ledger.follow_up_kinds import MayClose
from tankwalk.plan.load import read_plan
from tankwalk.practice.dialog import Asking, Talk, person
from tankwalk.practice.doing import follow_ups
from tankwalk.practice.round import rounds
from tankwalk.practice.site import Site
from tankwalk.practice.transcribing import beginning
from tankwalk.practice.transcribing.sheet_walk import SheetWalk
from tankwalk.screens.walk import WalkScreen
from test_screens import Room, at_the_screen

LEFT = SMALL.replace(
    'initials = "CD"', 'initials = "CD"\nduty = "lead"\nsince = 2026-04-01\nuntil = 2026-05-09'
).replace('initials = "EF"', 'initials = "EF"\nsince = 2026-05-12\nduty = "lead"')
"""CD left yesterday, EF comes on Tuesday."""


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, LEFT) as site:
        yield site


@pytest.fixture
def full(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path / "full", SMALL) as site:
        yield site


@pytest.mark.parametrize(
    ("who", "said"), [("CD", "CD left on 2026-05-09"), ("EF", "EF comes on 2026-05-12")]
)
def test_who_has_left_or_not_come_yet_signs_nothing(room: Site, who: str, said: str) -> None:
    begun = walking(room, "AB").round
    with pytest.raises(Refusal, match=said):
        walking(room, who)
    with pytest.raises(Refusal, match=said):
        follow_ups.open_action(room, who, "mend it")
    with pytest.raises(Refusal, match=said):
        rounds.sign(room, begun, who)


def test_on_their_first_and_last_day_they_sign(room: Site) -> None:
    clock_shows(room, "2026-05-09T23:59")
    assert room.signs("cd") == "CD"
    clock_shows(room, "2026-05-12T00:00")
    assert room.signs("EF") == "EF"
    assert [one.initials for one in room.people] == ["AB", "EF"]


def test_only_those_who_are_there_are_offered(room: Site) -> None:
    def talk() -> Talk:
        return (yield from person(room, "Who?"))

    assert Asking(talk()).step.choices == ("AB",)


def test_what_somebody_entered_who_has_left_stays_with_their_initials(room: Site) -> None:
    clock_shows(room, "2026-05-09T07:00")
    walk = finish(walking(room, "CD"))
    walk.answer("+")
    clock_shows(room, "2026-05-10T07:00")
    seen = room.reader.readings.newest("T01", "do", "mg/L")
    assert seen is not None
    assert (seen.who, seen.value) == ("CD", float(GOOD["do"]))
    (found,) = room.reader.rounds.newest()
    assert found.signed_by == "CD"


def test_who_walked_a_sheet_may_have_left_since_and_cannot_type_it_in(room: Site) -> None:
    checklist, began = room.plan.checklist("am"), moment("2026-05-09T07:00")
    with pytest.raises(Refusal, match="CD left"):
        beginning.begin(room, checklist, "AB", "CD", began)
    with pytest.raises(Refusal, match="EF comes"):
        beginning.begin(room, checklist, "EF", "AB", began)
    assert beginning.begin(room, checklist, "CD", "AB", began).who == "CD"


def test_who_may_close_it_is_told_without_those_who_left(room: Site) -> None:
    n = follow_ups.open_action(room, "AB", "fins clamped", "T01", rule=MayClose.HEALTH)
    with pytest.raises(Refusal) as refused:
        follow_ups.close(room, "AB", n, "looks better")
    assert str(refused.value) == (
        "Health is closed by the lead or the veterinarian, and the plan names nobody: AB may not. "
        "It stays open."
    )
    clock_shows(room, "2026-05-12T07:00")
    with pytest.raises(Refusal, match=r"the veterinarian \(EF\): AB may not"):
        follow_ups.close(room, "AB", n, "looks better")


def test_a_plan_says_from_when_until_when_and_what_is_wrong_with_it() -> None:
    plan = read_plan(LEFT)
    assert [(p.initials, p.since, p.until) for p in plan.people][1] == (
        "CD", date(2026, 4, 1), date(2026, 5, 9),
    )  # fmt: skip
    with pytest.raises(Refusal, match="until 2026-03-01 is before since 2026-04-01"):
        read_plan(LEFT.replace("until = 2026-05-09", "until = 2026-03-01"))
    with pytest.raises(Refusal, match="not between 1 min and 10 h"):
        read_plan(SMALL.replace("[site]", '[site]\nask_again = "11 h"'))


# ---- asked again after a pause


def stood_still(site: Site, minutes: int) -> None:
    now = site.now()
    site.clock = type(site.clock)(now._replace(utc=now.utc + minutes * 60))  # type: ignore[call-arg]


async def at_oxygen(room: Room) -> None:
    """AB stands at the oxygen of T01 with 8 typed."""
    await room.press("plus", "1")
    await room.press(*["plus"] * 3, *"0.2", "enter", *"16.5", "enter", "8")


def test_after_a_pause_who_goes_on_is_asked_and_what_was_typed_stays(full: Site) -> None:
    async def act(room: Room) -> None:
        await at_oxygen(room)
        stood_still(full, 19)
        await room.press("full_stop")
        assert "8._" in room.text
        stood_still(full, 20)
        await room.press("4")
        assert "Nobody typed here for 20 min; it was AB. Who goes on?" in room.flowing
        await room.press("1")
        assert isinstance(room.page, WalkScreen)
        assert "8._" in room.text
        await room.press("4", "enter")

    at_the_screen(full, act)
    seen = full.reader.readings.newest("T01", "do", "mg/L")
    assert seen is not None
    assert (seen.who, seen.value) == ("AB", 8.4)


def test_another_one_goes_on_under_their_own_initials(full: Site) -> None:
    async def act(room: Room) -> None:
        await at_oxygen(room)
        stood_still(full, 45)
        await room.press("enter", "2")
        assert "8_" in room.text
        await room.press("full_stop", "4", "enter")

    at_the_screen(full, act)
    seen = full.reader.readings.newest("T01", "do", "mg/L")
    assert seen is not None
    assert (seen.who, seen.value) == ("CD", 8.4)
    assert (
        full.ledger.db.execute("SELECT count(*) FROM round WHERE event = 'resume'").fetchone()[0]
        == 1
    )


def test_the_plan_says_after_how_many_minutes(tmp_path: Path) -> None:
    with opened(tmp_path, SMALL.replace("[site]", '[site]\nask_again = "5 min"')) as site:

        async def act(room: Room) -> None:
            await at_oxygen(room)
            stood_still(site, 5)
            await room.press("4")
            assert "Who goes on?" in room.flowing

        at_the_screen(site, act)


def test_a_page_where_nobody_s_initials_are_in_hand_asks_nothing(full: Site) -> None:
    async def act(room: Room) -> None:
        stood_still(full, 300)
        await room.press("3")
        assert room.page.scope == "handover"

    at_the_screen(full, act)


# ---- line by line


def after(site: Site, minutes: int, line: str) -> str:
    """A line that is typed so many minutes after the one before."""
    stood_still(site, minutes)
    return line


def test_line_by_line_the_line_after_a_pause_waits_until_it_is_said_whose_it_is(
    full: Site,
) -> None:
    def typed() -> Iterator[str]:
        yield from ("+", "+", "+", "0.2")
        yield after(full, 19, "16.5")
        yield after(full, 25, "8.4")
        yield "9"
        yield "2"

    said: list[str] = []
    plain.walk(full, typed(), said.append, "AB", "am")
    assert any(
        "Nobody typed here for 25 min; it was AB. Who goes on? 1 AB; 2 CD" in one for one in said
    ), said
    seen = full.reader.readings.newest("T01", "do", "mg/L")
    assert seen is not None
    assert (seen.who, seen.value) == ("CD", 8.4)
    before = full.reader.readings.newest("T01", "temp", "degC")
    assert before is not None
    assert before.who == "AB"
    again = "SELECT count(*) FROM round WHERE event = 'resume'"
    assert full.ledger.db.execute(again).fetchone()[0] == 1


def test_where_nobody_says_who_goes_on_the_line_is_not_kept(full: Site) -> None:
    def typed() -> Iterator[str]:
        yield from ("+", "+", "+", "0.2", "16.5")
        yield after(full, 45, "8.4")

    plain.walk(full, typed(), lambda _: None, "AB", "am")
    assert full.reader.readings.newest("T01", "do", "mg/L") is None
    assert full.reader.readings.newest("T01", "temp", "degC") is not None


def test_a_sheet_is_typed_on_by_whoever_goes_on_and_keeps_who_walked_it(full: Site) -> None:
    checklist = full.plan.checklist("am")
    found = beginning.begin(full, checklist, "AB", "CD", full.now())
    walk = SheetWalk(full, found, "AB", "CD")

    def typed() -> Iterator[str]:
        yield "+"
        yield after(full, 30, "+")
        yield "2"

    said: list[str] = []
    plain.through(walk, typed(), said.append)
    assert any("it was CD. Who goes on? 1 CD; 2 AB" in one for one in said), said
    (seen,) = full.reader.readings.of_round(found.number, found.first)
    assert (seen.who, seen.typist) == ("AB", "AB")
    assert walk.signer == "AB"
