"""What the tests of the water share: asking a calculator as a person types, and its refusals."""

from __future__ import annotations

import json
from collections.abc import Callable
from math import isfinite

import pytest

from outside import typed
from tankwalk.errors import Refusal
from tankwalk.practice.workings import working_out
from tankwalk.practice.workings.working_out import Working


def ask(calculator: str, **inputs: object) -> Working:
    """The answer to what is typed; its JSON has to hold nothing that JSON cannot."""
    done = working_out.work(calculator, typed(**inputs))
    json.dumps(working_out.as_json(done), allow_nan=False)
    return done


def value(calculator: str, **inputs: object) -> float:
    found = ask(calculator, **inputs).value
    assert found is not None
    return found


def also(calculator: str, key: str, **inputs: object) -> float:
    found = ask(calculator, **inputs).also[key]
    assert isinstance(found, float)
    return found


def refusal(calculator: str, **inputs: object) -> str:
    with pytest.raises(Refusal) as caught:
        ask(calculator, **inputs)
    return str(caught.value)


def _steps(
    key: str, low: float | None, high: float | None
) -> tuple[tuple[float | None, float], ...]:
    """Both ends, each with a small step out of the range; a coefficient is itself small."""
    step = 1e-6 if key == "coefficient" else 1e-4
    return (low, -step), (high, step)


def edges(
    calculator: str, key: str, low: float | None, high: float | None, **inputs: object
) -> None:
    """Inside a range, ends included, nothing is said of the key; just outside it warns."""
    for end, out in _steps(key, low, high):
        if end is None:
            continue
        inside = ask(calculator, **{**inputs, key: end}).warnings
        assert not any(words.startswith(f"{key} ") for words in inside), inside
        outside = ask(calculator, **{**inputs, key: end + out}).warnings
        assert any(words.startswith(f"{key} ") for words in outside), (key, end, outside)


def ends(
    calculator: str, key: str, low: float | None, high: float | None, **inputs: object
) -> None:
    """The ends of what can be are worked; beyond there is a refusal that begins with the key."""
    for end, out in _steps(key, low, high):
        if end is None:
            continue
        ask(calculator, **{**inputs, key: end})
        assert refusal(calculator, **{**inputs, key: end + out}).startswith(f"{key} ")


def only_refusals(sum_: Callable[..., float | None], *numbers: float) -> None:
    """Whatever the numbers, a finite answer, none, or a refusal."""
    try:
        found = sum_(*numbers)
    except Refusal:
        return
    else:
        assert found is None or isfinite(found)
