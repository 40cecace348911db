"""A mass event: many dead at once are a flag, on every page, until a person closes it."""

from __future__ import annotations

from pathlib import Path

from demo_support import opened
from tankwalk.clock import Instant
from tankwalk.ledger.entries import Entry, Movement
from tankwalk.pages import incident_words
from tankwalk.practice.handover.drafting import draft
from tankwalk.practice.handover.lines import OverLine
from tankwalk.practice.judging.standing import flags
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.site import Site
from test_screens import Room, at_the_screen


def test_many_dead_at_once_are_a_flag_until_a_person_closes_it(tmp_path: Path) -> None:
    demo: Site = opened(tmp_path)
    at = demo.now()
    demo.record(Entry("movement", "PB", at, at, "T11"), Movement("dead", 2046, 329.0, "by volume"))

    async def act(room: Room) -> None:
        assert "!!! URGENT T11 Mass event 2,046 dead +/- 329" in room.flowing
        assert "call MV, on call, 555-0142. NOT CALLED YET." in room.flowing
        assert "T11 call MV 555-0142, mass event 2,046 dead +/- 329" in room.flowing
        await room.press("enter")
        assert "FLAG T11 Mass event" in room.flowing
        assert "3 Keep some of the dead cold for the veterinarian" in room.flowing
        await room.press("4", "5", "1", "1", "enter")
        assert "Call kept" in room.flowing
        await room.press("b")
        assert "call MV 555-0142, mass" not in room.flowing, "somebody was reached"
        assert "!!! URGENT T11 Mass event 2,046 dead" in room.flowing, "but nobody closed it"
        await room.press("1")
        assert "!!! URGENT Mass event 2,046 dead +/- 329" in room.flowing, "the tank's page"
        await room.press("b", "3")
        assert "Mass event 2,046 dead +/- 329" in room.flowing, "the handover"

    at_the_screen(demo, act)
    now = demo.now()
    [one] = [one for one in wrong_now(demo, {}, now).wrong if one.key.item == "mass event"]
    flags.close(demo, one, "MV", "over: no cause found")
    assert all(one.key.item != "mass event" for one in wrong_now(demo, {}, now).wrong)
    told = next(s for s in draft(demo).sections if s.name == "STOCK").lines
    [over] = [one.one for one in told if isinstance(one, OverLine) and one.one.place == "T11"]
    assert incident_words.over(over).startswith("Mass event 2,046 dead")
    demo.close()


def test_a_mass_event_stands_for_weeks_and_not_once_it_is_taken_back(tmp_path: Path) -> None:
    demo: Site = opened(tmp_path)
    at, long_ago = demo.now(), Instant(demo.now().utc - 19 * 86400, demo.now().offset)
    entry = Entry("movement", "PB", long_ago, at, "T11")
    n = demo.record(entry, Movement("dead", 900, 90.0, "by volume"), sure=True)

    def standing() -> list[str]:
        found = wrong_now(demo, {}, demo.now()).wrong
        return [one.sentence for one in found if one.key.item == "mass event"]

    assert standing() == ["Mass event 900 dead +/- 90"]
    demo.record(Entry("void", "PB", at, at, "T11", amends=n, reason="undone"))
    assert standing() == []
    demo.close()
