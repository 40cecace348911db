"""How many dead would be told here: held against the judge of the dead itself."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_support import opened
from tankwalk.plan.judging import JudgingLimits
from tankwalk.practice.judging.dead.counts import gather
from tankwalk.practice.judging.dead.mortality import fitted, jump
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.learning.dead import dead_seen, rise_counts
from tankwalk.practice.site import Site


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    site = opened(tmp_path)
    yield site
    site.close()


def test_the_judge_tells_a_count_that_is_called_a_jump_and_not_one_fish_less(demo: Site) -> None:
    found = dead_seen(demo, demo.now())
    assert found is not None
    known = gather(demo, found.tank, demo.now(), None)
    assert known is not None
    last = known.own[-1]
    known = known._replace(now=last.at, part=last.part, own=known.own[:-1])
    told = jump(fitted(found.jump, known, demo.plan.judging))
    assert told is not None
    assert told.rule is Rule.JUMP
    assert jump(fitted(found.jump - 1, known, demo.plan.judging)) is None


def test_a_rise_is_told_the_sooner_the_more_fish_and_the_less_they_cluster() -> None:
    limits = JudgingLimits()
    few, many = (rise_counts(mean, 2 * mean, 2.0, limits) for mean in (3.0, 12.0))
    assert few is not None
    assert many is not None
    assert many < few
    clustered = rise_counts(3.0, 12.0, 4.0, limits)
    assert clustered is None or clustered > few
    # scipy 1.x, nbinom.sf(23, 12, 0.5): P(X >= 24) = 0.0205 where 12 are usual in two counts;
    # the plan's tail is 0.003, of which a rise has half.
    assert rise_counts(6.0, 12.0, 2.0, limits) not in (None, 2)


def test_a_site_that_counted_nobody_is_told_nothing(demo: Site) -> None:
    demo.plan = demo.plan._replace(tanks=())
    assert dead_seen(demo, demo.now()) is None
