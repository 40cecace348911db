"""Saying a handover back: what a page asks, what it never sets against the right answer."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import demo_support
from page_support import give, section, section_of
from site_support import SMALL, clock_shows, go_to, moment, opened, sign, standing_at, walking
from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.pages.handover import text_of
from tankwalk.practice.dialog import Asking, Step
from tankwalk.practice.doing.follow_ups import open_action, open_altered
from tankwalk.practice.handover import drafting, give_take, say_back
from tankwalk.practice.handover.drafting import HandoverDraft, draft
from tankwalk.practice.handover.say_back import Coming, Question, questions
from tankwalk.practice.site import Site
from tankwalk_demo.room import plan

MORE_TANKS = SMALL.replace(
    '[[instrument]]\ncode = "A"',
    "".join(
        f'[[tank]]\ncode = "T{n:02d}"\nloop = "L1"\nvolume = "220 L"\nlot = "YOUNG"\n'
        for n in range(3, 9)
    )
    + '[[instrument]]\ncode = "A"',
    1,
)
"""The small room with eight tanks."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, MORE_TANKS) as site:
        yield site


def asked(site: Site, section: str) -> Question | None:
    """The question whose answer stands in a section, None where the page does not ask it."""
    return next((q for q in draft(site).asks if q.section == section), None)


def bad(site: Site, *tanks: tuple[str, str]) -> None:
    """Oxygen that is out of band, both times it was read."""
    walk = walking(site)
    for tank, value in tanks:
        go_to(walk, tank, "do")
        walk.answer(value)
        walk.answer(value)


# ---- what a page asks


def test_a_quiet_page_asks_only_what_is_due_next(site: Site) -> None:
    asks = draft(site).asks
    assert [q.ask for q in asks] == ["What is due next?"]
    assert asks[0].right == "07:00 Morning round"
    assert set(asks[0].choices) == {"07:00 Morning round", "15:00 Afternoon round"}


def test_a_page_with_nothing_to_come_asks_nothing(site: Site) -> None:
    sign(walking(site))
    clock_shows(site, "2026-05-10T22:00")
    assert draft(site).asks == ()


def test_the_worst_tank_is_asked_against_tanks_that_are_not_as_bad(site: Site) -> None:
    bad(site, ("T02", "4.4"), ("T05", "6.5"))
    question = asked(site, "STOCK")
    assert question is not None
    assert (question.ask, question.right) == ("Which tank is worst?", "T02")
    assert len(question.choices) == 4


def test_a_tank_as_bad_as_the_worst_is_no_choice(site: Site) -> None:
    bad(site, ("T02", "6.5"), ("T05", "6.6"))
    question = asked(site, "STOCK")
    assert question is not None
    worst = section(site, "STOCK")[0].split()[0]
    assert question.right == worst
    assert not {"T02", "T05"} - {worst} & set(question.choices)


def test_of_a_whole_loop_it_is_asked_what_is_worst_there(site: Site) -> None:
    walk = standing_at(site, "L1", "tan")
    for typed in ("1.2", "1.2"):
        walk.answer(typed)
    question = asked(site, "STOCK")
    assert question is not None
    assert (question.ask, question.right) == ("What is worst?", "L1 TAN")
    assert set(question.choices) == {"L1 TAN", "L1 Sump level"}


def test_of_what_the_site_leans_on_it_is_asked_what_is_worst(site: Site) -> None:
    walk = standing_at(site, "site", "alarm")
    walk.answer("2")
    question = asked(site, "STOCK")
    assert question is not None
    assert (question.ask, question.right) == ("What is worst?", "site Alarm")
    assert set(question.choices) == {"site Alarm", "site Generator test run"}


def test_what_is_altered_is_asked_against_the_same_elsewhere_and_never_against_what_is_so(
    site: Site,
) -> None:
    open_altered(site, "AB", "valve throttled", "T02")
    open_altered(site, "AB", "oxygen meter B put away")
    question = asked(site, "ALTERED")
    assert question is not None
    assert (question.ask, question.right) == ("What is off or altered?", "T02 valve throttled")
    others = set(question.choices) - {question.right}
    assert sum(c.endswith(" valve throttled") for c in others) == 2
    assert "Oxygen meter A put away" in others
    assert "Oxygen meter B put away" not in others, "that one is true"


