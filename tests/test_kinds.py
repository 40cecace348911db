"""Every kind of item, from the plan to the sheet of paper: read, judged, shown and printed."""

from __future__ import annotations

import pickle
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import NamedTuple

import pytest

import tankwalk
import tankwalk_demo
from site_support import (
    NOW,
    SEAL,
    SMALL,
    clock_shows,
    moment,
    newest_round,
    opened,
    readings,
    seen_before,
    standing_at,
    walking,
)
from tankwalk import plain
from tankwalk.errors import Refusal
from tankwalk.pages import help as help_page
from tankwalk.pages import sheet, sheet_html
from tankwalk.pages import walk as walk_page
from tankwalk.pages.lines import plain as words_of
from tankwalk.plan.kinds import KINDS, OWN_KEYS, Kind
from tankwalk.plan.load import PlanFaults, read_plan
from tankwalk.practice.doing.follow_ups import rule_of
from tankwalk.practice.judging.standing.flags import Key, standing
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.practice.transcribing.blank import blank


class Example(NamedTuple):
    """An item of one kind at work, and what becomes of an ordinary answer and of a bad one."""

    says: str
    """What the item says in the plan besides its code, label and kind."""
    band: str
    """Its band; "" where its own words judge."""
    typed: str
    value: float
    kept: str
    shown: str
    """An ordinary answer: its value and its words in the record, and what the pages show."""
    out: str
    """An answer that raises a flag."""
    paper: str
    help: str
    """What the sheet of paper says of it before it was ever seen; what the help does."""
    takes: tuple[str, ...]
    """Which of `TYPED` it takes; the others it refuses."""
    looks: int
    """Looks in band that clear its flag."""
    again: str
    """What is asked for when it is out; "" where a second look tells no more."""
    charted: bool
    """Whether its newest values stand beside a wide page."""
    closes: str
    """Who may close what its flag calls for, by the rule of a follow-up."""


TYPED = ("2.5", "-3", "<2", "1 in")
"""A fraction, less than nothing, less than the kit can see, another unit."""


EXAMPLES = {
    "number": Example(
        "unit = 'cm'\nplausible = [-40, 40]",
        "watch_above = 5",
        "2.5", 2.5, "2.5", "2.5", "7.5", "Thing, cm", "Band today <= 5.0 cm",
        TYPED, 2, "Measure again.", True, "task",
    ),
    "count": Example(
        "plausible = [0, 400]",
        "watch_above = 5",
        "3", 3.0, "3", "3", "7", "Thing, count", "Band today <= 5",
        ("<2",), 2, "Count again.", True, "health",
    ),
    "choice": Example(
        "choices = ['Fine', 'cleaned', 'fouled']\nact_on = ['fouled']",
        "",
        "+", 0.0, "Fine", "Fine", "3", "tick = Fine, 2 = cleaned, 3 = fouled",
        "Answers: Fine, cleaned, fouled.",
        (), 1, "", True, "task",
    ),
}  # fmt: skip
"""One for each kind; a new kind has its own here."""


def a_plan(kind: str, says: str | None = None, band: str | None = None) -> str:
    """The small room whose morning round asks one more thing of each tank, first of all."""
    one = EXAMPLES[kind]
    said, limit = one.says if says is None else says, one.band if band is None else band
    item = f"[[item]]\ncode = 'thing'\nlabel = 'Thing'\nkind = '{kind}'\n{said}\n"
    item += "first_response = 'Look at the inlet.'\n"
    if limit:
        item += f"[[band]]\nitem = 'thing'\n{limit}\nsource = 'our plan'\n"
    asked = SMALL.replace('tank = ["temp", "do", "flow"', 'tank = ["thing", "temp", "do", "flow"')
    assert asked != SMALL
    return f"{asked}\n{item}"


@pytest.fixture(params=list(KINDS))
def kind(request: pytest.FixtureRequest) -> Kind:
    """Each kind there is."""
    return KINDS[str(request.param)]


@pytest.fixture
def site(tmp_path: Path, kind: Kind) -> Iterator[Site]:
    """A room that asks an item of that kind."""
    with opened(tmp_path / "site", a_plan(kind.word), NOW) as site:
        yield site


def held(site: Site) -> list[tuple[object, ...]]:
    """What the record holds of the thing: value, what was typed, flag."""
    return [row[1:] for row in readings(site, "item, value, typed, flag") if row[0] == "thing"]


def test_every_kind_has_an_example_here() -> None:
    assert set(EXAMPLES) == set(KINDS)


def test_the_plan_gives_an_item_its_kind(site: Site, kind: Kind) -> None:
    assert site.plan.item("thing").kind is kind


