"""Rubbish is understood or refused in words: the short form of tests/fuzz.py, and what it found."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import fuzz
from site_support import NOW, SMALL, opened
from tankwalk import plain
from tankwalk.errors import Refusal
from tankwalk.ledger import proof


@pytest.mark.parametrize(
    ("name", "many"),
    [("quantity", 2000), ("words", 1000), ("plan", 20), ("csv", 60), ("plain", 60)],
)
def test_the_first_inputs_of_every_kind_end_no_program(name: str, many: int) -> None:
    assert fuzz.crashes(name, many) == []


def test_an_input_is_made_again_from_its_seed() -> None:
    made = {fuzz.changed(random.Random(7), fuzz.VALUES) for _ in range(3)}
    assert len(made) == 1
    assert len({fuzz.changed(random.Random(k), fuzz.VALUES) for k in range(200)}) > 150


def test_what_is_raised_beside_a_refusal_is_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(words: str, unit: str, *, allow_negative: bool) -> object:
        raise RecursionError("too deep")

    monkeypatch.setattr("tankwalk.quantity.read", broken)
    found = fuzz.crashes("quantity", 2, first=5)
    assert found == ["quantity 5: RecursionError: too deep", "quantity 6: RecursionError: too deep"]


@given(st.text())
def test_any_text_is_a_seal_or_is_refused_in_one_line(words: str) -> None:
    try:
        number, letters = proof.typed(words)
    except Refusal as refusal:
        said = str(refusal)
    else:
        said = f"{number}-{letters}"
        assert proof.typed(said) == (number, letters)
    assert said.isprintable() or set(said) - {"\n"} == set(said)


@pytest.mark.parametrize("sign", ["\u00b2", "2\u00b2", "\u2462", "\u0663"])
def test_a_digit_that_is_no_number_is_no_choice(sign: str, tmp_path: Path) -> None:
    """Found by fuzz.py (plain 3799): a raised or a ringed digit ended the program."""
    with opened(tmp_path, SMALL, NOW, "trolley") as site:
        first = ("+", "+", "+", "0.05", "12.1", "1", "12.1", "1")
        for words in ((sign,), ("flag", sign), ("worked", sign), ("m", sign), ("note", sign)):
            answers = [*first, *words, sign, "back", "", "end"]
            plain.walk(site, iter(answers), lambda _: None, "AB", "am")


RAISED = (1780, 3780, 3960, 5220, 6480, 7160, 7200, 10340, 14540, 15580, 16560, 17220)
"""Of 20,000 lines the first of each walk of twenty with `flag` and such a digit alone in a line."""


@pytest.mark.parametrize("first", RAISED)
def test_the_walks_that_once_ended_the_program_are_walked_again(first: int, tmp_path: Path) -> None:
    walk = [fuzz.changed(random.Random(seed), fuzz.ANSWERS, 2) for seed in range(first, first + 20)]
    alone = [line for line in walk if line.strip().isdigit() and not line.strip().isdecimal()]
    assert alone
    assert "flag" in [line.strip() for line in walk]
    with opened(tmp_path, SMALL, NOW, "trolley") as site:
        plain.walk(site, iter(walk), lambda _: None, "AB", "am")
    flagged = ("+", "+", "+", "0.05", "12.1", "1", "12.1", "1")
    with opened(tmp_path / "another", SMALL, NOW, "trolley") as site:  # met first at a flag
        said: list[str] = []
        plain.walk(site, iter([*flagged, "flag", *alone, "", "end"]), said.append, "AB", "am")
    assert f"{alone[0].strip()!r} is none of these." in said
