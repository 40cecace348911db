"""The program on a real terminal: plugs pulled, signals, bad bytes, odd terminals, odd people."""

from __future__ import annotations

import ctypes
import os
import random
import re
import resource
import select
import signal
import sqlite3
import subprocess
import sys
import termios
from collections import Counter
from contextlib import closing
from pathlib import Path

import pytest

from demo_support import (
    ANSWERS,
    EXPECTED,
    HOSTILE_WORDS,
    NOW,
    Slot,
    answer_up_to,
    asked,
    asks_again,
    begin_round,
    counted,
    demo_in,
    go_on,
    heading,
    held,
    program,
    readings_of,
    rows,
    said,
    typed_keys,
    until_kept,
    with_hostile_words,
)
from record_round import PAD, keys_for
from site_support import BRACKETS
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.store import FILE
from tankwalk.screens import tones
from terminal import KEYS, Terminal

PULLS = 50

NO_COLORS = {"", "0", "1", "4", "7", "22", "24", "27", "39", "49"}
"""Reset; bold, underline and inverse, and their ends; and the terminal's own colors."""


def standing(slot: Slot | None, reading: int) -> tuple[str, bool]:
    """What the page must show where the person stands: what is asked, and whether again."""
    return (" \u2500\u2500 Sign", False) if slot is None else (heading(slot), reading > 0)


def next_one(slot: Slot, reading: int) -> tuple[Slot | None, int]:
    """The reading that is asked after `reading` readings of a slot are kept."""
    if reading < len(EXPECTED[slot]):
        return slot, reading
    order = [one for one, _ in ANSWERS]
    after = order.index(slot) + 1
    return (order[after] if after < len(order) else None), 0


def until_standing(terminal: Terminal, slot: Slot | None, reading: int) -> None:
    """Wait until the page asks for this reading of this slot; None is the signature."""
    words, again = standing(slot, reading)

    def there() -> bool:
        parts = f"{asked(terminal)} ".split(",")[0].split(" \u2500\u2500 ")
        title = f" \u2500\u2500 {parts[1]}" if len(parts) > 1 else ""
        return title == words and asks_again(terminal) == again

    terminal.until(there, f"the walk at {words!r}")


def until_words(terminal: Terminal, words: str) -> None:
    """Wait until the page has painted these words, however it breaks and spaces them."""
    terminal.until(lambda: words in " ".join(terminal.text().split()), repr(words))


def until_ground(terminal: Terminal, ground: str) -> None:
    """Wait until every row but the head ends on a ground of this color."""
    last = terminal.columns - 1

    def painted() -> bool:
        return {terminal.screen.buffer[y][last].bg for y in range(1, terminal.rows)} == {ground}

    terminal.until(painted, f"the ground {ground}")


def until_footer(terminal: Terminal, start: str) -> None:
    """Wait until the last line of the screen holds the keys of the walk."""
    terminal.until(lambda: terminal.line(-1).startswith(start), f"the footer of {terminal.rows}")


def sign(terminal: Terminal) -> None:
    terminal.wait("Sign as PB")
    terminal.send("+")
    terminal.wait("Signed by PB at 06:50")


def sound(site: Path) -> bool:
    return inspect(site / FILE).sound


# ---- the plug


