"""The command line: parse, call, print. Everything heavy is imported by the command that needs it.

Exit status: 0 done, 1 the answer is "no", 2 unusable input. Errors are one sentence on standard
error, never a traceback.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys

from tankwalk import __version__
from tankwalk.errors import Refusal

TYPE_CHECKING = False  # what typing.TYPE_CHECKING is, without the 2 ms of importing it
if TYPE_CHECKING:
    from collections.abc import Callable


PRINT_WIDTH = 80
"""Cells of a printed page."""


def main(argv: list[str] | None = None) -> int:
    """Run one command; returns the exit status."""
    # A start makes no garbage worth a pause: the collector waits for the first page.
    gc.disable()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    arguments = _parser().parse_args(argv)
    command: Callable[[argparse.Namespace], int] = arguments.command
    try:
        return command(arguments)
    except Refusal as refusal:
        print(str(refusal), file=sys.stderr)
        return 2
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("Stopped. Everything accepted is kept.", file=sys.stderr)
        return 1


def _help_lines(prog: str) -> argparse.HelpFormatter:
    """Help as wide as the terminal, without the 2 ms of importing shutil to measure it."""
    try:
        columns = os.get_terminal_size(1).columns
    except (OSError, ValueError):
        columns = 80
    return argparse.HelpFormatter(prog, width=max(40, columns - 2))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="tankwalk",
        formatter_class=_help_lines,
        description="The record a larval-fish hatchery carries through its daily rounds.",
        epilog="Without a command: open the site on the screen. It records and reminds; it "
        "controls no equipment and replaces no alarm.",
    )
    parser.add_argument("--version", action="version", version=f"tankwalk {__version__}")
    shared = argparse.ArgumentParser(add_help=False, formatter_class=_help_lines)
    for one in (parser, shared):
        default = None if one is parser else argparse.SUPPRESS
        one.add_argument("--site", metavar="DIR", default=default, help="the site's folder")
        one.add_argument(
            "--now", metavar="INSTANT", default=default, help="fix the clock (2026-05-10T06:50)"
        )
    parser.set_defaults(command=_open)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", prog="tankwalk")

    def add(
        name: str, command: Callable[[argparse.Namespace], int], words: str
    ) -> argparse.ArgumentParser:
        one = commands.add_parser(
            name, parents=[shared], help=words, description=words, formatter_class=_help_lines
        )
        one.set_defaults(command=command)
        return one

    demo = add("demo", _demo, "make the demo site and open it (prints it without a terminal)")
    demo.add_argument("--to", metavar="DIR", help="where to make it")
    demo.add_argument("--anew", action="store_true", help="make it anew, dropping what was there")
    demo.add_argument("--replay", action="store_true", help="print what was flagged when")
    start = add("start", _start, "make a new site with a commented plan")
    start.add_argument("folder", metavar="DIR")
    start.add_argument("--zone", default="", help="time zone, such as America/Chicago")
    add("check", _check, "check the plan and the record's chain")
    walk = add("walk", _walk, "walk the round that is due")
    walk.add_argument("--plain", action="store_true", help="answers line by line from standard in")
    walk.add_argument("--who", metavar="INITIALS", help="who walks")
    walk.add_argument("--round", metavar="CODE", help="which checklist")
    for name, command, words in (
        ("board", _board, "print the board"),
        ("handover", _handover, "print the handover"),
        ("sheet", _sheet, "print a round to fill in with a pencil, for a power cut"),
    ):
        page = add(name, command, words)
        page.add_argument("--width", type=int, default=PRINT_WIDTH, help="cells a line (80)")
        page.add_argument("--html", metavar="FILE", help="write it for the printer instead")
    page.add_argument("--round", metavar="CODE", help="which checklist")
    calc = add("calc", _calc, "work a calculator, with its working (without a name: the list)")
    calc.add_argument("name", nargs="?", metavar="NAME", help="which calculator")
    calc.add_argument(
        "inputs", nargs="*", metavar="KEY=VALUE", help='such as temperature="68 degF"'
    )
    calc.add_argument("--json", action="store_true", help="print one JSON object")
    meters = add("meters", _meters, "print the meters, or enter the check of one")
    meters.set_defaults(width=PRINT_WIDTH)
    meters.add_argument("code", nargs="?", metavar="CODE", help="which meter")
    meters.add_argument("--found", metavar="X", help="what it showed, before anything was set")
    meters.add_argument("--left", metavar="X", help="what it showed after it was set")
    meters.add_argument("--who", metavar="INITIALS", help="who checked it")
    meters.add_argument("--temp", metavar="X", help="in the cup, for a meter that shows mg/L")
    meters.add_argument("--barometer", metavar="X", help="of this room, for such a meter")
    backup = add("backup", _backup, "write a checked copy of the record")
    backup.add_argument("file", metavar="FILE")
    return parser


# ---- the commands, each loaded when it is called


def _open(arguments: argparse.Namespace) -> int:
    from tankwalk.commands.common import open_screen

    return open_screen(arguments)


def _demo(arguments: argparse.Namespace) -> int:
    from tankwalk.commands.demo import demo

    return demo(arguments)


def _start(arguments: argparse.Namespace) -> int:
    from tankwalk.commands.sites import start

    return start(arguments)


def _check(arguments: argparse.Namespace) -> int:
    from tankwalk.commands.sites import check

    return check(arguments)


def _backup(arguments: argparse.Namespace) -> int:
    from tankwalk.commands.sites import backup_to

    return backup_to(arguments)


def _walk(arguments: argparse.Namespace) -> int:
    from tankwalk.commands.rounds import walk

    return walk(arguments)


def _board(arguments: argparse.Namespace) -> int:
    from tankwalk.commands.pages import board_page

    return board_page(arguments)


def _handover(arguments: argparse.Namespace) -> int:
    from tankwalk.commands.pages import handover_page

    return handover_page(arguments)


def _sheet(arguments: argparse.Namespace) -> int:
    from tankwalk.commands.pages import sheet_page

    return sheet_page(arguments)


def _meters(arguments: argparse.Namespace) -> int:
    from tankwalk.commands.pages import meters

    return meters(arguments)


def _calc(arguments: argparse.Namespace) -> int:
    from tankwalk.commands.calculators import calc

    return calc(arguments)
