"""The demo's feed: the list and the record say the same, harvests close, a bad batch is traced."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from demo_support import STATION, until, whole
from tankwalk.ledger.feeding import BatchEvent, BatchKind
from tankwalk.practice.feeding import dispensing, tracing
from tankwalk.practice.livefeed import cold_store
from tankwalk.practice.livefeed.on_hand import on_hand
from tankwalk.practice.site import Site, open_site
from tankwalk_demo.days import moment

Opens = Callable[[Path, int, str], Site]


@pytest.fixture
def opens(tmp_path: Path) -> Iterator[Opens]:
    """A copy of a record of the demo, open with its clock at a time of a numbered day."""
    found: list[Site] = []

    def one(folder: Path, day: int, wall: str) -> Site:
        copy = shutil.copytree(folder, tmp_path / f"site {len(found)}")
        found.append(open_site(copy, STATION, moment(day, wall).iso()))
        return found[-1]

    yield one
    for site in found:
        site.close()


@pytest.mark.parametrize(
    ("day", "wall"), [(7, "14:00"), (13, "08:20"), (15, "14:00"), (16, "08:00"), (20, "15:52")]
)
def test_the_list_of_a_meal_says_what_the_record_then_holds(
    opens: Opens, day: int, wall: str
) -> None:
    """What was planned and given, and what of which batch: by the record as it stood then."""
    meal = moment(day, wall)
    site = opens(until(meal), day, wall)
    listed = dispensing.meal_list(site, meal)
    ask = opens(whole(), 30, "21:30").reader.feeding
    kept = {(one.place, one.feed): one for one in ask.meals(meal.utc) if one.meal_at == meal.utc}
    poured: dict[str, list[tuple[str, float, float]]] = {}
    for one in ask.poured(meal.utc):
        if one.meal_at == meal.utc:
            poured.setdefault(one.place, []).append((one.batch, one.ml, one.per_ml))
    portions = [(row.tank.code, portion) for row in listed.rows for portion in row.portions]
    assert len(kept) == len(portions) >= 12
    for tank, portion in portions:
        seen = kept[tank, portion.feed.code]
        assert seen.planned == portion.full
        # At the last meal of a share what was rounded down before is left over for it.
        assert seen.amount == pytest.approx(portion.listed, abs=0.5 if day == 16 else 1e-9)
        if portion.pours and day != 16:
            assert poured[tank] == [tuple(pour) for pour in portion.pours]


def test_every_harvest_closes_over_the_season(opens: Opens) -> None:
    """Poured and discarded are never more than was harvested, and nothing is unsaid of it."""
    site = opens(whole(), 30, "21:30")
    events = site.reader.feeding.batches(0)
    cones = [one.batch for one in events if one.kind == BatchKind.CONE]
    assert len(cones) == 22
    for name in cones:
        found = tracing.of_batch(site, name, site.now())
        assert found is not None
        assert found.balance is not None
        assert found.balance.poured > 0
        out = found.balance.poured + found.balance.discarded
        assert out <= found.balance.harvested + 1e-6
        assert found.balance.left == 0
        # What stays in the jug is less than a mL.
        assert found.balance.unsaid < 0.4
        assert [one.kind for one in found.origins[:-1]][-1] is BatchKind.CYSTS
    assert cold_store.chilled(site, site.now()) == ()


def test_the_poor_batch_is_traced_to_its_tanks_and_meals_and_back(opens: Opens) -> None:
    site = opens(whole(), 16, "12:00")
    found = tracing.of_batch(site, "A0503", site.now())
    assert found is not None
    assert found.hatch_percent == 46.0
    assert found.places == ("T01", "T03", "T05", "T06", "T07", "T08", "T10", "T11")
    assert [at.short() for at in found.meals] == [
        "Mon 4 May 14:00", "Mon 4 May 15:43", "Mon 4 May 18:00", "Mon 4 May 20:30",
        "Tue 5 May 08:00",
    ]  # fmt: skip
    back = tracing.of_places(site, ["T05"], moment(15, "00:00"), site.now())
    assert [one.batch for one in back.batches] == ["A0502", "A0503", "A0504"]
    assert back.thousand("A0503") == pytest.approx(
        sum(one.thousand for one in found.portions if one.place == "T05")
    )
    origin = found.origins[0]
    assert origin.at is not None
    of_tin = tracing.of_batch(site, origin.name, site.now())
    assert of_tin is not None
    assert "A0503" in of_tin.made


def test_tins_are_tested_before_they_are_relied_on(opens: Opens) -> None:
    stock = opens(whole(), 30, "21:30").reader.feeding.stock_batches()
    opened = {one.batch for one in stock if one.event == BatchEvent.OPENED and "AC" in one.batch}
    tested = {one.batch for one in stock if one.event == BatchEvent.TEST_HATCH}
    received = {one.batch for one in stock if one.event == BatchEvent.RECEIVED}
    assert opened == tested < received


def test_the_list_says_what_there_is_of_dry_feed_as_the_stock_does(opens: Opens) -> None:
    site = opens(until(moment(21, "07:52")), 21, "07:52")
    grams = {one.code: one.grams for one in on_hand(site, site.now(), {})}
    found = {one.feed.code: one.have for one in dispensing.meal_list(site).totals}
    assert found["D1"] == grams["D1"]
    assert grams["D1"] is not None
    assert grams["D1"] > 100
