"""The dispensing list: who gets how much of what, what is made up, and how a shortage is shared."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from math import exp
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fed_support import FED, cone, fed, no_feed
from site_support import clock_shows, moment, opened, seen_before
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Batch, BatchOf, DoneAbout, Entry, Meal, Poured, Served
from tankwalk.pages.lines import plain
from tankwalk.pages.ration import draw
from tankwalk.practice.doing import deviations
from tankwalk.practice.feeding import giving
from tankwalk.practice.feeding.dispensing import MealList, at_time, meal_list
from tankwalk.practice.feeding.in_water import LeftHow
from tankwalk.practice.feeding.meals import FEED_ON
from tankwalk.practice.feeding.rations import Missing
from tankwalk.practice.feeding.sharing import poured
from tankwalk.practice.livefeed.cold_store import Chilled
from tankwalk.practice.site import SITE, Site

PLAN = (
    FED.replace('code = "Art"\n', 'code = "Art"\nkind = "live"\n')
    + """
[[ration]]
feed = "Art"
by = "tank"
points = [{dph = 4, amount = 400}, {dph = 18, amount = 400}]
[[ration]]
feed = "D1"
by = "tank"
points = [{dph = 8, amount = 1.2}, {dph = 60, amount = 1.2}]
[hatching]
harvest = "07:30"
ready = "30 min"
"""
)
"""On Sunday 10 May 2026 four meals: 100 thousand nauplii a tank each, E8 also 0.3 g of D1."""


@contextmanager
def room(folder: Path, now: str = "2026-05-10T11:40", plan: str = PLAN) -> Iterator[Site]:
    with opened(folder, plan, now) as site:
        yield site


def harvested(site: Site, batch: str, when: str, ml: float, per_ml: float = 1000) -> None:
    """A cone was set a day before, and gave so many mL."""
    early = Instant(moment(when).utc - 86400, moment(when).offset)
    site.record(
        Entry("batch", "AB", early, early, SITE), Batch(batch, "set"), BatchOf("cone", "C-1"),
        sure=True,
    )  # fmt: skip
    at = moment(when)
    site.record(
        Entry("batch", "AB", at, at, SITE),
        Batch(batch, "harvest", litres=ml / 1000, per_ml=per_ml),
        sure=True,
    )


def ml_of(found: MealList) -> dict[str, list[tuple[str, float]]]:
    return {
        row.tank.code: [(p.batch, p.ml) for one in row.portions for p in one.pours]
        for row in found.rows
    }


def listed(found: MealList, feed: str = "Art") -> dict[str, float | None]:
    return {
        row.tank.code: one.listed
        for row in found.rows
        for one in row.portions
        if one.feed.code == feed
    }


def test_each_tank_gets_its_ration_and_the_total_is_made_up_first(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        harvested(site, "A1", "2026-05-10T07:30", 4000, 500)
        found = meal_list(site)
    assert found.meal == moment("2026-05-10T12:00")
    assert listed(found) == dict.fromkeys(("T01", "T02", "T03", "T04"), 100.0)
    assert listed(found, "D1") == {"T01": 0.3, "T03": 0.3}
    assert ml_of(found)["T01"] == [("A1", 200.0)]
    live, dry = found.totals
    assert (live.feed.code, live.make_up, live.ml, live.have, live.share) == (
        "Art", 400.0, 800.0, 2000.0, 1.0,
    )  # fmt: skip
    assert (dry.feed.code, dry.make_up, dry.ml, dry.have) == ("D1", 0.6, None, None)
    assert (found.to_feed, found.still) == (4, 4)


def test_what_is_too_little_is_the_same_share_for_all_at_every_meal_until_the_next_cone(
    tmp_path: Path,
) -> None:
    with room(tmp_path) as site:
        # 12:00, 16:00, 16:14: twelve hundred thousand are needed until Monday 08:00.
        harvested(site, "A1", "2026-05-10T07:30", 700)
        found = meal_list(site)
    [live, _] = found.totals
    assert live.until == moment("2026-05-11T08:00")
    assert (live.shared_by, live.percent) == (3, 58)
    assert live.share == pytest.approx(700 / 1200)
    assert listed(found) == dict.fromkeys(("T01", "T02", "T03", "T04"), 58.0)
    assert live.ml == 232
    # Dry feed is no part of it.
    assert listed(found, "D1") == {"T01": 0.3, "T03": 0.3}


def test_a_cone_that_is_due_before_the_next_meal_ends_the_shortage_there(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        harvested(site, "A1", "2026-05-10T07:30", 400)
        cone(site, "2026-05-09T15:00", "A2", "set", due="2026-05-10T15:00")
        [live, _] = meal_list(site).totals
        assert (live.until, live.shared_by, live.share) == (moment("2026-05-10T15:30"), 1, 1.0)
        # One that is late is taken to be harvested now.
        clock_shows(site, "2026-05-10T15:50")
        assert meal_list(site).totals[0].until == moment("2026-05-10T16:20")


def test_the_oldest_batch_goes_first_and_none_over_two_days_old(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        for batch, when, ml in (
            ("OLD", "2026-05-08T11:00", 900),
            ("A1", "2026-05-09T07:30", 150),
            ("A2", "2026-05-10T07:30", 3000),
        ):
            harvested(site, batch, when, ml)
            at = moment("2026-05-10T08:00")
            chill = Batch(batch, "chill", litres=ml / 1000)
            site.record(Entry("batch", "AB", at, at, SITE), chill, sure=True)
        found = meal_list(site)
    # OLD is feed until 11:00: not for the meal at 12:00.
    assert ml_of(found) == {
        "T01": [("A1", 100.0)],
        "T02": [("A1", 50.0), ("A2", 50.0)],
        "T03": [("A2", 100.0)],
        "T04": [("A2", 100.0)],
    }
    [live, _] = found.totals
    assert [(p.batch, p.ml) for p in live.pours] == [("A1", 150.0), ("A2", 250.0)]
    assert live.have == 3150
    assert [one.batch for one in found.store if one.blocked(found.meal)] == ["OLD"]


def test_what_is_in_enrichment_is_poured_once_it_is_ready(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        harvested(site, "A1", "2026-05-10T07:30", 300)
        harvested(site, "A2", "2026-05-10T07:40", 3000)
        at = moment("2026-05-10T08:00")
        ready = moment("2026-05-10T14:00").utc
        rich = Batch("A2", "enrich", grams=1.0, litres=3.0, due_at=ready, text="oil mix")
        site.record(Entry("batch", "AB", at, at, SITE), rich, sure=True)
        noon = meal_list(site, moment("2026-05-10T12:00"))
        assert {batch for cups in ml_of(noon).values() for batch, _ in cups} == {"A1"}
        assert noon.totals[0].have == 300
        later = meal_list(site, moment("2026-05-10T16:00"))
        assert "A2" in {batch for cups in ml_of(later).values() for batch, _ in cups}


def test_nothing_in_the_store_is_nothing_to_give_but_a_site_that_keeps_no_store_feeds_in_full(
    tmp_path: Path,
) -> None:
    with room(tmp_path / "none") as site:
        found = meal_list(site)
        assert (found.totals[0].have, found.totals[0].share) == (None, 1.0)
        assert listed(found)["T01"] == 100
        harvested(site, "A1", "2026-05-10T07:30", 0.1)
        found = meal_list(site)
    assert (found.totals[0].have, found.totals[0].share, found.totals[0].percent) == (0, 0, 0)
    assert listed(found)["T01"] == 0


# ---- who is off, who was fed


def test_a_pause_that_holds_at_the_meal_gives_nothing_and_says_by_whom(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        no_feed(site, "T02", "2026-05-10T11:10", "feed off, oxygen")
        found = meal_list(site)
        row = found.row("T02")
        assert row is not None
        assert row.off is not None
        assert (row.off.words, row.off.who, row.off.place) == ("feed off, oxygen", "AB", "T02")
        assert listed(found)["T02"] == 0
        assert (found.totals[0].make_up, found.to_feed) == (300, 3)
        no_feed(site, "T02", "2026-05-10T11:20", FEED_ON)
        assert meal_list(site).to_feed == 4
        no_feed(site, "L1", "2026-05-10T11:30", "2 h, sampling")
        assert meal_list(site).to_feed == 0


def test_feed_turned_off_stays_off_day_after_day_until_it_is_turned_on(tmp_path: Path) -> None:
    """Nobody feeds again without a word: fish that were taken off feed went off it for a reason."""
    with room(tmp_path) as site:
        no_feed(site, "T02", "2026-04-28T15:00", "pause: feed off, not eating")
        no_feed(site, "T03", "2026-05-09T15:00", "feed off, pH")  # words of one's own: that day
        found = meal_list(site)
        row = found.row("T02")
        assert row is not None
        assert row.off is not None
        assert (row.off.who, row.off.since) == ("AB", moment("2026-04-28T15:00"))
        assert found.to_feed == 3
        assert "T02" not in [d.place for d in deviations.recent(site, site.now())]
        giving.pause(site, "AB", "T02", FEED_ON)
        assert meal_list(site).to_feed == 4


def test_the_feed_stopped_about_a_flag_is_off_until_it_is_on_again_or_given(tmp_path: Path) -> None:
    def done(site: Site, when: str, words: str, step: int | None) -> None:
        at = moment(when)
        site.record(
            Entry("done", "CD", at, at, "T03", "do", "mg/L"), DoneAbout(words, step), sure=True
        )

    with room(tmp_path) as site:
        done(site, "2026-05-08T15:00", "stop the feed", 2)
        assert meal_list(site).to_feed == 3, "a night does not turn it on"
        no_feed(site, "L1", "2026-05-10T10:00", FEED_ON)
        done(site, "2026-05-10T11:00", "open the oxygen", 1)
        done(site, "2026-05-10T11:00", "stop the feed", None)  # a person's own words
        assert meal_list(site).to_feed == 4
        done(site, "2026-05-10T11:02", "stop the feed", 2)
        row = meal_list(site).row("T03")
        assert row is not None
        assert row.off is not None
        assert (row.off.item, row.off.who, row.off.since) == (
            "do", "CD", moment("2026-05-10T11:02"),
        )  # fmt: skip
        fed(site, "T03", "2026-05-10T11:30")
        assert meal_list(site).row("T03").off is None  # type: ignore[union-attr]


def test_who_was_fed_at_this_meal_is_no_part_of_what_is_made_up(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        harvested(site, "A1", "2026-05-10T07:30", 4000)
        at, meal = moment("2026-05-10T11:38"), moment("2026-05-10T12:00")
        site.record(
            Entry("meal", "AB", at, at, "T01"), Meal("Art", 100, "thousand", 100.0),
            Served(meal.utc), Poured("A1", 100, 1000),
        )  # fmt: skip
        found = meal_list(site)
        row = found.row("T01")
        assert row is not None
        assert [(one.feed.code, one.served) for one in row.portions] == [
            ("Art", True), ("D1", False),
        ]  # fmt: skip
        live = found.totals[0]
        assert (live.make_up, live.have, found.still) == (300, 3900, 4)


# ---- which meal


def test_without_a_time_the_meal_is_the_nearer_of_the_last_that_waits_and_the_next(
    tmp_path: Path,
) -> None:
    with room(tmp_path, "2026-05-10T09:40") as site:
        assert meal_list(site).meal == moment("2026-05-10T08:00")
        for tank in site.plan.tanks:
            fed(site, tank.code, "2026-05-10T09:00")
        assert meal_list(site).meal == moment("2026-05-10T12:00")
        clock_shows(site, "2026-05-10T12:30")
        assert meal_list(site).meal == moment("2026-05-10T12:00")
        clock_shows(site, "2026-05-10T15:00")
        assert meal_list(site).meal == moment("2026-05-10T16:00")
        clock_shows(site, "2026-05-10T23:00")
        for when in ("11:50", "15:50", "16:14"):
            for tank in site.plan.tanks:
                fed(site, tank.code, f"2026-05-10T{when}")
        assert meal_list(site).meal == moment("2026-05-11T08:00")


def test_a_named_time_has_to_be_a_meal_of_the_plan(tmp_path: Path) -> None:
    with room(tmp_path) as site:
        now = site.now()
        assert at_time(site.plan, now, 16, 14) == moment("2026-05-10T16:14")
        assert meal_list(site, moment("2026-05-10T16:14")).meal == moment("2026-05-10T16:14")
        with pytest.raises(Refusal, match=r"today's are 08:00, 12:00, 16:00, 16:14"):
            at_time(site.plan, now, 9, 0)
        with pytest.raises(Refusal, match="No meal is planned at 09:00"):
            meal_list(site, moment("2026-05-10T09:00"))


def test_a_feed_without_a_ration_is_told_and_typed(tmp_path: Path) -> None:
    plan = PLAN[: PLAN.index('[[ration]]\nfeed = "D1"')]
    with room(tmp_path, plan=plan) as site:
        found = meal_list(site)
    assert (found.totals[1].untold, found.totals[1].why) == (("T01", "T03"), Missing.RATION)
    assert listed(found, "D1") == {"T01": None, "T03": None}
    assert found.rows[0].portions[1].need.missing is Missing.RATION


def test_a_feed_that_starts_or_ended_today_is_told_for_its_treatment(tmp_path: Path) -> None:
    with room(tmp_path, "2026-05-09T11:40") as site:
        [change] = meal_list(site).changes
        assert (change.feed.code, change.starts, change.whom) == ("D1", True, "E8")
        assert change.tanks == ("T01", "T03")
        clock_shows(site, "2026-05-16T11:40")
        [change] = meal_list(site).changes
        assert (change.feed.code, change.starts, change.whom) == ("Art", False, "E8")


# ---- by density

DENSE = (
    PLAN[: PLAN.index("[[ration]]")]
    + """
