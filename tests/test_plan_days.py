"""What a plan says of people's duties, meters' checks, feeds, meals and samples."""

from __future__ import annotations

from datetime import date, time

import pytest

from plan_texts import OXYGEN
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Feed, Instrument, MealTime, Plan, Sampling
from tankwalk.plan.start import start_text
from tankwalk_demo.feeding import WEEKDAY, WEEKEND
from tankwalk_demo.room import plan as demo_plan
from test_plan import SMALL, faults_of, line_of, swap

METER = """
[[instrument]]
code = "A"
kind = "oxygen meter"
"""
ASKED = swap('tank = ["temp"]', 'tank = ["temp", "do"]') + OXYGEN
ARMS = '\n[[treatment]]\ncode = "E10"\n\n[[treatment]]\ncode = "M14"\n'


def fed(*tables: str, text: str = SMALL + ARMS) -> str:
    return text + "".join(f"\n{table}\n" for table in tables)


# ---- who may decide


def test_a_person_s_duty_is_kept_and_is_a_technician_s_where_none_is_given() -> None:
    assert read_plan(SMALL).people[0].duty == "technician"
    plan = read_plan(swap('initials = "JQ"', 'initials = "JQ"\nduty = "Study owner"'))
    found = plan.find_person("JQ")
    assert found is not None
    assert found.duty == "study owner"
    assert plan.find_person("XX") is None


def test_a_duty_nobody_knows_is_named_with_the_nearest_one() -> None:
    [fault] = faults_of(swap('initials = "JQ"', 'initials = "JQ"\nduty = "study ower"'))
    assert fault.mend == 'write duty = "study owner"'


# ---- meters


def test_a_meter_says_against_what_it_is_checked_how_often_and_for_which_item() -> None:
    check = 'check = "moist air"\nchecks = "do"\nreference = 100\nwithin = "2 %"\n'
    plan = read_plan(ASKED + METER + check + 'check_unit = "percent"\ncheck_every = "24 h"\n')
    assert plan.instruments[0] == Instrument(
        "A", "oxygen meter", "", (), "moist air", "do", 100.0, 2.0, "%", 1.0
    )
    bare = read_plan(ASKED + METER).instruments[0]
    assert (bare.check, bare.checks, bare.reference, bare.check_every_days) == ("", "", None, None)


def test_a_check_in_fahrenheit_is_turned_and_its_distance_as_a_distance() -> None:
    check = 'check = "ice"\nreference = "32 F"\nwithin = "0.9 F"\ncheck_unit = "degC"\n'
    meter = read_plan(ASKED + METER + check).instruments[0]
    assert meter.reference == pytest.approx(0.0, abs=1e-9)
    assert meter.within == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ('check_every = "1 d"\n', "check does not say against what"),
        ('check = "moist air"\ncheck_every = "2 mg/L"\n', "time"),
        ('check = "moist air"\ncheck_every = 0\n', "not between 0 and 400 days"),
        ('check = "moist air"\nchecks = "dx"\n', "which the plan has not"),
        ('check = "moist air"\nchecks = "temp"\n', ""),
        ('check = "moist air"\nreference = 100\n', "without within"),
        ('check = "moist air"\nwithin = 2\n', "without reference"),
        ('check = "moist air"\nreference = 100\nwithin = 0\n', "not above 0"),
        ('check = "moist air"\ncheck_unit = "percentile"\n', "not a unit known here"),
    ],
)
def test_a_check_that_makes_no_sense_is_one_fault_on_its_line(keys: str, says: str) -> None:
    text = ASKED + METER + keys
    if not says:  # an item without a kind of meter of its own may be checked by any
        assert read_plan(text).instruments[0].checks == "temp"
        return
    [fault] = faults_of(text)
    assert says in fault.what
    assert fault.mend
    assert fault.line >= line_of(text, "[[instrument]]")
    assert fault.where == "[[instrument]] A"


def test_a_meter_does_not_check_what_another_kind_of_meter_measures() -> None:
    text = ASKED + METER + '\n[[instrument]]\ncode = "P1"\nkind = "pH meter"\n'
    [fault] = faults_of(text + 'check = "buffer"\nchecks = "do"\n')
    assert fault.what == 'checks names do, whose instrument is "oxygen meter"'
    assert fault.line == line_of(text, 'code = "P1"') + 3


# ---- items