@pytest.mark.long
def test_a_plug_pulled_after_any_key_costs_nothing_that_the_page_said_was_kept(
    tmp_path: Path,
) -> None:
    site = demo_in(tmp_path)
    moments = [
        (slot, reading, key)
        for slot, answer in ANSWERS
        for reading, typed in enumerate(readings_of(slot, answer))
        for key in range(len(typed_keys(typed)))
    ]
    dice = random.Random(2026)
    pulls = set(dice.sample(moments, PULLS))
    pulled = 0
    kept: dict[Slot, list[str]] = {}
    terminal = program(site)
    try:
        begin_round(terminal)
        for slot, answer in ANSWERS:
            here = kept.setdefault(slot, [])
            while len(here) < len(EXPECTED[slot]):
                reading = len(here)
                typed = typed_keys(readings_of(slot, answer)[reading])
                last = next((k for k in range(len(typed)) if (slot, reading, k) in pulls), None)
                if last is None:
                    terminal.send("".join(typed))
                    until_kept(terminal, slot, reading)
                    here.append(EXPECTED[slot][reading])
                    continue
                pulls.remove((slot, reading, last))
                whole = last == len(typed) - 1
                terminal.send("".join(typed[: last + 1]))
                if dice.random() < 0.5:
                    if whole:
                        until_kept(terminal, slot, reading)
                        here.append(EXPECTED[slot][reading])
                    else:
                        terminal.read(0.03)
                terminal.kill(signal.SIGKILL)
                os.close(terminal.master)
                pulled += 1
                terminal = program(site)
                go_on(terminal)
                found = held(site)
                now = found.get(slot, [])
                assert now == here or (whole and now == EXPECTED[slot][: reading + 1])
                here[:] = now
                assert found == {one: values for one, values in kept.items() if values}
                until_standing(terminal, *next_one(slot, len(here)))
        sign(terminal)
    finally:
        terminal.kill(signal.SIGKILL)
        os.close(terminal.master)
    assert pulled == PULLS
    assert held(site) == EXPECTED
    assert sound(site)
    assert rows(site, "SELECT event FROM round ORDER BY entry DESC LIMIT 1") == [("sign",)]


# ---- the number pad


def test_a_whole_round_needs_the_number_pad_alone_and_one_key_an_answer_beyond_its_digits(
    tmp_path: Path,
) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal:
        begin_round(terminal)
        answer_up_to(terminal)
        sign(terminal)
        terminal.send(KEYS["enter"])
        terminal.wait("TANKS")
    pressed = [keys_for(typed) for slot, answer in ANSWERS for typed in readings_of(slot, answer)]
    assert {key for keys in [["enter", "5", "+"], *pressed] for key in keys} <= PAD
    beyond = Counter(sum(not key.isdigit() and key != "." for key in keys) for keys in pressed)
    assert set(beyond) == {1}
    assert {keys[-1] for keys in pressed} <= {"enter", "+", "3"}
    assert held(site) == EXPECTED
    assert sound(site)


