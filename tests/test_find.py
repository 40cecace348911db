"""Find: words of the record by what is typed, from an index that is no part of the record."""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from demo_support import opened as demo_opened
from ledger_support import at, note, void
from site_support import opened as room
from tankwalk.clock import Instant
from tankwalk.ledger import word_index
from tankwalk.ledger.entries import Call, DoneAbout, Entry, FollowUp, Handover, Note
from tankwalk.pages import find as page
from tankwalk.pages.lines import plain
from tankwalk.practice.finding.finding import Finder, Found, marks_in
from tankwalk.practice.site import Site
from tankwalk.screens.app import TankwalkApp
from test_screens import Room, at_the_screen

WEEK = 7 * 1440


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """A room whose record has a spray bar in every kind of words, and other words between."""
    with room(tmp_path / "site") as one:
        ledger = one.ledger
        ledger.append(*note(-3 * WEEK, "Spray bar of T02 drips", place="T02"))
        temp: dict[str, Any] = {"place": "T03", "item": "temp", "unit": "degC"}
        ledger.append(
            Entry("done", "CD", at(-2 * WEEK), at(-2 * WEEK), **temp),
            DoneAbout("turned the spray-bar to the wall"),
        )
        ledger.append(Entry("call", "AB", at(-90), at(-90), **temp),
                      Call("EF", "555-0100", True, "says: take the spray bar out"))  # fmt: skip
        ledger.append(Entry("follow-up", "AB", at(-80), at(-80), "T03"),
                      FollowUp("action", "open", "Buy a spray bar", "EF"))  # fmt: skip
        ledger.append(Entry("note", "AB", at(-70), at(-70), "site", reason="handover: TASKS"),
                      Note("Spray bars: look at all of them"))  # fmt: skip
        for minutes in (-60, -50):
            ledger.append(
                Entry("handover", "AB", at(minutes), at(minutes), "site"),
                Handover("give", "HANDOVER\nTASKS\n  Buy a spray bar (EF)\nEXPECT\n  rain"),
            )
        ledger.append(*note(-40, "Élodée in the sump, 0.5 kg 🐟 taken out", place="T04"))
        yield one


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "words"


def found(site: Site, folder: Path | None, typed: str, since: Instant | None = None) -> Found:
    finder = Finder(site, folder)
    assert all(0 <= share <= 1 for share in finder.steps())
    try:
        return finder.find(typed, since)
    finally:
        finder.close()


def told(one: Found) -> list[str]:
    """What was found, as kind and words with what is marked in stars."""
    return [f"{page.kind_of(hit)}: {page.starred(hit)}" for hit in one.hits]


def bytes_of(site: Site) -> dict[str, bytes]:
    """Every file of the site."""
    return {one.name: one.read_bytes() for one in sorted(site.folder.iterdir())}


EVERYWHERE = [
    "handover: Buy a *spray* *bar* (EF)",
    "own line: *Spray* *bars*: look at all of them",
    "to do: Buy a *spray* *bar* (EF)",
    "call: EF, 555-0100: says: take the *spray* *bar* out",
    "done: turned the *spray*-*bar* to the wall",
    "note: *Spray* *bar* of T02 drips",
]


def test_a_spray_bar_is_found_in_every_kind_of_words_the_newest_first(
    site: Site, folder: Path
) -> None:
    assert told(found(site, folder, "spray bar")) == EVERYWHERE
    assert told(found(site, folder, "BAR  spr")) == EVERYWHERE, "each from its beginning"


