"""What runs by the clock: in the first row of every page, due, and drawn once when it is over."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_support import opened
from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.ledger.entries import Batch, Entry
from tankwalk.pages import board as board_page
from tankwalk.pages import handover as handover_page
from tankwalk.pages.lines import Line, Span, plain, spread
from tankwalk.pages.timer_words import in_head
from tankwalk.practice.board import board
from tankwalk.practice.handover.drafting import draft
from tankwalk.practice.livefeed.guided import Mark
from tankwalk.practice.livefeed.timers import STALE_HOURS, running
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.tasks import Runs, TimerDue
from test_screens import Room, at_the_screen

NOW = Instant(1_778_400_000, -300)


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    site = opened(tmp_path)
    yield site
    site.close()


def later(site: Site, minutes: float) -> Instant:
    now = site.now()
    return Instant(now.utc + round(minutes * 60), now.offset)


def happened(site: Site, at: Instant, batch: str, event: str, text: str | None = None,
             due: Instant | None = None) -> int:  # fmt: skip
    entry = Entry("batch", "PB", at, at, SITE)
    kept = Batch(batch, event, "AC-7", 15.0, due_at=due and due.utc, text=text)
    return site.record(entry, kept, sure=True)


def a_bath(site: Site, minutes_left: float = 15.0) -> Instant:
    """Cysts that are in a bath that ends in so many minutes."""
    begun = later(site, minutes_left - 75)
    stop = later(site, minutes_left)
    happened(site, begun, "S0510", "step", Mark.HYDRATING, later(site, minutes_left - 15))
    for mark in (Mark.ROUND, f"{Mark.READ}; MV", Mark.CHILLED):
        happened(site, begun, "S0510", "step", mark)
    happened(site, begun, "S0510", "step", Mark.IN_BATH, stop)
    return stop


def test_a_bath_runs_until_it_is_stopped(demo: Site) -> None:
    stop = a_bath(demo)
    assert running(demo, demo.now()) == (TimerDue(Runs.BATH, "S0510", stop),)
    happened(demo, demo.now(), "S0510", "step", Mark.TEMPERATURE)
    assert len(running(demo, demo.now())) == 1, "a temperature ends nothing"
    happened(demo, demo.now(), "S0510", "step", Mark.STOPPED)
    assert running(demo, demo.now()) == ()


def test_cysts_in_water_run_until_they_are_round(demo: Site) -> None:
    due = later(demo, 60)
    happened(demo, demo.now(), "S0510", "step", Mark.HYDRATING, due)
    assert running(demo, demo.now()) == (TimerDue(Runs.HYDRATE, "S0510", due),)
    happened(demo, demo.now(), "S0510", "step", Mark.ROUND)
    assert running(demo, demo.now()) == ()


def test_gear_and_an_enrichment_run_and_the_first_to_end_comes_first(demo: Site) -> None:
    happened(demo, demo.now(), "A0509", "enrich", None, later(demo, 30))
    happened(demo, demo.now(), "G0510", "step", f"{Mark.GEAR_BEGUN}; nets")
    happened(demo, demo.now(), "G0510", "step", Mark.GEAR_IN, later(demo, 20))
    assert [one.what for one in running(demo, demo.now())] == [Runs.GEAR, Runs.ENRICH]
    happened(demo, demo.now(), "A0509", "harvest")
    assert [one.what for one in running(demo, demo.now())] == [Runs.GEAR]


def test_what_was_forgotten_half_a_day_ago_runs_no_more(demo: Site) -> None:
    a_bath(demo, -60 * STALE_HOURS + 1)
    assert len(running(demo, demo.now())) == 1
    assert running(demo, later(demo, 2)) == ()


def test_what_is_taken_back_does_not_run(demo: Site) -> None:
    now = demo.now()
    n = happened(demo, now, "S0510", "step", Mark.HYDRATING, later(demo, 60))
    demo.record(Entry("void", "PB", now, now, SITE, amends=n, reason="taken back"))
    assert running(demo, now) == ()


# ---- in the first row

BATH = TimerDue(Runs.BATH, "S0510", Instant(NOW.utc + 900, NOW.offset))


def head(width: int, left: str, right: str) -> Line:
    return spread(width, [f" {left}"], [f"{right} "], "head")


@pytest.mark.parametrize("width", [40, 60, 80, 120])
@pytest.mark.parametrize("left", ["HELP", "BOARD  Alder Rapids Larval Fish Laboratory", "W" * 90])
@pytest.mark.parametrize("late", [0, 1200])
def test_the_first_row_shows_what_runs_at_every_width_and_stays_as_wide(
    width: int, left: str, late: int
) -> None:
    now = Instant(NOW.utc + late, NOW.offset)
    row = in_head(head(width, left, "Sun 10 May 06:50"), [BATH], now)
    shown = "".join(span.text for span in row)
    assert text.width(shown) == width
    assert BATH.at.hm() in shown
    assert shown.rstrip().endswith("06:50")
    tones = {span.tone for span in row if BATH.at.hm() in span.text}
    assert tones == {"act" if late else "entry"}


def test_where_there_is_room_it_says_what_to_do_and_else_less() -> None:
    wide = plain([in_head(head(80, "HELP", "06:50"), [BATH], NOW)])
    assert f"Bath: stop by {BATH.at.hm()}" in wide
    narrow = plain([in_head(head(60, "BOARD  Alder Rapids Larval Fish", "Sun 10 May 06:50"),
                            [BATH], NOW)])  # fmt: skip
    assert f"Bath {BATH.at.hm()}" in narrow
    both = plain([in_head(head(80, "HELP", "06:50"), [BATH, BATH], NOW)])
    assert f"stop by {BATH.at.hm()} +1" in both


def test_nothing_runs_nothing_changes() -> None:
    row = head(80, "HELP", "06:50")
    assert in_head(row, [], NOW) is row
    odd = (Span("x" * 40, "head"),)
    assert in_head(odd, [BATH], NOW) == odd


def test_every_page_shows_it_after_a_new_start_and_the_board_leads_to_it(demo: Site) -> None:
    stop = a_bath(demo)
    keys = {"board": (), "handover": ("3",), "meters": ("6",), "pages": ("0",), "feed": ("2",),
            "live feed": ("7",), "count": ("8",), "workings": ("4",)}  # fmt: skip

    async def act(room: Room) -> None:
        await room.pilot.pause(0.3)
        for name, pressed in keys.items():
            await room.press(*pressed)
            first = room.text.split("\n")[0]
            assert stop.hm() in first, name
            while "TANKS  oxygen" not in room.text:
                await room.press("escape")
        assert f"> Bath S0510, stop by {stop.hm()}" in room.text
        await room.press("enter")
        assert "step 4 of 7" in room.text

    at_the_screen(demo, act)


def test_when_it_is_over_the_page_in_front_is_drawn_once_with_the_bell(demo: Site) -> None:
    stop = a_bath(demo, 5)
    rung: list[str] = []

    async def act(room: Room) -> None:
        await room.pilot.pause(0.3)
        room.app.bell = lambda: rung.append("bell")  # type: ignore[method-assign]
        await room.press("6")
        drawn: list[str] = []
        show = room.page.sheet.show

        def counted(lines: list[Line]) -> None:
            drawn.append("drawn")
            show(lines)

        room.page.sheet.show = counted  # type: ignore[method-assign]
        room.app._falls_due()
        assert rung == [], "the clock stands still: nothing is due yet"
        demo.clock = type(demo.clock)(stop)  # type: ignore[call-arg]
        room.app._next_moment = stop
        room.app._falls_due()
        await room.pilot.pause(0.2)
        assert rung == ["bell"]
        assert drawn == ["drawn"]
        assert f"STOP Bath {stop.hm()}" in room.text.split("\n")[0]

    at_the_screen(demo, act)


def test_the_printed_board_and_the_handover_tell_it(demo: Site) -> None:
    stop = a_bath(demo)
    assert f"Bath S0510, stop by {stop.hm()}" in plain(board_page.draw(board(demo), 80, None))
    assert f"Bath S0510, stop by {stop.hm()}" in plain(handover_page.draw(draft(demo), 80))
