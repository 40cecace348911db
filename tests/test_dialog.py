"""A talk by number: what a digit, a letter and Enter answer, and that silence keeps nothing."""

from __future__ import annotations

import pytest

from site_support import moment
from tankwalk.errors import Refusal
from tankwalk.practice.dialog import Asking, Hand, Step, Talk

LONG = tuple("abcdefghijkl")


def once(step: Step) -> Asking:
    """A talk of one question, which says at its end how it was answered."""

    def talk() -> Talk:
        answer = yield step
        return f"{answer.number} {answer.words}"

    return Asking(talk())


def test_of_a_long_list_one_digit_and_enter_choose_or_two_digits() -> None:
    asking = once(Step("Which?", LONG))
    asking.type("1")
    assert not asking.over
    asking.enter()
    assert asking.said == "1 a"
    asking = once(Step("Which?", LONG))
    asking.type("1")
    asking.type("2")
    assert asking.said == "12 l"


def test_enter_alone_answers_only_where_the_question_says_what_it_means() -> None:
    asking = once(Step("Whose?", LONG, enter="nobody's"))
    asking.enter()
    assert (asking.over, asking.said) == (True, "0 ")
    asking = once(Step("Whose?", LONG))
    asking.enter()
    assert (asking.over, asking.said) == (False, "Choose by number: nothing is kept by silence.")


def test_words_that_are_numbers_are_words_and_blank_ones_are_none() -> None:
    asking = once(Step("Why?", ("a", "b"), "write it", writes=True))
    asking.type("0")
    asking.type(" ")
    asking.enter()
    assert (asking.over, asking.said) == (False, "Nothing was typed, so nothing is kept.")
    asking.type("2")
    asking.enter()
    assert asking.said == "0  2"


def test_a_refusal_ends_the_talk_with_its_sentence() -> None:
    def talk() -> Talk:
        yield Step("Which?", ("a",))
        raise Refusal("It is gone: nothing was kept.")

    asking = Asking(talk())
    asking.type("1")
    assert (asking.over, asking.said) == (True, "It is gone: nothing was kept.")


@pytest.mark.parametrize(("now", "who"), [
    ("07:00", "AB"), ("07:10", "AB"), ("07:11", ""), ("06:59", ""),
])  # fmt: skip
def test_one_who_was_named_writes_on_for_ten_minutes(now: str, who: str) -> None:
    hand = Hand()
    assert hand.of(moment("2026-05-10T07:00")) == ""
    hand.named("AB", moment("2026-05-10T07:00"))
    assert hand.of(moment(f"2026-05-10T{now}")) == who
    hand.forget()
    assert hand.of(moment("2026-05-10T07:00")) == ""