def test_without_fts5_the_same_is_found_and_said_to_take_longer(
    site: Site, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for typed in ("spray bar", "élod", "elod", "T03", "ab spray", "0.5", "🐟", "pray"):
        fast = found(site, folder, typed)
        with monkeypatch.context() as old:
            old.setattr(word_index, "_has_fts5", lambda: False)
            slow = found(site, folder, typed)
        assert (fast.fast, slow.fast) == (True, False)
        assert told(slow) == told(fast), typed
        assert page.NO_INDEX in plain(page.print_out(slow, 200))


def test_a_code_or_initials_narrow_it_and_so_does_a_day(site: Site, folder: Path) -> None:
    assert told(found(site, folder, "spray bar t03")) == EVERYWHERE[2:5]
    assert told(found(site, folder, "spray bar CD")) == [EVERYWHERE[4]]
    assert told(found(site, folder, "spray T0"))[-1] == "note: *Spray* bar of *T02* drips"
    assert told(found(site, folder, "spray", at(-75))) == [
        "handover: Buy a *spray* bar (EF)", "own line: *Spray* bars: look at all of them",
    ]  # fmt: skip


def test_pages_of_handovers_that_repeat_a_line_are_one_row_with_how_many(
    site: Site, folder: Path
) -> None:
    first = found(site, folder, "spray").hits[0]
    assert (first.times, first.since) == (2, at(-60))
    assert first.at == at(-50)


def test_accents_and_case_do_not_matter(site: Site, folder: Path) -> None:
    words = "*Élodée* in the sump, 0.5 kg 🐟 taken out"
    for typed in ("élodée", "ELODEE", "elo"):
        assert told(found(site, folder, typed)) == [f"note: {words}" for _ in (1,)]


@pytest.mark.parametrize(
    ("typed", "many"),
    [('"', 0), ("*", 0), ("-", 2), ("AND", 0), ("spray AND bar", 0), ("spray OR bar", 0),
     ("NEAR(spray bar)", 0), ("spray*", 6), ('"spray', 6), ("text:spray", 0), ("(", 2),
     ("^spray", 6),
     ("🐟", 1), ("0.5", 1), ("5 kg", 1), ("'; DROP TABLE word; --", 0), ("%", 0), ("_", 0),
     ("\\", 0), ("\x00spray", 6), ("a" * 5000, 0), ("spray " * 800, 6), ("\u202espray", 6)],
)  # fmt: skip
def test_no_sign_that_is_typed_asks_for_anything(
    site: Site, folder: Path, typed: str, many: int
) -> None:
    assert len(found(site, folder, typed).hits) == many
    if typed.split() and len(typed) < 100:
        one = found(site, folder, typed)
        assert len(page.draw(one, 0, 0, 80, 23)) == 23


def test_more_words_than_the_index_is_asked_for_all_have_to_be_there(
    site: Site, folder: Path
) -> None:
    many = [f"w{n}" for n in range(60)]
    site.ledger.append(*note(-5, " ".join(many), place="T01"))
    assert len(found(site, folder, " ".join(many)).hits) == 1
    assert found(site, folder, " ".join([*many[:-1], "other"])).hits == ()


def test_what_was_amended_is_marked_as_that_and_not_hidden(site: Site, folder: Path) -> None:
    before = found(site, folder, "drips").hits[0]
    assert not before.amended
    site.ledger.append(void(-4, before.n))
    after = found(site, folder, "drips").hits[0]
    assert after.amended
    assert "struck" in {span.tone for row in page.draw(found(site, folder, "drips"), 0, 0, 80, 20)
                        for span in row}  # fmt: skip
    assert "amended" in plain(page.print_out(found(site, folder, "drips"), 80))


def test_the_record_stays_as_it_is_to_the_byte(site: Site, folder: Path) -> None:
    before = bytes_of(site)
    found(site, folder, "spray")
    assert bytes_of(site) == before
    assert [one.suffix for one in folder.iterdir()] == [".sqlite"]


def index_file(folder: Path) -> Path:
    [file] = folder.glob("*.sqlite")
    return file


def test_what_is_new_is_taken_in_and_nothing_twice(site: Site, folder: Path) -> None:
    found(site, folder, "spray")
    site.ledger.append(*note(-3, "new spray bar in", place="T01"))
    assert told(found(site, folder, "spray bar")) == ["note: new *spray* *bar* in", *EVERYWHERE]
    with closing(sqlite3.connect(index_file(folder))) as db:
        ids, texts = db.execute("SELECT count(*), count(DISTINCT n) FROM word").fetchone()
    assert ids == texts, "one row of words an entry here"


@pytest.mark.parametrize("harm", ["", "no database", "half", "another version", "another record"])
def test_an_index_that_does_not_fit_is_made_anew(site: Site, folder: Path, harm: str) -> None:
    found(site, folder, "spray")
    file = index_file(folder)
    whole = file.read_bytes()
    if harm in ("", "no database"):
        file.write_bytes(harm.encode())
    elif harm == "half":
        file.write_bytes(whole[: len(whole) // 2])
    else:
        with closing(sqlite3.connect(file, isolation_level=None)) as db:
            db.execute("DELETE FROM word")
            if harm == "version":
                db.execute("PRAGMA user_version = 77")
            else:
                db.execute("UPDATE made_from SET last_digest = 'AA'")
    one = found(site, folder, "spray bar")
    assert told(one) == EVERYWHERE
    assert one.kept


def test_an_index_damaged_while_it_is_open_is_made_anew(site: Site, folder: Path) -> None:
    finder = Finder(site, folder)
    list(finder.steps())
    with closing(sqlite3.connect(index_file(folder), isolation_level=None)) as db:
        db.execute("DROP TABLE made_from")
    assert list(finder.steps()), "all is read anew"
    assert told(finder.find("spray bar")) == EVERYWHERE
    finder.close()


def test_a_record_put_in_the_place_of_this_one_is_read_anew(
    site: Site, folder: Path, tmp_path: Path
) -> None:
    found(site, folder, "spray")
    with room(tmp_path / "other") as other:
        other.ledger.append(*note(-3 * WEEK, "quite another", place="T02"))
        assert found(other, folder, "spray").hits == ()
        assert len(found(other, folder, "another").hits) == 1
    assert told(found(site, folder, "spray bar")) == EVERYWHERE


def test_two_programs_at_one_index_take_in_each_entry_once(site: Site, folder: Path) -> None:
    one, two = Finder(site, folder), Finder(site, folder)
    both = [one.steps(), two.steps()]
    while both:
        both = [steps for steps in both if next(steps, None) is not None]
    assert told(one.find("spray bar")) == told(two.find("spray bar")) == EVERYWHERE
    one.close()
    two.close()


def test_where_its_folder_can_not_be_written_it_is_in_memory_and_said(
    site: Site, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("no folder")
    one = found(site, tmp_path / "file" / "words", "spray bar")
    assert told(one) == EVERYWHERE
    assert not one.kept
    assert page.IN_MEMORY in plain(page.print_out(one, 200))
    assert told(found(site, None, "spray bar")) == EVERYWHERE


def test_marks_name_what_stands_there_and_never_overlap() -> None:
    sought = [word_index.Sought("spray"), word_index.Sought("spr"), word_index.Sought("bar", True)]
    words = "Spraying bars: SPRAY bar, unspray"
    assert [words[a:b] for a, b in marks_in(words, sought)] == ["Spraying", "SPRAY", "bar"]


@pytest.mark.parametrize("size", [(80, 24), (60, 20), (120, 40), (40, 12), (20, 8)])
@pytest.mark.parametrize("typed", ["", "spray", "nothing like it", "x" * 300])
def test_the_page_fills_every_size_exactly(
    site: Site, folder: Path, size: tuple[int, int], typed: str
) -> None:
    width, height = size
    drawn = page.draw(found(site, folder, typed), 0, 0, width, height)
    assert len(drawn) == height
    assert {len(plain([row]).ljust(width)) for row in drawn} == {width}


def test_a_note_of_5000_characters_shows_about_its_mark_in_its_row(
    site: Site, folder: Path
) -> None:
    site.ledger.append(*note(-3, "word " * 500 + "spray " + "word " * 490, place="T01"))
    first, *_ = found(site, folder, "spray").hits
    rows = plain(page.draw(found(site, folder, "spray"), 0, 0, 80, 24)).splitlines()
    assert "spray" in rows[3]
    assert len(first.whole[0]) > 4000


def test_the_command_prints_every_text_whole_and_as_json(site: Site, folder: Path) -> None:
    said = plain(page.print_out(found(site, folder, "spray"), 80))
    for words in ("turned the *spray*-bar to the wall", "on 2 pages since", "T03 temp"):
        assert words in said


# ---- at the screen


def test_letters_seek_esc_takes_them_away_and_then_leads_back(
    site: Site, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def act() -> list[str]:
        app, seen = TankwalkApp(site, "board"), []
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            await pilot.press("f")
            for key in ("s", "p", "r", "minus", "asterisk", "backspace", "backspace", "down"):
                await pilot.press(key)
                await pilot.pause()
            seen.append(app.screen.sheet.text())  # type: ignore[attr-defined]
            await pilot.press("escape")
            await pilot.pause()
            seen.append(app.screen.sheet.text())  # type: ignore[attr-defined]
            await pilot.press("escape")
            await pilot.pause()
            seen.append(app.screen.scope)  # type: ignore[attr-defined]
        return seen

    monkeypatch.setenv("TANKWALK_HOME", str(tmp_path / "home"))
    found_page, empty, scope = asyncio.run(act())
    assert "spr_" in found_page
    assert "6 found, newest first" in found_page
    assert found_page.splitlines()[4].startswith(" > "), "down went to the second one"
    assert "Type words" in empty
    assert scope == "board"
    assert (tmp_path / "home" / "words").is_dir()


def test_on_a_wide_page_what_happened_around_a_note_stands_beside_it(tmp_path: Path) -> None:
    demo = demo_opened(tmp_path)

    async def act(room: Room) -> None:
        await room.press("f", *"quiet", "down")
        assert "AROUND IT  site" in room.text
        beside = [row[66:] for row in room.text.splitlines()]
        [marked] = [row for row in beside if row.startswith(" > ")]
        assert "note: Quiet morning" in marked
        await room.press(*"xx")
        assert "AROUND IT" not in room.text, "nothing is found"

    at_the_screen(demo, act, (120, 40))
    demo.close()