def test_an_item_has_a_deadband_in_its_own_unit_and_sends_to_items_further_down() -> None:
    text = swap('unit = "C"', 'unit = "C"\ndeadband = "0.36 F"\nsee = ["do"]', ASKED) + METER
    item = read_plan(text).item("temp")
    assert item.deadband == pytest.approx(0.2)
    assert item.see == ("do",)


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ("deadband = 0", "is not above 0"),
        ("deadband = -0.2", "is not above 0"),
        ('deadband = "2 L"', "deadband"),
        ('see = ["screen"]', "which the plan has not"),
        ('see = ["temp"]', "names temp itself"),
        ("see = []", "is an empty list"),
    ],
)
def test_a_deadband_or_a_direction_that_makes_no_sense_is_a_fault(keys: str, says: str) -> None:
    text = swap('unit = "C"', f'unit = "C"\n{keys}')
    [fault] = faults_of(text)
    assert says in fault.what
    assert fault.line == line_of(text, keys)


def test_a_choice_of_words_has_no_deadband() -> None:
    screen = '\n[[item]]\ncode = "screen"\nlabel = "Screen"\nkind = "choice"\n'
    [fault] = faults_of(SMALL + screen + 'choices = ["clean", "fouled"]\ndeadband = 1\n')
    assert "means nothing for a choice" in fault.what


def test_an_item_due_every_few_days_that_no_round_asks_is_a_fault_for_it_would_nag_for_ever() -> (
    None
):
    weekly = '\n[[item]]\ncode = "gas"\nlabel = "Gas"\nevery = "7 d"\n'
    [fault] = faults_of(SMALL + weekly)
    assert fault.line == line_of(SMALL + weekly, "every")
    assert "gas is due every 7 d and no checklist asks it" in fault.what
    assert "add it to tank = [...]" in fault.mend
    assert read_plan(swap('tank = ["temp"]', 'tank = ["temp", "gas"]') + weekly)
    # A checklist that cannot be read may be the one that asks it.
    broken = faults_of(swap('tank = ["temp"]', 'tank = ["temp", 7]') + weekly)
    assert [fault.what for fault in broken if "no checklist" in fault.what] == []


# ---- feeds


def test_a_feed_is_planned_by_treatment_and_age() -> None:
    plan = read_plan(
        fed(
            '[[feed]]\ncode = "D1"\nlabel = "dry"\ntreatment = "E10"\ndph = [10, 60]',
            '[[feed]]\ncode = "D1"\nlabel = "dry"\ntreatment = "M14"\ndph = [14, 60]',
            '[[feed]]\ncode = "art"\ndph = [4, 17]',
            text=swap('lot = "S26"', 'lot = "S26"\ntreatment = "M14"') + ARMS,
        )
    )
    assert plan.feeds[0] == Feed("D1", "dry", "E10", (10, 60))
    assert plan.feeds_of(plan.tank("T01")) == (
        Feed("D1", "dry", "M14", (14, 60)),
        Feed("art", "", None, (4, 17)),
    )


def test_a_line_for_a_treatment_stands_before_the_line_for_all() -> None:
    everybody, arm = '[[feed]]\ncode = "D1"\ndph = [8, 60]', 'treatment = "E10"\ndph = [10, 60]'
    text = swap('lot = "S26"', 'lot = "S26"\ntreatment = "{}"') + ARMS
    ages = {}
    for code in ("E10", "M14"):
        plan = read_plan(
            fed(everybody, f'[[feed]]\ncode = "D1"\n{arm}', text=text.replace("{}", code))
        )
        ages[code] = [feed.dph[0] for feed in plan.feeds_of(plan.tank("T01"))]
    assert ages == {"E10": [10], "M14": [8]}


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ("[[feed]]\ndph = [1, 2]", "code is missing"),
        ('[[feed]]\ncode = "D1"', "dph is missing"),
        ('[[feed]]\ncode = "D1"\ndph = [9, 3]', "does not run from a first to a last"),
        ('[[feed]]\ncode = "D1"\ndph = [1, 2]\ntreatment = "X"', "which the plan has not"),
        ('[[feed]]\ncode = "D1"\ndph = [1, 2]\ngrams = 3', "is not a key of"),
        ('[[meal]]\nweekdays = ["Mon"]', "at is missing"),
        ('[[meal]]\nat = "8"', "not a time of day"),
        ('[[meal]]\nat = "08:00"\nweekdays = ["Someday"]', "weekdays names"),
        ('[[sampling]]\nevery = "7 d"', "what is missing"),
        ('[[sampling]]\nwhat = "length"', "every is missing"),
        ('[[sampling]]\nwhat = "length"\nevery = "0 d"', "not between 0 and 400"),
        ('[[sampling]]\nwhat = "length"\nevery = "7 d"\ndph = [0.5, 2]', "whole days"),
        ("[[feeds]]\ncode = 'D1'\ndph = [1, 2]", "is not a table of a plan"),
    ],
)
def test_a_feed_meal_or_sample_that_makes_no_sense_is_one_fault(table: str, says: str) -> None:
    text = fed(table)
    found = faults_of(text)
    assert [says in fault.what for fault in found] == [True], found
    assert found[0].mend
    assert found[0].line >= line_of(text, table.split("\n")[0])


