"""A real terminal for tests and pictures: a program in a pty, its screen emulated, keys sent."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import termios
import time
import warnings
from collections.abc import Callable, Mapping, Sequence
from html import escape
from types import TracebackType

import pyte

KEYS = {
    "enter": "\r", "esc": "\x1b", "up": "\x1b[A", "down": "\x1b[B", "right": "\x1b[C",
    "left": "\x1b[D", "backspace": "\x7f", "tab": "\t", "home": "\x1b[H",
}  # fmt: skip

# Sequences the emulator would print instead of swallow.
_UNKNOWN = re.compile(
    rb"\x1b\[[<=>][0-9;:]*[ -/]*[@-~]|\x1b\[\?[0-9;]*\$[py]|\x1b\[\?u"
    rb"|\x1b[P_^X].*?\x1b\\|\x1b\].*?(?:\x07|\x1b\\)",
    re.S,
)


class Terminal:
    """One program on one emulated terminal."""

    def __init__(
        self,
        command: Sequence[str],
        env: Mapping[str, str],
        size: tuple[int, int] = (80, 24),
        first: Callable[[], None] | None = None,
    ) -> None:
        """Start the program; `first` is done in its process before it begins (limits, signals)."""
        self.columns, self.rows = size
        self.screen = pyte.Screen(*size)
        self._stream = pyte.ByteStream(self.screen)
        self.received = b""
        with warnings.catch_warnings():
            # Python 3.12 warns of a fork beside other threads; the child becomes a program at once.
            warnings.simplefilter("ignore", DeprecationWarning)
            self.pid, self.master = pty.fork()
        if self.pid == 0:
            if first is not None:
                first()
            # Test runners set COLUMNS and LINES, which would stand before the terminal's own size.
            outside = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "LINES")}
            surroundings = {
                **outside, "TERM": "xterm-256color", "COLORTERM": "truecolor",
                "LANG": "C.UTF-8", **env,
            }  # fmt: skip
            try:
                os.execvpe(command[0], list(command), surroundings)
            finally:
                os._exit(127)
        self.resize(*size)

    def __enter__(self) -> Terminal:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.kill(signal.SIGKILL)
        os.close(self.master)

    def resize(self, columns: int, rows: int) -> None:
        self.columns, self.rows = columns, rows
        fcntl.ioctl(self.master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self.screen.resize(rows, columns)

    def read(self, seconds: float) -> bytes:
        """Read until nothing comes for `seconds`."""
        got = b""
        while select.select([self.master], [], [], seconds)[0]:
            try:
                piece = os.read(self.master, 65536)
            except OSError:
                break
            if not piece:
                break
            got += piece
        self.received += got
        self.feed(got)
        return got

    def feed(self, got: bytes) -> None:
        """Put bytes of the program on the emulated screen."""
        self._stream.feed(_UNKNOWN.sub(b"", got))

    def send(self, text: str | bytes) -> None:
        """Write to the keyboard; a long text goes as the program takes it."""
        data = text.encode() if isinstance(text, str) else text
        while data := data[os.write(self.master, data[:2048]) :]:
            self.read(0.02)

    def press(self, *keys: str, quiet: float = 0.05) -> None:
        """Send keys one by one, waiting for what each paints (a busy machine takes its time)."""
        for key in keys:
            self.send(KEYS.get(key, key))
            select.select([self.master], [], [], 2.0)
            self.read(quiet)

    def wait(self, words: str, seconds: float = 15.0) -> None:
        """Read until the screen shows these words; else AssertionError with the screen."""
        self.until(lambda: words in self.text(), repr(words), seconds)

    def until(self, there: Callable[[], bool], what: str, seconds: float = 15.0) -> None:
        """Read until something is so; else AssertionError with the screen."""
        end = time.monotonic() + seconds
        while not there():
            while not self.read(0.01):
                if time.monotonic() > end:
                    raise AssertionError(f"never saw {what} on:\n{self.text()}")

    def line(self, row: int) -> str:
        """One row of the screen, counted from 0, or from the last with -1."""
        cells = self.screen.buffer[row % self.rows]
        return "".join(cells[x].data for x in range(self.columns)).rstrip()

    def text(self) -> str:
        return "\n".join(line.rstrip() for line in self.screen.display)

    def kill(self, number: signal.Signals) -> None:
        try:
            os.kill(self.pid, number)
        except ProcessLookupError:
            return
        if number is signal.SIGKILL:
            self.ended()

    def hung_up(self) -> int:
        """Tear the terminal away, as a lost line does; the program's exit status."""
        os.close(self.master)
        self.master = os.open(os.devnull, os.O_RDWR)
        return self.ended()

    def ended(self, seconds: float = 10.0) -> int:
        """Wait for the program to end; its exit status, minus the signal that ended it."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            try:
                pid, status = os.waitpid(self.pid, os.WNOHANG)
            except ChildProcessError:
                return 0
            if pid:
                self.read(0.05)
                return os.waitstatus_to_exitcode(status)
            self.read(0.02)
        raise AssertionError(f"still running:\n{self.text()}")

    # ---- pictures

    def svg(self, title: str) -> str:
        """The screen as a self-contained picture, as painted."""
        cell_w, cell_h = 9.03, 19
        width, height = self.columns * cell_w, self.rows * cell_h
        out = [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width + 16:.0f}" '
            f'height="{height + 16:.0f}" font-family="DejaVu Sans Mono, monospace" '
            f'font-size="15"><title>{escape(title)}</title>'
            '<rect width="100%" height="100%" fill="#10151a"/>'
        ]
        for y in range(self.rows):
            row = self.screen.buffer[y]
            x = 0
            while x < self.columns:
                first = row[x]
                look = _look(first)
                end = x + 1
                while end < self.columns and _look(row[end]) == look:
                    end += 1
                words = "".join(row[i].data or "" for i in range(x, end))
                fore, back, bold = look
                left, top = 8 + x * cell_w, 8 + y * cell_h
                if back != "#10151a":
                    out.append(
                        f'<rect x="{left:.1f}" y="{top}" width="{(end - x) * cell_w:.1f}" '
                        f'height="{cell_h}" fill="{back}"/>'
                    )
                if words.strip():
                    weight = ' font-weight="bold"' if bold else ""
                    out.append(
                        f'<text x="{left:.1f}" y="{top + 14.5}" fill="{fore}"{weight} '
                        f'textLength="{(end - x) * cell_w:.1f}" xml:space="preserve">'
                        f"{escape(words)}</text>"
                    )
                x = end
        return "\n".join([*out, "</svg>\n"])


def _look(cell: pyte.screens.Char) -> tuple[str, str, bool]:
    fore, back = _colour(cell.fg, "#d6d3ca"), _colour(cell.bg, "#10151a")
    return (back, fore, cell.bold) if cell.reverse else (fore, back, cell.bold)


_NAMED = {
    "black": "#000000", "red": "#b23a00", "green": "#9fc9a8", "brown": "#e69f00",
    "blue": "#8fb6c9", "magenta": "#cc79a7", "cyan": "#56b4e9", "white": "#d6d3ca",
}  # fmt: skip


def _colour(name: str, default: str) -> str:
    if name == "default":
        return default
    return _NAMED.get(name) or f"#{name}"
