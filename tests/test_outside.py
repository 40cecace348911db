"""Every calculator against the world outside: published tables, examples, other libraries."""

from __future__ import annotations

import pytest

from outside import Differs, Source, got, values
from outside_all import DIFFERS, SOURCES


@pytest.mark.parametrize("source", SOURCES, ids=lambda s: f"{s.calculator}: {s.reference[:60]}")
def test_the_calculator_agrees_with_what_others_print(source: Source) -> None:
    checked = 0
    for typed, expected, tolerance, key in values(source):
        ours = got(source, typed, key)
        if expected is None or ours is None:
            assert ours is expected, f"{typed}: {key} is {ours}, others print {expected}"
        else:
            apart = abs(ours - expected)
            assert apart <= tolerance, f"{typed}: {key} is {ours}, others print {expected}"
        checked += 1
    assert checked, "a source without a value checks nothing"


@pytest.mark.parametrize("known", DIFFERS, ids=lambda d: f"{d.calculator}: {d.statement[:60]}")
def test_a_printed_number_known_to_differ_still_differs_and_ours_is_what_it_was(
    known: Differs,
) -> None:
    """Were the equation bent to meet the printed number, this would fail."""
    ours = got(known, known.typed, known.key)
    assert ours is not None
    assert abs(ours - known.ours) <= known.tolerance
    assert abs(ours - known.printed) > 2 * known.tolerance
