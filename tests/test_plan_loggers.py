"""Loggers in the plan: where each hangs, what it may be off, and what is wrong with a line."""

from __future__ import annotations

import pytest

from site_support import SMALL
from tankwalk.plan.faults import PlanFaults
from tankwalk.plan.load import read_plan
from tankwalk.plan.loggers import Logger, find_logger

TABLE = """
[[logger]]
code = "TL1"
label = "gray stick"
place = "L1"
item = "temp"
within = "0.9 degF"
zone = "-06:00"
"""


def test_a_logger_says_where_it_hangs_and_what_it_may_be_off() -> None:
    plan = read_plan(SMALL + TABLE + '[[logger]]\ncode = "TL2"\n')
    found = find_logger(plan, "TL1")
    assert found is not None
    assert found.within == pytest.approx(0.5)
    assert found._replace(within=None) == Logger("TL1", "gray stick", "L1", "temp", None, "-06:00")
    assert find_logger(plan, "TL2") == Logger("TL2")
    assert find_logger(plan, "TL3") is None


@pytest.mark.parametrize(
    ("line", "wrong", "said"),
    [
        ('place = "L1"', 'place = "T99"', "place 'T99' is no tank and no loop"),
        ('item = "temp"', 'item = "tmp"', "tmp"),
        ('item = "temp"', 'item = "screen"', "answered in words"),
        ('within = "0.9 degF"', "within = 0", "is not above 0"),
        ('within = "0.9 degF"', 'within = "0.3 mg/L"', "mg/L"),
        ('zone = "-06:00"', 'zone = "Mars/Base"', "zone 'Mars/Base' is not known"),
        ('code = "TL1"', "", "code"),
        ('item = "temp"', "", "item is missing"),
    ],
)
def test_what_is_wrong_with_a_logger_is_told_with_its_line(
    line: str, wrong: str, said: str
) -> None:
    text = SMALL + TABLE.replace(line, wrong)
    with pytest.raises(PlanFaults) as refused:
        read_plan(text)
    (fault,) = [one for one in refused.value.faults if said in one.what]
    assert line.split(" =")[0] in fault.what
    assert text.splitlines()[fault.line - 1] in (wrong or "[[logger]]", 'within = "0.9 degF"')
