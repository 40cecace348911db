"""Tomorrow worked backwards: cones with grams and hours, the balance, and what is short."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demo_support import demo_in
from fed_support import FED, cone, fed, no_feed, sampled
from site_support import clock_shows, moment, opened
from tankwalk.clock import FixedClock
from tankwalk.ledger.entries import Batch, BatchOf, Entry, Sample
from tankwalk.ledger.store import Station
from tankwalk.pages.lines import plain
from tankwalk.pages.tomorrow import chill_words, draw, short_words
from tankwalk.plan.model import Hatching
from tankwalk.practice.feeding import giving
from tankwalk.practice.feeding.forecast import Hatch, cones_for, grams_for
from tankwalk.practice.feeding.tomorrow import Chill, Short, Tomorrow, Way, tomorrow
from tankwalk.practice.site import SITE, Site, open_site
from tankwalk.science.prey import Fit
from test_dispensing import harvested

PLAN = (
    FED.replace('code = "Art"\n', 'code = "Art"\nkind = "live"\nwidth = 180\n')
    + """
[[ration]]
feed = "Art"
by = "tank"
points = [{dph = 4, amount = 300}, {dph = 18, amount = 300}]
[[ration]]
feed = "D1"
by = "tank"
points = [{dph = 8, amount = 1.5}, {dph = 60, amount = 1.5}]
[hatching]
hours = 24
harvest = "08:30"
ready = 60
margin = 0.05
cones = [5, 10, 10]
[[cysts]]
code = "C-1"
per_gram = 250000
hatch = 0.8
"""
)
"""Four tanks of 300 thousand nauplii a day each: three meals of 400 thousand together.

