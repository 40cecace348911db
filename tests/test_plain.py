"""The round line by line: the same walk, the same judgements, the same record, no screen."""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from site_support import (
    NOW,
    SMALL,
    entries,
    newest_round,
    opened,
    readings,
    seen_before,
    surroundings,
    tankwalk,
    typed_lines,
    walking,
)
from tankwalk import plain
from tankwalk.errors import Refusal
from tankwalk.pages.handover import text_of
from tankwalk.practice.handover.drafting import draft
from tankwalk.practice.site import Site

MORNING = (
    # the glance lap, the alarm, TAN of the loop
    *("+", "2", "+", "<0.05"),
    # T01: degrees F meant, low oxygen and not confirmed, gallons and again, screen, dead
    *("62.1", "2", "6.1", "7.4", "0.66", "2", "2.5", "-", "3", "0"),
    # T02: nonsense, nothing, a value; not taken; flow as typed and again; note, tick, dead
    *("warm", "", "16,6", "/", "3", "0.66", "*", "0.7", "-", "5", "+", "14", "12"),
    "+",
)
"""A morning with a little of everything, up to the signature."""


WALK = ("walk", "--plain", "--who", "AB", "--round", "am", "--now", NOW)


def room(folder: Path, laptop: str = "trolley") -> Any:
    """The small room as it was seen yesterday evening."""
    return opened(folder, SMALL, NOW, laptop)


def yesterday(site: Site) -> None:
    for tank in ("T01", "T02"):
        seen_before(site, tank, "temp", 16.4, "2026-05-09T19:00")
        seen_before(site, tank, "do", 7.6, "2026-05-09T19:00")
        seen_before(site, tank, "flow", 2.5, "2026-05-09T19:00")


def line_by_line(
    site: Site, answers: Sequence[str], who: str | None = "AB", code: str | None = "am"
) -> tuple[int, list[str]]:
    """The exit status and what was said."""
    said: list[str] = []
    return plain.walk(site, iter(answers), said.append, who, code), said


def record(site: Site) -> tuple[object, ...]:
    """All that the record shows of a round: readings, their history, notes and the handover."""
    return (
        readings(site, "*", "readings"),
        readings(site, "*", "readings_ever"),
        readings(site, "*", "notes"),
        entries(site, "kind, who, place, item, amends, reason"),
        text_of(draft(site)),
    )


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with room(tmp_path) as site:
        yesterday(site)
        yield site


def test_a_round_line_by_line_ends_signed_with_0(site: Site) -> None:
    status, said = line_by_line(site, MORNING)
    assert status == 0
    assert said[-1] == "Signed by AB at 07:00."
    assert newest_round(site, 1).signed_by == "AB"


def test_the_same_answers_give_the_same_record_as_on_the_screen(tmp_path: Path) -> None:
    with room(tmp_path / "plain") as first, room(tmp_path / "screen") as second:
        yesterday(first)
        yesterday(second)
        line_by_line(first, MORNING)
        walk = walking(second)
        for typed in MORNING:
            walk.answer(typed)
        assert walk.signed
        assert record(first) == record(second)


answers = st.lists(
    st.sampled_from(
        "+ - * / 0 1 2 3 4 5 6 16.4 62.1 0.66 2.5 6.1 7.4 12 <0.05 68f 16,6 rubbish [/]".split()
    ),
    max_size=40,
)


