"""Help: keys first, what every mark and code of a page means, at any width of a window."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from demo_support import opened
from tankwalk import text
from tankwalk.pages import help as page
from tankwalk.pages.lines import TONES, plain
from tankwalk.practice.site import Site

WIDTHS = (*range(1, 44), 60, 80, 120, 200)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    site = opened(tmp_path_factory.mktemp("help"))
    yield site
    site.close()


def told(site: Site, scope: str, width: int = 80) -> str:
    return plain(page.draw(scope, None, width, site.plan, site.now()))


@pytest.mark.parametrize("scope", page.WORK)
def test_help_is_drawn_at_any_width_and_fills_it_exactly(demo: Site, scope: str) -> None:
    for width in WIDTHS:
        for row in page.draw(scope, None, width, demo.plan, demo.now()):
            assert sum(text.width(span.text) for span in row) == width, (width, row)
            assert {span.tone for span in row} <= set(TONES)


@pytest.mark.parametrize("scope", page.WORK)
def test_the_keys_come_before_any_prose(demo: Site, scope: str) -> None:
    shown = " ".join(told(demo, scope, 120).split())
    assert shown.index("Keys here") < shown.index(page.WORK[scope][0][:30])


def test_every_code_that_a_page_of_fish_shows_is_explained_there(demo: Site) -> None:
    plan = demo.plan
    codes = [
        *(arm.code for arm in plan.treatments),
        *(lot.code for lot in plan.lots),
        *(loop.code for loop in plan.loops),
        *(one.initials for one in plan.people),
        *(meter.code for meter in plan.instruments),
        *(feed.code for feed in plan.feeds),
    ]
    assert len(codes) > 15
    for scope in ("board", "walk", "handover"):
        rows = [row.strip().split("  ")[0] for row in told(demo, scope).split("\n")]
        assert [code for code in codes if code not in rows] == [], scope


def test_what_a_treatment_is_stands_beside_its_code(demo: Site) -> None:
    assert "M14        dry feed from 14 dph, live feed to 22 dph" in told(demo, "board")
    assert "SGR26      sauger, 24 dph today" in told(demo, "board")


def test_each_level_is_told_with_its_mark_and_word_where_flags_are_shown(demo: Site) -> None:
    for scope in page.MARKED:
        shown = told(demo, scope)
        assert [row for row in shown.split("\n") if row.startswith("   !!! URGENT  ")]
        assert "act, and phone" in shown