def test_one_thing_planned_twice_names_the_line_of_the_first() -> None:
    for first, second, shared in (
        ('[[feed]]\ncode = "D1"\ndph = [1, 9]', '[[feed]]\ncode = "D1"\ndph = [9, 12]', "D1 at"),
        ('[[meal]]\nat = "08:00"', '[[meal]]\nat = "08:00"\nweekdays = ["Sun"]', "08:00 is"),
        (
            '[[sampling]]\nwhat = "length"\nevery = "7 d"',
            '[[sampling]]\nwhat = "length"\nevery = "3 d"\ndph = [1, 3]',
            '"length" is already',
        ),
    ):
        text = fed(first, second)
        [fault] = faults_of(text)
        assert fault.what.startswith(shared)
        assert f"line {line_of(text, first)}" in fault.what
        assert fault.line > line_of(text, first)


def test_meals_of_different_weekdays_may_share_a_time_and_stand_in_the_order_of_the_clock() -> None:
    plan = read_plan(
        fed(
            '[[meal]]\nat = "18:00"',
            '[[meal]]\nat = "08:00"\nweekdays = ["Sat", "Sun"]',
            '[[meal]]\nat = "08:00"\nweekdays = ["Mon"]',
        )
    )
    assert plan.meals == (
        MealTime(time(8), (6, 7)),
        MealTime(time(8), (1,)),
        MealTime(time(18)),
    )


def test_samples_are_due_every_so_many_days_at_some_ages() -> None:
    plan = read_plan(
        fed('[[sampling]]\nwhat = "gut fill"\nlabel = "Gut"\nevery = "168 h"\ndph = [5, 60]')
    )
    assert plan.samplings == (Sampling("gut fill", "Gut", 7.0, (5, 60)),)
    assert read_plan(fed('[[sampling]]\nwhat = "mass"\nevery = 3')).samplings[0].label == "mass"


# ---- the plans that are shipped


def test_the_examples_in_the_starter_plan_are_right_when_the_signs_before_them_go() -> None:
    start = start_text(date(2026, 4, 16), "America/Chicago")
    part = start[start.index("# Samples that are due") : start.index("# Bands say what is wanted")]
    lines = [line.removeprefix("# ") for line in part.splitlines() if "[[" in line or " = " in line]
    plan = read_plan(start.replace(part, "\n".join(lines) + "\n\n"))
    assert [one.what for one in plan.samplings] == ["gut fill", "swim bladder", "length"]
    assert plan.people[1].duty == "lead"
    assert plan.item("level").see == ("screen",)


def test_the_demo_plans_what_its_season_does() -> None:
    plan: Plan = demo_plan()
    assert {p.initials: p.duty for p in plan.people} == {
        "JQ": "technician", "RO": "technician", "TS": "study owner", "MV": "lead",
        "PB": "student", "DK": "veterinarian",
    }  # fmt: skip
    starts = {f.treatment: f.dph[0] for f in plan.feeds if f.code == "D1"}
    assert starts == {"E10": 10, "M14": 14, "L18": 18}
    ends = {f.treatment: f.dph[1] + 1 for f in plan.feeds if f.code == "Artemia"}
    assert ends == {"E10": 18, "M14": 22, "L18": 26}
    for day, table in ((1, WEEKDAY), (6, WEEKEND)):
        planned = [f"{m.at:%H:%M}" for m in plan.meals if not m.weekdays or day in m.weekdays]
        assert planned == [wall for wall, *_ in table]