@settings(deadline=None, max_examples=25)
@given(answers)
def test_any_answers_give_the_same_record_as_on_the_screen(typed: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        with room(Path(folder) / "a") as first, room(Path(folder) / "b") as second:
            yesterday(first)
            yesterday(second)
            line_by_line(first, typed)
            walk = walking(second)
            for one in typed:
                if not walk.signed:
                    walk.answer(one)
            assert record(first) == record(second)


def test_one_line_says_where_one_stands_what_was_and_what_is_wanted(site: Site) -> None:
    _, said = line_by_line(site, ["+", "+", "+", "0.2"])
    assert said[0] == "Morning round, AB, Sun 10 May 07:00. 0 of 14 done."
    assert "T01 Glance. + or 1 ok, 2 odd, 3 bad:" in said
    assert "L1 TAN, mg/L as N. band <= 0.50:" in said
    assert "T01 Temperature, degC. last 16.4 12 h ago. band 15.5 - 17.5:" in said


def test_a_stop_is_named_once_on_arrival(site: Site) -> None:
    _, said = line_by_line(site, ["+", "+", "+", "0.2", "16.5", "8.0"])
    arrivals = [line for line in said if re.search(", stop [0-9]", line)]
    assert [line.split(", ")[0] for line in arrivals] == [
        "Glance lap",
        "Room and site",
        "Loop L1",
        "T01",
    ]
    assert arrivals[-1].startswith("T01, stop 4 of 5. ")


def test_every_line_said_is_one_line(site: Site) -> None:
    _, said = line_by_line(site, [*MORNING[:-1], "help", "undo", "up", "note", "[red]\x1b x", "+"])
    assert said
    for line in said:
        assert line == line.strip()
        assert len(line.splitlines()) == 1
        assert line.isprintable()


def test_a_slip_is_asked_with_the_keys_that_answer_it(site: Site) -> None:
    _, said = line_by_line(site, ["+", "+", "+", "0.2", "62.1"])
    assert (
        "62.1 degC cannot be Temperature: it is -1 to 35 degC. Nothing is kept yet. "
        "2 16.7 degC if it was read in degF: ok, in 15.5 - 17.5; * measure again; / not taken"
    ) in said


def test_the_answers_may_end_before_the_round_and_it_is_taken_up_there(site: Site) -> None:
    status, said = line_by_line(site, MORNING[:6])
    assert status == 1
    assert said[-1] == "Stopped. 5 of 14 are kept. Go on with the same command."
    status, said = line_by_line(site, MORNING[6:])
    assert status == 0
    assert said[0] == "Morning round, AB, Sun 10 May 07:00. 5 of 14 done."
    assert newest_round(site, 1).signed_by == "AB"


def test_the_word_end_stops_and_keeps_all_before(site: Site) -> None:
    status, said = line_by_line(site, ["+", "END", "+"])
    assert status == 1
    assert said[-1].startswith("Stopped. 1 of 14 are kept.")
    assert len(readings(site, "n")) == 7


def test_words_move_undo_and_note_as_the_keys_do(site: Site) -> None:
    _, said = line_by_line(
        site, ["next", "next", "next", "16.5", "undo", "16.6", "up", "note", "back", "down", "8.0"]
    )
    kept = [row[1:] for row in readings(site, "round, item, value") if row[0] is not None]
    assert kept == [("temp", 16.6), ("do", 8.0)]
    assert readings(site, "text", "notes") == [("back",)]
    assert "Undone: T01 Temperature 16.5." in said


def test_an_empty_line_leaves_a_note_that_was_not_meant(site: Site) -> None:
    _, said = line_by_line(site, ["note", "", "+"])
    assert readings(site, "text", "notes") == []
    assert "Back: nothing was kept." in said
    assert "T01 Glance: ok kept." in said
    assert any(line.endswith("a line keep the note; an empty line back") for line in said)


def test_back_leaves_a_question_and_keeps_nothing(site: Site) -> None:
    _, said = line_by_line(site, ["/", "back", "+"])
    assert "Back: nothing was kept." in said
    kept = [row[1:] for row in readings(site, "round, typed, qualifier") if row[0] is not None]
    assert kept == [("ok", None)]


def test_help_lists_what_may_be_answered(site: Site) -> None:
    _, said = line_by_line(site, ["help"])
    listed = next(line for line in said if line.startswith("A value, or: + all right"))
    for word in plain.WORDS:
        assert f"{word}, {plain.WORDS[word]}" in listed


def test_who_walks_is_asked_by_number_or_initials_until_it_is_known(site: Site) -> None:
    status, said = line_by_line(site, ["7", "ZZ", "", "9" * 5000, "2"], None)
    assert status == 1
    assert said[0] == "Who is doing this round? Your initials go on every entry. 1 AB, 2 CD, 3 EF"
    assert "'ZZ' is not among the people of the plan (AB, CD, EF)." in said
    assert newest_round(site, 1).who == "CD"


def test_nobody_answers_who_walks_and_no_round_is_begun(site: Site) -> None:
    assert line_by_line(site, [], None)[0] == 1
    assert [kind for (kind,) in entries(site)].count("round") == 0


def test_a_round_is_named_by_its_code_or_its_label(site: Site) -> None:
    assert line_by_line(site, ["end"], code="PM")[1][0].startswith("Afternoon round")
    assert line_by_line(site, ["end"], code="afternoon ROUND")[1][0].startswith("Afternoon round")
    assert line_by_line(site, ["end"], code=None)[1][0].startswith("Morning round")
    with pytest.raises(Refusal, match=r"There is no round 'noon' in the plan \(am, pm\)"):
        line_by_line(site, [], code="noon")


# ---- as a program, from a file


def test_the_program_walks_a_round_from_a_file(tmp_path: Path) -> None:
    with room(tmp_path / "site") as site:
        yesterday(site)
    file = tmp_path / "answers.txt"
    file.write_bytes(typed_lines(MORNING))
    with file.open("rb") as given_file:
        ran = subprocess.run(
            [sys.executable, "-m", "tankwalk", *WALK, "--site", str(tmp_path / "site")],
            stdin=given_file,
            capture_output=True,
            env=surroundings(tmp_path / "home"),
            timeout=120,
            check=False,
        )
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert ran.stdout.decode().splitlines()[-1] == "Signed by AB at 07:00."
    with room(tmp_path / "site", "office") as site, room(tmp_path / "direct") as direct:
        yesterday(direct)
        line_by_line(direct, MORNING)
        assert record(site) == record(direct)


def test_lines_that_end_as_on_windows_are_the_same_answers(tmp_path: Path) -> None:
    with room(tmp_path / "site"):
        pass
    given_bytes = b"\r\n".join([b"AB", b"+", b"+", b"+", b"0.2", b"16.5"])
    ran = tankwalk(tmp_path, "walk", "--plain", "--site", str(tmp_path / "site"), given=given_bytes)
    assert ran.returncode == 1
    assert ran.stderr == b""
    with room(tmp_path / "site") as site:
        assert readings(site, "item, value")[-1] == ("temp", 16.5)


def test_bytes_that_are_no_text_are_refused_as_an_answer_and_the_round_goes_on(
    tmp_path: Path,
) -> None:
    with room(tmp_path / "site"):
        pass
    junk = b"+\n\xff\xfe\n+\n+\n\x80\x81\n0.2\n1\xff6.5\n16.5\nnote\nfish \xf0\x28 here\n"
    ran = tankwalk(
        tmp_path, "walk", "--plain", "--who", "AB", "--site", str(tmp_path / "site"), given=junk
    )
    assert (ran.returncode, ran.stderr) == (1, b"")
    assert "Traceback" not in ran.stdout.decode()
    with room(tmp_path / "site") as site:
        assert readings(site, "item, typed") == [
            ("glance", "ok"),
            ("glance", "ok"),
            ("alarm", "armed"),
            ("tan", "0.2"),
            ("temp", "16.5"),
        ]
        assert readings(site, "text", "notes") == [("fish \ufffd( here",)]


def test_no_part_of_the_screen_is_loaded_to_walk_line_by_line(tmp_path: Path) -> None:
    with room(tmp_path / "site"):
        pass
    program = (
        "import sys\n"
        "from tankwalk.cli import main\n"
        "status = main(sys.argv[1:])\n"
        "loaded = sorted(m for m in sys.modules if m.split('.')[0] in ('textual', 'rich'))\n"
        "print('loaded:', *loaded)\n"
        "sys.exit(status)\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", program, *WALK, "--site", str(tmp_path / "site")],
        input=typed_lines(MORNING),
        capture_output=True,
        env=surroundings(tmp_path / "home"),
        timeout=120,
        check=False,
    )
    assert ran.returncode in (0, 1)
    assert ran.stdout.decode().splitlines()[-1] == "loaded:"
