"""The cold store: what is left of a harvest, and until when nauplii are feed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fed_support import FED, cone
from site_support import clock_shows, moment, opened
from tankwalk.ledger.entries import Batch, BatchOf, Entry, Meal, Poured
from tankwalk.practice.livefeed.cold_store import Chilled, chilled
from tankwalk.practice.site import SITE, Site


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, FED) as found:
        yield found


def store(site: Site, when: str) -> list[tuple[str, float, float]]:
    """Batch, mL and thousand nauplii of all that is in the cold store at a time."""
    clock_shows(site, when)
    return [(one.batch, one.ml, one.thousand) for one in chilled(site, site.now())]


def harvested(site: Site, name: str, day: int, litres: float = 5.0, per_ml: float = 400.0) -> None:
    cone(site, f"2026-05-{day - 1:02}T09:30", name, "set", f"2026-05-{day:02}T08:30", grams=10.0)
    cone(site, f"2026-05-{day:02}T08:30", name, "harvest", litres=litres, per_ml=per_ml)


def pour(site: Site, when: str, batch: str, ml: float, per_ml: float = 400.0) -> int:
    at = moment(when)
    meal = Meal("Art", ml * per_ml / 1000, "thousand")
    return site.record(Entry("meal", "AB", at, at, "T01"), meal, Poured(batch, ml, per_ml))


def test_what_is_left_is_harvested_less_poured_less_thrown_out(site: Site) -> None:
    harvested(site, "A0510", 10)
    assert store(site, "2026-05-10T08:40") == [("A0510", 5000.0, 2000.0)]
    pour(site, "2026-05-10T09:00", "A0510", 1500)
    pour(site, "2026-05-10T09:05", "A0510", 500)
    assert store(site, "2026-05-10T09:10") == [("A0510", 3000.0, 1200.0)]
    cone(site, "2026-05-10T10:00", "A0510", "discard", litres=1.0)
    assert store(site, "2026-05-10T10:00") == [("A0510", 2000.0, 800.0)]
    cone(site, "2026-05-10T10:30", "A0510", "discard")
    assert store(site, "2026-05-10T10:30") == []


def test_a_meal_that_was_taken_back_was_not_poured(site: Site) -> None:
    harvested(site, "A0510", 10)
    n = pour(site, "2026-05-10T09:00", "A0510", 1500)
    at = moment("2026-05-10T09:01")
    site.record(Entry("void", "AB", at, at, "T01", amends=n, reason="undone"))
    assert store(site, "2026-05-10T09:10") == [("A0510", 5000.0, 2000.0)]


def test_what_is_put_into_the_cold_store_is_what_there_is_then(site: Site) -> None:
    harvested(site, "A0510", 10)
    cone(site, "2026-05-10T16:00", "A0510", "chill", litres=1.2)
    assert store(site, "2026-05-10T16:00") == [("A0510", 1200.0, 480.0)]
    cone(site, "2026-05-10T16:10", "A0510", "count", per_ml=350.0)
    assert store(site, "2026-05-10T16:10") == [("A0510", 1200.0, 420.0)]


def test_nauplii_are_warned_of_after_a_day_and_no_feed_after_two(site: Site) -> None:
    harvested(site, "A0510", 10)
    cone(site, "2026-05-10T16:00", "A0510", "chill", litres=1.2)
    clock_shows(site, "2026-05-10T16:00")
    [one] = chilled(site, site.now())
    assert (one.warn_at, one.block_at) == (moment("2026-05-11T08:30"), moment("2026-05-12T08:30"))
    for when, warns, blocked in (
        ("2026-05-11T08:29", False, False),
        ("2026-05-11T08:30", True, False),
        ("2026-05-12T08:29", True, False),
        ("2026-05-12T08:30", True, True),
    ):
        assert (one.warns(moment(when)), one.blocked(moment(when))) == (warns, blocked), when
    assert store(site, "2026-05-13T08:30") == [("A0510", 1200.0, 480.0)], "until it is thrown out"


def test_what_nobody_chilled_is_gone_after_its_day(site: Site) -> None:
    harvested(site, "A0510", 10)
    assert store(site, "2026-05-11T08:29") != []
    assert store(site, "2026-05-11T08:30") == []


def test_the_oldest_comes_first_and_a_name_that_comes_again_is_a_new_batch(site: Site) -> None:
    harvested(site, "B", 9)
    cone(site, "2026-05-09T12:00", "B", "chill", litres=1.0)
    harvested(site, "A", 10)
    assert [one[0] for one in store(site, "2026-05-10T09:00")] == ["B", "A"]
    cone(site, "2026-05-10T10:00", "B", "set", grams=5.0)
    assert [one[0] for one in store(site, "2026-05-10T10:30")] == ["A"]


def test_a_harvest_is_no_feed_before_it_is_counted(site: Site) -> None:
    cone(site, "2026-05-09T09:30", "A0510", "set", grams=10.0)
    cone(site, "2026-05-10T08:30", "A0510", "harvest", litres=5.0)
    assert store(site, "2026-05-10T08:35") == []
    cone(site, "2026-05-10T08:40", "A0510", "count", per_ml=400.0)
    assert store(site, "2026-05-10T08:45") == [("A0510", 5000.0, 2000.0)]


def test_what_is_enriched_is_ready_at_its_hour(site: Site) -> None:
    harvested(site, "A0510", 10)
    cone(site, "2026-05-10T16:00", "A0510", "enrich", "2026-05-11T04:00", litres=2.0, per_ml=900.0)
    clock_shows(site, "2026-05-10T17:00")
    [one] = chilled(site, site.now())
    assert (one.ready_at, one.ml, one.thousand) == (moment("2026-05-11T04:00"), 2000.0, 1800.0)


def test_a_culture_that_is_harvested_is_not_in_the_cold_store(site: Site) -> None:
    at = moment("2026-05-09T09:00")
    entry = Entry("batch", "AB", at, at, SITE)
    site.record(entry, Batch("R1", "set", litres=60.0, per_ml=250.0), BatchOf("rotifers", None))
    cone(site, "2026-05-10T09:00", "R1", "harvest", litres=15.0, per_ml=250.0)
    assert store(site, "2026-05-10T10:00") == []


def test_more_poured_than_there_was_leaves_nothing_and_not_less(site: Site) -> None:
    harvested(site, "A0510", 10, litres=1.0)
    pour(site, "2026-05-10T09:00", "A0510", 1200)
    assert store(site, "2026-05-10T09:10") == []


def test_a_chilled_batch_says_its_thousands_by_its_own_figures() -> None:
    at = moment("2026-05-10T08:30")
    one = Chilled("A", 350.0, 1000.0, 350.0, at, at, at)
    assert one.thousand == one.ml * one.per_ml / 1000
