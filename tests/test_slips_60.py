"""Sixty slips, each typed: what leads to the right record, and that no one key hides an alarm."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from site_support import standing_at
from slips_60 import LAST, PAD, SLIPS, Slipped, as_typed, outcomes, press, room, stands
from tankwalk.practice.judging.verdict import Flag

TABLE = Path(__file__).parent.parent / "docs" / "slips.md"


def test_there_are_sixty_of_five_kinds() -> None:
    kinds = {slipped.kind for slipped in SLIPS}
    assert (len(SLIPS), kinds) == (
        60, {"unit", "tenfold", "comma", "swapped fields", "wrong tank"}
    )  # fmt: skip


@pytest.mark.parametrize("slipped", SLIPS, ids=lambda one: f"{one.item} {one.typed}")
def test_a_slip_is_mended_by_the_keys_that_the_table_tells(slipped: Slipped) -> None:
    with room() as site:
        walk = standing_at(site, "T01", slipped.item)
        meant = walk.slot.item.read(slipped.shows)
        walk.answer(slipped.typed)
        press(walk, slipped.answers)
        found = stands(site, slipped.to, slipped.item)
        assert found is not None
        assert found[0] == pytest.approx(meant.value, abs=1e-5)


@pytest.mark.parametrize("slipped", SLIPS, ids=lambda one: f"{one.item} {one.typed}")
def test_no_one_key_after_a_slip_hides_what_would_alarm_as_typed(slipped: Slipped) -> None:
    with room() as site:
        walk = standing_at(site, "T01", slipped.item)
        walk.answer(slipped.typed)
        alarms = as_typed(walk) >= Flag.WATCH
    if alarms:
        assert [one for one in outcomes(slipped) if one.silent] == []


NUMBERS = st.decimals(0, 3000, places=2).map(lambda n: f"{n:f}".rstrip("0").rstrip("."))


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(sorted(LAST)), NUMBERS, st.sampled_from(PAD), st.booleans())
def test_no_one_key_turns_any_number_that_is_flagged_as_typed_into_ok(
    item: str, typed: str, key: str, comma: bool
) -> None:
    with room() as site:
        walk = standing_at(site, "T01", item)
        walk.answer(typed.replace(".", ",") if comma else typed)
        if as_typed(walk) < Flag.WATCH or key.isdigit():
            return
        press(walk, [key])
        found = stands(site, "T01", item)
        assert found is None or found[1] not in ("ok", "check")


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(sorted(LAST)), NUMBERS, st.sampled_from("123"))
def test_no_digit_at_a_doubtful_number_keeps_one_that_clears_what_was_typed(
    item: str, typed: str, key: str
) -> None:
    with room() as site:
        walk = standing_at(site, "T01", item)
        walk.answer(typed)
        alarms = as_typed(walk) >= Flag.WATCH and not walk.pending(walk.slot)
        if not alarms:
            return
        press(walk, [key])
        found = stands(site, "T01", item)
        assert found is None or found[1] not in ("ok", "check")


def test_the_table_lists_every_slip() -> None:
    rows = [line for line in TABLE.read_text("utf-8").splitlines() if line.startswith("| ")][2:]
    listed = [[cell.strip() for cell in row.split("|")[3:6]] for row in rows]
    assert listed == [[one.item, one.shows, f"`{one.typed}`"] for one in SLIPS]
