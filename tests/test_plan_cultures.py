"""What a plan says of cultures, and of feed that is ordered in time."""

from __future__ import annotations

from datetime import time

import pytest

from tankwalk.plan.load import read_plan
from tankwalk.plan.vessels import Culture, CultureKind, Ordered
from test_plan import SMALL, faults_of

DRY = '\n[[feed]]\ncode = "D1"\ndph = [10, 60]\n'
LOT = '\n[[cysts]]\ncode = "C-1"\nper_gram = 210000\nhatch = 0.8\n'


def culture(*more: str) -> str:
    return "\n[[culture]]\n" + "\n".join(('code = "R1"', 'kind = "rotifers"', *more)) + "\n"


def test_a_culture_has_its_volume_its_harvest_and_what_it_is_fed() -> None:
    more = ('volume = "60 L"', 'harvest = "25 %"', 'food = "paste"', 'food_per_million = "1 g"')
    [one] = read_plan(SMALL + culture(*more)).cultures
    assert one == Culture(
        "R1", CultureKind.ROTIFERS, "", 60.0, 0.25, time(9), "paste", 1.0, None, ""
    )


def test_algae_are_split_by_the_calendar() -> None:
    text = culture('count_at = "10:00"', 'split_every = "7 d"').replace("rotifers", "algae")
    [one] = read_plan(SMALL + text).cultures
    assert (one.kind, one.count_at, one.split_days) == (CultureKind.ALGAE, time(10), 7.0)


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        (culture('harvest = "95 %"'), "harvest 0.95 is not above 0 and at most 0.9"),
        (culture("volume = 0"), "volume 0 is not above 0"),
        (culture().replace("rotifers", "rotifer"), 'kind "rotifer" is not one of'),
        (culture() + culture(), 'code "R1" is already the culture on line'),
        ('\n[[culture]]\ncode = "R1"\n', "kind is missing"),
    ],
)
def test_a_culture_that_cannot_be_is_told_with_its_line(tables: str, said: str) -> None:
    [fault] = faults_of(SMALL + tables)
    assert said in str(fault)


def test_feed_and_cysts_are_ordered_with_their_lead() -> None:
    text = '\n[[stock]]\nof = "D1"\nlead = "7 d"\n\n[[stock]]\nof = "C-1"\nlead = 3\nkeep = 2\n'
    found = read_plan(SMALL + DRY + LOT + text).stock
    assert found == (Ordered("D1", 7.0), Ordered("C-1", 3.0, 2.0))


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ('of = "D2"\nlead = "7 d"', "which the plan has not"),
        ('of = "D1"', "lead is missing"),
        ('of = "D1"\nlead = 7\n[[stock]]\nof = "D1"\nlead = 8', "already stands on line"),
    ],
)
def test_stock_that_cannot_be_ordered_is_told_with_its_line(tables: str, said: str) -> None:
    [fault] = faults_of(SMALL + DRY + LOT + "\n[[stock]]\n" + tables + "\n")
    assert said in str(fault)
