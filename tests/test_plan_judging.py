"""What a plan says of judging: each number within bounds, with a source, and told in its guide."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tankwalk.plan.judging import LIMITS, JudgingLimits
from tankwalk.plan.keys import KEYS
from tankwalk.plan.load import read_plan
from tankwalk.practice.judging.model.looks import Settings
from tankwalk.practice.judging.model.thresholds import settings_for
from test_plan import SMALL, faults_of, line_of

GUIDE = Path(__file__).parent.parent / "docs" / "plan-judging.md"
OWN = 'owner = "JQ"\nsource = "our counts of May"\ndated = 2026-05-20'


def judging(*lines: str) -> str:
    return SMALL + "\n[judging]\n" + "\n".join(lines) + "\n"


def test_a_plan_that_says_nothing_is_held_to_what_holds_everywhere() -> None:
    assert read_plan(SMALL).judging == JudgingLimits()
    assert {key: getattr(JudgingLimits(), key) for key in LIMITS} == {
        key: known.usual for key, known in LIMITS.items()
    }


def test_a_number_of_the_sites_own_holds_with_its_owner_and_source() -> None:
    own = read_plan(judging("ratio = 3", "onset_looks = 20", OWN)).judging
    assert (own.ratio, own.onset_looks, own.tail) == (3.0, 20, 0.0007)
    assert (own.owner, own.dated) == ("JQ", date(2026, 5, 20))
    assert own.source == "our counts of May"


@pytest.mark.parametrize("key", list(LIMITS))
def test_a_number_out_of_its_bounds_is_named_with_its_line(key: str) -> None:
    text = judging(OWN, f"{key} = {LIMITS[key].high * 2:g}")
    (fault,) = faults_of(text)
    assert fault.line == line_of(text, f"{key} =")
    assert key in fault.what
    assert f"{key} = {LIMITS[key].usual:g}" in fault.mend


def test_a_number_of_the_sites_own_has_to_say_where_it_comes_from() -> None:
    (fault,) = faults_of(judging("ratio = 3"))
    assert fault.what == "source is missing, and a number here is the site's own"


def test_a_reference_that_reaches_less_far_than_it_has_to_is_refused() -> None:
    (fault,) = faults_of(judging("reference_looks = 30", "reference_most = 20", OWN))
    assert fault.what == "reference_most 20 is less than reference_looks 30"
    assert fault.mend == "write reference_most = 40"


def test_a_key_that_is_nearly_right_is_read_as_what_it_meant() -> None:
    (fault,) = faults_of(judging("false_watch = 0.5", OWN))
    assert "false_watch_a_day" in fault.mend


def test_the_guide_tells_every_number_with_its_bounds_and_source() -> None:
    guide = GUIDE.read_text(encoding="utf-8")
    for key, known in LIMITS.items():
        bounds = f"{known.low:g} - {known.high:g}"
        assert f"| `{key}` | {known.what} | {known.usual:g} | {bounds} | {known.source} |" in guide
    assert guide.count("\n| `") == len(LIMITS)
    assert set(LIMITS) <= set(KEYS["judging"])


def test_the_model_takes_its_limits_from_the_plan() -> None:
    own = JudgingLimits(reference_looks=8, reference_most=50, onset_looks=12, margin=5.0)
    told = settings_for(own, 0.1)
    assert (told.reference, told.reach, told.newest, told.margin) == (8, 50, 12, 5.0)
    assert settings_for(JudgingLimits(), 0.0) == Settings(score=told.score)
