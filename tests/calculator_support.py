"""What the tests of the sums share: anything typed, and what a declaration warns about."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from math import isfinite

from hypothesis import given, settings
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.practice.workings import working_out
from tankwalk.science.calculators import ALL
from tankwalk.science.calculators.declare import Form

ANY_NUMBER = st.one_of(
    st.floats(allow_nan=False, allow_infinity=False),
    st.floats(-10, 1000),
    st.sampled_from([0.0, -0.0, 1.0, 5e-324, 1e-300, 1e300, 1.7e308]),
)
"""Any finite number, with those that break sums among them."""

ODD = ("0", "-1", "0.000000001", "0.5", "1", "7", "100", "5000", "999999999999")


def refuses_or_answers(sum_: Callable[..., object], many: int, *more: object) -> None:
    """A sum of so many numbers gives finite numbers or a Refusal, whatever it is given."""

    @settings(max_examples=200, deadline=None)
    @given(st.lists(ANY_NUMBER, min_size=many, max_size=many))
    def check(numbers: Sequence[float]) -> None:
        try:
            found = sum_(*numbers, *more)
        except Refusal:
            return
        parts = found if isinstance(found, tuple) else (found,)
        for part in parts:
            assert part is None or isfinite(part), f"{numbers} gave {part}"

    check()


def never_fails(names: Sequence[str]) -> None:
    """Calculators give JSON or a Refusal, whatever is typed into their fields."""

    @settings(max_examples=400, deadline=None)
    @given(st.data())
    def check(data: st.DataObject) -> None:
        asked = ALL[data.draw(st.sampled_from(list(names)))]
        typed = {}
        for one in asked.inputs:
            if one.form is Form.WORD:
                typed[one.key] = data.draw(st.sampled_from([*one.choices, ""]))
            elif one.form is Form.SERIES:
                parts = data.draw(st.lists(st.sampled_from(ODD), max_size=5))
                typed[one.key] = " ".join(parts)
            else:
                typed[one.key] = data.draw(st.sampled_from([*ODD, ""]))
        try:
            done = working_out.work(asked.name, typed)
        except Refusal:
            return
        json.dumps(working_out.as_json(done), allow_nan=False)

    check()


def warns_of(name: str, typed: Mapping[str, str], key: str, value: float) -> bool:
    """Whether a calculator warns that this input is outside the range of its equation."""
    done = working_out.work(name, {**typed, key: f"{value:.9f}"})
    return any(warning.startswith(f"{key} ") and "outside" in warning for warning in done.warnings)


def declared(names: Sequence[str]) -> dict[tuple[str, str], tuple[object, object]]:
    """Usual value and range of each input that has one."""
    return {
        (name, one.key): (one.default, one.valid)
        for name in names
        for one in ALL[name].inputs
        if one.default is not None or one.valid is not None
    }
