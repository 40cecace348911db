"""What is sent of a page: the terminal shows the same as if all of it were painted anew."""

from __future__ import annotations

import signal
from pathlib import Path

import pyte
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.color import ColorSystem

from demo_support import begin_round, demo_in, program
from tankwalk import text
from tankwalk.pages.lines import Line, Span, blank, filled, line
from tankwalk.screens import cells
from tankwalk.screens.tones import LOOKS, styles
from terminal import KEYS, Terminal

WIDTH, HEIGHT = 24, 3

MOST = 300
"""Bytes that a digit may send at 80x24; the limit is 500, and 287 were sent before the past stood
beside the value."""

MOST_WIDE = 345
"""Bytes that a digit may send at 120x40, where it moves a point in three places more."""

SIGNS = ("a", "b", " ", " ", ".", "\u2588", "\u00b7", "\u25cf", "\u65e5", "e\u0301")

words = st.lists(st.sampled_from(SIGNS), max_size=9).map("".join)
spans = st.builds(Span, words, st.sampled_from(sorted(LOOKS["day"])))
rows = st.lists(spans, max_size=7).map(lambda made: line(WIDTH, *made))
pages = st.lists(rows, max_size=HEIGHT).map(lambda made: filled(made, WIDTH, HEIGHT))

Cell = tuple[str, str, str, bool, bool, bool, bool]


def seen(screen: pyte.Screen) -> list[list[Cell]]:
    """What stands in each cell; of a blank that shows nothing else, its ground alone."""
    found = []
    for y in range(screen.lines):
        row = []
        for x in range(screen.columns):
            one = screen.buffer[y][x]
            marks = one.underscore, one.reverse, one.strikethrough
            bare = one.data == " " and not any(marks)
            row.append((one.data, "" if bare else one.fg, one.bg, not bare and one.bold, *marks))
        found.append(row)
    return found


def paints(look: str) -> dict[str, cells.Paint]:
    return {tone: cells.paint(one, ColorSystem.TRUECOLOR) for tone, one in styles(look).items()}


def shown(*sent: str) -> list[list[Cell]]:
    screen = pyte.Screen(
        WIDTH + 1, HEIGHT
    )  # it begins a new row before an accent at the end of one
    stream = pyte.Stream(screen)
    for part in sent:
        stream.feed(part)
    return seen(screen)


def whole(page: list[Line], look: str) -> str:
    runs = [run for y, row in enumerate(page) for run in cells.whole(row, y)]
    return cells.sent(runs, paints(look))


def changes(before: list[Line], after: list[Line], look: str) -> str:
    both = [(y, *rows) for y, rows in enumerate(zip(before, after, strict=True))]
    runs = [run for y, was, row in both if was != row for run in cells.changed(was, row, y)]
    return cells.sent(runs, paints(look))


@given(before=pages, after=pages, look=st.sampled_from(sorted(LOOKS)))
def test_a_page_that_changed_stands_as_if_it_were_painted_whole(
    before: list[Line], after: list[Line], look: str
) -> None:
    sent = changes(before, after, look)
    assert shown(whole(before, look), sent) == shown(whole(after, look))
    assert bool(sent) <= (before != after)


@given(page=pages)
def test_a_page_stands_in_the_tones_it_has(page: list[Line]) -> None:
    stands = shown(whole(page, "day"))
    for y, row in enumerate(page):
        x = 0
        for span in row:
            ground = styles("day")[span.tone].bgcolor
            assert ground is not None
            for cell in range(x, x + text.width(span.text)):
                assert f"#{stands[y][cell][2]}" == ground.name
            x += text.width(span.text)


def test_one_digit_more_sends_that_digit_alone() -> None:
    before = line(WIDTH, Span("O2  "), Span("8", "entry"), Span(" mg/L", "dim"))
    after = line(WIDTH, Span("O2  "), Span("8.2", "entry"), Span(" mg/L", "dim"))
    assert next(iter(cells.changed(before, after, 1))) == cells.Run(1, 5, ".2", "entry")
    same = line(WIDTH, Span("O2  "), Span("9", "entry"), Span(" mg/L", "dim"))
    assert list(cells.changed(before, same, 1)) == [cells.Run(1, 4, "9", "entry")]


