"""Pages for the printer: whole, valid, and made of words that never become markup."""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import demo_support
from demo_support import with_hostile_words
from site_support import (
    BRACKETS,
    NOW,
    ROOM,
    SEAL,
    SMALL,
    clock_shows,
    go_to,
    moment,
    opened,
    seen_before,
    standing_at,
    tankwalk,
    walking,
)
from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.exchange.printed import write
from tankwalk.ledger.handovers import HandoverSeen
from tankwalk.pages import handover as handover_words
from tankwalk.pages import paper, sheet_html
from tankwalk.pages.handover import MEANING
from tankwalk.pages.lines import plain
from tankwalk.pages.paper import GENERATOR, STYLE, el, joined
from tankwalk.pages.sheet import Grid, draw, grids
from tankwalk.plan.responses import every, response
from tankwalk.practice.board import board
from tankwalk.practice.doing.follow_ups import open_action, open_altered
from tankwalk.practice.handover.drafting import HandoverDraft, Section, draft
from tankwalk.practice.handover.handover_notes import SECTIONS
from tankwalk.practice.handover.lines import EmergencyLine
from tankwalk.practice.round import rounds
from tankwalk.practice.site import Site
from tankwalk.practice.transcribing.blank import Blank, blank, last_entry

EMPTY = {"meta", "col"}
KNOWN = EMPTY | set(
    "html head title style body header div h1 h2 p ul li table tr th td b strong small span".split()
)
"""Every element that a page may have: no script, no link, no picture, no form."""


