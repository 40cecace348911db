"""A meal given at the screen with the number pad: keys counted, what is short, what is stopped."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from demo_support import STATION, opened, until
from livefeed_support import batch
from site_support import asked_of, moment
from tankwalk import text
from tankwalk.pages import feed, feed_tank
from tankwalk.pages.lines import plain
from tankwalk.practice.meal import list_view
from tankwalk.practice.meal.feed_walk import FeedWalk
from tankwalk.practice.site import Site, open_site
from tankwalk.screens.board import BoardScreen
from tankwalk.screens.tones import LOOKS
from test_feed_walk import asked
from test_screens import Room, at_the_screen

SIZES = ((80, 24), (60, 20), (120, 40))

HATCH = "2026-05-04T13:40"
"""After the late, poor hatch of the demo: less than the rations until the next cone is ready."""


def demo_at(folder: Path, when: str) -> Site:
    site = open_site(Path(shutil.copytree(until(moment(when)), folder / "site")), STATION, when)
    site.ledger.db.execute("PRAGMA synchronous = OFF")
    return site


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    with closing(opened(tmp_path)) as site:
        yield site


@pytest.fixture
def short(tmp_path: Path) -> Iterator[Site]:
    with closing(demo_at(tmp_path, HATCH)) as site:
        yield site


def fed_at(site: Site, meal: str) -> dict[str, list[tuple[str, float, float | None]]]:
    """What each tank was given at a meal: feed, amount, its full ration."""
    at = moment(meal)
    found: dict[str, list[tuple[str, float, float | None]]] = {}
    for one in site.reader.feeding.meals(at.utc - 86400):
        if one.meal_at == at.utc and one.event is None:
            found.setdefault(one.place, []).append((one.feed, one.amount, one.planned))
    return found


def test_twelve_tanks_are_fed_as_listed_with_two_keys_each_the_response_with_them(
    demo: Site,
) -> None:
    keys: list[str] = []

    async def act(room: Room) -> None:
        await room.press("2", "right")
        assert room.text.startswith(" FEED  Meal 10:00")
        await room.press("enter", "1", "5")
        for tank in demo.plan.tanks:
            assert f" {tank.code}  " in room.text.split("\n")[1]
            for key in ("plus", "1"):
                keys.append(key)
                await room.press(key)
        assert "12 of 12 tanks fed." in room.text
        assert "Every tank got its full ration" in room.text
        await room.press("enter")
        assert "Every tank is done." in room.text

    at_the_screen(demo, act)
    given = fed_at(demo, "2026-05-10T10:00")
    assert len(keys) == 24
    assert sorted(given) == [tank.code for tank in demo.plan.tanks]
    assert {feed for many in given.values() for feed, _, _ in many} == {"Artemia", "D1"}
    assert all(amount == full for many in given.values() for _, amount, full in many)


def test_a_tank_that_was_missed_is_not_told_as_fed_nor_shown_with_an_amount(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2", "right", "enter", "1", "5", "slash", "1")
        assert "1 of 12 done" in room.text
        for _ in demo.plan.tanks[1:]:
            await room.press("plus", "1")
        assert "11 of 12 tanks fed." in room.text
        assert "missed: no time (PB): T01" in room.text
        await room.press("enter")
        [row] = [one for one in room.text.split("\n") if one.startswith(" > T01")]
        assert row.split() == [">", "T01", "M14", "-", "-", "missed:", "no", "time"]

    at_the_screen(demo, act)


def test_what_was_poured_of_which_batch_is_kept_with_the_live_feed(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2", "right", "down", "down", "enter", "1", "5", "plus")

    at_the_screen(demo, act)
    [(_, thousand, _)] = [
        one for one in fed_at(demo, "2026-05-10T10:00")["T03"] if one[0] == "Artemia"
    ]
    [poured] = [
        one for one in demo.reader.feeding.poured(moment("2026-05-10T06:00").utc)
        if one.place == "T03"
    ]  # fmt: skip
    assert poured.batch == "A0508"
    assert poured.ml * poured.per_ml / 1000 == pytest.approx(thousand, abs=0.5)


def test_plus_says_which_other_feed_of_the_tank_goes_in_with_it(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2", "right", "down", "down", "enter", "1", "5")
        assert "+ as listed, and" in room.text
        said = room.text.split("+ as listed, and ")[1].split("\n")[0]
        await room.press("plus")
        assert said.split()[-2] in room.text.split(" kept.")[0].split("\n")[-1]
        await room.press("left", "left")
        assert "+ as listed, or type another amount" in room.text, "T02 gets dry feed alone"

    at_the_screen(demo, act)


def test_a_feed_that_is_not_listed_is_not_offered_as_listed(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2", "right", "enter", "1", "5")
        assert "+ as listed" in room.footer
        await room.press("slash")
        number = next(row.split()[0] for row in room.text.split("\n") if "another feed" in row)
        await room.press(number, "1")
        assert "type how much went in" in room.text
        assert "+" not in room.footer

    at_the_screen(demo, act)


def test_of_two_batches_each_says_its_own_milliliters_and_no_sum_is_made_of_them(
    tmp_path: Path,
) -> None:
    with closing(demo_at(tmp_path, "2026-05-03T09:00")) as site:
        batch(site, "2026-05-01T17:00", "B1", "set", lot="AC-7", grams=4.0, litres=2.0,
              due="2026-05-02T17:00")  # fmt: skip
        batch(site, "2026-05-02T17:00", "B1", "harvest", litres=2.0, per_ml=525.0)
        batch(site, "2026-05-02T17:10", "B1", "chill", litres=2.0)
        view = list_view.made(site, moment("2026-05-03T10:00"))
        assert view is not None
        store = view.list.store
        assert len({one.per_ml for one in store}) == 2
        said = " ".join(plain(feed.draw(view, 80, None)).split())
        for one in store:
            assert f"{one.ml:,.0f} mL at {one.per_ml:,.0f} per mL" in said
        assert f"{sum(one.ml for one in store):,.0f}" not in said
        made = feed.made_up(view)
        [live] = [one for one in view.list.totals if one.feed.code == "Artemia"]
        assert sum(pour.ml for pour in live.pours) == live.ml
        assert all(f"mL from {pour.batch}" in made[0] for pour in live.pours)
        mixed = [one for row in view.stops for one in row.portions if len(one.pours) > 1]
        assert len(mixed) == 1, "one cup is of both"
        whole, rest = mixed[0].pours
        assert feed_tank.from_words(mixed[0]) == (
            f"{whole.ml:,.0f} mL from {whole.batch} and {rest.ml:,.0f} mL from {rest.batch}"
        )


def test_enter_at_the_list_says_whether_a_meal_is_started_or_gone_on_with(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2")
        assert room.footer.startswith(" Enter start")
        await room.press("enter", "1", "5", "plus", "plus", "1", "escape")
        assert room.footer.startswith(" Enter go on")

    at_the_screen(demo, act)


def test_an_item_of_a_tank_is_not_taken_and_a_feed_is_not_fed(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2", "enter", "1", "5")
        assert "Prey left" in room.text
        assert "/ not taken" in room.footer
        await room.press("plus")
        assert "/ not fed" in room.footer

    at_the_screen(demo, act)


def test_a_short_ration_is_shared_by_a_rule_that_is_said_and_kept_beside_the_full_one(
    short: Site,
) -> None:
    view = list_view.made(short)
    assert view is not None
    [live] = [one for one in view.list.totals if one.feed.code == "Artemia"]
    told = [words for words, _ in feed.told_before(view)]
    assert told[0].startswith(f"! Artemia nauplii: {live.percent} % of the rations")
    assert told[0].endswith("every tank gets the same share of its own.")
    walk = FeedWalk(short, view.meal, "PB")
    while not walk.at_end:
        walk.answer("+")
    given = fed_at(short, "2026-05-04T14:00")
    shares = [
        amount / full
        for many in given.values()
        for code, amount, full in many
        if code == "Artemia" and full
    ]
    assert len(shares) == 8
    assert all(share == pytest.approx(live.share, abs=0.005) for share in shares)
    assert all(share < 1 for share in shares)


def test_a_far_amount_is_asked_about_and_enter_keeps_nothing(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2", "right", "enter", "1", "5", *"15.1", "enter")
        assert "times the listed" in room.text
        assert "+ type it again" in room.footer
        await room.press("enter")
        assert fed_at(demo, "2026-05-10T10:00") == {}
        await room.press(*"15.1", "enter", "2")
        assert "dry feed D1 1.51 g kept." in room.text

    at_the_screen(demo, act)
    [(_, amount, _)] = fed_at(demo, "2026-05-10T10:00")["T01"]
    assert amount == 1.51


def test_feed_off_on_the_list_is_proposed_for_the_tank_that_is_marked(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2", *["down"] * 6, "slash", "4")
        assert room.footer.startswith(" Enter T07")
        await room.press("enter", "1", "5")
        assert "Kept for T07: " in room.flowing
        assert "11 of 12 tanks" in room.text
        await room.press("slash", "1")
        assert room.footer.startswith(" Enter all tanks"), "a meal is missed by the whole room"

    at_the_screen(demo, act)


def test_feed_that_is_turned_off_is_passed_over_until_it_is_on_again(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2", "right", "enter", "1", "5", "slash", "3")
        assert "T01 OFF" in room.text
        assert " T02 " in room.text.split("\n")[1]
        await room.press("left")
        assert "FEED OFF since" in room.text
        await room.press("plus")
        assert fed_at(demo, "2026-05-10T10:00") == {}
        await room.press("escape")
        assert "FEED OFF 06:50, PB" in room.text
        await room.press("slash", "5", "5")
        assert "Feed is on again: T01 (PB)." in room.text
        assert "FEED OFF" not in room.text

    at_the_screen(demo, act)


def test_a_tank_off_feed_is_turned_on_again_where_one_stands(demo: Site) -> None:
    walk = FeedWalk(demo, moment("2026-05-10T10:00"), "PB")
    for key in ("/", "3"):
        walk.answer(key)
    walk.move("left")
    walk.answer("/")
    assert asked(walk) == "T01 is off feed since 06:50 (PB). Feed it again from now on?"
    walk.answer("+")
    assert "T01" in [one.tank.code for one in walk.stops if one.off is not None]
    walk.answer("/")
    walk.answer("1")
    assert [one for one in walk.stops if one.off is not None] == []
    assert walk.stop.tank.code == "T01"
    walk.answer("+")
    assert [feed for feed, _, _ in fed_at(demo, "2026-05-10T10:00")["T01"]] == ["D1"]


def test_a_tank_taken_back_after_the_page_was_left_is_listed_again_as_before(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2", "right", "down", "down", "enter", "1", "5")
        listed = row(room, "Artemia").split()[2:4]
        assert listed == ["283", "mL"]
        await room.press("plus", "left", "left", "escape", "enter", "1", "enter")
        assert "of " in row(room, "Artemia"), "what went in is beside what it is of"
        await room.press("u")
        assert "Undone: T03 dry feed D1 0.99 g." in room.text
        await room.press("u")
        assert "Undone: T03 Artemia nauplii 283 mL." in room.text
        assert row(room, "Artemia").split()[2:4] == listed

    def row(room: Room, feed: str) -> str:
        return next(one for one in room.text.split("\n") if feed in one[:12]).replace(">", "")

    at_the_screen(demo, act)


def test_feed_turned_off_by_mistake_is_undone_by_one_key(demo: Site) -> None:
    walk = FeedWalk(demo, moment("2026-05-10T10:00"), "PB")
    for key in ("/", "3"):
        walk.answer(key)
    assert walk.undo().sentence == "Undone: T01 dry feed D1 pause: feed off."
    assert walk.stops[0].off is None


def test_a_digit_asks_the_record_nothing(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2", "right", "enter", "1", "5")
        with asked_of(demo.ledger.db) as statements:
            await room.press("1", ".", "4", "backspace")
        assert statements == []
        assert "1. = 1.00 g" in room.text

    at_the_screen(demo, act)


def test_a_board_behind_another_page_asks_the_record_nothing(demo: Site) -> None:
    async def act(room: Room) -> None:
        behind = room.page
        assert isinstance(behind, BoardScreen)
        await room.press("2", "right", "enter", "1", "5")
        assert room.page is not behind
        with asked_of(demo.ledger.db) as statements:
            behind._read_later()
        assert statements == []

    at_the_screen(demo, act)


def test_a_meal_that_nobody_gives_is_entered_once_for_all_and_taken_back(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2", "slash", "1", "enter", "5")
        assert "Kept for all tanks: missed: no time (PB)." in room.text
        assert "No tank is fed at this meal." in room.text
        await room.press("u", "1")
        assert "Taken back: all tanks, missed: no time" in room.flowing
        assert "No tank is fed" not in room.text

    at_the_screen(demo, act)


def test_a_meal_given_earlier_is_entered_with_its_time(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("2", "asterisk", *"0630", "enter", "1", "5")
        assert " FEED  Meal 08:20, given 06:30, PB " in room.text
        await room.press("1", "plus")

    at_the_screen(demo, act)
    at = moment("2026-05-10T08:20").utc
    [one] = [m for m in demo.reader.feeding.meals(at - 86400) if m.meal_at == at]
    assert one.at.hm() == "06:30"


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("keys", [(), ("+",), ("+", "/"), ("+", "15.1"), ("+", "+", "3")])
def test_the_page_of_a_tank_fills_every_size_exactly(
    short: Site, size: tuple[int, int], keys: tuple[str, ...]
) -> None:
    walk = FeedWalk(short, moment("2026-05-04T14:00"), "PB")
    for key in keys:
        walk.answer(key)
    drawn = feed_tank.draw(walk.view(), "", *size)
    assert len(drawn) == size[1]
    assert {sum(text.width(span.text) for span in row) for row in drawn} == {size[0]}


@pytest.mark.parametrize("size", SIZES)
def test_the_list_fills_every_size_exactly(short: Site, size: tuple[int, int]) -> None:
    view = list_view.made(short)
    assert view is not None
    drawn = feed.draw(view, *size)
    assert len(drawn) == size[1]
    assert {sum(text.width(span.text) for span in row) for row in drawn} == {size[0]}


def test_every_tone_of_the_feed_pages_is_in_the_night_look(short: Site) -> None:
    view = list_view.made(short)
    assert view is not None
    walk = FeedWalk(short, view.meal, "PB")
    walk.answer("15.1")
    assert asked(walk)
    rows = [*feed.draw(view, 80, 24), *feed_tank.draw(walk.view(), "", 80, 24)]
    assert {span.tone for row in rows for span in row} <= set(LOOKS["night"])


def test_a_wide_list_has_the_looks_of_each_tank_and_every_meal_of_the_day(demo: Site) -> None:
    view = list_view.made(demo, moment("2026-05-10T10:00"))
    assert view is not None
    rows = plain(feed.draw(view, 120, 39)).split("\n")
    heads = next(row for row in rows if "prey left" in row)
    assert "feeding response" in heads
    eaten = next(row for row in rows if row.startswith("   T05")).split()
    # T05 was eager at six meals and fair at the last one; some prey was left each time.
    assert eaten[4:18] == ["·"] * 13 + ["▄"]
    at = next(nth for nth, row in enumerate(rows) if row.startswith(" SUN 10"))
    day = [row.split() for row in rows[at + 1 : at + 7]]
    assert [one[0] for one in day] == ["08:20", "10:00", "12:00", "14:00", "15:38", "15:52"]
    assert [one.hm() for one in (each.meal for each in view.list.day)] == [one[0] for one in day]
    assert {tuple(one[1:3]) for one in day} == {("11.23", "396")}
    assert rows[at + 7].split() == ["together", "67.38", "2,376"]
    assert not any("prey left" in row for row in plain(feed.draw(view, 80, 23)).split("\n"))


def test_a_meal_of_the_day_that_was_given_says_what_went_in(demo: Site) -> None:
    walk = FeedWalk(demo, moment("2026-05-10T08:20"), "PB")
    for answer in ("+", "1.5"):
        walk.answer(answer)
    view = list_view.made(demo, moment("2026-05-10T08:20"))
    assert view is not None
    [given] = [one for one in view.list.day if one.given is not None]
    assert (given.meal, given.given, given.amounts) == (
        moment("2026-05-10T08:20"), 1, {"D1": 1.5},
    )  # fmt: skip
    rows = plain(feed.draw(view, 120, 39)).split("\n")
    at = next(nth for nth, row in enumerate(rows) if row.startswith(" SUN 10"))
    assert rows[at + 1].split()[:3] == ["08:20", "1.50", "-"]
    assert "given to 1 tank, 11 wait" in rows[at + 1]