def test_what_is_altered_at_the_site_is_asked_against_meters_and_nothing(site: Site) -> None:
    open_altered(site, "AB", "lights on all night")
    question = asked(site, "ALTERED")
    assert question is not None
    assert set(question.choices) == {
        "lights on all night", "Oxygen meter A put away", "Oxygen meter B put away",
        "nothing: all is as normal",
    }  # fmt: skip


def test_what_is_due_next_counts_rounds_and_what_has_a_time(site: Site) -> None:
    sign(walking(site))
    open_action(site, "AB", "count again", "T03", due_at=moment("2026-05-10T12:00").utc)
    open_altered(site, "AB", "lid off", "T04", moment("2026-05-11T09:00").utc)
    question = asked(site, "TO DO")
    assert question is not None
    assert question.right == "12:00 T03 count again"
    assert set(question.choices) == {
        "12:00 T03 count again", "15:00 Afternoon round", "Mon 11 May 09:00 T04 lid off",
    }  # fmt: skip


def test_what_is_to_come_is_found_in_its_section_and_what_is_due_now_is_not_to_come(
    site: Site,
) -> None:
    now = site.now()
    open_action(site, "AB", "phone the lead", due_at=now.utc)
    open_action(site, "AB", "count again", due_at=now.utc + 60)
    open_altered(site, "AB", "lid off", undo_by=now.utc + 120)
    found = say_back.coming(site, site.reader.follow_ups.open(), now)
    assert [(one.section, one.what) for one in found if one.section != "TASKS"] == [
        ("TO DO", "count again"), ("ALTERED", "lid off")
    ]  # fmt: skip


def test_two_things_due_at_the_same_minute_are_not_set_against_each_other(site: Site) -> None:
    sign(walking(site))
    open_action(site, "AB", "count again", due_at=moment("2026-05-10T15:00").utc)
    assert asked(site, "TASKS") is None, "one choice alone is no question"
    open_action(site, "AB", "close the valve", due_at=moment("2026-05-10T16:00").utc)
    question = asked(site, "TASKS")
    assert question is not None
    assert set(question.choices) == {"15:00 Afternoon round", "16:00 close the valve"}


def test_what_is_overdue_is_neither_right_nor_a_choice(site: Site) -> None:
    open_action(site, "AB", "count again", due_at=moment("2026-05-10T07:30").utc)
    clock_shows(site, "2026-05-10T09:00")
    open_action(site, "AB", "close the valve", due_at=moment("2026-05-10T16:00").utc)
    question = asked(site, "TASKS")
    assert question is not None
    assert set(question.choices) == {"15:00 Afternoon round", "16:00 close the valve"}


def test_the_demo_asks_its_three_questions_about_the_page_it_shows(tmp_path: Path) -> None:
    site = demo_support.opened(tmp_path)
    page = draft(site)
    site.close()
    assert [(q.ask, q.right) for q in page.asks] == [
        ("Which tank is worst?", "T07"),
        ("What is off or altered?", "T12 Inlet valve throttled to 3.1 L/min, fitting weeps"),
        ("What is due next?", "06:50 Morning round"),
    ]
    for question in page.asks:
        shown = " ".join(section_of(page, question.section))
        assert all(word in shown for word in question.right.split())


@given(st.integers(0, 10**6))
def test_every_question_holds_its_right_answer_once_among_two_to_four_choices(seed: int) -> None:
    now = moment("2026-05-10T07:00")
    later = [Coming(now._replace(utc=now.utc + k * 600), f"task {k} " * 20, "TO DO") for k in
             range(1, 7)]  # fmt: skip
    [question] = questions(plan(), (), (), later, now, seed)
    assert question.choices.count(question.right) == 1
    assert 2 <= len(question.choices) <= 4
    assert len(set(question.choices)) == len(question.choices)
    assert all(text.width(c) <= say_back.CELLS for c in question.choices)
    assert questions(plan(), (), (), later, now, seed) == (question,)


def test_the_right_answer_stands_at_every_place_in_time() -> None:
    now = moment("2026-05-10T07:00")
    later = [Coming(now._replace(utc=now.utc + k * 600), f"task {k}", "TO DO") for k in range(6)]
    places = set()
    for seed in range(40):
        [question] = questions(plan(), (), (), later, now, seed)
        places.add(question.choices.index(question.right))
    assert places == {0, 1, 2, 3}