def test_each_color_is_sent_once_and_the_terminal_gets_its_own_back() -> None:
    before = [blank(WIDTH)] * HEIGHT
    row = line(WIDTH, Span("a", "entry"), Span("b", "dim"), Span("c", "entry"), Span("d", "dim"))
    sent = changes(before, [row] * HEIGHT, "day")
    assert sent.count("38;2;") == 2
    assert sent.count("48;2;") == 1
    assert sent.endswith("\x1b[0m")


# ---- the program itself


def at_temperature(terminal: Terminal) -> None:
    begin_round(terminal)
    terminal.press("right", "right", "right", "right")
    terminal.wait("T02, stop 5 of 15: Temperature.")


def typed(terminal: Terminal, key: str, words: str) -> int:
    """Press a key, wait for what it writes in the row of the present item; bytes it sent."""
    before = len(terminal.received)
    terminal.send(KEYS.get(key, key))
    terminal.until(lambda: words in terminal.line(3), words)
    while terminal.read(0.1):
        pass
    return len(terminal.received) - before


ACTS = (
    ("18.6\r", "Temperature 18.6 degC kept."),
    ("8.3\r", "Oxygen 8.3 mg/L kept."),
    ("12", " 12_"),
    (KEYS["backspace"] * 2, "> pH                --"),
    (KEYS["right"], "T03, stop 6 of 15"),
    (KEYS["left"], "T02, stop 5 of 15"),
    ("u", "Undone: T02 Oxygen 8.3"),
)
"""What is pressed, and the words by which its page is known."""


def anew(terminal: Terminal, columns: int, rows: int) -> None:
    """Give the window another size, so that all of it is painted."""
    terminal.resize(columns, rows)
    terminal.until(lambda: len(terminal.line(0)) == columns - 1, f"{columns} columns")


@pytest.mark.parametrize(("size", "most"), [((80, 24), MOST), ((120, 40), MOST_WIDE)])
def test_a_digit_sends_little_and_the_page_stands_as_painted_anew(
    tmp_path: Path, size: tuple[int, int], most: int
) -> None:
    with program(demo_in(tmp_path), size=size) as terminal:
        at_temperature(terminal)
        for value in ("18.5", "17.3", "2", "19.6", "4.25"):
            for end in range(1, len(value) + 1):
                assert typed(terminal, value[end - 1], f" {value[:end]}_") <= most
            for end in range(len(value) - 1, -1, -1):
                left = f" {value[:end]}_" if end else " -- "
                assert typed(terminal, "backspace", left) <= most
        for keys, said in ACTS:
            terminal.send(keys)
            terminal.wait(said)
            terminal.read(0.1)
            stood = seen(terminal.screen)
            anew(terminal, size[0] - 1, size[1])
            anew(terminal, *size)
            terminal.until(lambda: seen(terminal.screen) == stood, "the page as it stood")  # noqa: B023


def test_a_page_that_opens_is_painted_once(tmp_path: Path) -> None:
    with program(demo_in(tmp_path)) as terminal:
        terminal.wait("TANKS")
        terminal.send("3")
        terminal.wait("STOCK")
        terminal.send("b")
        terminal.wait("TANKS")
        terminal.send("q")
        heads = [terminal.received.count(f" {name}  ".encode()) for name in ("BOARD", "HANDOVER")]
    assert heads == [2, 1]


def test_a_page_stands_again_after_a_stop(tmp_path: Path) -> None:
    with program(demo_in(tmp_path)) as terminal:
        terminal.wait("TANKS")
        terminal.send("3")
        terminal.wait("STOCK")
        before = len(terminal.received)
        terminal.kill(signal.SIGSTOP)
        terminal.kill(signal.SIGCONT)
        terminal.until(lambda: b" HANDOVER  " in terminal.received[before:], "the page anew")


def test_the_page_below_a_list_that_was_closed_is_painted_whole(tmp_path: Path) -> None:
    with program(demo_in(tmp_path)) as terminal:
        at_temperature(terminal)
        stood = seen(terminal.screen)
        terminal.send("\x10")  # ctrl+p: every act by name, over the page
        terminal.wait("An act by name")
        terminal.press("esc")
        terminal.until(lambda: "An act by name" not in terminal.text(), "the walk")
        typed(terminal, "1", " 1_")
        typed(terminal, "backspace", " -- ")
        assert seen(terminal.screen) == stood
