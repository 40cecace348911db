"""Rows are named tuples in every way but one: their annotations stay words."""

from __future__ import annotations

import pickle
from types import new_class
from typing import get_type_hints

import pytest

from tankwalk.clock import Instant
from tankwalk.rows import NamedTuple


class Point(NamedTuple):
    """Where it is."""

    x: float
    y: float = 0.0

    @property
    def far(self) -> bool:
        return self.x > 9

    def moved(self, by: float) -> Point:
        return self._replace(x=self.x + by)


def test_a_row_is_a_named_tuple() -> None:
    one = Point(3.0)
    assert isinstance(one, tuple)
    assert (one, one.x, one.y) == ((3.0, 0.0), 3.0, 0.0)
    assert Point._fields == ("x", "y")
    assert Point._field_defaults == {"y": 0.0}
    assert Point._make([1.0, 2.0])._asdict() == {"x": 1.0, "y": 2.0}
    assert one.moved(by=8.0).far
    assert repr(one) == "Point(x=3.0, y=0.0)"
    assert Point.__doc__ == "Where it is."
    match one:
        case Point(x, y=0.0):
            assert x == 3.0
        case _:
            pytest.fail("a row matches by place and by name")


def test_a_row_goes_into_a_kept_plan_and_back() -> None:
    assert pickle.loads(pickle.dumps(Point(1.0, 2.0))) == Point(1.0, 2.0)


def test_annotations_stay_words_and_can_be_asked() -> None:
    assert Point.__annotations__ == {"x": "float", "y": "float"}
    assert get_type_hints(Instant) == {"utc": int, "offset": int}


def test_a_field_without_a_default_follows_none_that_has_one() -> None:
    fields = {"__module__": __name__, "__annotations__": {"a": "int", "b": "int"}, "a": 1}
    with pytest.raises(TypeError, match="without a default"):
        new_class("Wrong", (NamedTuple,), exec_body=lambda said: said.update(fields))
