"""Feed in the wide table of an export: amounts and meals of each tank and day."""

from __future__ import annotations

from pathlib import Path

import pytest

from export_support import demo_package, described, exported, table
from ledger_support import OFFICE, Line
from site_support import moment
from tankwalk.ledger.entries import Entry, Meal, Served


def test_the_feed_of_a_day_is_that_of_the_meals_and_empty_where_none_was_given() -> None:
    daily = [row for row in table(demo_package(), "daily") if row["level"] == "tank"]
    dry: dict[tuple[str, str], float] = {}
    meals: dict[tuple[str, str], set[str]] = {}
    for row in table(demo_package(), "meals"):
        if row["status"] == "stands" and not row["event"]:
            key = row["place"], row["meal_at"][:10]
            meals.setdefault(key, set()).add(row["meal_at"])
            if row["unit"] == "g":
                dry[key] = dry.get(key, 0.0) + float(row["amount"])
    assert len(dry) > 50
    for row in daily:
        key = row["place"], row["day"]
        assert float(row["feed_dry_g"] or 0) == pytest.approx(dry.get(key, 0.0), abs=1e-9)
        assert int(row["meals_given"] or 0) == len(meals.get(key, ()))
        assert bool(row["feed_dry_g"]) == (key in dry)
        of_each = sum(float(row[f"feed_{code}_g"] or 0) for code in ("D1",))
        assert of_each == pytest.approx(dry.get(key, 0.0), abs=1e-9)
    (resource,) = (r for r in described(demo_package())["resources"] if r["name"] == "daily")
    daily_fields = resource["schema"]["fields"]
    units = {one["name"]: one.get("unit") for one in daily_fields}
    assert (units["feed_dry_g"], units["feed_live_thousand"]) == ("g", "thousand")
    assert units["meals_given"] == "meals"


def test_a_missed_meal_counts_at_every_tank_it_was_said_of_unless_the_tank_was_fed(
    tmp_path: Path,
) -> None:
    noon, four = (moment(f"2026-05-01T{hour}:00") for hour in (12, 16))
    told = [
        (noon, "T01", 2.0, None), (noon, "T01", 1.0, None), (four, "T02", 1.5, None),
        (four, "site", 0.0, "missed: nobody here"), (noon, "T02", 0.0, "pause: 40 min, a count"),
    ]  # fmt: skip
    lines = [
        Line(
            OFFICE,
            Entry("meal", "AB", at, at, place),
            (Meal("D9", amount, "g", event=event), Served(at.utc)),
        )
        for at, place, amount, event in told
    ]
    rows = {row["place"]: row for row in table(exported(tmp_path / "out", lines), "daily")}
    said = {
        place: (row["feed_D9_g"], row["meals_given"], row["meals_missed"])
        for place, row in rows.items()
    }
    assert said == {"T01": ("3", "1", "1"), "T02": ("1.5", "1", "0")}
