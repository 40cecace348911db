"""`tankwalk calc`: the list, what one asks, an answer with its working, and one sentence else."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from site_support import tankwalk
from tankwalk import cli
from tankwalk.pages.workings import quoted
from tankwalk.practice.workings import working_out
from tankwalk.science.calculators import ALL, TOPICS
from tankwalk.science.calculators.declare import Answer, Calculator, Input, Output
from test_layers import loaded_after

KEYS = {"name", "value", "unit", "also", "inputs", "equation", "source", "range", "warnings"}


def calc(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """What a calculation prints."""
    assert cli.main(["calc", *words]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    return said.out


def refused(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """The one sentence on standard error, with nothing else and the status of unusable input."""
    assert cli.main(["calc", *words]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    return said.err.strip()


def test_without_a_name_every_calculator_is_listed_under_its_topic(
    capsys: pytest.CaptureFixture[str],
) -> None:
    said = calc(capsys)
    assert ".." not in said
    at = 0
    for topic, calculators in TOPICS:
        if not calculators:
            continue
        at = said.index(f"\n {topic}\n", at)
        for one in calculators:
            at = said.index(f"\n   {one.name} ", at)
            assert one.words in said
    listed = json.loads(calc(capsys, "--json"))
    assert [one["name"] for one in listed] == list(ALL)


def test_a_name_alone_says_what_is_asked_with_units_usual_values_and_an_example(
    capsys: pytest.CaptureFixture[str],
) -> None:
    said = calc(capsys, "bicarbonate-dose")
    assert "It asks" in said
    assert "from     alkalinity now; mg/L as CaCO3" in said
    assert "1 fraction where not said" in " ".join(said.split())
    assert "tankwalk calc bicarbonate-dose volume=3600 from=80 to=110" in said
    assert "Equation" in said


def test_the_answer_comes_first_then_what_it_was_made_from(
    capsys: pytest.CaptureFixture[str],
) -> None:
    rows = calc(capsys, "exchange", "volume=220", "flow=3.5").split("\n")
    assert rows[2].strip().endswith("0.95 per h")
    said = "\n".join(rows)
    order = [said.index(w) for w in ("0.95", "Made from", "220 L", "Equation", "Source", "Range")]
    assert order == sorted(order)
    assert ", default" in calc(capsys, "bicarbonate-rise", "volume=3600", "mass=250")


def test_what_can_hurt_is_said_before_the_answer(capsys: pytest.CaptureFixture[str]) -> None:
    said = calc(capsys, "decapsulation", "cysts=100", "bleach=84")
    assert said.index("Caution: Bleach with caustic burns") < said.index("595")
    assert "a second person near" in said
    done = json.loads(calc(capsys, "decapsulation", "cysts=100", "bleach=84", "--json"))
    assert done["dangerous"] is True
    assert done["caution"].startswith("Bleach with caustic burns")
    quiet = json.loads(calc(capsys, "bicarbonate-rise", "volume=3600", "mass=250", "--json"))
    assert "dangerous" not in quiet


@pytest.mark.parametrize("name", ALL)
def test_every_calculator_prints_its_example_and_all_its_keys(
    capsys: pytest.CaptureFixture[str], name: str
) -> None:
    typed = [f"{key}={value}" for key, value in ALL[name].typed.items()]
    page = calc(capsys, name, *typed)
    assert ".." not in page
    assert not {"nan", "inf"} & set(page.lower().split())
    done = json.loads(calc(capsys, name, *typed, "--json"), parse_constant=pytest.fail)
    assert set(done) - {"caution", "dangerous", "sensitivity"} == KEYS
    assert done["name"] == name
    assert isinstance(done["value"], float)
    assert math.isfinite(done["value"])
    assert isinstance(done["unit"], str)
    assert set(done["also"]) <= {o.key for o in ALL[name].also}
    assert set(ALL[name].typed) <= set(done["inputs"])
    for each in done["inputs"].values():
        assert set(each) == {"value", "unit"}
    assert all(done[key] for key in ("equation", "source", "range"))
    assert isinstance(done["warnings"], list)


def test_a_new_calculator_is_its_declaration_and_nothing_besides(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    passed = Calculator(
        "water-passed",
        "Water that passed in some hours",
        (Input("flow", "water flowing in", "L/min"), Input("hours", "hours passed", "h")),
        Output("value", "L", 0),
        "V = 60 Q t",
        "Definition",
        "a steady flow",
        lambda given: Answer(60 * given.number("flow") * given.number("hours")),
        example="flow=3.5 | hours=12",
    )
    monkeypatch.setitem(ALL, passed.name, passed)
    assert "tankwalk calc water-passed flow=3.5 hours=12" in calc(capsys, passed.name)
    assert "2520 L" in calc(capsys, passed.name, "flow=3.5", "hours=12")


def test_units_may_be_said_and_a_decimal_comma_is_a_decimal_point(
    capsys: pytest.CaptureFixture[str],
) -> None:
    def value(*words: str) -> float:
        found = json.loads(calc(capsys, *words, "--json"))["value"]
        assert isinstance(found, float)
        return found

    plainly = value("bicarbonate-rise", "volume=3600", "mass=250.5")
    assert value("bicarbonate-rise", "volume=3.6 m3", "mass=250,5 g") == pytest.approx(plainly)
    assert value("bicarbonate-rise", "volume=3600", "mass=0.2505 kg") == pytest.approx(plainly)
    assert value("convert", "value=2,5 gal/min", "to=L/min") == pytest.approx(9.46353)


def test_zero_is_an_answer(capsys: pytest.CaptureFixture[str]) -> None:
    done = json.loads(calc(capsys, "bicarbonate-rise", "volume=3600", "mass=0", "--json"))
    assert done["value"] == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("bicarbonate",), "There is no calculator 'bicarbonate'. Is it bicarbonate-"),
        (("zzz",), "List them with: tankwalk calc"),
        (("bicarbonate-dose", "volume=3600"), "from is missing: alkalinity now"),
        (("bicarbonate-dose", "volume"), "'volume' is no input: write it as KEY=VALUE."),
        (("bicarbonate-dose", "volume=1", "volume=2"), "volume is given twice."),
        (("bicarbonate-dose", "volum=1"), "takes no 'volum'; it takes product, volume, from, to, "),
        (("bicarbonate-dose", "volume=abc", "from=1", "to=2"), "volume: 'abc' is not a number."),
        (("bicarbonate-dose", "volume=nan", "from=1", "to=2"), "volume: 'nan' is not a number."),
        (("bicarbonate-dose", "volume=inf", "from=1", "to=2"), "volume: "),
        (("bicarbonate-dose", "volume=1,200 L", "from=1", "to=2"), "Type 1200 L or 1.20 L."),
        (("bicarbonate-dose", "volume=1e400", "from=1", "to=2"), "volume: '1e400' is too large"),
        (("bicarbonate-dose", "volume=5 mg/L", "from=1", "to=2"), "volume: "),
        (("bicarbonate-dose", "volume=", "from=1", "to=2"), "volume is missing"),
        (("nitrogen-basis", "value=1", "from=N2", "to=N"), "from: 'N2' is not one of N, NH3"),
        (("convert", "value=5", "to=L"), "value: "),
        (("convert", "value=5 L", "to=degC"), "L"),
        (("bicarbonate-dose", "volume=[red]1", "from=1", "to=2"), "volume: '[red]1'"),
    ],
)
def test_what_cannot_be_worked_is_one_sentence_that_names_the_input(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    assert said in refused(capsys, *words)
    assert said in refused(capsys, *words, "--json")


def test_a_refusal_drives_no_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (("\x1b]0;owned\x07",), ("bicarbonate-dose", "\x1b[2J=1")):
        assert "\x1b" not in refused(capsys, *words)


def test_an_example_is_written_as_a_shell_takes_it() -> None:
    assert quoted({"to": "L/min", "value": "2.5 gal/min"}) == 'to=L/min value="2.5 gal/min"'
    assert quoted({"groups": "7 8; 9 9"}) == 'groups="7 8; 9 9"'


@pytest.mark.parametrize(
    "words",
    [["calc"], ["calc", "bicarbonate-dose"], ["calc", "--json"],
     ["calc", "bicarbonate-rise", "volume=3600", "mass=250"],
     ["calc", "bicarbonate-rise", "volume=3600", "mass=250", "--json"]],
)  # fmt: skip
def test_a_calculation_brings_no_screen_no_record_and_no_units(
    words: list[str], tmp_path: Path
) -> None:
    code = f"import tankwalk.cli\nassert tankwalk.cli.main({words!r}) == 0"
    assert loaded_after(code, tmp_path) == set()


def test_the_real_program_calculates_without_a_site(tmp_path: Path) -> None:
    ran = tankwalk(tmp_path, "calc", "convert", "value=68 degF", "to=degC", now=None)
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert b"20.0000 degC" in ran.stdout
    ran = tankwalk(tmp_path, "calc", "convert", "value=68", now=None)
    assert ran.returncode == 2
    assert b"Traceback" not in ran.stderr


def test_half_dead_in_ten_days_is_a_rate_of_seven_percent_a_day() -> None:
    done = working_out.work("survival", {"stocked": "1000", "deaths": "500", "days": "10"})
    assert done.also["z"] == pytest.approx(0.0693147181, abs=1e-9)  # ln 2 / 10


@pytest.mark.parametrize("name", ALL)
def test_a_name_alone_shows_the_sheet_of_every_sum(
    capsys: pytest.CaptureFixture[str], name: str
) -> None:
    assert f"tankwalk calc {name} " in calc(capsys, name)
