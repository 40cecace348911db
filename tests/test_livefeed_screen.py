"""Live feed at the screen, by the number pad: set, harvested, chilled, thrown out; a batch."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from livefeed_support import LIVE, batch, culture_count
from site_support import clock_shows, moment, opened
from tankwalk import text
from tankwalk.cli import main
from tankwalk.ledger.entries import Entry, Meal, Poured, Served
from tankwalk.pages import livefeed as page
from tankwalk.pages.lines import plain
from tankwalk.practice.live_feed import LiveFeedView, live_feed
from tankwalk.practice.livefeed.batches import LiveBatch, one_batch
from tankwalk.practice.livefeed.setting import PlannedCone
from tankwalk.practice.site import Site
from tankwalk.screens.livefeed import LiveFeedScreen
from test_screens import At, Room, at_the_screen


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, LIVE) as found:
        yield found


async def typed(room: Room, words: str) -> None:
    """A number and Enter, as on the pad."""
    names = {".": "decimal", "/": "slash", "+": "plus"}
    await room.press(*(names.get(one, one) for one in words), "enter")


def seen(site: Site, act: At, when: str, size: tuple[int, int] = (80, 24)) -> None:
    """Do something at the screen, opened at a time."""
    clock_shows(site, when)
    at_the_screen(site, act, size)


def printed(site: Site, *words: str) -> int:
    return main(["livefeed", *words, "--site", str(site.folder), "--now", "2026-05-10T13:00"])


def harvested(site: Site, name: str = "A0509", day: int = 9) -> None:
    batch(site, f"2026-05-{day:02}T09:30", name, "set", lot="AC-7", grams=10.0, litres=5.0,
          due=f"2026-05-{day + 1:02}T08:30")  # fmt: skip
    batch(site, f"2026-05-{day + 1:02}T08:30", name, "harvest", litres=5.0, per_ml=336.0,
          hatch_percent=80.0)  # fmt: skip


def poured(site: Site, when: str, tank: str, ml: float, who: str = "AB") -> None:
    at = moment(when)
    meal = Meal("Art", ml * 336.0 / 1000, "thousand")
    served = Served(moment("2026-05-10T12:00").utc)
    site.record(Entry("meal", who, at, at, tank), meal, served, Poured("A0509", ml, 336.0))


def test_a_cone_is_set_harvested_chilled_and_thrown_out_by_the_pad_alone(site: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("7")
        assert room.text.startswith(" LIVE FEED")
        await room.press("plus", "2")  # at the first vessel: begin it, or set a cone
        await room.press("1")  # who sets it: AB
        await typed(room, "10")
        await room.press("plus")  # 5 L as proposed
        await typed(room, "27.8")
        await typed(room, "8.2")
        await room.press("plus")  # 25 g/kg by the plan
        assert "A0509: 10 g of AC-7 in 5 L, harvest Sun 10 May 08:30." in room.flowing
        await room.press("1")
        assert "Kept: A0509" in room.flowing
        assert "Label it A0509" in room.flowing
        assert " > A0509 " in room.text
        clock_shows(site, "2026-05-10T08:35")
        await room.press("escape", "7")
        assert "due 5 min ago" in room.flowing
        assert room.footer.startswith(" Enter harvest A0509")
        await room.press("enter", "1")
        await typed(room, "5")
        await typed(room, "336")
        await room.press("1", "1")
        assert "1,680 thousand, hatch 80 %" in room.flowing
        await room.press("enter")  # chill it
        await typed(room, "1200")
        await typed(room, "5")
        await room.press("1")
        assert "use by Mon 11 May 08:35" in room.flowing
        await room.press("enter")
        assert room.text.startswith(" BATCH A0509"), "what is still good is not thrown out by Enter"
        clock_shows(site, "2026-05-11T08:40")
        await room.press("escape", "escape", "7")
        assert room.footer.startswith(" Enter open A0509"), "over a day old, and still feed"
        await room.press("enter")
        assert room.text.startswith(" BATCH A0509")
        clock_shows(site, "2026-05-12T08:40")
        await room.press("escape", "escape", "7")
        assert room.footer.startswith(" Enter throw out A0509"), "no feed any more"
        await room.press("enter", "1", "2", "slash", "1")
        assert "all of it thrown out, too old" in room.flowing

    seen(site, act, "2026-05-09T09:30")
    kept = [e.event for e in site.reader.feeding.batch("A0509")]
    assert kept == ["set", "harvest", "chill", "discard"]


def test_escape_in_the_middle_of_a_talk_keeps_nothing(site: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("7", "plus", "2", "1", "1", "0", "enter", "escape")
        assert "Back: nothing was kept." in room.text

    seen(site, act, "2026-05-09T09:30")
    assert site.reader.feeding.batches(0) == []


def test_escape_forgets_who_was_named_in_the_talk_that_is_left_and_nobody_named_before(
    site: Site,
) -> None:
    harvested(site)

    async def act(room: Room) -> None:
        await room.press("7", "minus", "1", "1", "escape", "minus")
        assert "Who throws A0509 out?" in room.text, "a name typed by mistake is asked again"
        await room.press("1", "1", *"10", "enter")
        assert "A0509: 10 mL thrown out" in room.flowing
        assert "By AB." in room.text
        await room.press("1", "minus", "escape", "minus")
        assert "A0509: thrown out, why?" in room.text, "who kept something goes on"

    seen(site, act, "2026-05-10T09:00")


def test_the_hand_that_counted_on_the_pad_goes_on_at_a_batch_and_at_what_is_in_stock(
    site: Site,
) -> None:
    harvested(site)

    async def act(room: Room) -> None:
        await room.press("7", "asterisk", "enter", "1")
        for many in ("34", "33", "34"):
            await typed(room, many)
        await room.press("plus", "2")
        assert "hatch 80 %." in room.flowing
        await room.press("right", "minus")
        assert "A0509: thrown out, why?" in room.text
        await room.press("escape", "escape", *["down"] * 9)
        assert room.footer.startswith(" Enter D1")
        await room.press("enter", "1")
        assert "D1 received, g?" in room.text

    seen(site, act, "2026-05-10T09:00")


def test_a_silent_enter_answers_no_number(site: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("7", "plus", "2", "1", "enter")
        assert "Nothing was typed, so nothing is kept." in room.flowing
        assert "A0509, cysts, g?" in room.flowing

    seen(site, act, "2026-05-09T09:30")


def test_arrows_while_something_is_asked_leave_the_mark_where_it_is_asked_about(
    site: Site,
) -> None:
    harvested(site)

    async def act(room: Room) -> None:
        await room.press("7", "minus", "down", "down")
        assert "Who throws A0509 out?" in room.text
        await room.press("escape")
        assert "A0509" in next(row for row in room.text.split("\n") if row.startswith(" >"))

    seen(site, act, "2026-05-10T09:00")


def test_enter_is_offered_at_a_batch_where_it_does_something(site: Site) -> None:
    harvested(site)

    async def act(room: Room) -> None:
        await room.press("7", "right")
        assert room.footer.startswith(" Enter chill A0509")
        await room.press("enter", "1", "plus", "slash", "1")
        assert "in the cold store" in room.text
        assert "Enter" not in room.footer, "what is chilled is poured, and opened already"

    seen(site, act, "2026-05-10T09:30")


def test_a_newest_entry_is_taken_back_by_u(site: Site) -> None:
    harvested(site)

    async def act(room: Room) -> None:
        await room.press("7", "u", "1", "1")
        assert "Taken back: A0509 harvest, 08:30." in room.flowing

    seen(site, act, "2026-05-10T08:40")
    assert [e.event for e in site.reader.feeding.batch("A0509")] == ["set"]


def test_a_batch_tells_its_story_its_balance_and_where_it_went(site: Site) -> None:
    harvested(site)
    poured(site, "2026-05-10T12:00", "T01", 500.0)
    poured(site, "2026-05-10T12:01", "T02", 500.0)
    batch(site, "2026-05-10T16:00", "A0509", "discard", litres=1.0)

    async def act(room: Room) -> None:
        await room.press("7", "right")
        assert room.text.startswith(" BATCH A0509  cone")
        # 5 L at 336 are 1680; 1 L poured 336; 1 L out 336; 3 L left 1008.
        for row in ("harvested 1,680", "poured 336", "thrown out 336", "left 1,008"):
            assert row in room.flowing, row
        assert "not accounted for" not in room.text
        assert "Sun 10 May 12:00 2 tanks 1,000 336" in room.flowing

    seen(site, act, "2026-05-10T17:00", (80, 40))


def test_a_culture_is_told_with_its_past_and_held_where_its_eggs_fall(site: Site) -> None:
    for name in ("R1", "R2"):
        batch(site, "2026-05-01T09:00", name, "set", "rotifers", litres=60.0)
    for day, eggs in ((6, 60), (7, 50), (8, 40), (9, 30), (10, 19)):
        culture_count(site, f"2026-05-{day:02}T09:00", "R1", 250.0, 100, 62)
        culture_count(site, f"2026-05-{day:02}T09:00", "R2", 240.0, 100, eggs)

    async def act(room: Room) -> None:
        await room.press("7")
        shown = [" ".join(row.strip(" >").split()) for row in room.text.split("\n")]
        rows = {row[:2]: row for row in shown if row[:2] in ("R1", "R2")}
        assert rows["R1"].endswith("0.62 █████ harvest now")
        assert rows["R2"].endswith("! falling 4 d hold, count 12:00")

    seen(site, act, "2026-05-10T09:10")


def test_the_page_and_a_batch_are_printed_and_given_as_data(
    site: Site, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    harvested(site)
    assert printed(site) == 0
    assert "A0509   5,000 mL at 336 per mL = 1,680 thousand" in capsys.readouterr().out
    assert printed(site, "A0509") == 0
    assert "BATCH A0509  cone" in capsys.readouterr().out
    assert printed(site, "A0509", "--json") == 0
    data = json.loads(capsys.readouterr().out)
    assert data["batch"]["left"]["thousand"] == 1680.0
    assert data["batch"]["state"] == "harvested"
    paper = tmp_path / "live.html"
    assert printed(site, "--html", str(paper)) == 0
    assert "1,680 thousand" in paper.read_text("utf-8")
    assert printed(site, "T99") == 2
    assert "no batch, no tank and no treatment" in capsys.readouterr().err


def test_a_tank_tells_the_batches_it_was_fed_from(
    site: Site, capsys: pytest.CaptureFixture[str]
) -> None:
    harvested(site)
    poured(site, "2026-05-10T12:00", "T01", 500.0)
    capsys.readouterr()
    assert printed(site, "T01") == 0
    told = capsys.readouterr().out
    assert "A0509      1 meal       500 mL     168 thousand, hatch 80 %" in told
    assert one_batch(site, "A0509", moment("2026-05-10T13:00")) is not None


def test_a_harvest_that_is_counted_on_the_pad_comes_back_with_its_hatch(site: Site) -> None:
    batch(site, "2026-05-09T09:30", "A0509", "set", lot="AC-7", grams=10.0, litres=5.0,
          due="2026-05-10T08:30")  # fmt: skip

    async def act(room: Room) -> None:
        await room.press("7", "enter", "1")
        await typed(room, "5")
        await room.press("slash", "1", "1")  # counted in a moment, instar I, keep it
        assert "not counted yet" in room.text
        assert "Count A0509: until then its nauplii are in no sum here." in room.flowing
        assert room.footer.startswith(" Enter count A0509")
        await room.press("enter", "enter")  # drops as is usual
        for many in ("34", "33", "34"):
            await typed(room, many)
        await room.press("plus", "2")  # three are few: keep it as it is
        # 101 in 3 x 0.1 mL are 336.7 per mL, in 5 L 1 683 thousand of 2 100.
        assert "5,000 mL at 337 per mL = 1,684 thousand" in room.flowing
        await room.press("enter")  # who has just counted chills it
        assert "A0509 kept in the cold store, mL?" in room.flowing
        await room.press("escape")

    seen(site, act, "2026-05-10T08:35", (80, 30))
    [count] = [e for e in site.reader.feeding.batch("A0509") if e.event == "count"]
    assert count.hatch_percent == pytest.approx(80.2, abs=0.1)
    assert [c.counts for c in site.reader.feeding.counts([count.n])[count.n]] == [(34, 33, 34)]


RATIONED = (
    LIVE
    + '\n[[ration]]\nfeed = "Art"\nby = "tank"\n'
    + "points = [{dph = 4, amount = 300}, {dph = 18, amount = 300}]\n"
)
"""The same room, where each of the four tanks gets 300 thousand nauplii a day, at three meals."""


def rationed(site: Site, when: str) -> LiveFeedView:
    clock_shows(site, when)
    return live_feed(site)


def shown(view: LiveFeedView, width: int = 80) -> str:
    return " ".join(plain(page.draw(view, width, None)).split())


def test_what_a_late_cone_leaves_hungry_is_said_with_how_much_of_it(tmp_path: Path) -> None:
    # Four tanks of 75 thousand at each of four meals; the store holds 100 of these 300.
    with opened(tmp_path, RATIONED.replace("dph = [4, 14]", "dph = [4, 18]")) as site:
        harvested(site, "A0508", 8)
        batch(site, "2026-05-09T10:00", "A0508", "chill", litres=0.2976)
        batch(site, "2026-05-09T09:30", "A0509", "set", lot="AC-7", grams=10.0, litres=5.0,
              due="2026-05-10T06:00", temperature=23.0, ph=8.2)  # fmt: skip
        view = rationed(site, "2026-05-10T07:59")
        assert view.risk is not None
        assert (view.risk.batches, view.risk.first) == (("A0509",), moment("2026-05-10T08:00"))
        assert view.risk.percent == 67
        said = shown(view)
        assert "Without A0509 T01, T02, T03, T04 are 67 % short at 08:00." in said
        assert "Its water was 23 degC at the last look: less may come." in said
        batch(site, "2026-05-10T08:00", "A0509", "harvest", litres=5.0, per_ml=336.0)
        assert rationed(site, "2026-05-10T08:01").risk is None, "it is in"


def test_what_is_two_days_old_feeds_nobody_while_a_cone_is_late(tmp_path: Path) -> None:
    with opened(tmp_path, RATIONED) as site:
        harvested(site, "A0507", 7)
        batch(site, "2026-05-08T10:00", "A0507", "chill", litres=5.0)
        batch(site, "2026-05-09T09:30", "A0509", "set", lot="AC-7", grams=10.0, litres=5.0,
              due="2026-05-10T06:00")  # fmt: skip
        view = rationed(site, "2026-05-10T07:59")
        # Harvested Friday 08:30: at Sunday's 08:00 it is still feed, at 12:00 it is none.
        assert view.risk is not None
        assert (view.risk.first, view.risk.percent) == (moment("2026-05-10T12:00"), 100)


def test_a_cone_to_set_stands_with_its_name_its_grams_and_by_when(tmp_path: Path) -> None:
    with opened(tmp_path, RATIONED) as site:
        harvested(site)
        view = rationed(site, "2026-05-10T08:31")
        [first, *_] = view.planned
        assert first.name == "A0510"
        said = shown(view)
        assert f"A0510 set by {first.set_by.hm()}: {first.proposed.grams:.1f} g of AC-7" in said
        assert "NEEDED thousand left after" in said

        async def act(room: Room) -> None:
            await room.press("7")
            assert room.footer.startswith(" Enter set A0510")
            await room.press("enter", "1", "plus", "plus", "slash", "slash", "slash", "1")
            assert "Kept: A0510: " in room.flowing

        seen(site, act, "2026-05-10T08:31")
        begun = site.reader.feeding.batch("A0510")[0]
        assert begun.grams == round(first.proposed.grams, 1)
        assert rationed(site, "2026-05-10T08:40").planned[:1] != (first,)


@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_number_and_no_time_of_the_page_is_cut(tmp_path: Path, width: int) -> None:
    with opened(tmp_path, RATIONED) as site:
        harvested(site)
        batch(site, "2026-05-10T09:30", "A0510", "set", lot="AC-7", grams=10.0, litres=5.0,
              due="2026-05-11T08:30", temperature=27.5, ph=8.2, salinity=25.0)  # fmt: skip
        culture_count_of_both(site)
        view = rationed(site, "2026-05-10T15:00")
        rows = page.draw(view, width, None)
        assert ".." not in plain(rows)
        assert {sum(text.width(span.text) for span in row) for row in rows} == {width}


def culture_count_of_both(site: Site) -> None:
    for name in ("R1", "R2"):
        batch(site, "2026-05-01T09:00", name, "set", "rotifers", litres=60.0)
        culture_count(site, "2026-05-10T09:00", name, 250.0, 100, 62)


def test_a_poor_hatch_is_said_at_the_top_for_a_day(site: Site) -> None:
    for day in (4, 5, 6):
        harvested(site, f"A050{day}", day)
    batch(site, "2026-05-07T09:30", "A0507", "set", lot="AC-7", grams=10.0, litres=5.0)
    batch(site, "2026-05-08T08:30", "A0507", "harvest", litres=5.0, per_ml=190.0,
          hatch_percent=46.0)  # fmt: skip
    said = "A0507 hatched 46 %, AC-7's last 3 80 %: bad tin, cold, or pH?"
    assert said in shown(rationed(site, "2026-05-09T08:29"))
    assert said not in shown(rationed(site, "2026-05-09T08:31"))


def test_a_batch_that_is_gone_opens_with_its_story(site: Site) -> None:
    harvested(site)
    batch(site, "2026-05-10T09:00", "A0509", "discard")

    async def act(room: Room) -> None:
        room.app.live_feed("A0509")
        await room.pilot.pause()
        assert room.text.startswith(" BATCH A0509  cone")
        assert "thrown out" in room.text

    seen(site, act, "2026-05-10T10:00")


def test_live_feed_stands_at_the_cone_to_set_where_the_board_asked_for_one(
    tmp_path: Path,
) -> None:
    with opened(tmp_path, RATIONED) as site:
        batch(site, "2026-05-09T09:30", "A0509", "set", lot="AC-7", grams=10.0, litres=5.0,
              due="2026-05-10T08:30")  # fmt: skip

        async def act(room: Room) -> None:
            await room.press("7")
            assert room.footer.startswith((" Enter check A0509", " Enter harvest A0509"))
            await room.press("escape")
            room.app.live_feed(to_set=True)
            await room.pilot.pause()
            assert isinstance(room.page, LiveFeedScreen)
            assert isinstance(room.page.row, PlannedCone)
            assert room.footer.startswith(" Enter set A05")

        seen(site, act, "2026-05-09T16:45")


def test_fresh_nauplii_are_opened_by_enter_and_the_footer_says_so(site: Site) -> None:
    harvested(site)
    batch(site, "2026-05-10T09:00", "A0509", "chill", litres=5.0)

    async def act(room: Room) -> None:
        await room.press("7")
        assert room.footer.startswith(" Enter open A0509")
        await room.press("enter")
        assert room.text.startswith(" BATCH A0509")

    seen(site, act, "2026-05-10T10:00")


def test_a_tin_and_a_culture_tell_what_was_counted_and_how_they_stand(
    site: Site, capsys: pytest.CaptureFixture[str]
) -> None:
    batch(site, "2026-05-01T09:00", "T1", "received", "cysts", "AC-7", lot="AC-7", grams=454.0)
    culture_count_of_both(site)
    assert printed(site, "T1") == 0
    assert "\n sealed" in capsys.readouterr().out
    assert printed(site, "R1") == 0
    assert "250 per mL, 0.62 eggs per female" in capsys.readouterr().out


def test_what_the_first_meals_of_tomorrow_need_is_said_where_it_is_chilled(tmp_path: Path) -> None:
    with opened(tmp_path, RATIONED) as site:
        harvested(site)
        batch(site, "2026-05-10T09:30", "A0510", "set", lot="AC-7", grams=20.0, litres=10.0,
              due="2026-05-11T08:30")  # fmt: skip

        async def act(room: Room) -> None:
            await room.press("7")
            names = [row.name for row in _rows(room) if isinstance(row, LiveBatch | PlannedCone)]
            await room.press(*["down"] * names.index("A0509"))
            assert room.footer.startswith(" Enter chill A0509")
            await room.press("enter", "1")
            # Four cups of 100 thousand at Monday's 08:00, each of 298 mL at 336 per mL.
            assert "Wanted: 400 thousand for Mon 08:00: 1,192 mL of A0509." in room.flowing

        seen(site, act, "2026-05-10T15:00")


def _rows(room: Room) -> tuple[object, ...]:
    screen = room.page
    assert isinstance(screen, LiveFeedScreen)
    return screen.view.rows


def test_a_wide_page_tells_the_story_of_what_is_marked_and_every_next_step_by_its_time(
    site: Site,
) -> None:
    harvested(site)
    batch(site, "2026-05-09T12:00", "R1", "set", "rotifers", "R2", litres=60.0)
    for day, females, eggs in ((9, 250, 150), (10, 200, 60)):
        culture_count(site, f"2026-05-{day:02}T12:30", "R1", float(females), females, eggs)
    clock_shows(site, "2026-05-10T13:00")
    view = live_feed(site)
    at = [row.name if isinstance(row, LiveBatch) else "" for row in view.rows]
    cone = plain(page.draw(view, 120, 39, at.index("A0509")))
    assert "10 g, 5 L" in cone, "set with"
    assert "5 L, 336 per mL, hatch 80 %" in cone
    culture = plain(page.draw(view, 120, 39, at.index("R1")))
    assert re.search(r"Sat 12:30 +250 +█+ +0\.60 +█+", culture)
    assert re.search(r"12:30 +200 +█+ +0\.30 +█+", culture)
    after = culture.split(" NEXT")[1].split("\n")[1:]
    whens = [row[78:].split()[0] for row in after if row[78:].strip()]
    assert whens[0] == "now"
    steps = culture.split(" NEXT")[1]
    assert "A0509" in steps
    assert "R1" in steps
    # What was done with all the others stands below, newest first, in the rows that are free.
    done = [row[:78].split() for row in culture.split(" DONE LATELY")[1].split("\n")[1:]]
    assert next(words[2:4] for words in done if "A0509" in words) == ["harvested", "A0509"]
    assert not any("R1" in words for words in done)
    assert len(culture.split("\n")) == 39
    # On a narrow page the story is one key away.
    assert "NEXT" not in plain(page.draw(view, 80, 23, at.index("R1")))


def test_stock_that_has_no_room_in_a_row_takes_more_rows_and_is_not_cut(site: Site) -> None:
    batch(site, "2026-05-01T12:00", "D1-1", "received", "feed", "D1", lot="D1", grams=2700.0)
    clock_shows(site, "2026-05-10T13:00")
    for width in (60, 120):
        shown = plain(page.draw(live_feed(site), width, None))
        assert "2,700 g in 1 bag" in shown
        assert ".." not in shown.split("IN STOCK")[1]
