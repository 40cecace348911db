"""Enumerations are those of `enum` in every way that is used here."""

from __future__ import annotations

import copy
import json
import pickle
from enum import Enum as StandardEnum
from enum import StrEnum as StandardStrEnum
from typing import Any

import pytest

from tankwalk.enums import Enum, StrEnum
from tankwalk.exchange.plain_values import plain_value


class Lid(Enum):
    """How a tank's lid is."""

    ON = "on"
    OFF = "off"
    UNKNOWN = None

    @property
    def seen(self) -> bool:
        return self is not Lid.UNKNOWN


class Feed(StrEnum):
    """What goes in."""

    LIVE = "live"
    DRY = "dry"


class StandardLid(StandardEnum):
    """The same by `enum`."""

    ON = "on"
    OFF = "off"
    UNKNOWN = None


class StandardFeed(StandardStrEnum):
    """The same by `enum`."""

    LIVE = "live"
    DRY = "dry"


@pytest.mark.parametrize(("ours", "theirs"), [(Lid, StandardLid), (Feed, StandardFeed)])
def test_members_are_those_of_enum(ours: Any, theirs: Any) -> None:
    assert [(one.name, one.value) for one in ours] == [(one.name, one.value) for one in theirs]
    assert len(ours) == len(theirs)
    for one, other in zip(ours, theirs, strict=True):
        assert repr(one) == repr(other).replace("Standard", "")
        assert str(one) == str(other).replace("Standard", "")
        assert f"{one}" == f"{other}".replace("Standard", "")
        assert json.dumps(plain_value(one)) == json.dumps(plain_value(other.value)) or not one.value
        assert ours(one.value) is one is ours(one) is ours[one.name]
        assert one in ours


def test_a_member_stays_itself_when_it_is_kept_and_copied() -> None:
    for one in (*Lid, *Feed):
        assert pickle.loads(pickle.dumps(one)) is one
        assert copy.deepcopy(one) is one
        assert {one: 1}[one] == 1


def test_a_word_is_a_word() -> None:
    word: str = Feed("live")
    assert word == "live"
    assert {"live": 1}[word] == 1
    assert json.dumps([Feed.LIVE]) == '["live"]'
    assert type(str(Feed.LIVE)) is str


def test_what_is_worked_out_is_no_member() -> None:
    assert Lid.ON.seen
    assert not Lid.UNKNOWN.seen


@pytest.mark.parametrize("asked", ["half", 3, [], {}])
def test_what_is_no_member_is_refused(asked: Any) -> None:
    for one in (Lid, Feed):
        with pytest.raises(ValueError, match=f"is not a valid {one.__name__}"):
            one(asked)
    with pytest.raises(KeyError):
        Lid["HALF"]


def test_two_members_of_one_value_are_a_slip() -> None:
    with pytest.raises(TypeError, match="B has the value of A"):

        class Twice(Enum):
            A = 1
            B = 1
