"""The demo's trial is what scipy and statsmodels make of the same tank values."""

from __future__ import annotations

import re

from trial_table import PAGE, gathered, rows

NEAR = 1e-4
"""Theirs ends its search for the limits of omega squared at about 1e-4; all else lies nearer."""


def test_every_number_is_theirs_and_the_page_says_how_near() -> None:
    found = rows(gathered())
    assert len(found) >= 12
    for row in found:
        for name, (ours, theirs) in row.figures.items():
            near = NEAR if name == "omega squared high" else 1e-6
            assert abs(ours - theirs) <= near * max(1.0, abs(theirs)), (row.one.measure.code, name)
    told = PAGE.read_text("utf-8")
    many = re.search(r"Numbers compared: (\d+), of (\d+) measures", told)
    assert many is not None
    assert int(many[1]) == sum(len(row.figures) for row in found)
    for row in found:
        f = row.one.test.statistic if row.one.test else None
        assert f"| {f:.6f} |" in told, row.one.measure.code