def test_what_is_answered_is_kept_and_shown_as_it_was_meant(site: Site, kind: Kind) -> None:
    one = EXAMPLES[kind.word]
    walk = standing_at(site, "T01", "thing")
    reply = walk.answer(one.typed)
    assert reply.understood, reply.sentence
    assert one.shown in reply.sentence
    assert held(site) == [(one.value, one.kept, "ok")]
    walk.move("up")
    assert one.shown in words_of(walk_page.draw(walk.view(), "", 80, 24))
    assert one.shown in words_of(walk_page.draw(walk.view(20), "", 120, 40))


@pytest.mark.parametrize("typed", TYPED)
def test_a_number_is_kept_to_the_last_digit_or_refused(site: Site, kind: Kind, typed: str) -> None:
    reply = standing_at(site, "T01", "thing").answer(typed)
    number = float(typed.lstrip("<").removesuffix(" in"))
    if typed in EXAMPLES[kind.word].takes:
        meant = number * 2.54 if typed.endswith("in") else number
        assert [row[:2] for row in held(site)] == [(meant, typed.lstrip("<"))]
    else:
        assert not reply.understood
        assert held(site) == []


def test_letters_belong_to_the_entry_where_a_unit_may_follow(kind: Kind) -> None:
    assert kind.takes_unit == ("1 in" in EXAMPLES[kind.word].takes)


def test_what_is_out_is_flagged_and_read_twice_where_that_tells_more(
    site: Site, kind: Kind
) -> None:
    seen_before(site, "T01", "thing", EXAMPLES[kind.word].value, "2026-05-09T19:00")
    walk = standing_at(site, "T01", "thing")
    one = EXAMPLES[kind.word]
    reply = walk.answer(one.out)
    assert reply.flag >= Flag.WATCH
    assert held(site)[-1][2] == reply.flag.name.lower()
    if one.again:
        assert one.again in words_of(walk_page.draw(walk.view(), "", 80, 24))
        walk.answer(one.out)
        assert len(held(site)) == 3
    assert walk.slot.item.code == "temp"
    assert "Look at the inlet." in walk.said.sentence


def test_a_flag_ends_after_as_many_looks_as_its_kind_wants(site: Site, kind: Kind) -> None:
    one = EXAMPLES[kind.word]
    seen_before(site, "T01", "thing", one.value, "2026-05-09T19:00")
    walk = standing_at(site, "T01", "thing")
    for _ in range(2 if one.again else 1):
        walk.answer(one.out)
    stood = []
    for hour in (11, 12, 13):
        clock_shows(site, f"2026-05-10T{hour}:30")
        stood.append(any(flag.key.item == "thing" for flag in standing(site)))
        seen_before(site, "T01", "thing", one.value, f"2026-05-10T{hour}:31")
    assert stood == [done < one.looks for done in range(3)]


@pytest.mark.parametrize(("word", "stands"), [("number", True), ("count", False)])
def test_what_is_measured_clears_well_inside_and_what_is_counted_inside(
    tmp_path: Path, word: str, stands: bool
) -> None:
    says = f"{EXAMPLES[word].says}\ndeadband = 2"
    with opened(tmp_path / "site", a_plan(word, says), NOW) as site:
        seen_before(site, "T01", "thing", 3, "2026-05-09T19:00")
        walk = standing_at(site, "T01", "thing")
        for _ in range(2):
            walk.answer("7")
        for hour in (11, 12):
            seen_before(site, "T01", "thing", 4, f"2026-05-10T{hour}:30")
        clock_shows(site, "2026-05-10T13:00")
        assert any(flag.key.item == "thing" for flag in standing(site)) == stands


def test_the_past_stands_beside_a_wide_page_where_it_is_a_number(site: Site, kind: Kind) -> None:
    walk = standing_at(site, "T01", "thing")
    said = words_of(walk_page.draw(walk.view(20), "", 120, 40))
    assert ("T01, newest last" in said) == EXAMPLES[kind.word].charted


def test_the_dead_are_a_matter_of_health_and_all_else_a_task(site: Site, kind: Kind) -> None:
    rule = rule_of(site.plan, Key("place", "T01", "thing"))
    assert rule.value == EXAMPLES[kind.word].closes


def test_plain_mode_asks_and_keeps_the_same(site: Site, kind: Kind) -> None:
    one = EXAMPLES[kind.word]
    seen_before(site, "T01", "thing", one.value, "2026-05-09T19:00")
    said: list[str] = []
    before = ["+", "+", "+", "0.2"]
    plain.walk(site, iter([*before, one.typed]), said.append, "AB", "am")
    asked = next(line for line in said if line.startswith("T01 Thing"))
    assert f"last {one.shown} " in asked
    assert all(f"{key} {word}" in asked for key, word in site.plan.item("thing").answers)
    assert held(site)[-1] == (one.value, one.kept, "ok")