Sunday 10 May 2026 has four meals (of 300 thousand together); a cone is set at 08:30, for 09:30.
"""


def set_cone(site: Site, batch: str, when: str, due: str | None = None, grams: float = 6.0) -> None:
    """A cone of lot C-1 was set."""
    at = moment(when)
    due_at = None if due is None else moment(due).utc
    detail = Batch(batch, "set", "C-1", grams, 3.0, due_at=due_at)
    site.record(Entry("batch", "AB", at, at, SITE), detail)


def rows(found: Tomorrow, day: int) -> list[tuple[str, float, float]]:
    return [
        (one.meal.hm(), round(one.need, 1), round(one.after, 1))
        for one in found.meals
        if one.meal.day.day == day
    ]


def test_a_cone_is_worked_back_from_the_meals_between_its_harvest_and_the_next(
    tmp_path: Path,
) -> None:
    with opened(tmp_path, PLAN, "2026-05-11T07:00") as site:
        found = tomorrow(site)
    [today, later] = found.to_set
    # Harvest Tuesday 08:30, ready 09:30: Tuesday 12:00 and 16:00, and Wednesday 08:00.
    assert today.set_by == moment("2026-05-11T08:30")
    assert (today.harvest, today.ready) == (moment("2026-05-12T08:30"), moment("2026-05-12T09:30"))
    assert today.until == moment("2026-05-13T09:30")
    assert today.thousand == 1200
    # 1200 thousand x 1.05 / (250 thousand x 0.8) = 6.3 g, at 2 g/L 3.15 L.
    assert (today.grams, today.litres, today.cones) == (6.3, 3.1, (5.0,))
    assert today.gives == pytest.approx(1260)
    assert not today.late
    assert later.set_by == moment("2026-05-12T08:30")


def test_past_its_hour_a_cone_is_set_at_once_and_its_meals_are_those_that_it_still_meets(
    tmp_path: Path,
) -> None:
    with opened(tmp_path, PLAN, "2026-05-11T12:30") as site:
        harvested(site, "A1", "2026-05-11T08:30", 1300)
        found = tomorrow(site)
        late = found.to_set[0]
        assert late.late
        assert (late.set_by, late.harvest) == (site.now(), moment("2026-05-12T12:30"))
        # Ready at 13:30: the meal of 12:00 is not met, 16:00 and Wednesday 08:00 are.
        assert late.thousand == 800
        clock_shows(site, "2026-05-11T21:00")
        # By now it is as well to wait for the next one.
        assert [one.late for one in tomorrow(site).to_set] == [False]


def test_a_cone_that_stands_is_not_set_again_and_gives_what_its_lot_gave(tmp_path: Path) -> None:
    with opened(tmp_path, PLAN, "2026-05-11T20:00") as site:
        for day, percent in ((5, 60.0), (6, 70.0), (7, 20.0)):
            set_cone(site, f"B{day}", f"2026-05-0{day - 1}T08:30")
            cone(site, f"2026-05-0{day}T08:30", f"B{day}", "harvest", hatch_percent=percent)
        set_cone(site, "A2", "2026-05-11T08:30", "2026-05-12T08:30")
        found = tomorrow(site)
    [stands] = found.standing
    assert stands.hatch == Hatch("C-1", 250000, 60.0, 3)  # the median of 20, 60 and 70
    assert stands.thousand == pytest.approx(6 * 250 * 0.6)
    assert stands.ready == moment("2026-05-12T09:30")
    [one] = found.to_set
    assert one.set_by == moment("2026-05-12T08:30")
    assert one.grams == pytest.approx(1200 * 1.05 / (250 * 0.6))


def test_two_hatches_of_its_own_are_too_few_and_the_plan_s_stands(tmp_path: Path) -> None:
    with opened(tmp_path, PLAN, "2026-05-11T07:00") as site:
        for day in (5, 6):
            set_cone(site, f"B{day}", f"2026-05-0{day - 1}T08:30")
            cone(site, f"2026-05-0{day}T08:30", f"B{day}", "harvest", hatch_percent=50.0)
        assert tomorrow(site).to_set[0].hatch == Hatch("C-1", 250000, 80.0, 0)


def test_the_balance_runs_down_meal_by_meal_and_comes_up_with_a_cone(tmp_path: Path) -> None:
    with opened(tmp_path, PLAN, "2026-05-11T10:00") as site:
        harvested(site, "A1", "2026-05-11T08:30", 1300)
        set_cone(site, "A2", "2026-05-11T08:30", "2026-05-12T08:30")
        found = tomorrow(site)
    assert rows(found, 11) == [("12:00", 400, 900), ("16:00", 400, 500)]
    # Six grams give 1200; what is left of A1 is a day old by then and goes out.
    assert rows(found, 12) == [("08:00", 400, 100), ("12:00", 400, 800), ("16:00", 400, 400)]
    noon = found.meals[3]
    assert (noon.ready, noon.old) == (("A2",), 100)
    assert found.need(found.day) == 1200
    assert found.short == ()
    assert found.chill is not None
    assert (found.chill.thousand, found.chill.there, found.chill.enough) == (400, 500, True)
    assert found.chill.meals == (moment("2026-05-12T08:00"),)
    assert (found.chill.batch, found.chill.ml) == ("A1", 400)


@given(st.integers(1, 99), st.integers(0, 9))
def test_what_is_missing_and_what_every_tank_gets_add_to_a_hundred(whole: int, tenth: int) -> None:
    now = moment("2026-05-10T07:52")
    short = Short(now, now, 1000, 10 * whole + tenth)
    chill = Chill(400, 400, (now,), share=short.share)
    assert f"{100 - whole} % is missing" in short_words(short, now)
    assert f"{whole} % of the rations" in chill_words(chill, now), "never up to what there is not"


def test_what_runs_short_is_told_with_its_hour_its_part_and_what_can_be_done(
    tmp_path: Path,
) -> None:
    with opened(tmp_path, PLAN, "2026-05-11T10:00") as site:
        harvested(site, "A1", "2026-05-11T08:30", 700)
        set_cone(site, "A2", "2026-05-11T08:30", "2026-05-12T08:30")
        found = tomorrow(site)
        assert rows(found, 11) == [("12:00", 400, 300), ("16:00", 400, -100)]
        # What was lacking is not given later: the next cone feeds its own meals.
        assert rows(found, 12) == [("08:00", 400, -500), ("12:00", 400, 800), ("16:00", 400, 400)]
        [short] = found.short
        assert (short.first, short.last) == (
            moment("2026-05-11T12:00"), moment("2026-05-12T08:00"),
        )  # fmt: skip
        assert (short.percent, round(short.share, 3)) == (42, 0.583)
        assert [(one.way, one.share) for one in found.remedies] == [(Way.SHARE, 0.58)]
        # What is kept cold is the share of that meal too: four cups of 58 mL, each rounded down.
        assert found.chill is not None
        assert found.chill.thousand == pytest.approx(400 * 700 / 1200)
        assert (found.chill.batch, found.chill.ml) == ("A1", 232)
        # The evening before, with next to nothing there: a cone set now is ready Monday 23:00.
        clock_shows(site, "2026-05-10T22:00")
        harvested(site, "A0", "2026-05-10T21:30", 100)
        [short] = tomorrow(site).short[:1]
        assert short.last == moment("2026-05-12T08:00")
        extra = tomorrow(site).remedies[0]
        assert (extra.way, extra.from_) == (Way.EXTRA_CONE, moment("2026-05-11T23:00"))
        # Of the meals that are short it meets the one of Tuesday 08:00: 400 thousand.
        assert extra.grams == pytest.approx(400 * 1.05 / (250 * 0.8))
        # A cone that is late is harvested first; an extra one helps where it is ready in time.
        clock_shows(site, "2026-05-12T09:00")
        found = tomorrow(site)
        assert found.standing[0].late
        assert found.standing[0].ready == moment("2026-05-12T10:00")


def test_a_cone_that_was_cold_is_told_with_what_is_expected_of_it(tmp_path: Path) -> None:
    with opened(tmp_path, PLAN, "2026-05-11T21:00") as site:
        set_cone(site, "A2", "2026-05-11T08:30", "2026-05-12T08:30")
        assert tomorrow(site).standing[0].out == ()
        cone(site, "2026-05-11T20:30", "A2", "check", temperature=23.0, ph=7.6)
        assert [one.value for one in tomorrow(site).standing[0].out] == [23.0, 7.6]


def test_a_tank_that_is_off_and_a_meal_that_was_given_need_nothing_more(tmp_path: Path) -> None:
    with opened(tmp_path, PLAN, "2026-05-11T11:45") as site:
        no_feed(site, "T02", "2026-05-11T11:00", "feed off")
        assert rows(tomorrow(site), 11)[0][1] == 300
        for tank in ("T01", "T03", "T04"):
            fed(site, tank, "2026-05-11T11:40")
        assert rows(tomorrow(site), 11)[0][1] == 0


def test_shelled_cysts_are_taken_first(tmp_path: Path) -> None:
    with opened(tmp_path, PLAN, "2026-05-11T07:00") as site:
        at = moment("2026-05-10T10:00")
        site.record(
            Entry("batch", "AB", at, at, SITE), Batch("S1", "set", "C-1", 4.0),
            BatchOf("shelled", "C-1"),
        )  # fmt: skip
        first, then = tomorrow(site).to_set
    assert [(one.batch, one.grams) for one in first.shelled] == [("S1", 4.0)]
    assert then.shelled == ()
    assert first.grams == 6.3


def test_dry_feed_of_tomorrow_and_what_a_day_takes_of_the_stock(tmp_path: Path) -> None:
    with opened(tmp_path, PLAN, "2026-05-11T07:00") as site:
        found = tomorrow(site)
        # Two tanks of E8 at 1.5 g.
        assert [(one.feed.code, one.grams, one.tanks) for one in found.dry] == [("D1", 3.0, 2)]
        assert found.use == {"D1": 3.0, "C-1": 6.3}
        clock_shows(site, "2026-05-12T07:00")
        # From 12 dph on all four.
        assert [(one.grams, one.tanks) for one in tomorrow(site).dry] == [(6.0, 4)]


def test_where_nobody_keeps_the_cones_the_need_is_told_and_no_shortage(tmp_path: Path) -> None:
    with opened(tmp_path, PLAN, "2026-05-11T10:00") as site:
        found = tomorrow(site)
        assert not found.kept
        assert (found.short, found.remedies, found.chill) == ((), (), None)
        assert found.need(found.day) == 1200
        assert "have after" not in plain(draw(found, 80))
        set_cone(site, "A2", "2026-05-11T09:00", "2026-05-12T08:30")
        assert tomorrow(site).short
        assert "have after" in plain(draw(tomorrow(site), 80))


def test_a_plan_without_cysts_or_rations_says_so_and_works_out_no_cone(tmp_path: Path) -> None:
    bare = PLAN[: PLAN.index("[[ration]]")]
    with opened(tmp_path, bare, "2026-05-11T07:00") as site:
        found = tomorrow(site)
    assert (found.to_set, found.planned, found.short) == ((), False, ())
    assert found.untold == ("T01", "T02", "T03", "T04")
    assert found.dry[0].untold == ("T01", "T03")


def test_a_feed_is_held_against_the_shortest_fish_that_was_sampled(tmp_path: Path) -> None:
    with opened(tmp_path, PLAN, "2026-05-11T07:00") as site:
        for place, mm in (("T01", 7.0), ("T02", 5.0)):
            at = moment("2026-05-10T13:00")
            site.record(
                Entry("sample", "AB", at, at, place), Sample("length", 20, mean=mm, unit="mm")
            )
        sampled(site, "T03", "length", "2026-05-10T13:00")  # in no unit: says nothing
        [prey] = tomorrow(site).prey
    assert (prey.feed.code, prey.tank, prey.length) == ("Art", "T02", 5.0)
    # Oetker 1998, yellow perch: a mouth of 0.0816 + 0.00666 x 25 = 0.248 mm; 0.18 is 73 % of it.
    assert prey.fit.fit is Fit.MARGINAL
    assert prey.fit.part == pytest.approx(0.18 / 0.2482, rel=0.001)
    assert not prey.fit.same  # the lot is sauger


def test_cones_are_the_smallest_that_hold_the_water() -> None:
    assert cones_for((5, 10, 10), 3.1) == (5,)
    assert cones_for((5, 10, 10), 5.1) == (10,)
    assert cones_for((5, 10, 10), 12) == (10, 5)
    assert cones_for((5, 10, 10), 16) == (10, 10)
    assert cones_for((5, 10, 10), 60) == (10, 10, 5)  # all there are, and it says the water
    assert cones_for((), 12) == ()


@given(st.floats(1, 50_000), st.floats(20, 100))
def test_the_grams_set_give_the_need_and_its_margin_and_no_gram_more(
    thousand: float, percent: float
) -> None:
    hatch = Hatch("C-1", 210_000, percent)
    grams = grams_for(Hatching(margin=0.05), hatch, thousand)
    assert hatch.thousand(grams) >= thousand * 1.05 * (1 - 1e-9)
    assert hatch.thousand(grams - 0.1) < thousand * 1.05


def test_tomorrow_is_worked_back_anew_when_an_entry_comes_or_a_minute_goes(tmp_path: Path) -> None:
    site = open_site(demo_in(tmp_path / "again"), Station("x", "x"), "2026-05-10T06:50-05:00")
    first = tomorrow(site)
    assert tomorrow(site) is first, "nothing was entered meanwhile"
    giving.pause(site, "PB", "T03", "feed off")
    after = tomorrow(site)
    assert after is not first
    site.clock = FixedClock(after.now._replace(utc=after.now.utc + 60))
    assert tomorrow(site) is not after
    site.close()
