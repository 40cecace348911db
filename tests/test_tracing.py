"""From a batch to every tank and meal that got it, from a tank to its batches, and what became."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fed_support import FED
from site_support import clock_shows, moment, opened
from tankwalk.ledger.entries import Batch, BatchOf, Detail, Entry, Meal, Poured, Served
from tankwalk.ledger.feeding import BatchKind
from tankwalk.practice.feeding import tracing
from tankwalk.practice.feeding.tracing import BatchTrace, Origin, PlaceTrace
from tankwalk.practice.site import SITE, Site

DAY = "2026-05-10T"


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, FED) as found:
        yield found


def did(site: Site, when: str, *details: Detail) -> None:
    """Something happened to a batch."""
    at = moment(when)
    site.record(Entry("batch", "AB", at, at, SITE), *details, sure=True)


def poured(site: Site, place: str, when: str, *portions: Poured, meal: str = f"{DAY}12:00") -> None:
    """A tank was given live feed."""
    at = moment(when)
    thousand = sum(one.ml * one.per_ml for one in portions) / 1000
    site.record(
        Entry("meal", "AB", at, at, place), Meal("Art", thousand, "thousand"),
        Served(moment(meal).utc), *portions, sure=True,
    )  # fmt: skip


def a_cone(site: Site, name: str, day: str, source: str | None = None, lot: str = "AC-7") -> None:
    """A cone was set the day before, and harvested: 5 L at 300 per mL, 1500 thousand."""
    before = date.fromisoformat(day) - timedelta(days=1)
    did(site, f"{before}T09:30", Batch(name, "set", lot, 10.0, 5.0), BatchOf("cone", source))
    harvest = Batch(name, "harvest", litres=5.0, per_ml=300.0, hatch_percent=80.0)
    did(site, f"{day}T08:30", harvest)


def of_batch(site: Site, name: str, now: str = f"{DAY}20:00") -> BatchTrace:
    clock_shows(site, now)
    found = tracing.of_batch(site, name, site.now())
    assert found is not None
    return found


def of_places(site: Site, *places: str, since: str, now: str = f"{DAY}20:00") -> PlaceTrace:
    return tracing.of_places(site, places, moment(since), moment(now))


def test_a_batch_is_traced_to_every_tank_and_meal_with_its_age(site: Site) -> None:
    a_cone(site, "C1", "2026-05-10")
    poured(site, "T02", f"{DAY}10:02", Poured("C1", 100.0, 300.0), meal=f"{DAY}08:00")
    poured(site, "T01", f"{DAY}12:30", Poured("C1", 50.0, 300.0), Poured("C0", 10.0, 100.0))
    found = of_batch(site, "C1")
    assert (found.kind, found.hatch_percent) == (BatchKind.CONE, 80.0)
    assert (found.begun.short(), found.harvested) == ("Sat 9 May 09:30", moment(f"{DAY}08:30"))
    assert found.places == ("T02", "T01")
    assert [at.hm() for at in found.meals] == ["08:00", "12:00"]
    assert [(p.place, p.ml, p.thousand, p.who, p.age_h) for p in found.portions] == [
        ("T02", 100.0, 30.0, "AB", pytest.approx(1 + 32 / 60)), ("T01", 50.0, 15.0, "AB", 4.0),
    ]  # fmt: skip
    assert tracing.of_batch(site, "C9", site.now()) is None


def test_only_what_was_until_now_is_told(site: Site) -> None:
    a_cone(site, "C1", "2026-05-10")
    poured(site, "T01", f"{DAY}12:30", Poured("C1", 50.0, 300.0))
    early = of_batch(site, "C1", f"{DAY}08:00")
    assert (early.harvested, early.portions, early.balance) == (None, (), None)
    assert tracing.of_batch(site, "C1", moment("2026-05-09T09:00")) is None
    assert of_places(site, "T01", since=f"{DAY}00:00", now=f"{DAY}12:00").portions == ()


def test_a_cone_is_followed_back_to_shelled_cysts_their_tin_and_its_lot(site: Site) -> None:
    did(site, "2026-05-01T08:00", Batch("AC-7-1", "received", "AC-7", 454.0),
        BatchOf("cysts", "AC-7"))  # fmt: skip
    shelled = Batch("S0504", "set", "AC-7", grams=60.0)
    did(site, "2026-05-04T16:00", shelled, BatchOf("shelled", "AC-7-1"))
    a_cone(site, "C1", "2026-05-10", source="S0504")
    a_cone(site, "C2", "2026-05-10", source="AC-7-1")
    a_cone(site, "C3", "2026-05-10")
    assert of_batch(site, "C1").origins == (
        Origin("S0504", BatchKind.SHELLED, moment("2026-05-04T16:00")),
        Origin("AC-7-1", BatchKind.CYSTS, moment("2026-05-01T08:00")),
        Origin("AC-7"),
    )
    assert [one.name for one in of_batch(site, "C2").origins] == ["AC-7-1", "AC-7"]
    assert of_batch(site, "C3").origins == (Origin("AC-7"),)


def test_a_tin_is_traced_through_all_that_was_made_from_it(site: Site) -> None:
    for tin in ("AC-7-1", "AC-7-2"):
        did(site, "2026-05-01T08:00", Batch(tin, "received", "AC-7", 454.0), BatchOf("cysts"))
    shelled = Batch("S0504", "set", "AC-7", grams=60.0)
    did(site, "2026-05-04T16:00", shelled, BatchOf("shelled", "AC-7-1"))
    for cone, source in (("C1", "S0504"), ("C2", "AC-7-1"), ("C3", "AC-7-2")):
        a_cone(site, cone, "2026-05-10", source=source)
    poured(site, "T01", f"{DAY}10:00", Poured("C2", 50.0, 300.0))
    poured(site, "T02", f"{DAY}10:01", Poured("C1", 50.0, 300.0), Poured("C3", 5.0, 300.0))
    found = of_batch(site, "AC-7-1")
    assert found.made == ("S0504", "C1", "C2")
    assert [(p.place, p.batch) for p in found.portions] == [("T01", "C2"), ("T02", "C1")]
    assert of_batch(site, "S0504").made == ("C1",)
    assert of_batch(site, "AC-7-2").places == ("T02",)


def test_a_name_that_comes_again_is_another_batch(site: Site) -> None:
    a_cone(site, "C1", "2026-05-05")
    poured(site, "T01", "2026-05-05T12:00", Poured("C1", 100.0, 300.0), meal="2026-05-05T12:00")
    a_cone(site, "C1", "2026-05-10")
    poured(site, "T02", f"{DAY}12:00", Poured("C1", 100.0, 300.0))
    assert of_batch(site, "C1").places == ("T02",)
    assert of_batch(site, "C1", "2026-05-06T12:00").places == ("T01",)
    both = of_places(site, "T01", "T02", since="2026-05-01T00:00")
    assert [one.begun.short() for one in both.batches] == ["Mon 4 May 09:30", "Sat 9 May 09:30"]
    assert [p.age_h for p in both.portions] == [3.5, 3.5]


def test_a_tank_and_a_treatment_are_traced_back_to_their_batches(site: Site) -> None:
    a_cone(site, "C0", "2026-05-09")
    a_cone(site, "C1", "2026-05-10")
    poured(site, "T01", "2026-05-09T12:00", Poured("C0", 100.0, 300.0), meal="2026-05-09T12:00")
    poured(site, "T01", f"{DAY}08:05", Poured("C0", 40.0, 290.0), meal=f"{DAY}08:00")
    poured(site, "T01", f"{DAY}12:00", Poured("C1", 100.0, 300.0))
    poured(site, "T03", f"{DAY}12:01", Poured("C1", 90.0, 300.0))
    poured(site, "T02", f"{DAY}12:02", Poured("C7", 90.0, 300.0))
    found = of_places(site, "T01", since=f"{DAY}00:00")
    assert [one.batch for one in found.batches] == ["C0", "C1"]
    assert [found.thousand(name) for name in ("C0", "C1")] == pytest.approx([11.6, 30.0])
    now = moment(f"{DAY}20:00")
    arm = tracing.of_treatment(site, "E8", moment(f"{DAY}00:00"), now)
    assert (arm.places, len(arm.portions)) == (("T01", "T03"), 3)
    unknown = of_places(site, "T02", since=f"{DAY}00:00")
    assert unknown.batches == (), "nobody said where C7 came from"
    assert [(p.batch, p.age_h) for p in unknown.portions] == [("C7", None)]


# ---- where a harvest went


def test_a_harvest_is_poured_discarded_or_left(site: Site) -> None:
    a_cone(site, "C1", "2026-05-10")
    poured(site, "T01", f"{DAY}10:00", Poured("C1", 1000.0, 300.0))
    did(site, f"{DAY}11:00", Batch("C1", "discard", litres=0.5, text="spilled"))
    balance = of_batch(site, "C1").balance
    assert balance is not None
    assert balance[:4] == (1500.0, 300.0, 150.0, 1050.0)
    assert balance.unsaid == 0.0
    did(site, f"{DAY}11:30", Batch("C1", "chill", litres=2.0))
    balance = of_batch(site, "C1").balance
    assert balance is not None
    assert (balance.left, balance.unsaid) == (600.0, 450.0), "the rest was drained unsaid"
    did(site, f"{DAY}15:00", Batch("C1", "discard", text="too old"))
    balance = of_batch(site, "C1").balance
    assert balance is not None
    assert (balance.discarded, balance.left) == (750.0, 0.0)


Acts = st.lists(st.tuples(st.sampled_from(["pour", "discard"]), st.floats(1.0, 900.0)), max_size=12)


@settings(max_examples=30, deadline=None)
@given(Acts, st.booleans())
def test_what_was_harvested_is_what_was_poured_discarded_and_left(
    tmp_path_factory: pytest.TempPathFactory, acts: list[tuple[str, float]], all_out: bool
) -> None:
    """Whatever is done, the books of a batch close while no more is taken than there is."""
    with opened(tmp_path_factory.mktemp("site"), FED) as site:
        a_cone(site, "C1", "2026-05-10")
        left = 5000.0
        for minute, (act, ml) in enumerate(acts):
            ml = min(ml, left)
            if ml < 1:
                break
            left -= ml
            when = f"{DAY}10:{minute:02d}"
            if act == "pour":
                poured(site, "T01", when, Poured("C1", ml, 300.0))
            else:
                did(site, when, Batch("C1", "discard", litres=ml / 1000))
        if all_out:
            did(site, f"{DAY}11:00", Batch("C1", "discard", text="used up"))
        balance = of_batch(site, "C1").balance
        assert balance is not None
        assert balance.harvested == 1500.0
        # Less than 0.5 mL is what stays in the jug.
        assert balance.unsaid == pytest.approx(0, abs=0.16)
        assert balance.left == pytest.approx(0.0 if all_out or left < 0.5 else left * 0.3)
