"""Every way of altering a record that is listed shows, but the one that the README names."""

from __future__ import annotations

from pathlib import Path

import tamperings


def test_every_alteration_shows_but_the_one_that_the_page_names() -> None:
    found = list(tamperings.rows())
    assert len(tamperings.ROWS) == 38
    assert len(tamperings.UNSEEN) == 11
    assert [name for group, name, sound, _ in found if sound != (group == "not seen")] == []
    page = Path(__file__).parent.parent / "docs" / "proof.md"
    text = page.read_text("utf-8")
    for _, name, _, words in found:
        assert f"| {name} | " in text
        assert words in text