# ---- saying it back


def taking(site: Site, who: int, how: int) -> tuple[Asking, HandoverDraft]:
    """Somebody who takes the room and stands before the first question."""
    page = draft(site)
    asking = Asking(give_take.take(site, page, text_of(page)))
    asking.type(str(who))
    asking.type(str(how))
    return asking, page


def number(step: Step, words: str) -> str:
    return str(step.choices.index(words) + 1)


def test_each_answer_is_kept_beside_the_taking_with_its_tries(site: Site) -> None:
    bad(site, ("T02", "4.4"))
    open_altered(site, "AB", "valve throttled", "T02")
    give(site, "AB")
    asking, page = taking(site, 2, 1)
    for wrong, question in zip((0, 2, 1), page.asks, strict=True):
        for words in [c for c in question.choices if c != question.right][:wrong]:
            asking.type(number(asking.step, words))
            assert (asking.step.ask, asking.step.shown) == (question.ask, question.section)
            assert asking.step.told == f"Not {words}. Read {question.section} again:"
        asking.type(number(asking.step, question.right))
    assert asking.over
    assert asking.said == "Responsibility passed 07:00, AB to CD."
    last = site.reader.handovers.last()
    assert last is not None
    assert (last.taken_by, last.how) == ("CD", "in person")
    assert {s.question: (s.answer, s.tries) for s in last.said} == {
        question.ask: (question.right, tries)
        for question, tries in zip(page.asks, (1, 3, 2), strict=True)
    }


def test_nothing_is_taken_before_the_last_answer(site: Site) -> None:
    give(site, "AB")
    asking, _ = taking(site, 2, 3)
    asking.type("9")
    assert asking.said == "There is no number 9 in the list."
    asking.enter()
    assert asking.said == "Choose by number: nothing is kept by silence."
    last = site.reader.handovers.last()
    assert last is not None
    assert last.taken is None


def test_what_was_read_is_what_is_kept_with_the_taking(site: Site) -> None:
    give(site, "AB")
    clock_shows(site, "2026-05-10T07:20")
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    asking, page = taking(site, 2, 1)
    asking.type(number(asking.step, page.asks[0].right))
    kept = site.ledger.db.execute("SELECT text FROM handover WHERE event = 'take'").fetchone()
    assert kept == (text_of(page),)
    assert kept[0].startswith("HANDOVER Test room, 2026-05-10T07:20")


def test_a_quiet_page_is_taken_without_a_question(site: Site) -> None:
    sign(walking(site))
    clock_shows(site, "2026-05-10T22:00")
    give(site, "AB")
    asking, _ = taking(site, 2, 3)
    assert asking.said == "Responsibility passed 22:00, AB to CD."


def test_the_one_who_gave_takes_it_back_only_when_it_is_said_so(site: Site) -> None:
    give(site, "AB")
    asking = Asking(give_take.take(site, draft(site), text_of(draft(site))))
    asking.type("1")
    assert asking.step.told == "AB gave this handover: nobody else has read it."
    asking.type("2")
    assert asking.said == "Back: nothing was kept."
    asking, page = taking(site, 1, 1)
    asking.type("3")  # how
    asking.type(number(asking.step, page.asks[0].right))
    last = site.reader.handovers.last()
    assert last is not None
    assert (last.taken_by, last.how) == ("AB", "read alone, by the one who gave it")
    give(site, "AB")
    waiting = site.reader.handovers.last()
    assert waiting is not None
    with pytest.raises(Refusal, match="AB gave this handover, so nobody else has read it"):
        drafting.take(site, waiting, "ab", "in person")


def test_a_handover_that_is_not_there_is_not_taken(site: Site) -> None:
    asking = Asking(give_take.take(site, draft(site), text_of(draft(site))))
    assert asking.over
    assert "There is no handover waiting to be taken: it must be given first" in asking.said


def test_who_comes_where_the_last_one_left_without_giving_is_told_what_to_do(site: Site) -> None:
    sign(walking(site))
    clock_shows(site, "2026-05-10T22:00")
    give(site, "AB")
    taking(site, 2, 3)
    asking = Asking(give_take.take(site, draft(site), text_of(draft(site))))
    assert "CD has the room: + gives it, then * takes it. Where CD has left" in asking.said