def test_two_hundred_keys_in_one_burst_are_all_kept(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    burst: list[str] = []
    done: list[Slot] = []
    for slot, answer in ANSWERS:
        if len(burst) >= 200:
            break
        for typed in readings_of(slot, answer):
            burst += typed_keys(typed)
        done.append(slot)
    assert len(burst) >= 200
    with program(site) as terminal:
        begin_round(terminal)
        terminal.send("".join(burst))
        terminal.until(lambda: counted(terminal) == len(done), f"{len(done)} answers", 30)
    assert held(site) == {slot: EXPECTED[slot] for slot in done}


def test_what_is_typed_while_the_program_starts_is_kept(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal:
        terminal.send(KEYS["enter"] + "5++2" + KEYS["enter"])
        terminal.until(lambda: counted(terminal) == 3, "three tanks looked at")
    assert held(site) == {("T01", "glance"): ["ok"], ("T02", "glance"): ["ok"],
                          ("T03", "glance"): ["odd"]}  # fmt: skip


def test_what_is_typed_ahead_of_the_page_goes_to_the_page_it_was_meant_for(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal:
        terminal.wait("do it")
        # To the walk, an answer, back to the board, to the walk again, an answer, the handover.
        again = KEYS["enter"] + KEYS["enter"]
        terminal.send(KEYS["enter"] + "5+b" + again + "+b3-1feed the cat" + KEYS["enter"])
        terminal.wait("Kept under TO DO.")
    assert rows(site, "SELECT text, who FROM follow_ups ORDER BY entry DESC LIMIT 1") == [
        ("feed the cat", "JQ")
    ]
    assert held(site) == {("T01", "glance"): ["ok"], ("T02", "glance"): ["ok"]}


@pytest.mark.parametrize(
    ("sent", "shown"),
    [
        pytest.param("\x1b[57400;129;49u\x1b[57409;129;46u\x1b[57401;129;50u", "1.2_", id="1.2"),
        pytest.param("\x1b[57400u\x1b[57416u\x1b[57401u", "1,2_", id="1,2"),
        pytest.param("\x1b[57413;129;43u", "T02", id="+"),
        pytest.param("\x1b[57413u", "T02", id="+ without its text"),
        pytest.param("\x1b[57410;129;47u", "Why?", id="/"),
        pytest.param("\x1b[57412;129;45u", "what is it?", id="-"),
        pytest.param("\x1b[57411;129;42u", "nothing to measure again", id="*"),
        pytest.param("\x1b[57401u\x1b[57414;129u", "! WATCH T01 Glance: odd", id="2 Enter"),
        pytest.param("\x1b[50;;50u\x1b[13u", "! WATCH T01 Glance: odd", id="main-row 2 Enter"),
        pytest.param("\x1b[61;2;43u", "T01 Glance: ok kept.", id="shift and ="),
        pytest.param("\x1b[47;2;63u", "Keys here", id="shift and /"),
        pytest.param("2\n", "! WATCH T01 Glance: odd", id="Ctrl+J"),
        pytest.param("\x1bOj", "nothing to measure again", id="* of the application pad"),
        pytest.param("\x1bOk", "T01 Glance: ok kept.", id="+ of the application pad"),
        pytest.param("\x1b[H", "Num Lock?", id="7 without Num Lock"),
        pytest.param("\x1b[57423u", "Num Lock?", id="7 without Num Lock, told apart"),
        pytest.param("\x1b[E", "Num Lock?", id="5 without Num Lock"),
        pytest.param("\x1b[2~", "Num Lock?", id="0 without Num Lock"),
    ],
)
def test_the_pad_works_as_any_terminal_sends_it(tmp_path: Path, sent: str, shown: str) -> None:
    with program(demo_in(tmp_path)) as terminal:
        begin_round(terminal)
        terminal.send(sent)
        terminal.wait(shown)


# ---- ends


def modes_left(received: bytes) -> set[str]:
    """Private modes as they stand after everything that was sent, on a terminal fresh at first."""
    on = {"7", "25"}
    for numbers, way in re.findall(rb"\x1b\[\?([0-9;]+)([hl])", received):
        for number in numbers.decode().split(";"):
            on = on | {number} if way == b"h" else on - {number}
    return on


def after_the_screen(received: bytes) -> str:
    """What was written after the full screen was left."""
    return re.split(rb"\x1b\[\?1049l(?:\x1b\[\?[0-9]+[hl])*", received)[-1].decode()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_program_that_is_stopped_from_outside_leaves_a_clean_terminal_and_loses_nothing(
    tmp_path: Path, number: signal.Signals
) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal:
        before = termios.tcgetattr(terminal.master)
        begin_round(terminal)
        terminal.send("+" * 13 + "16")
        terminal.wait("16_")
        terminal.kill(number)
        assert terminal.ended() == 1
        assert modes_left(terminal.received) == {"7", "25"}
        assert terminal.received.count(b"\x1b[<u") == len(
            re.findall(rb"\x1b\[>[0-9]+u", terminal.received)
        )
        assert termios.tcgetattr(terminal.master) == before
        sentence = after_the_screen(terminal.received)
        assert sentence.count("\r\n") == 1
        assert sentence.startswith("Stopped")
        assert "Everything accepted is kept" in sentence
    assert len(held(site)) == 13
    assert sound(site)


def test_a_terminal_that_is_torn_away_costs_nothing_that_was_kept(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    terminal = program(site)
    begin_round(terminal)
    terminal.send("+" * 12)
    terminal.until(lambda: counted(terminal) == 12, "the glance lap kept")
    assert terminal.hung_up() == 1
    assert len(held(site)) == 12
    assert sound(site)
    with program(site) as terminal:
        go_on(terminal)
        until_standing(terminal, ("site", "alarm"), 0)


def test_a_program_that_is_told_to_go_on_while_it_leaves_is_gone_all_the_same(
    tmp_path: Path,
) -> None:
    """A terminal that is killed sends both signals; Textual then started its keyboard anew."""
    site = demo_in(tmp_path)
    told = (
        "import os, signal; from textual.drivers.linux_driver import LinuxDriver as D\n"
        "close = D.close\n"
        "D.close = lambda driver: (close(driver), os.kill(os.getpid(), signal.SIGCONT))\n"
    )
    with changed_program(site, told) as terminal:
        begin_round(terminal)
        terminal.send("+++")
        terminal.until(lambda: counted(terminal) == 3, "three kept")
        terminal.kill(signal.SIGHUP)
        assert terminal.ended() == 1
    assert len(held(site)) == 3


def test_a_program_that_was_stopped_and_goes_on_has_one_keyboard_and_leaves_cleanly(
    tmp_path: Path,
) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal:
        before = termios.tcgetattr(terminal.master)
        begin_round(terminal)
        for _ in range(3):
            terminal.kill(signal.SIGSTOP)
            terminal.kill(signal.SIGCONT)
            terminal.read(0.5)
        terminal.send("+" * 13 + "16")
        terminal.wait("16_")
        terminal.press("esc", "esc", "esc", quiet=0.3)
        terminal.wait("Esc again: leave all the same")
        terminal.press("esc")
        assert terminal.ended() == 0
        assert modes_left(terminal.received) == {"7", "25"}
        assert termios.tcgetattr(terminal.master) == before
    assert len(held(site)) == 13


def test_a_program_that_hangs_while_it_leaves_is_ended_by_the_system(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    hanging = (
        "import time; from tankwalk.screens import app\n"
        "app.SECONDS_TO_LEAVE = 1; app.TankwalkApp.exit = lambda *a, **k: time.sleep(600)\n"
    )
    with changed_program(site, hanging) as terminal:
        begin_round(terminal)
        terminal.send("+++")
        terminal.until(lambda: counted(terminal) == 3, "three kept")
        terminal.kill(signal.SIGHUP)
        assert terminal.ended() == -signal.SIGALRM
    assert len(held(site)) == 3
    assert sound(site)


def changed_program(site: Path, change: str) -> Terminal:
    """The program with a few lines of Python done first, on a terminal of its own."""
    words = ["--site", str(site), "--now", NOW]
    whole = f"{change}import sys; from tankwalk.cli import main\nsys.exit(main({words!r}))"
    return Terminal([sys.executable, "-c", whole], {"TANKWALK_HOME": str(site.parent)})


@pytest.mark.parametrize("keys", [b"\x03", b"\x03\x03\x03", b"\x1a", b"\x1c"])
def test_the_keys_that_stop_other_programs_lose_nothing_here(tmp_path: Path, keys: bytes) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal:
        begin_round(terminal)
        terminal.send("+" * 13 + "16")
        terminal.wait("16_")
        terminal.send(keys + b"2")
        terminal.wait("162_")
        terminal.send(KEYS["enter"])
        until_kept(terminal, ("site", "o2backup"), 0)
    assert held(site)["site", "o2backup"] == ["162"]


def test_q_on_the_board_ends_well_and_says_nothing(tmp_path: Path) -> None:
    with program(demo_in(tmp_path)) as terminal:
        before = termios.tcgetattr(terminal.master)
        terminal.wait("do it")
        terminal.send("q")
        assert terminal.ended() == 0
        assert after_the_screen(terminal.received) == ""
        assert modes_left(terminal.received) == {"7", "25"}
        assert termios.tcgetattr(terminal.master) == before


# ---- what keyboards can send


@pytest.mark.parametrize("bad", [b"\xff", b"\xc3\x28", b"\xf0\x9f", b"\x80\x80"])
def test_a_byte_that_is_no_character_is_named_and_the_value_typed_around_it_stays(
    tmp_path: Path, bad: bytes
) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal:
        begin_round(terminal)
        terminal.send("+" * 13)
        terminal.wait("Backup oxygen, bar")
        terminal.send(b"1" + bad + b"62")
        terminal.wait("no character (not UTF-8)")
        terminal.wait("162_")
        terminal.send(KEYS["enter"])
        until_kept(terminal, ("site", "o2backup"), 0)
    assert held(site)["site", "o2backup"] == ["162"]


def test_a_letter_beyond_ascii_can_be_part_of_a_note(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal:
        begin_round(terminal)
        terminal.send("nlarvæ, 16 °C, Zander-Lärvchen" + KEYS["enter"])
        terminal.wait("Noted for T01.")
    assert rows(site, "SELECT text FROM notes ORDER BY n DESC LIMIT 1") == [
        ("larvæ, 16 °C, Zander-Lärvchen",)
    ]


# ---- two people


def test_two_programs_walk_one_round_and_both_are_kept(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    with program(site) as one, program(site) as other:
        begin_round(one)
        other.wait("do it")
        other.send(KEYS["enter"] + "11")
        other.wait("Morning round, JQ")
        one.send("+" * 12)
        one.until(lambda: counted(one) == 12, "the glance lap")
        other.send("+")
        other.wait("PB entered ok at 06:50: both are kept.")
        assert counted(other) == 12
        other.wait(heading(("site", "alarm")))
        other.send("+162" + KEYS["enter"])
        other.until(lambda: counted(other) == 14, "two answers more")
        one.send("+")
        one.wait("JQ entered armed at 06:50: both are kept.")
        one.wait(heading(("site", "footbath")))
    found = held(site)
    assert found["T01", "glance"] == ["ok", "ok"]
    assert found["site", "alarm"] == ["armed", "armed"]
    assert found["site", "o2backup"] == ["162"]
    assert len(found) == 14
    assert sound(site)


def test_a_round_that_someone_else_signed_takes_nothing_more_and_says_who(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    with program(site) as one, program(site) as other:
        begin_round(one)
        other.wait("do it")
        other.send(KEYS["enter"] + "11")
        other.wait("Morning round, JQ")
        # To the end, one reason for all that is open, and signed.
        one.send(KEYS["right"] * 15 + "/2+")
        one.wait("Signed by PB")
        other.send("+")
        other.wait("PB signed this round at 06:50")
    assert {reading for found in held(site).values() for reading in found} == {
        "not taken: not looked"
    }


# ---- the disk


def test_a_disk_that_takes_no_more_is_named_and_what_was_typed_stays_until_it_does(
    tmp_path: Path,
) -> None:
    """A file-size limit on the running program: its writes fail as on a disk that is spent."""
    site = demo_in(tmp_path)
    with program(site) as terminal:
        begin_round(terminal)
        terminal.send("+" * 13 + "162")
        terminal.wait("162_")
        spent = (4096, resource.RLIM_INFINITY)
        free = resource.prlimit(terminal.pid, resource.RLIMIT_FSIZE, spent)
        said = "The disk did not take it: this was not kept, all before it is."
        for _ in range(3):
            terminal.send(KEYS["enter"])
            terminal.wait(said)
            terminal.wait("162_")
            terminal.send("5")  # taken after the Enter before it: that one is answered by now
            terminal.wait("1625_")
            terminal.wait(said)
            terminal.send(KEYS["backspace"])
            terminal.wait("162_")
        assert ("site", "o2backup") not in held(site)
        resource.prlimit(terminal.pid, resource.RLIMIT_FSIZE, free)
        terminal.send(KEYS["enter"])
        until_kept(terminal, ("site", "o2backup"), 0)
    assert held(site)["site", "o2backup"] == ["162"]
    assert len(held(site)) == 14
    assert sound(site)


def bound_by_permissions() -> None:
    """Root reads and writes whatever it likes: take that from the program that starts now."""
    if os.geteuid() == 0:
        libc = ctypes.CDLL(None, use_errno=True)
        drop_from_bounding_set, dac_override, dac_read_search = 24, 1, 2
        for capability in (dac_override, dac_read_search):
            if libc.prctl(drop_from_bounding_set, capability, 0, 0, 0):
                os._exit(126)


@pytest.mark.parametrize("what", ["the folder", "the record", "both"])
def test_a_site_that_cannot_be_written_can_be_read_and_says_why_no_round_begins(
    tmp_path: Path, what: str
) -> None:
    site = demo_in(tmp_path)
    before = rows(site, "SELECT count(*) FROM entries")
    if what != "the folder":
        (site / FILE).chmod(0o444)
    if what != "the record":
        site.chmod(0o555)
    try:
        with program(site, first=bound_by_permissions) as terminal:
            terminal.wait("do it")
            terminal.send(KEYS["enter"])
            terminal.wait("Who is doing this round?")
            terminal.send("5")
            terminal.until(
                lambda: (
                    "cannot be written" in terminal.text() or "cannot be opened" in terminal.text()
                ),
                "why no round begins",
            )
            terminal.send(KEYS["esc"])
            terminal.wait("WRONG")
    finally:
        site.chmod(0o755)
    assert rows(site, "SELECT count(*) FROM entries") == before


def test_a_record_that_another_program_holds_is_named_and_the_answer_can_be_given_again(
    tmp_path: Path,
) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal, closing(sqlite3.connect(site / FILE)) as other:
        begin_round(terminal)
        terminal.send("+" * 13 + "162")
        terminal.wait("162_")
        other.execute("BEGIN IMMEDIATE")
        terminal.send(KEYS["enter"])
        terminal.wait("Another program holds the record: this was not kept.", 30)
        terminal.wait("162_")
        other.rollback()
        terminal.send(KEYS["enter"])
        until_kept(terminal, ("site", "o2backup"), 0)
    assert held(site)["site", "o2backup"] == ["162"]


def test_a_record_that_is_taken_away_is_named_and_the_program_lives(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal:
        begin_round(terminal)
        (site / FILE).rename(site / "elsewhere.sqlite")
        terminal.send("+")
        until_words(terminal, "was deleted, moved or replaced")
        until_words(terminal, "nothing more is kept.")
        assert counted(terminal) == 0
        (site / "elsewhere.sqlite").rename(site / FILE)
        terminal.send("+")
        terminal.until(lambda: counted(terminal) == 1, "the answer given again")
    assert held(site) == {("T01", "glance"): ["ok"]}


def test_a_fault_of_the_program_itself_ends_it_in_one_sentence_that_tells_nothing_typed(
    tmp_path: Path,
) -> None:
    site = demo_in(tmp_path)
    broken = (
        "import sys, tankwalk.practice.round.walk as w; w.Walk.note = lambda self: 1 / 0; "
        "from tankwalk.cli import main; sys.exit(main())"
    )
    command = [sys.executable, "-c", broken, "--site", str(site), "--now", NOW]
    with Terminal(command, {"TANKWALK_HOME": str(tmp_path)}) as terminal:
        before = termios.tcgetattr(terminal.master)
        begin_round(terminal)
        terminal.send("+n")
        assert terminal.ended() == 1
        assert after_the_screen(terminal.received) == (
            "The program met a fault of its own (ZeroDivisionError). Everything accepted is kept; "
            "go on with: tankwalk\r\n"
        )
        assert modes_left(terminal.received) == {"7", "25"}
        assert termios.tcgetattr(terminal.master) == before
    assert held(site) == {("T01", "glance"): ["ok"]}


# ---- terminals of all kinds


def test_without_a_terminal_the_screen_is_refused_in_one_sentence(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    command = [sys.executable, "-m", "tankwalk", "--site", str(site), "--now", NOW]
    ended = subprocess.run(command, capture_output=True, timeout=60, check=False,
                           stdin=subprocess.DEVNULL)  # fmt: skip
    assert ended.returncode == 2
    assert ended.stdout == b""
    assert ended.stderr.count(b"\n") == 1
    assert b"There is no terminal here." in ended.stderr


def test_where_standard_error_goes_to_a_file_the_screen_is_refused_in_one_sentence(
    tmp_path: Path,
) -> None:
    log = tmp_path / "errors.txt"
    log.touch()
    site = demo_in(tmp_path)

    def elsewhere() -> None:
        os.dup2(os.open(log, os.O_WRONLY), 2)

    with program(site, first=elsewhere) as terminal:
        assert terminal.ended() == 2
        assert terminal.received == b""
    assert log.read_text().count("\n") == 1
    assert log.read_text().startswith("The screen is drawn on standard error")


@pytest.mark.long
def test_without_a_terminal_the_demo_prints_its_board_and_its_handover(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "tankwalk", "demo", "--now", NOW]
    ended = subprocess.run(
        command, capture_output=True, timeout=120, check=False, stdin=subprocess.DEVNULL,
        env={**os.environ, "TANKWALK_HOME": str(tmp_path)},
    )  # fmt: skip
    assert ended.returncode == 0
    printed = ended.stdout.decode()
    assert " WRONG  1" in printed
    assert "HANDOVER" in printed
    assert "\x1b" not in printed
    assert ended.stderr == b""


def test_no_color_means_no_color_and_every_flag_is_still_a_word(tmp_path: Path) -> None:
    with program(demo_in(tmp_path), env={"NO_COLOR": "1"}) as terminal:
        terminal.wait("! WATCH")
        terminal.send("d")  # the looks in color stay away
        begin_round(terminal)
        answer_up_to(terminal, ("T07", "ph"))
        terminal.until(lambda: "!! ACT T07 Oxygen 6.1 mg/L" in said(terminal), "the flag's word")
        looks = set(re.findall(rb"\x1b\[([0-9;]*)m", terminal.received))
    codes = {code for look in looks for code in look.decode().split(";")}
    assert {"1", "7"} <= codes <= NO_COLORS


def test_the_plain_look_keeps_the_terminals_own_colors(tmp_path: Path) -> None:
    with program(demo_in(tmp_path)) as terminal:
        terminal.wait("do it")
        for ground in (tones.GROUND["night"].removeprefix("#"), "default"):
            terminal.send("d")
            until_ground(terminal, ground)
        painted = len(terminal.received)
        begin_round(terminal)
        looks = set(re.findall(rb"\x1b\[([0-9;]*)m", terminal.received[painted:]))
    codes = {code for look in looks for code in look.decode().split(";")}
    assert {"1", "7"} <= codes <= NO_COLORS


@pytest.mark.parametrize(
    "env",
    [
        {"TERM": "dumb"},
        {"TERM": "xterm", "COLORTERM": ""},
        {"TERM": "linux", "COLORTERM": ""},
        {"LANG": "C", "LC_ALL": "C"},
        {"LC_ALL": "POSIX", "TEXTUAL": "", "ESCDELAY": "25"},
        {"TEXTUAL_THEME": "textual-light"},
        {"TEXTUAL_DISABLE_KITTY_KEY": "1"},
    ],
    ids=lambda env: " ".join(f"{name}={value}" for name, value in env.items()),
)
def test_a_round_can_be_begun_on_a_terminal_of_another_kind(
    tmp_path: Path, env: dict[str, str]
) -> None:
    site = demo_in(tmp_path)
    with program(site, env=env) as terminal:
        begin_round(terminal)
        terminal.send("+" * 13 + "162" + KEYS["enter"])
        until_kept(terminal, ("site", "o2backup"), 0)
        until_footer(terminal, " Enter keep")
    assert held(site)["site", "o2backup"] == ["162"]


def test_a_window_that_changes_its_size_is_drawn_anew_and_keeps_what_is_typed(
    tmp_path: Path,
) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal:
        begin_round(terminal)
        terminal.send("+" * 13 + "162")
        terminal.wait("162_")
        for columns, lines in ((60, 20), (200, 60), (40, 12), (20, 6), (7, 3), (80, 24)):
            terminal.resize(columns, lines)
            until_footer(terminal, " Enter keep"[: max(1, columns - 3)])
            terminal.read(0.1)
            assert ".." not in terminal.line(-1)
        terminal.wait("162_")
        terminal.send(KEYS["enter"])
        until_kept(terminal, ("site", "o2backup"), 0)


@pytest.mark.long
def test_a_page_that_nobody_touches_sends_no_byte(tmp_path: Path) -> None:
    ways = {"board": "", "walk": "\r5", "entry": "\r55", "note": "\r5nlarvae", "handover": "3",
            "help": "?", "every act": "p"}  # fmt: skip
    opened: list[tuple[str, Terminal]] = []
    try:
        for name in ways:
            folder = tmp_path / name
            folder.mkdir()
            opened.append((name, program(demo_in(folder))))
        for name, terminal in opened:
            terminal.wait("do it")
            terminal.send(ways[name])
        by_master = {terminal.master: terminal for _, terminal in opened}
        while painting := select.select(by_master, [], [], 2.0)[0]:
            for master in painting:
                by_master[master].read(0)
        sent = select.select(by_master, [], [], 5.0)[0]
        assert [name for name, terminal in opened if terminal.master in sent] == []
        terminal = opened[0][1]
        terminal.send("?")  # not because it is dead
        terminal.wait("HELP")
    finally:
        for _, terminal in opened:
            terminal.kill(signal.SIGKILL)
            os.close(terminal.master)


# ---- words that could drive a terminal


@pytest.mark.parametrize("words", BRACKETS)
def test_brackets_typed_into_a_note_are_kept_and_shown_as_typed(tmp_path: Path, words: str) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal:
        begin_round(terminal)
        terminal.send("n" + words)
        terminal.wait(words + "_")
        terminal.send(KEYS["enter"])
        terminal.wait("Noted for T01.")
        terminal.send("b3-1" + words)
        terminal.wait(words + "_")
        terminal.send(KEYS["enter"])
        terminal.wait("Kept under TO DO.")
        terminal.until(lambda: any(words in row for row in terminal.screen.display), words)
        terminal.send("b")
        terminal.wait("TANKS")
        terminal.send("o")
        terminal.wait("OPEN")
        terminal.send(KEYS["down"] * 6)  # the newest stands below the screen's last row
        terminal.wait(words)
    assert rows(site, "SELECT text FROM notes ORDER BY n DESC LIMIT 1") == [(words,)]


def test_a_paste_cannot_drive_the_terminal(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    pasted = "x\x1b]0;owned\x07 \x1b[2J \x9b5n \u202e\u2066turned\u2069 \x00\x08end"
    with program(site) as terminal:
        begin_round(terminal)
        terminal.send("n")
        terminal.wait("Note for T01")
        before = len(terminal.received)
        terminal.send(f"\x1b[200~{pasted}\x1b[201~")
        terminal.wait("turned")
        terminal.send(KEYS["enter"])
        terminal.wait("Noted for T01.")
        painted = terminal.received[before:].decode()
    for injected in ("\x1b]0", "\x1b[2J", "\x9b", "\x07", "\x00", "\x08", "\u202e", "\u2066"):
        assert injected not in painted
    [(kept,)] = rows(site, "SELECT text FROM notes ORDER BY n DESC LIMIT 1")
    assert "]0;owned" in kept
    assert kept.isprintable()


def test_a_plan_cannot_drive_the_terminal(tmp_path: Path) -> None:
    site = demo_in(tmp_path, with_hostile_words)
    glance, note, screen, site_name, role, round_name, wall, stop, loop = (
        words.split("\U0001f41f")[0] for words in HOSTILE_WORDS
    )
    walk = [round_name, "stop 1 of", glance, stop]
    esc, right, down = KEYS["esc"], KEYS["right"], KEYS["down"]
    ways: list[tuple[str, list[str]]] = [
        ("", ["do it", site_name]),
        ("?", ["HELP Board"]),
        (esc, ["do it", site_name, screen, round_name]),
        (KEYS["enter"], [round_name, "Who is doing this round?", role]),
        ("5", walk),
        ("2" + KEYS["enter"], ["1 of 12 seen"]),
        ("?", ["HELP Walk"]),
        (esc, walk),
        (right * 3, ["stop 4 of", note, loop]),
        ("-", [wall]),
        (esc, ["stop 4 of", glance]),
        ("b", ["do it", site_name]),
        ("3", ["HANDOVER", site_name, round_name]),
        (down * 36, [glance, stop]),
    ]
    with program(site) as terminal:
        for keys, wanted in ways:
            terminal.send(keys)
            for words in wanted:
                until_words(terminal, words)
        painted = terminal.received.decode()
    for injected in ("\x1b]0", "\x1b[31m", "\x9b", "Alder\x07", "owned\x07", "\u202e"):
        assert injected not in painted


def test_five_thousand_characters_can_be_pasted_as_a_note_and_are_kept(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    words = " ".join(f"word{i:04d}" for i in range(556))[:5000].strip()
    with program(site) as terminal:
        begin_round(terminal)
        terminal.send("n")
        terminal.wait("Note for T01")
        terminal.send(f"\x1b[200~{words}\x1b[201~")
        terminal.wait(words[-8:] + "_")
        terminal.send(KEYS["enter"])
        terminal.wait("Noted for T01.")
        terminal.send("n" + "y" * 500 + "z")
        terminal.wait("yyyz_")
    assert rows(site, "SELECT text FROM notes ORDER BY n DESC LIMIT 1") == [(words,)]
    assert len(words) > 4990