[[ration]]
feed = "Art"
by = "density"
points = [{dph = 4, amount = 2}, {dph = 18, amount = 2}]
[[item]]
code = "density2"
label = "Prey counted"
unit = "per mL"
decimals = 2
plausible = [0, 50]
"""
)
"""Each meal fills a tank of 220 L up to 2 per mL: 440 thousand where nothing is left."""


def test_by_density_a_meal_gives_back_what_the_flow_took_unless_it_was_counted(
    tmp_path: Path,
) -> None:
    with room(tmp_path, "2026-05-10T11:00", DENSE) as site:
        for place in ("T01", "T02", "T03"):
            seen_before(site, place, "flow", 2.2, "2026-05-10T07:00")
        for place in ("T01", "T02"):
            fed(site, place, "2026-05-10T08:00", amount=440)
        seen_before(site, "T02", "density2", 1.0, "2026-05-10T11:00")
        noon = meal_list(site, moment("2026-05-10T12:00"))
        shown = plain(draw(noon, "T01", 80)), plain(draw(noon, "T02", 80))
    # 2.2 L/min through 220 L is 0.6 an hour: four hours leave exp(-2.4), one leaves exp(-0.6).
    assert listed(noon) == {
        "T01": round(220 * (2 - 2 * exp(-2.4))),
        "T02": round(220 * (2 - exp(-0.6))),
        "T03": 440,
        "T04": 440,
    }
    how = [row.portions[0].need.left for row in noon.rows]
    assert [one and one.how for one in how] == [
        LeftHow.WORKED_OUT, LeftHow.COUNTED, LeftHow.NOTHING_GIVEN, LeftHow.NOTHING_GIVEN,
    ]  # fmt: skip
    assert "not counted since the meal of 08:00; worked out from 2.00 per mL then" in shown[0]
    assert "Left: counted 11:00, 1.00 per mL; carried on at 2.2 L/min." in shown[1]
    assert "a meal = (per mL wanted - per mL left) x L" in shown[0]


# ---- measured out


@given(
    st.lists(st.floats(0, 500), min_size=1, max_size=12),
    st.lists(st.tuples(st.floats(0, 5000), st.floats(50, 3000)), max_size=4),
    st.booleans(),
)
def test_no_more_of_a_batch_is_poured_than_there_is_and_no_share_is_exceeded(
    wanted: list[float], batches: list[tuple[float, float]], short: bool
) -> None:
    now = Instant(0, 0)
    store = [
        Chilled(f"B{n}", per_ml, ml, ml * per_ml / 1000, now, now, now)
        for n, (ml, per_ml) in enumerate(batches)
    ]
    found = poured({f"T{n}": one for n, one in enumerate(wanted)}, store, short=short)
    for one in store:
        of = [pour.ml for pours in found.values() for pour in pours if pour.batch == one.batch]
        assert sum(of) <= one.ml + 1e-6
    for n, thousand in enumerate(wanted):
        got = sum(pour.thousand for pour in found[f"T{n}"])
        coarse = max((pour.per_ml / 1000 for pour in found[f"T{n}"]), default=0.0)
        assert got <= thousand + (1e-6 if short else coarse)


@given(
    st.lists(st.floats(10, 300), min_size=1, max_size=12),
    st.floats(0.05, 0.99),
    st.floats(100, 3000),
)
def test_a_shortage_leaves_every_tank_the_same_share_but_for_the_mark_of_a_mL(
    rations: list[float], share: float, per_ml: float
) -> None:
    now = Instant(0, 0)
    there = share * sum(rations)
    store = [Chilled("B", per_ml, there * 1000 / per_ml, there, now, now, now)]
    wanted = {f"T{n}": one * share for n, one in enumerate(rations)}
    found = poured(wanted, store, short=True)
    for n, one in enumerate(rations):
        got = sum(pour.thousand for pour in found[f"T{n}"])
        assert got / one <= share + 1e-9
        assert got / one >= share - per_ml / 1000 / one - 1e-9
