"""Live batches: how each stands, its one next step, and the talks that do the step by number."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from livefeed_support import LIVE, answered, batch, culture_count, question
from site_support import clock_shows, moment, opened
from tankwalk.ledger.feeding import BatchKind
from tankwalk.practice.dialog import Hand
from tankwalk.practice.livefeed import (
    batches,
    cones,
    culture_steps,
    on_hand,
    setting,
    steps,
    stock_steps,
)
from tankwalk.practice.livefeed.batches import LiveBatch, State, one_batch
from tankwalk.practice.livefeed.cultures import CultureFault
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import NextStep
from tankwalk.practice.times import past


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, LIVE) as found:
        yield found


def one(site: Site, name: str, when: str | None = None) -> LiveBatch:
    if when is not None:
        clock_shows(site, when)
    found = one_batch(site, name, site.now())
    assert found is not None
    return found


def stands(site: Site, name: str, when: str) -> tuple[State, NextStep | None, str]:
    """How a batch stands, its next step and when that is."""
    found = one(site, name, when)
    if found.next is None:
        return found.state, None, ""
    return found.state, found.next.step, found.next.at.short()


def hand(who: str, site: Site) -> Hand:
    found = Hand()
    found.named(who, site.now())
    return found


def cone_set(site: Site, day: int = 9, name: str = "A0509", grams: float = 10.0) -> None:
    batch(site, f"2026-05-{day:02}T09:30", name, "set", lot="AC-7", grams=grams, litres=grams / 2,
          due=f"2026-05-{day + 1:02}T08:30", temperature=27.8, ph=8.2)  # fmt: skip


# ---- a cone


def test_a_cone_has_one_next_step_from_the_evening_to_the_drain(site: Site) -> None:
    cone_set(site)
    assert stands(site, "A0509", "2026-05-09T12:00") == (
        State.HATCHING, NextStep.CHECK, "Sat 9 May 16:14",
    )  # fmt: skip
    batch(site, "2026-05-09T16:20", "A0509", "check", temperature=27.5, ph=8.2)
    assert stands(site, "A0509", "2026-05-09T17:00")[1:] == (
        NextStep.HARVEST, "Sun 10 May 08:30",
    )  # fmt: skip
    batch(site, "2026-05-10T08:30", "A0509", "harvest", litres=5.0)
    assert stands(site, "A0509", "2026-05-10T08:31")[:2] == (State.HARVESTED, NextStep.COUNT)
    batch(site, "2026-05-10T08:40", "A0509", "count", per_ml=336.0)
    assert stands(site, "A0509", "2026-05-10T08:41") == (
        State.HARVESTED, NextStep.CHILL, "Sun 10 May 09:30",
    )  # fmt: skip
    batch(site, "2026-05-10T09:30", "A0509", "chill", litres=2.0)
    assert stands(site, "A0509", "2026-05-10T09:31") == (
        State.CHILLED, NextStep.DISCARD, "Mon 11 May 08:30",
    )  # fmt: skip
    batch(site, "2026-05-11T08:40", "A0509", "discard")
    assert stands(site, "A0509", "2026-05-11T08:41") == (State.GONE, None, "")
    live = {b.name for b in batches.live_batches(site, site.now())}
    assert "A0509" not in live


def test_a_cone_that_nobody_checked_is_harvested_when_it_is_due(site: Site) -> None:
    cone_set(site)
    assert stands(site, "A0509", "2026-05-10T06:29")[1] is NextStep.CHECK
    assert stands(site, "A0509", "2026-05-10T06:30")[1] is NextStep.HARVEST
    assert stands(site, "A0509", "2026-05-11T08:31")[1] is NextStep.DISCARD, "a day too late"


def test_a_name_is_the_date_and_a_second_one_of_the_day_has_a_letter(site: Site) -> None:
    assert batches.free_name(site, "A", moment("2026-05-09T09:00")) == "A0509"
    cone_set(site)
    assert batches.free_name(site, "A", moment("2026-05-09T09:00")) == "A0509b"


def test_a_cone_is_set_by_number_with_grams_liters_and_time_as_proposed(site: Site) -> None:
    clock_shows(site, "2026-05-09T09:30")
    proposed = setting.Proposed(13.12, 6.6, moment("2026-05-10T08:30"))
    said = answered(
        setting.set_cone(site, hand("AB", site), proposed), "+", "+", "27.8", "8.2", "+", "1"
    )
    assert said == "Kept: A0509: 13.1 g of AC-7 in 6.6 L, harvest Sun 10 May 08:30. Label it A0509."
    begun = one(site, "A0509").begun
    assert begun is not None
    assert (begun.lot, begun.grams, begun.litres) == ("AC-7", 13.1, 6.6)
    assert (begun.temperature, begun.ph, begun.salinity) == (27.8, 8.2, 25.0)
    assert (begun.kind, begun.due_at) == ("cone", moment("2026-05-10T08:30").utc)


def test_a_cone_without_a_proposal_is_due_at_the_usual_hour_a_day_later(site: Site) -> None:
    clock_shows(site, "2026-05-09T16:00")
    said = answered(setting.set_cone(site, hand("AB", site)), "10", "+", "/", "/", "/", "2")
    assert "10 g of AC-7 in 5 L, harvest Mon 11 May 08:30" in said
    clock_shows(site, "2026-05-10T12:00")
    ask, _, _ = question(setting.set_cone(site, hand("AB", site)), "10", "+", "/", "/", "/")
    assert ask == "A0510: 10 g of AC-7 in 5 L, harvest Mon 11 May 08:30. By AB."


def test_a_cone_set_so_early_that_they_starve_until_the_harvest_is_asked_about(site: Site) -> None:
    clock_shows(site, "2026-05-09T16:45")
    proposed = setting.Proposed(10, 5, moment("2026-05-11T08:30"), name="A0510")
    talk = setting.set_cone(site, hand("AB", site), proposed)
    ask, choices, told = question(talk, "+", "+", "28", "8.2", "+")
    assert ask.startswith("A0510: 10 g of AC-7"), "named as it was planned, not by today"
    ready = "Sun 10 May 16:45" if site.plan.hatching.hours == 24 else "Sun 10 May 15:45"
    assert told.startswith(f"Set now it is ready {ready}, 1")
    assert choices[0] == "measure again"
    talk = setting.set_cone(site, hand("AB", site), proposed)
    hour = ready[-5:].replace(":", "")
    assert question(talk, "+", "+", "28", "8.2", "+", "4", hour)[2] == "", "harvested when ready"


def test_a_harvest_long_before_its_time_is_asked_about(site: Site) -> None:
    cone_set(site)
    clock_shows(site, "2026-05-09T17:00")
    found = one(site, "A0509", "2026-05-09T17:00")
    _, choices, told = question(steps.harvest(site, hand("AB", site), found), "5", "/", "1")
    assert told == "A0509 is due Sun 10 May 08:30, in 15 h 30 min: it still hatches."
    assert choices[0] == "measure again"
    clock_shows(site, "2026-05-10T07:00")
    found = one(site, "A0509", "2026-05-10T07:00")
    assert question(steps.harvest(site, hand("AB", site), found), "5", "/", "1")[2] == ""


def test_too_many_cysts_for_the_water_are_asked_about_and_the_easy_key_measures_again(
    site: Site,
) -> None:
    clock_shows(site, "2026-05-09T09:30")
    talk = setting.set_cone(site, hand("AB", site))
    _, choices, told = question(talk, "60", "25", "28", "8.2", "+")
    assert told == "2.4 g in a liter is more than the 2 that hatch well."
    assert choices[:2] == ("measure again", "it is right: keep it")
    talk = setting.set_cone(site, hand("AB", site))
    assert question(talk, "60", "25", "28", "8.2", "+", "1")[0] == "A0509, cysts, g?"
    small = setting.set_cone(site, hand("AB", site))
    assert question(small, "50", "10", "28", "8.2", "+")[2] == "", "5 g in a liter in a small cone"


def test_a_cone_has_another_name_another_time_and_an_earlier_hour_where_wanted(site: Site) -> None:
    clock_shows(site, "2026-05-09T09:30")
    said = answered(
        setting.set_cone(site, hand("AB", site)),
        "10", "+", "/", "/", "/", "2", "left", "3", "0700", "4", "0900", "1",
    )  # fmt: skip
    assert said.startswith("Kept: left: 10 g of AC-7 in 5 L, harvest Sun 10 May 07:00")
    begun = one(site, "left").begun
    assert begun is not None
    assert begun.at == moment("2026-05-09T09:00")


def test_a_cold_cone_is_kept_and_told_with_what_to_do(site: Site) -> None:
    cone_set(site)
    found = one(site, "A0509", "2026-05-09T21:00")
    said = answered(steps.check(site, hand("CD", site), found), "23", "7.6", "1", "1", "2")
    assert said.startswith("Kept: A0509 checked: 23 degC, pH 7.6. 23 degC is cold")
    assert "sodium bicarbonate" in said
    checked = one(site, "A0509").events[-1]
    assert (checked.event, checked.temperature, checked.ph) == ("check", 23.0, 7.6)


def test_a_check_without_air_says_what_is_wrong(site: Site) -> None:
    cone_set(site)
    found = one(site, "A0509", "2026-05-09T21:00")
    said = answered(steps.check(site, hand("CD", site), found), "28", "8.2", "3", "1", "2")
    assert "air stopped" in said
    assert one(site, "A0509").events[-1].text == "air stopped"


def test_a_harvest_says_its_thousands_and_its_hatch(site: Site) -> None:
    cone_set(site)
    found = one(site, "A0509", "2026-05-10T08:30")
    said = answered(steps.harvest(site, hand("CD", site), found), "5", "336", "1", "1")
    assert said == "Kept: A0509 harvested: 5 L at 336 per mL = 1,680 thousand, hatch 80 %."
    kept = one(site, "A0509").events[-1]
    # 336 per mL in 5000 mL from 10 g at 210 000: by hand 1 680 000 / 2 100 000.
    assert kept.hatch_percent == pytest.approx(80.0)


def test_more_nauplii_than_cysts_are_counted_again(site: Site) -> None:
    cone_set(site)
    found = one(site, "A0509", "2026-05-10T08:30")
    _, choices, told = question(steps.harvest(site, hand("CD", site), found), "5", "460", "1")
    assert told == "Hatch 110 %: more nauplii than cysts. Count and volume again."
    assert choices[0] == "measure again"


def test_a_hatch_of_half_the_usual_is_counted_again_before_it_is_believed(site: Site) -> None:
    for day in (5, 6, 7):
        cone_set(site, day, f"A050{day}")
        batch(site, f"2026-05-0{day + 1}T08:30", f"A050{day}", "harvest", litres=5.0,
              per_ml=336.0, hatch_percent=80.0)  # fmt: skip
    cone_set(site)
    found = one(site, "A0509", "2026-05-10T08:30")
    talk = steps.harvest(site, hand("CD", site), found)
    assert question(talk, "5", "160", "1")[2].startswith("Hatch 38 %, usually 80 %")
    talk = steps.harvest(site, hand("CD", site), found)
    assert question(talk, "5", "180", "1")[2] == ""


def test_the_first_count_after_a_harvest_says_what_hatched(site: Site) -> None:
    cone_set(site)
    batch(site, "2026-05-10T08:30", "A0509", "harvest", litres=5.0)
    found = one(site, "A0509", "2026-05-10T08:40")
    said = answered(steps.count(site, hand("AB", site), found), "336", "1")
    assert said == "Kept: A0509 counted: 336 per mL, hatch 80 %."
    again = one(site, "A0509", "2026-05-10T08:50")
    assert question(steps.count(site, hand("AB", site), again), "100")[2] == (
        "The last count was 336 per mL."
    )


def test_what_is_left_is_chilled_by_one_key_and_thrown_out_with_a_reason(site: Site) -> None:
    cone_set(site)
    batch(site, "2026-05-10T08:30", "A0509", "harvest", litres=5.0, per_ml=336.0)
    found = one(site, "A0509", "2026-05-10T16:00")
    said = answered(steps.chill(site, hand("AB", site), found), "1200", "5", "1")
    assert said == (
        "Kept: A0509: 1,200 mL in the cold store = 403 thousand, the other 3,800 mL go to no "
        "meal, use by Mon 11 May 08:30."
    )
    found = one(site, "A0509", "2026-05-11T08:40")
    assert found.left is not None
    assert found.left.ml == 1200.0
    said = answered(steps.discard(site, hand("AB", site), found), "2", "/", "1")
    assert said == "Kept: A0509: all of it thrown out, too old."
    assert one(site, "A0509").state is State.GONE


def test_a_warm_store_and_more_than_is_left_are_asked_about(site: Site) -> None:
    cone_set(site)
    batch(site, "2026-05-10T08:30", "A0509", "harvest", litres=5.0, per_ml=336.0)
    found = one(site, "A0509", "2026-05-10T16:00")
    told = question(steps.chill(site, hand("AB", site), found), "6000", "12")[2]
    assert told == "Only 5,000 mL of it should be left. 12 degC is warm: below 10 they keep a day."


def test_a_harvest_in_three_times_its_water_is_asked_about(site: Site) -> None:
    cone_set(site)
    clock_shows(site, "2026-05-10T08:30")
    found = one(site, "A0509", "2026-05-10T08:30")
    _, choices, told = question(steps.harvest(site, hand("AB", site), found), "50", "/", "1")
    assert told == "A0509 was set in 5 L."
    assert choices[0] == "measure again", "the easy key keeps nothing"


def test_a_label_of_digits_alone_is_not_taken(site: Site) -> None:
    clock_shows(site, "2026-05-10T09:00")
    talk = stock_steps.received(site, hand("AB", site), have(site, "AC-7"))
    told = question(talk, "454", "1000")[2]
    assert told == "1000 alone reads as an amount: a label has a letter in it."


def test_an_enrichment_is_a_clock_of_its_own(site: Site) -> None:
    cone_set(site)
    batch(site, "2026-05-10T08:30", "A0509", "harvest", litres=5.0, per_ml=336.0)
    found = one(site, "A0509", "2026-05-10T16:00")
    said = answered(steps.enrich(site, hand("AB", site), found), "oil mix", "4", "0.3", "12", "1")
    assert said == "Kept: A0509: 1.2 g of oil mix in 4 L for 12 h, ready Mon 11 May 04:00."
    assert stands(site, "A0509", "2026-05-10T17:00") == (
        State.ENRICHING, NextStep.POUR, "Mon 11 May 04:00",
    )  # fmt: skip


def test_one_s_own_newest_entry_is_taken_back_and_no_other_s(site: Site) -> None:
    cone_set(site)
    batch(site, "2026-05-09T16:00", "A0509", "check", who="CD", temperature=20.0)
    found = one(site, "A0509", "2026-05-09T16:10")
    said = answered(steps.take_back(site, hand("CD", site), "A0509", found.events), "1")
    assert said == "Taken back: A0509 check, 16:00."
    assert [e.event for e in one(site, "A0509").events] == ["set"]
    said = answered(steps.take_back(site, hand("EF", site), "A0509", found.events))
    assert said == "EF entered nothing of A0509 that could be taken back."


# ---- shelled cysts


def test_shelled_cysts_keep_a_week_in_the_cold_and_a_month_in_brine(site: Site) -> None:
    batch(site, "2026-05-09T10:00", "S0509", "set", "shelled", "AC-7", lot="AC-7", grams=20.0)
    batch(site, "2026-05-09T11:00", "S0509b", "set", "shelled", lot="AC-7", grams=20.0,
          salinity=300.0)  # fmt: skip
    assert stands(site, "S0509", "2026-05-10T10:00")[1:] == (NextStep.POUR, "Sat 16 May 10:00")
    assert stands(site, "S0509b", "2026-05-10T10:00")[1:] == (NextStep.POUR, "Mon 8 Jun 11:00")
    assert stands(site, "S0509", "2026-05-16T10:00")[1] is NextStep.DISCARD


def test_a_cone_from_shelled_cysts_takes_its_grams_from_them(site: Site) -> None:
    batch(site, "2026-05-09T10:00", "S0509", "set", "shelled", "AC-7", lot="AC-7", grams=20.0)
    clock_shows(site, "2026-05-10T09:30")
    talk = setting.set_cone(site, hand("AB", site))
    assert question(talk)[1] == ("S0509, shelled, 20 g", "AC-7")
    said = answered(setting.set_cone(site, hand("AB", site)), "1", "12", "+", "28", "8.2", "+", "1")
    assert "12 g of S0509 in 6 L" in said
    assert one(site, "S0509").grams == pytest.approx(8.0)
    _, _, told = question(setting.set_cone(site, hand("AB", site)), "1", "9", "+", "28", "8.2", "+")
    assert told == "There should be 8.0 g of it left."


# ---- cultures


def began(site: Site, *names: str) -> None:
    for name in names:
        kind = "algae" if name == "N1" else "rotifers"
        batch(site, "2026-05-01T09:00", name, "set", kind, litres=60.0, per_ml=250.0)


def test_a_culture_is_counted_harvested_fed_and_counted_again(site: Site) -> None:
    began(site, "R1", "R2")
    assert stands(site, "R1", "2026-05-10T08:00")[1:] == (NextStep.COUNT, "Sun 10 May 09:00")
    found = one(site, "R1", "2026-05-10T09:00")
    said = answered(
        culture_steps.count(site, hand("AB", site), found), "+", "+", "258", "160", "/", "1"
    )
    assert said == "Kept: R1 counted: 258 per mL, 0.62 eggs per female."
    found = one(site, "R1", "2026-05-10T09:10")
    assert found.counts[-1].eggs == pytest.approx(160 / 258)
    assert found.next is not None
    assert found.next.step is NextStep.HARVEST
    said = answered(culture_steps.harvest(site, hand("AB", site), found), "+", "1")
    assert said.startswith("Kept: R1: 15 L taken = 3.87 million")
    found = one(site, "R1", "2026-05-10T09:20")
    assert found.next is not None
    assert found.next.step is NextStep.FEED
    # 258 per mL in 60 L are 15.48 million, of which 25 % are taken: 11.61 g at 1 g a million.
    said = answered(culture_steps.feed(site, hand("AB", site), found), "+", "1")
    assert said == "Kept: R1 fed: 11.61 g of paste."
    assert stands(site, "R1", "2026-05-10T10:00")[1:] == (NextStep.COUNT, "Mon 11 May 09:00")


@pytest.mark.parametrize(
    ("eggs", "fault", "step"),
    [
        (20, None, NextStep.HARVEST),
        (19, CultureFault.EGGS_LOW, NextStep.COUNT),
        (13, CultureFault.EGGS_LOW, NextStep.COUNT),
        (12, CultureFault.EGGS_FEW, NextStep.RESTART),
    ],
)
def test_few_eggs_hold_the_harvest_and_fewer_begin_it_again(
    site: Site, eggs: int, fault: CultureFault | None, step: NextStep
) -> None:
    began(site, "R1", "R2")
    culture_count(site, "2026-05-10T09:00", "R1", 250.0, 100, eggs)
    found = one(site, "R1", "2026-05-10T09:05")
    assert found.faults == (() if fault is None else (fault,))
    assert found.next is not None
    assert found.next.step is step
    if step is NextStep.RESTART:
        assert found.next.from_ == "R2"
        said = answered(
            culture_steps.begin(site, hand("AB", site), found, "R2"), "1", "+", "120", "1"
        )
        assert said == "Kept: R1 begun from R2 in 60 L."
        assert one(site, "R1").begun == one(site, "R1").events[0]
        assert one(site, "R1").faults == ()


def test_eggs_that_fall_three_times_are_told_and_twice_are_not(site: Site) -> None:
    began(site, "R1", "R2")
    for day, eggs in ((6, 60), (7, 50), (8, 40), (9, 30)):
        culture_count(site, f"2026-05-0{day}T09:00", "R1", 250.0, 100, eggs)
        falling = CultureFault.EGGS_FALLING in one(site, "R1", f"2026-05-0{day}T09:05").faults
        assert falling == (day == 9)


def test_one_vessel_alone_is_told(site: Site) -> None:
    began(site, "R1")
    assert one(site, "R1", "2026-05-10T08:00").faults == (CultureFault.ALONE,)
    assert stands(site, "R2", "2026-05-10T08:00")[:2] == (State.NOT_BEGUN, NextStep.SET)


def test_a_culture_that_lost_half_is_held(site: Site) -> None:
    began(site, "R1", "R2")
    culture_count(site, "2026-05-09T09:00", "R1", 250.0, 100, 60)
    culture_count(site, "2026-05-10T09:00", "R1", 124.0, 100, 60)
    assert one(site, "R1", "2026-05-10T09:05").faults == (CultureFault.DROPPED,)


def test_algae_are_split_after_their_days(site: Site) -> None:
    began(site, "N1")
    batch(site, "2026-05-08T09:00", "N1", "count", per_ml=4e6)
    assert stands(site, "N1", "2026-05-08T10:00")[1] is NextStep.SPLIT
    found = one(site, "N1", "2026-05-08T10:00")
    said = answered(culture_steps.split(site, hand("AB", site), found), "5", "1", "1")
    assert said.startswith("Kept: N1 split: 5 L stay, the rest to the rotifers.")
    assert stands(site, "N1", "2026-05-08T11:00")[1] is NextStep.COUNT


# ---- what is in stock


def have(site: Site, code: str, use: dict[str, float] | None = None) -> on_hand.OnHand:
    found = {one.code: one for one in on_hand.on_hand(site, site.now(), use or {})}
    return found[code]


def test_a_tin_loses_what_cones_take_of_it_and_says_how_many_days_are_left(site: Site) -> None:
    batch(site, "2026-05-01T09:00", "T1", "received", "cysts", "AC-7", lot="AC-7", grams=454.0)
    batch(site, "2026-05-02T09:00", "T1", "opened")
    cone_set(site, 5, "A0505", 54.0)
    clock_shows(site, "2026-05-10T09:00")
    found = have(site, "AC-7", {"AC-7": 40.0})
    assert (found.grams, found.days) == (400.0, 10.0)
    # Ten days of it, seven until more is here: order by the third day from now.
    assert found.order_by == date(2026, 5, 13)
    assert not found.order_now(date(2026, 5, 12))
    assert found.order_now(date(2026, 5, 13))


def test_a_lot_that_is_low_is_ordered_now_whatever_it_lasts(site: Site) -> None:
    batch(site, "2026-05-01T09:00", "T1", "received", "cysts", "AC-7", lot="AC-7", grams=150.0)
    clock_shows(site, "2026-05-10T09:00")
    assert have(site, "AC-7").order_by == date(2026, 5, 10)


def test_a_weighing_stands_before_what_is_reckoned_and_an_empty_tin_is_gone(site: Site) -> None:
    batch(site, "2026-05-01T09:00", "D1-1", "received", "feed", "D1", lot="D1", grams=1000.0)
    batch(site, "2026-05-01T09:10", "D1-1", "opened")
    clock_shows(site, "2026-05-10T09:00")
    [tin] = have(site, "D1").tins
    said = answered(stock_steps.weighed(site, hand("AB", site), tin), "700", "2")
    assert said == "Kept: D1-1: 700 g left."
    assert have(site, "D1").grams == 700.0
    [tin] = have(site, "D1").tins
    answered(stock_steps.empty(site, hand("AB", site), tin), "1", "1")
    assert have(site, "D1").tins == ()
    assert have(site, "D1").grams is None


def test_feed_is_received_opened_and_a_tin_is_tested_by_number(site: Site) -> None:
    clock_shows(site, "2026-05-10T09:00")
    said = answered(
        stock_steps.received(site, hand("AB", site), have(site, "AC-7")), "454", "+", "LOT 12", "1"
    )
    assert said == (
        "Kept: AC-7-0510: 454 g of AC-7 received, its label says LOT 12. Write AC-7-0510 on it."
    )
    [tin] = have(site, "AC-7").tins
    said = answered(stock_steps.opened(site, hand("AB", site), tin), "1")
    assert said.endswith("Do a test hatch before you rely on it.")
    [tin] = have(site, "AC-7").tins
    # FAO 361 worksheet 4.3.4: N 110, U 6, E 24 are 78.57 %.
    said = answered(stock_steps.tested(site, hand("AB", site), tin), "110", "6", "24", "1")
    assert said == "Kept: AC-7-0510 test hatch: 79 %."
    [tin] = have(site, "AC-7").tins
    assert tin.tested == pytest.approx(78.571, abs=0.001)


def test_a_hatch_below_seven_tenths_of_the_lot_s_own_is_told(site: Site) -> None:
    for day, hatch in ((4, 80.0), (5, 82.0), (6, 81.0), (7, 56.0)):
        cone_set(site, day, f"A050{day}")
        batch(site, f"2026-05-0{day + 1}T08:30", f"A050{day}", "harvest", litres=5.0,
              per_ml=300.0, hatch_percent=hatch)  # fmt: skip
    clock_shows(site, "2026-05-10T09:00")
    hatched = have(site, "AC-7").hatched
    assert hatched is not None
    assert (hatched.percent, hatched.usual, hatched.many, hatched.poor) == (56.0, 81.0, 3, True)
    assert not hatched._replace(percent=56.8).poor


def test_a_time_of_day_that_is_past_is_of_today_or_of_yesterday(site: Site) -> None:
    clock_shows(site, "2026-05-10T09:00")
    assert past(site, "0830") == moment("2026-05-10T08:30")
    assert past(site, "2100") == moment("2026-05-09T21:00")


def test_a_batch_that_is_counted_again_tells_its_hatch_once(site: Site) -> None:
    cone_set(site)
    batch(site, "2026-05-10T08:30", "A0509", "harvest", litres=5.0)
    batch(site, "2026-05-10T08:40", "A0509", "count", per_ml=336.0, hatch_percent=80.0)
    batch(site, "2026-05-10T16:00", "A0509", "count", per_ml=150.0, hatch_percent=36.0)
    found = cones.hatches(site.reader.feeding.batches(0))
    assert [one.hatch_percent for one in found] == [80.0]
    batch(site, "2026-05-11T08:30", "A0510", "harvest", litres=5.0, hatch_percent=81.0)
    assert len(cones.hatches(site.reader.feeding.batches(0))) == 2, "set before one looks back"


def test_what_is_kept_in_reserve_is_ordered_for_as_well(site: Site) -> None:
    batch(site, "2026-05-01T09:00", "D1-1", "received", "feed", "D1", lot="D1", grams=1000.0)
    clock_shows(site, "2026-05-10T09:00")
    # 1000 g at 50 a day last 20 days; 7 until more is here, 3 are kept: the tenth day from now.
    assert have(site, "D1", {"D1": 50.0}).order_by == date(2026, 5, 20)


def test_cysts_whose_shells_come_off_just_now_are_no_cone(tmp_path: Path) -> None:
    with opened(tmp_path, LIVE, "2026-05-10T09:00") as site:
        batch(site, "2026-05-10T08:00", "S0510", "step", due="2026-05-10T09:10", grams=15.0)
        found = one_batch(site, "S0510", site.now())
        assert found is not None
        assert (found.kind, found.state) == (BatchKind.SHELLED, State.SHELLING)
        assert "S0510" not in [one.name for one in batches.live_batches(site, site.now())]


def test_a_culture_is_counted_in_its_vessel_and_not_in_what_was_harvested_last(site: Site) -> None:
    from tankwalk.practice.counting.talk import of_batch

    batch(site, "2026-05-01T09:00", "R1", "set", "rotifers", litres=60.0)
    batch(site, "2026-05-09T09:14", "R1", "harvest", litres=15.0)
    assert of_batch(site, "R1").liters == 60