def test_the_sheet_of_paper_says_what_to_write_and_what_was_last(site: Site, kind: Kind) -> None:
    one = EXAMPLES[kind.word]
    seen_before(site, "T01", "thing", one.value, "2026-05-09T19:00")
    page = blank(site, site.plan.checklist("am"))
    lines = words_of(sheet.draw(page, 130))
    flat = " ".join(lines.replace("|", " ").split())
    html = unescape(sheet_html.sheet(page, SEAL))
    assert one.paper in html
    for word in re.findall(r"[^\s,;]+", one.paper):
        assert word in flat
    assert re.search(rf"\|{re.escape(one.shown)}( 12h)? *\|", lines)
    assert f"{one.shown} 12h" in html


def test_the_help_explains_the_answer(site: Site, kind: Kind) -> None:
    slot = standing_at(site, "T01", "thing").slot
    said = words_of(help_page.draw("walk", slot, 80))
    assert "T01  Thing" in said
    assert EXAMPLES[kind.word].help in said
    assert "first: Look at the inlet." in said


def test_a_word_of_the_plan_may_be_typed_in_any_letters() -> None:
    item = read_plan(a_plan("choice")).item("thing")
    for typed in ("+", "1", "Fine", "FINE"):
        assert item.read(typed) == (0.0, "", "Fine", False, None)
    assert item.read("CLEANED").value == 1
    for typed in ("0", "4", "fin", "Fine."):
        with pytest.raises(Refusal, match="takes one of: 1 Fine, 2 cleaned, 3"):
            item.read(typed)


def test_the_end_of_the_round_signs_an_item_of_every_kind(site: Site, kind: Kind) -> None:
    walk = walking(site)
    for slot in walk.slots:
        if slot.item.code == "thing":
            standing_at(site, slot.place, "thing").answer(EXAMPLES[kind.word].typed)
    again = walking(site)
    while not again.at_end:
        again.answer("/")
        again.answer("1")
    again.answer("+")
    assert newest_round(site, again.round.number).signed == moment(NOW)


# ---- in the plan


@pytest.mark.parametrize("key", OWN_KEYS)
def test_a_key_that_means_nothing_for_a_kind_is_refused_by_name(kind: Kind, key: str) -> None:
    written = {
        "choices": "['a', 'b']", "watch_on": "['b']", "act_on": "['c']", "unit": "'cm'",
        "act_dph": "[2, 14]",
        "decimals": "0", "plausible": "[0, 9]", "deadband": "0.5",
        "when": "{b = 'look'}", "when_low": "'look'", "when_high": "'look'",
        "twice": "true",
    }  # fmt: skip
    says = EXAMPLES[kind.word].says
    if f"{key} =" not in says:
        says += f"\n{key} = {written[key]}"
    try:
        read_plan(a_plan(kind.word, says))
        faults: list[str] = []
    except PlanFaults as refused:
        faults = [fault.what for fault in refused.faults]
    assert (f"{key} means nothing for a {kind.word}" in faults) == (key not in kind.keys)


def test_what_a_kind_needs_is_missed_by_name(kind: Kind) -> None:
    assert set(kind.needs) <= set(kind.keys) <= set(OWN_KEYS)
    for key in kind.needs:
        lines = EXAMPLES[kind.word].says.split("\n")
        says = "\n".join(line for line in lines if not line.startswith(f"{key} ="))
        with pytest.raises(PlanFaults) as refused:
            read_plan(a_plan(kind.word, says))
        missed = [fault.what for fault in refused.value.faults]
        assert f"{key} is missing, and this is a {kind.word}" in missed


def test_a_kind_judged_by_words_takes_no_band(kind: Kind) -> None:
    text = a_plan(kind.word, band="watch_above = 5")
    if kind.by_band:
        read_plan(text)
        return
    with pytest.raises(PlanFaults, match="has no band"):
        read_plan(text)


# ---- one place


def test_a_plan_kept_ready_has_the_very_kinds_of_the_program(kind: Kind) -> None:
    assert pickle.loads(pickle.dumps(kind)) is kind


def test_nobody_asks_which_kind_an_item_is() -> None:
    names = "|".join(word.upper() for word in KINDS)
    asks = re.compile(rf"\b(Kind|kinds)\.({names})\b|item\.kind(\.word)? (==|!=|is|in) ")
    found = {
        path.relative_to(house).as_posix()
        for house in (Path(tankwalk.__file__).parent, Path(tankwalk_demo.__file__).parent)
        for path in house.rglob("*.py")
        if asks.search(path.read_text("utf-8"))
    }
    # An item that is made of a sample, or of a meter's check, has to be of some kind.
    made = {"practice/past/series.py", "practice/past/meter_past.py"}
    assert found == {"plan/model.py", "plan/asking.py", *made}