class Reader(HTMLParser):
    """A page as a browser takes it: its elements balanced, its words apart from them."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[str] = []
        self.names: set[str] = set()
        self.words: list[str] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in KNOWN, tag
        self.tags.append(tag)
        self.names |= {name for name, _ in attrs}
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.words.append(data)

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")

    def handle_pi(self, data: str) -> None:
        raise AssertionError(f"an instruction: {data}")

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def seal_of(site: Site) -> str:
    """The seal of a record as it stands."""
    return site.reader.spine.seal().words


def handover_page(site: Site) -> str:
    return paper.handover(draft(site), seal_of(site))


def board_page(site: Site) -> str:
    return paper.board(board(site), seal_of(site))


def sheet_page(site: Site) -> str:
    return sheet_html.sheet(morning(site), seal_of(site))


def morning(site: Site) -> Blank:
    return blank(site, site.plan.checklist("am"))


PAGES = (handover_page, board_page, sheet_page)

Page = Callable[[Site], str]


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, SMALL) as site:
        seen_before(site, "T01", "temp", 16.4, "2026-05-09T19:00")
        yield site


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    site = demo_support.opened(tmp_path)
    yield site
    site.close()


# ---- what every file is


@pytest.mark.parametrize("page", PAGES)
def test_a_page_is_valid_and_needs_nothing_outside_itself(demo: Site, page: Page) -> None:
    made = page(demo)
    seen = Reader(made)
    assert made.startswith("<!DOCTYPE html>\n<html lang=")
    assert seen.names <= {"charset", "name", "content", "lang", "class", "style"}
    assert seen.tags.count("title") == seen.tags.count("h1") == 1
    assert not re.search(r"https?:|url\(|@import|src=|href=", made)
    assert GENERATOR in made
    assert "@page {" in made
    assert f"tankwalk, Sun 10 May 06:50, seal {seal_of(demo)}" in made
    assert "counter(page)" in made
    assert f"entry {last_entry(demo)}" in seen.text
    assert demo.plan.name in seen.text


@pytest.mark.parametrize("page", PAGES)
def test_a_page_is_black_on_white(demo: Site, page: Page) -> None:
    assert set(re.findall(r"#[0-9a-fA-F]{3,8}\b", page(demo))) == {"#000", "#fff"}
    assert not re.search(r"rgb|hsl|opacity|gr[ae]y", page(demo))


@pytest.mark.parametrize("page", PAGES)
def test_words_of_the_plan_are_never_markup(tmp_path: Path, page: Page) -> None:
    site = demo_support.opened(tmp_path, with_hostile_words)
    for words in (*BRACKETS, "<script>alert(1)</script>", "</style>&lt;b&gt; \"'<!--"):
        open_action(site, "PB", words)
    seen = Reader(page(site))
    assert set(seen.tags) <= KNOWN
    if page is not sheet_page:
        for words in (*BRACKETS, "<script>alert(1)</script>", "</style>&lt;b&gt; \"'<!--"):
            assert words in seen.text
    else:
        assert "[@click=app.quit]go[/]" in seen.text
    site.close()


SIGNS = st.text(st.one_of(st.sampled_from("<>&\"'/!-=;#x[] \t\n\x00\x1b\u202e"), st.characters()))


@given(st.lists(st.tuples(st.sampled_from(["p", "td", "title", "b"]), SIGNS), min_size=1))
def test_no_words_become_markup(parts: list[tuple[str, str]]) -> None:
    made = joined(el(name, words, class_="x", title=words) for name, words in parts).html
    seen: list[str | tuple[str, str]] = []

    class Plainly(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            seen.append((tag, dict(attrs).get("title") or ""))

        def handle_data(self, data: str) -> None:
            seen.append(data)

        def handle_endtag(self, tag: str) -> None:
            seen.append(f"/{tag}")

    reader = Plainly(convert_charrefs=True)
    reader.feed(made)
    reader.close()
    expected: list[str | tuple[str, str]] = []
    for name, words in parts:
        kept = text.clean(words)
        expected += [(name, kept), *([kept] if kept else []), f"/{name}"]
    assert seen == expected


def drafted(words: str) -> HandoverDraft:
    """A handover whose every word of a person is `words`."""
    now = moment(NOW)
    given = HandoverSeen(3, words, now, words, now, words, words)
    return HandoverDraft(
        words,
        now,
        now,
        tuple(Section(name, (EmergencyLine(words),)) for name in SECTIONS),
        given,
        7,
    )


@given(SIGNS.filter(lambda words: bool(text.clean(words))))
def test_a_handover_of_any_words_has_the_elements_of_a_quiet_one(words: str) -> None:
    seen = Reader(paper.handover(drafted(words), SEAL))
    assert seen.tags == Reader(paper.handover(drafted("quiet"), SEAL)).tags
    assert seen.text.count(" ".join(text.clean(words).split())) >= 6


# ---- the file


def test_a_file_is_written_whole_and_again_over_a_page_of_ours(tmp_path: Path) -> None:
    file = tmp_path / "page.html"
    for words in ("first", "second"):
        write(file, paper.document(words, "", moment(NOW), SEAL, el("p", words)))
        assert f"<p>{words}</p>" in file.read_text("utf-8")
    assert [p.name for p in tmp_path.iterdir()] == ["page.html"]


@pytest.mark.parametrize("content", [b"", b"my thesis", b"<html>tankwalk</html>", b"\xff\xfe"])
def test_a_file_of_somebody_else_stays(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "thesis.html"
    file.write_bytes(content)
    with pytest.raises(Refusal) as told:
        write(file, paper.document("x", "", moment(NOW), SEAL))
    assert str(told.value) == (
        f"{file} is there already and was not made by tankwalk: nothing was written. "
        "Give another name."
    )
    assert file.read_bytes() == content


def test_a_folder_is_no_file_to_write_over(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="was not made by tankwalk"):
        write(tmp_path, paper.document("x", "", moment(NOW), SEAL))


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    file = tmp_path / "no" / "page.html"
    with pytest.raises(Refusal) as told:
        write(file, paper.document("x", "", moment(NOW), SEAL))
    assert str(told.value) == (
        f"{file} cannot be written (No such file or directory): no page was made. "
        "Give another name."
    )


def test_a_full_disk_is_told_and_the_old_page_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "page.html"
    write(file, paper.document("old", "", moment(NOW), SEAL))
    before = file.read_bytes()

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(Refusal, match=r"cannot be written \(No space left on device\)"):
        write(file, paper.document("new", "", moment(NOW), SEAL))
    assert file.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["page.html"]


# ---- the handover and the board


def test_the_handover_has_its_sections_two_signatures_and_the_last_entry(demo: Site) -> None:
    page = draft(demo)
    seen = Reader(paper.handover(page, SEAL)).text
    for section in page.sections:
        assert f"{section.name} {MEANING[section.name]}" in seen
        for one in handover_words.said(section, page.now):
            assert " ".join(one.words.split()) in seen
    assert [seen.index(name) for name in SECTIONS] == sorted(seen.index(n) for n in SECTIONS)
    assert seen.count("name and signature day and time") == 2
    assert "NOT ACCEPTED for 14 h 45 min" in seen
    assert seen.count("Said back:") == 3


def test_on_the_printed_board_what_is_late_is_bold_whatever_the_words_of_others_say(
    site: Site,
) -> None:
    past, to_come = moment("2026-05-10T06:00").utc, moment("2026-05-10T12:00").utc
    for when, word in ((past, "first"), (to_come, "LATE and OVER")):
        open_action(site, "AB", f"{word} thing", due_at=when)
        open_altered(site, "AB", f"{word} change", undo_by=when)
    page = board_page(site)
    for words in ("first thing", "first change"):
        assert re.search(rf'<tr class="flag"><td>(<span class="box"></span>)?{words}</td>', page)
    for words in ("LATE and OVER thing", "LATE and OVER change"):
        assert re.search(rf'<tr><td>(<span class="box"></span>)?{words}</td>', page)


def test_only_what_is_to_do_has_a_box_to_tick_on_the_handover(site: Site) -> None:
    assert "<li>no open action</li>" in handover_page(site)
    open_action(site, "AB", "look again")
    assert '<li><span class="box"></span>look again (' in handover_page(site)
    assert handover_page(site).count('class="box"') == 1


def test_a_flag_is_a_mark_and_a_word_in_bold(site: Site) -> None:
    walk = standing_at(site, "T02", "do")
    for typed in ("4.4", "4.5"):
        walk.answer(typed)
    words = "!!! URGENT"
    assert f'<li class="flag">T02 {words}' in handover_page(site)
    assert f'<tr class="flag"><td>{words}</td><td>T02</td>' in board_page(site)


def test_letters_of_the_handover_grow_smaller_with_its_lines(site: Site) -> None:
    def points() -> float:
        found = re.findall(r"font-size: ([\d.]+)pt", handover_page(site).split(STYLE)[1])
        return float(found[0])

    sizes = [points()]
    for _ in range(8):
        for i in range(5):
            open_action(site, "AB", f"task {i} " + "and more of it " * 4)
        sizes.append(points())
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[0] == 11.5
    assert sizes[-1] == 8


def test_the_board_has_every_tank_and_what_to_do(demo: Site) -> None:
    seen = Reader(board_page(demo)).text
    for tank in demo.plan.tanks:
        assert f"{tank.code} " in seen
    for words in (
        "T07 ! WATCH L18 24 dph 15h Water below rim 4.5 cm",
        "Generator test run overdue 9 d, last Fri 24 Apr 06:53",
        "put back by Mon 11 May 12:00",
        "L1 Drum: rinse nozzle drips, fit the spare MV, open 39 h",
        f"EMERGENCY: {demo.plan.emergency}",
    ):
        assert words in seen


def test_the_board_of_an_untouched_room_says_that_nothing_was_read(tmp_path: Path) -> None:
    with opened(tmp_path, SMALL) as site:
        seen = Reader(board_page(site)).text
    assert "Nothing has been read yet" in seen
    assert "T01 -- 9 dph never" in seen


# ---- the round sheet


def in_order(found: Iterator[Grid]) -> list[tuple[str, str]]:
    """What a person meets who goes through the grids as they are meant: down each column."""
    return [
        (place, item.code)
        for grid in found
        for place in grid.places
        for item in grid.items
        if grid.slot(place, item) is not None
    ]


def as_walked(page: Blank) -> list[tuple[str, str]]:
    return [(s.place, s.item.code) for p in page.agenda.pages for s in p.slots]


@pytest.mark.parametrize("abreast", [1, 2, 5, 6, 12, 40])
def test_the_sheet_asks_what_the_walk_asks_and_in_its_order(demo: Site, abreast: int) -> None:
    for checklist in demo.plan.checklists:
        page = blank(demo, checklist)
        assert in_order(grids(page.agenda, abreast)) == as_walked(page)
        sizes = [len(g.places) for g in grids(page.agenda, abreast) if g.kind == "tank"]
        assert all(size <= abreast for size in sizes)
        assert max(sizes, default=0) - min(sizes, default=0) <= 1


def test_loops_come_before_their_tanks_and_the_ill_come_last(tmp_path: Path) -> None:
    with opened(tmp_path, ROOM) as site:
        page = morning(site)
        assert in_order(grids(page.agenda, 12)) == as_walked(page)
        found = [(grid.kind, grid.places) for grid in grids(page.agenda, 12)]
    assert [kind for kind, _ in found] == ["glance", "site", *["loop", "tank"] * 3]
    assert found[-1] == ("tank", ("T05",))


def test_what_is_not_asked_of_a_tank_says_so_in_its_box(tmp_path: Path) -> None:
    with opened(tmp_path, ROOM) as site:
        page = morning(site)
        asked = set(as_walked(page))
        assert ("T04", "turbidity") in asked
        assert ("T03", "turbidity") not in asked
        assert "not due" in Reader(sheet_page(site)).text
        assert "|not due |" in plain(draw(page, 80))


def test_a_box_has_the_item_its_unit_its_band_today_and_the_last_value(demo: Site) -> None:
    demo_words = Reader(sheet_page(demo)).text
    lines = plain(draw(morning(demo), 80))
    for words in ("Temperature, degC 17.5 - 19.5", "TAN, mg/L as N <= 0.70; last 0.51 24h"):
        assert words in demo_words
    for words in (
        " Temperature          |18.6 16h|18.6 16h|",
        " 17.5 - 19.5          |        |",
        " TAN, mg/L as N          <= 0.70                0.51 24h        [____________]",
        " Outlet screen        |clean",
    ):
        assert words in lines
    for page in (demo_words, " ".join(lines.split())):
        assert "Alarm tick = armed, 2 = off" in page
        assert "4.5! 16h" in page
        assert f"EMERGENCY: {demo.plan.emergency}" in page
        assert "tick = all right" in page
        assert "1 not due, 2 not looked, 3 could not, 4 no fish, 5 unsafe" in page
        assert page.count("initials") >= 4
        assert rounds.SIGNING in page


def test_every_first_response_is_on_the_sheet(demo: Site) -> None:
    page = morning(demo)
    texts = (Reader(sheet_page(demo)).text, " ".join(plain(draw(page, 80)).split()))
    for item in {s.item for p in page.agenda.pages for s in p.slots}:
        for first in every(item):
            assert all(response(first.steps) in words for words in texts)


BANDS_OF_TWO = SMALL.replace(
    "[notes]", '[[band]]\nitem = "temp"\ntank = "T02"\nwatch_below = 19.0\n\n[notes]'
)


def test_a_band_that_is_not_the_same_for_all_stands_with_each(tmp_path: Path) -> None:
    with opened(tmp_path, BANDS_OF_TWO) as site:
        seen = Reader(sheet_page(site)).text
        lines = plain(draw(morning(site), 80))
    assert "Temperature, degC band in each box Check the heater. 15.5 - 17.5 >= 19.0" in seen
    assert " 15.5 - 17.5: T01     |" in lines
    assert " >= 19.0: T02         |" in lines


def test_a_value_in_another_unit_is_no_last_value(site: Site) -> None:
    page = morning(site)
    slot = next(s for p in page.agenda.pages for s in p.slots if s.item.code == "temp")
    assert page.seen(slot) is not None
    other = slot._replace(item=slot.item._replace(unit="degF"))
    assert page.seen(other) is None


def test_a_round_in_hand_says_what_is_kept_already(site: Site) -> None:
    walk = walking(site)
    go_to(walk, "T01", "temp")
    walk.answer("16.6")
    go_to(walk, "T02", "flow")
    walk.answer("/")
    walk.answer("3")
    go_to(walk, "T02", "do")
    for typed in ("6.1", "/", "5"):
        walk.answer(typed)
    clock_shows(site, "2026-05-10T07:30")
    seen = Reader(sheet_page(site)).text
    lines = plain(draw(morning(site), 80))
    for page in (seen, " ".join(lines.split())):
        assert "Begun 07:00 by AB: 3 of 14 are in the record and say so in their box." in page
    for words in ("kept: 16.6", "kept: could not", "kept: 6.1"):
        assert words in seen
    assert "|=16.6   |" in lines
    assert "|=could..|" in lines


@pytest.mark.parametrize("width", [40, 60, 72, 80, 132])
def test_no_line_of_the_sheet_is_wider_than_asked(tmp_path: Path, width: int) -> None:
    site = demo_support.opened(tmp_path, with_hostile_words)
    for checklist in site.plan.checklists:
        for line in draw(blank(site, checklist), width):
            assert sum(text.width(span.text) for span in line) == width
    site.close()


def test_the_words_of_the_sheet_are_plain_ascii(demo: Site) -> None:
    assert plain(draw(morning(demo), 80)).isascii()
    assert sheet_page(demo).isascii()


def test_a_choice_says_what_each_number_means(demo: Site) -> None:
    seen = Reader(sheet_page(demo)).text
    for item in {s.item for p in morning(demo).agenda.pages for s in p.slots}:
        if item.kind.by_words:
            others = [f"{i} = {word}" for i, word in enumerate(item.choices[1:], 2)]
            assert ", ".join([f"tick = {item.choices[0]}", *others]) in seen


# ---- the command line


def test_every_page_can_be_had_as_a_file_and_made_again(tmp_path: Path) -> None:
    with opened(tmp_path / "site", SMALL):
        pass
    for command in (["handover"], ["board"], ["sheet", "--round", "am"]):
        file = tmp_path / f"{command[0]}.html"
        for _ in range(2):
            ran = tankwalk(
                tmp_path, *command, "--site", str(tmp_path / "site"), "--html", str(file)
            )
            assert (ran.returncode, ran.stderr) == (0, b"")
            assert ran.stdout.decode() == (
                f"The page is in {file}: open it in a browser and print it.\n"
            )
        assert "Test room" in Reader(file.read_text("utf-8")).text


def test_the_sheet_is_of_the_round_named_or_of_the_one_due(tmp_path: Path) -> None:
    with opened(tmp_path / "site", SMALL):
        pass
    site = ["--site", str(tmp_path / "site")]
    for more, label in (([], "Morning"), (["--round", "pm"], "Afternoon")):
        ran = tankwalk(tmp_path, "sheet", *more, *site)
        assert (ran.returncode, ran.stderr) == (0, b"")
        assert f" ROUND SHEET  {label} round" in ran.stdout.decode()
    late = tankwalk(tmp_path, "sheet", *site, "--now", "2026-05-10T15:10", now=None)
    assert " ROUND SHEET  Afternoon round" in late.stdout.decode()


def test_what_cannot_be_is_one_sentence_and_2(tmp_path: Path) -> None:
    with opened(tmp_path / "site", SMALL):
        pass
    mine = tmp_path / "mine.html"
    mine.write_text("mine", "utf-8")
    for arguments, said in (
        (["sheet", "--round", "noon"], "There is no round 'noon' in the plan (am, pm)."),
        (["sheet", "--width", "9"], "A page is 40 to 400 cells wide, not 9."),
        (["board", "--html", str(mine)], "was not made by tankwalk: nothing was written."),
        (["handover", "--html", str(tmp_path / "no" / "x.html")], "no page was made."),
    ):
        ran = tankwalk(tmp_path, *arguments, "--site", str(tmp_path / "site"))
        assert (ran.returncode, ran.stdout) == (2, b"")
        assert said in ran.stderr.decode()
        assert ran.stderr.count(b"\n") == 1
        assert b"Traceback" not in ran.stderr
    assert mine.read_text("utf-8") == "mine"


def test_making_a_sheet_writes_nothing_into_the_record(site: Site) -> None:
    before = last_entry(site)
    sheet_page(site)
    assert last_entry(site) == before
