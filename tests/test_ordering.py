"""Stock that is ordered in time: a line of the board, which Enter answers, until it is here."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from livefeed_support import LIVE, answered, batch, question
from site_support import clock_shows, opened
from tankwalk.pages import due_words, livefeed_words
from tankwalk.practice.board import board
from tankwalk.practice.dialog import Asking, Hand
from tankwalk.practice.doing import follow_ups
from tankwalk.practice.due.ordering import orders_due
from tankwalk.practice.handover import give_take
from tankwalk.practice.livefeed import choosing, on_hand, stock_steps
from tankwalk.practice.livefeed.on_hand import OnHand
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import Due, DueKind
from tankwalk.screens.livefeed import LiveFeedScreen
from test_screens import Room, at_the_screen


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """A room whose one tin of AC-7 is down to the 150 g at which the plan orders."""
    with opened(tmp_path, LIVE) as found:
        batch(found, "2026-05-01T09:00", "T1", "received", "cysts", "AC-7", lot="AC-7", grams=150.0)
        clock_shows(found, "2026-05-10T09:00")
        yield found


def hand(site: Site) -> Hand:
    found = Hand()
    found.named("AB", site.now())
    return found


def have(site: Site) -> OnHand:
    return next(one for one in on_hand.on_hand(site, site.now(), {}) if one.code == "AC-7")


def told(site: Site) -> list[tuple[str, str]]:
    """What the board says is to be ordered."""
    found = board(site).with_later(orders_due(site))
    lines = [one for one in found.next if one.kind is DueKind.ORDER]
    return [due_words.told(one, site.now()) for one in lines]


def ordered(site: Site, *answers: str) -> str:
    talk = choosing.next_step(site, hand(site), have(site))
    assert talk is not None
    return answered(talk, *answers)


def test_a_lot_at_the_grams_of_the_plan_is_a_line_of_the_board(site: Site) -> None:
    assert told(site) == [("Order AC-7: 150 g", "due today")]


def test_the_easy_key_says_that_it_is_ordered_and_when_it_comes(site: Site) -> None:
    # The plan's lead is 7 days; 10 May 2026 is a Sunday, so that it comes on Sunday 17 May.
    assert ordered(site, "+", "1") == "Kept: AC-7 ordered, it comes Sun 17 May."
    assert told(site) == []
    assert livefeed_words.lasts(have(site), site.now()) == ("more comes Sun 17 May", "plain")
    [one] = site.reader.follow_ups.open()
    assert (one.text, one.about) == ("AC-7 ordered, it comes Sun 17 May", "order AC-7")


def test_an_order_that_does_not_come_is_late_and_is_not_ordered_twice(site: Site) -> None:
    ordered(site, "3", "1")
    clock_shows(site, "2026-05-14T09:00")
    words = livefeed_words.lasts(have(site), site.now())
    assert words == ("! ordered, was to come Wed 13 May", "watch")
    assert told(site) == []
    [late] = board(site).actions
    assert late.terms.late
    *_, said = question(stock_steps.ordered(site, hand(site), have(site)))
    assert said == "AC-7 was ordered already."


def test_what_is_received_ends_its_order(site: Site) -> None:
    ordered(site, "+", "1")
    answered(stock_steps.received(site, hand(site), have(site)), "454", "+", "/", "1")
    assert site.reader.follow_ups.open() == []
    assert have(site).coming is None
    assert told(site) == []


def test_another_day_is_asked_again_and_keeps_nothing(site: Site) -> None:
    said = ordered(site, "+", "2", "4", "1")
    assert said == "Kept: AC-7 ordered, it comes Thu 14 May."
    assert len(site.reader.follow_ups.open()) == 1


def test_an_order_that_comes_after_the_last_gram_is_doubted(site: Site) -> None:
    low = have(site)._replace(days=5.0)
    *_, doubt = question(stock_steps.ordered(site, hand(site), low), "+")
    assert doubt == "What is here lasts 5 d: it is used up before."


def test_order_more_as_something_to_do_says_of_what(site: Site) -> None:
    nth = follow_ups.TO_DO.index(follow_ups.ORDER_MORE) + 1
    answered(give_take.to_do(site, hand(site)), str(nth), "1")
    assert [one.text for one in site.reader.follow_ups.open()] == ["order more AC-7"]


def test_a_plus_where_nothing_is_proposed_is_no_sign(site: Site) -> None:
    asking = Asking(stock_steps.received(site, hand(site), have(site)))
    asking.type("+")
    assert (asking.typed, asking.said) == ("", "Nothing is proposed here: type the number.")
    asking.type("4")
    assert asking.typed == "4"


def test_a_plan_that_orders_nothing_asks_the_record_nothing(tmp_path: Path) -> None:
    plan = LIVE.split("[[stock]]")[0].replace('order_at = "150 g"\n', "")
    with opened(tmp_path, plan) as site:
        heard: list[str] = []
        site.ledger.db.set_trace_callback(heard.append)
        assert orders_due(site) == []
        assert heard == []


def test_enter_on_its_line_stands_at_the_stock_and_enter_there_asks_when(site: Site) -> None:
    async def act(here: Room) -> None:
        front = here.page
        [facts] = orders_due(here.app.site)
        front.board = front.board._replace(due=(Due(1.0, facts),))  # type: ignore[attr-defined]
        front.at = 0  # type: ignore[attr-defined]
        front.draw()
        await here.press("enter")
        page = here.page
        assert isinstance(page, LiveFeedScreen)
        assert isinstance(page.row, OnHand)
        assert page.row.code == "AC-7"
        assert "Enter AC-7: ordered" in here.text
        await here.press("enter", "1")
        assert "AC-7 ordered: it comes in, d?" in here.text
        await here.press("plus", "1", "escape")
        assert "Order AC-7" not in here.text
        assert len(site.reader.follow_ups.open()) == 1

    at_the_screen(site, act)
