"""The command line: parse, call, print. Everything heavy is imported by the command that needs it.

Exit status: 0 done, 1 the answer is "no", 2 unusable input. Errors are one sentence on standard
error, never a traceback.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from importlib import import_module

from tankwalk import __version__
from tankwalk.errors import Refusal

TYPE_CHECKING = False  # what typing.TYPE_CHECKING is, without the 2 ms of importing it
if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import NoReturn


PRINT_WIDTH = 80
"""Cells of a printed page."""


def main(argv: list[str] | None = None) -> int:
    """Run one command; returns the exit status."""
    # A start makes no garbage worth a pause: the collector waits for the first page.
    gc.disable()
    _stand_in_for_closed_streams()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    words = sys.argv[1:] if argv is None else argv
    status = 0
    try:
        if sys.stdout is None:
            raise Refusal(
                "Standard output is closed, so nothing could be shown: nothing was done. "
                "Send it to a file or to /dev/null."
            )
        arguments = _parser(words).parse_args(words)
        status = _called(arguments.command)(arguments)
        sys.stdout.flush()
    except Refusal as refusal:
        status = _ended(str(refusal), 2)
    except BrokenPipeError:  # who reads a page may stop where they have read enough
        _drop_output()
    except OSError as fault:
        status = _ended(_os_sentence(fault), 2)
    except KeyboardInterrupt:
        status = _ended("Stopped. Everything accepted is kept.", 1)
    return status


def _stand_in_for_closed_streams() -> None:
    """Where standard input, output or error is closed, nothing that is opened may take its place.

    The record would else be written where something prints. What goes to a closed standard error
    goes nowhere; a closed standard output stays None, and is refused.
    """
    if None in (sys.stdin, sys.stdout, sys.stderr):
        while (opened := os.open(os.devnull, os.O_RDWR)) <= 2:
            pass
        os.close(opened)
        if sys.stderr is None:
            sys.stderr = open(os.devnull, "w", encoding="utf-8")


def _ended(sentence: str, status: int) -> int:
    """Say how it ended; what was still to be printed is printed before, where that can be."""
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
    except OSError:
        _drop_output()
    print(sentence, file=sys.stderr)
    return status


def _drop_output() -> None:
    """What is still to be printed goes nowhere, so that leaving does not try it again."""
    with open(os.devnull, "wb") as nowhere:
        os.dup2(nowhere.fileno(), sys.stdout.fileno())


def _os_sentence(fault: OSError) -> str:
    """What the system refused, in one sentence."""
    reason = fault.strerror or type(fault).__name__
    if fault.filename is None:
        return (
            f"Standard output does not take what is printed ({reason}): it is cut short there. "
            "Everything accepted is kept."
        )
    return f"{fault.filename} could not be used ({reason}). Everything accepted is kept."


# ---- what each command takes


def _demo(one: argparse.ArgumentParser) -> None:
    one.add_argument("--to", metavar="DIR", help="where to make it")
    one.add_argument("--anew", action="store_true", help="make it anew, dropping what was there")
    one.add_argument("--replay", action="store_true", help="print what was flagged when")


def _start(one: argparse.ArgumentParser) -> None:
    one.add_argument("folder", metavar="DIR")
    one.add_argument("--zone", default="", help="time zone, such as America/Chicago")
    one.add_argument(
        "--plan-from-record", action="store_true", help="write the plan that the record there holds"
    )
    one.add_argument(
        "--new-record", action="store_true", help="begin an empty record beside the plan there"
    )


def _walk(one: argparse.ArgumentParser) -> None:
    one.add_argument("--plain", action="store_true", help="answers line by line from standard in")
    one.add_argument("--who", metavar="INITIALS", help="who walks")
    one.add_argument("--round", metavar="CODE", help="which checklist")


def _transcribe(one: argparse.ArgumentParser) -> None:
    one.add_argument(
        "checklist", nargs="?", metavar="CHECKLIST", help="which round, by its code (else asked)"
    )
    one.add_argument("--plain", action="store_true", help="answers line by line from standard in")
    one.add_argument("--who", metavar="INITIALS", help="who types it in")


def _look(one: argparse.ArgumentParser) -> None:
    one.add_argument("place", metavar="PLACE", help="a tank, a loop, or site")
    one.add_argument("--item", action="append", metavar="ITEM", help="only this (may be repeated)")
    one.add_argument("--plain", action="store_true", help="answers line by line from standard in")
    one.add_argument("--who", metavar="INITIALS", help="who looks")


def _feed(one: argparse.ArgumentParser) -> None:
    one.add_argument("--plain", action="store_true", help="answers line by line from standard in")
    one.add_argument("--who", metavar="INITIALS", help="who gives the meal")
    one.add_argument("--at", metavar="HH:MM", help="which planned meal of today")
    one.add_argument("--given", metavar="HH:MM", help="when it was given, if not now")
    _json(one)
    one.add_argument("--list", action="store_true", help="print the list of a meal")
    one.add_argument("--tomorrow", action="store_true", help="print what tomorrow's meals need")
    one.add_argument("--week", metavar="TANK", help="what a tank or treatment was given by day")
    one.add_argument("--days", type=int, default=7, metavar="N", help="so many days, today last")


def _page(one: argparse.ArgumentParser) -> None:
    one.add_argument("--width", type=int, default=PRINT_WIDTH, help="columns per line (80)")
    one.add_argument("--html", metavar="FILE", help="write it for the printer instead")


def _sheet(one: argparse.ArgumentParser) -> None:
    _json(one)
    one.add_argument("--round", metavar="CODE", help="which checklist")


def _calc(one: argparse.ArgumentParser) -> None:
    one.add_argument("name", nargs="?", metavar="NAME", help="which calculator")
    one.add_argument("inputs", nargs="*", metavar="KEY=VALUE", help='such as temperature="68 degF"')
    one.add_argument("--json", action="store_true", help="print one JSON object")


def _meters(one: argparse.ArgumentParser) -> None:
    _json(one)
    one.add_argument("code", nargs="?", metavar="CODE", help="which meter")
    one.add_argument("--found", metavar="X", help="what it showed, before anything was set")
    one.add_argument("--left", metavar="X", help="what it showed after it was set")
    one.add_argument("--who", metavar="INITIALS", help="who checked it")
    one.add_argument("--temp", metavar="X", help="in the cup, for a meter that shows mg/L")
    one.add_argument("--barometer", metavar="X", help="of this room, for such a meter")


def _count(one: argparse.ArgumentParser) -> None:
    one.add_argument("batch", nargs="?", metavar="BATCH", help="what is counted (else asked)")
    one.add_argument("--plain", action="store_true", help="numbers line by line from standard in")
    one.add_argument("--who", metavar="INITIALS", help="who counts")


def _guided(one: argparse.ArgumentParser) -> None:
    how = "a batch under way, or decapsulate or disinfect (else asked)"
    one.add_argument("name", nargs="?", metavar="NAME", help=how)
    one.add_argument("--plain", action="store_true", help="step by step from standard in")
    one.add_argument("--who", metavar="INITIALS", help="who does it")


def _sample(one: argparse.ArgumentParser) -> None:
    _json(one)
    one.add_argument("tank", metavar="TANK", help="whose fish are looked at")
    one.add_argument("--plain", action="store_true", help="numbers line by line from standard in")
    one.add_argument("--who", metavar="INITIALS", help="who looks at them")
    one.add_argument("--list", action="store_true", help="print the newest sitting")


def _livefeed(one: argparse.ArgumentParser) -> None:
    _json(one)
    one.add_argument("name", nargs="?", metavar="NAME", help="a batch, a tank or a treatment")


def _tank(one: argparse.ArgumentParser) -> None:
    _json(one)
    one.add_argument("place", metavar="PLACE", help="a tank, a loop, site, a meter or a batch")
    one.add_argument("--days", type=int, default=14, metavar="N", help="so many days (14)")
    one.add_argument("--back", type=int, default=0, metavar="N", help="end so many days before")
    one.add_argument("--item", default="", metavar="ITEM", help="drawn first, by its code")


def _trial(one: argparse.ArgumentParser) -> None:
    _json(one)
    one.add_argument("--measure", metavar="M", help="which measure, by its code (the primary one)")
    one.add_argument("--until", metavar="DAY", help="as of the end of a day (2026-05-10)")
    one.add_argument("--arcsine", action="store_true", help="test shares by their arcsine")
    one.add_argument("--csv", metavar="DIR", help="write all tables as CSV files in a folder")
    one.add_argument("--unit", metavar="UNIT", default="tank", help="what n counts: tank, only")


def _find(one: argparse.ArgumentParser) -> None:
    one.add_argument("words", nargs="+", metavar="WORDS", help="all of them have to be there")
    _json(one)
    _since(one)


def _season(one: argparse.ArgumentParser) -> None:
    _json(one)
    _since(one)
    one.add_argument("--until", metavar="DAY", help="the end, if not now")


def _judging(one: argparse.ArgumentParser) -> None:
    _json(one)
    one.add_argument("place", nargs="?", metavar="PLACE", help="a tank or a loop (else all)")
    one.add_argument("item", nargs="?", metavar="ITEM", help="an item there, by its code")
    one.add_argument("--days", type=int, default=30, metavar="N", help="so many days (30)")
    one.add_argument("--low", type=float, metavar="X", help="try it as lowest in band")
    one.add_argument("--high", type=float, metavar="X", help="try it as highest in band")
    one.add_argument("--within", type=float, metavar="X", help="try it as distance from the target")


def _since(one: argparse.ArgumentParser) -> None:
    one.add_argument("--since", metavar="DAY", help="a day (2026-05-01), or so many days (10d)")


def _json(one: argparse.ArgumentParser) -> None:
    """A page that is also printed as one JSON object."""
    _page(one)
    one.add_argument("--json", action="store_true", help="print one JSON object")


def _stock(one: argparse.ArgumentParser) -> None:
    _json(one)
    one.add_argument("tank", nargs="?", metavar="TANK", help="one tank (else all)")
    one.add_argument("--ledger", action="store_true", help="the animal-use ledger")


def _check(one: argparse.ArgumentParser) -> None:
    one.add_argument("--seal", metavar="WORDS", help="a seal from a printed page: 9228-ABCD-EFGH")


def _backup(one: argparse.ArgumentParser) -> None:
    one.add_argument(
        "file", nargs="?", metavar="FOLDER", help="where to put it (else where the plan says)"
    )
    one.add_argument(
        "--rehearse",
        action="store_true",
        help="try the newest one out (of FOLDER, where it is named): restore it aside and check it",
    )
    one.add_argument("--aside", action="store_true", help=argparse.SUPPRESS)  # behind a sign-off


def _restore(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="FOLDER", help="a backup, the disk it is on, or a record file")
    one.add_argument("--to", metavar="DIR", help="the site's folder, if not the one in use")


def _import(one: argparse.ArgumentParser) -> None:
    _json(one)
    one.add_argument(
        "file", nargs="?", metavar="FILE", help="a CSV file (else list what was imported)"
    )
    one.add_argument(
        "--as", dest="source", metavar="NAME", help="its source: a logger of the plan, or any name"
    )
    one.add_argument("--keep", action="store_true", help="keep it; without this it is only shown")
    one.add_argument("--ask", action="store_true", help="ask by number, from standard in")
    one.add_argument("--to", metavar="DIR", help="make a new site there, of a whole export")
    one.add_argument("--undo", type=int, metavar="N", help="take import N back, all of it")
    one.add_argument("--who", metavar="INITIALS", help="who keeps it or takes it back")
    one.add_argument(
        "--column",
        action="append",
        metavar="NAME=WHAT",
        help='what a column holds: "Probe 1=T01 temp degC"',
    )
    one.add_argument(
        "--called",
        action="append",
        metavar="NAME=PLACE",
        help='what the file calls a place: "Tank 1=T01"',
    )
    one.add_argument(
        "--place", metavar="PLACE", help="where it was measured, if the file does not say"
    )
    one.add_argument("--item", metavar="ITEM", help="what was measured, if the file does not say")
    one.add_argument("--dates", metavar="ORDER", help="day-first or month-first")
    one.add_argument(
        "--zone", metavar="ZONE", help="what its clock was set to: America/Chicago, -05:00"
    )
    one.add_argument("--at", metavar="HH:MM", help="time of day for dates without one (12:00)")
    one.add_argument("--decimal", choices=("comma", "point"), help="the decimal mark")
    one.add_argument("--head", type=int, metavar="N", help="which line names the columns")
    one.add_argument(
        "--refused", metavar="FILE", help="write each cell not taken, and why, to a CSV file"
    )


def _export(one: argparse.ArgumentParser) -> None:
    one.add_argument("folder", metavar="DIR", help="a new folder")
    one.add_argument(
        "--from", dest="first", metavar="DAY", help="the first day (2026-05-01), or 10d"
    )
    one.add_argument("--to", dest="last", metavar="DAY", help="the last day")
    one.add_argument(
        "--tank", action="append", metavar="PLACE", help="only this place (may be repeated)"
    )
    one.add_argument(
        "--item", action="append", metavar="ITEM", help="only this item (may be repeated)"
    )
    one.add_argument(
        "--flavor", choices=("plain", "spreadsheet"), default="plain",
        help="spreadsheet: no cell can run as a formula",
    )  # fmt: skip
    one.add_argument("--parquet", action="store_true", help="Parquet files beside the CSV files")


def _nothing(one: argparse.ArgumentParser) -> None:
    """A command that takes nothing of its own."""


COMMANDS = (
    ("demo", "demo.demo", _demo, "make the demo site and open it (prints it without a terminal)"),
    ("start", "sites.start", _start, "make a new site with a commented plan"),
    ("check", "sites.check", _check, "check plan and record, and hold a printed seal against them"),
    ("walk", "rounds.walk", _walk, "walk the round that is due"),
    ("look", "rounds.look", _look, "look at one place: a small round that signs itself"),
    ("count", "rounds.count", _count, "count sub-samples one after another: enough yet?"),
    ("guided", "rounds.guided", _guided, "take shells off cysts, or disinfect gear, step by step"),
    ("sample", "samples.sample", _sample, "look at the fish of a tank one by one: enough yet?"),
    ("samples", "samples.samples", _json, "print the samples of all tanks, and what fish grew"),
    ("feed", "feed.feed", _feed, "give the meal that is due, tank by tank"),
    ("board", "pages.board_page", _json, "print the board"),
    ("handover", "pages.handover_page", _json, "print the handover"),
    ("sheet", "pages.sheet_page", _sheet, "print a round for a pencil, for a power cut"),
    ("transcribe", "rounds.transcribe", _transcribe, "type in a round that was walked on paper"),
    ("calc", "calculators.calc", _calc,
     "work a calculator, with its working (without a name: the list)"),
    ("meters", "pages.meters", _meters, "print the meters, or enter the check of one"),
    ("livefeed", "livefeed.livefeed", _livefeed,
     "print live feed and stock; with a name one batch, or what a tank was fed from"),
    ("tank", "tank.tank", _tank, "print a tank, a loop, a meter or a batch: its past, its story"),
    ("trial", "trial.trial", _trial, "print the treatments compared on the values of tanks"),
    ("find", "find.find", _find, "find words in what people wrote"),
    ("season", "season.season", _season,
     "print what went in, what came out, what went wrong and what it cost"),
    ("judging", "judging.judging", _judging,
     "print the flags of the last days and what came of them; try another limit on them"),
    ("stock", "stock.stock", _stock, "print the stock: book, census, unaccounted; animal use"),
    ("import", "importing.bring_in", _import,
     "show what a CSV file would bring in, keep it, take it back; without a file list them all"),
    ("backup", "keeping.backup", _backup, "make a checked backup of record and plan"),
    ("restore", "keeping.restore", _restore,
     "put a backup in place; what is there is kept under another name"),
    ("export", "export.export", _export,
     "write the record as CSV files that say what they hold, with the plans"),
)  # fmt: skip
"""Each command: its name, the function in `commands/` that does it, what it takes, in a line."""

EXAMPLES = {
    "backup": "backup /media/stick",
    "restore": "restore /media/stick --to hatchery",
    "check": "check --seal 9228-ABCD-EFGH",
    "export": "export may --from 2026-05-01 --to 2026-05-31 --tank T03",
    "import": "import logger.csv --place T03 --as TL1",
    "transcribe": "transcribe am",
    "judging": "judging T05 ph --low 6.9 --high 7.9",
}
"""Commands that are rarely typed, as they are typed."""

OPENS = "common.open_screen"
"""What is done without a command: the site is opened on the board."""


def _called(name: str) -> Callable[[argparse.Namespace], int]:
    """The function of a command, loaded when it is called."""
    module, _, function = name.rpartition(".")
    found: Callable[[argparse.Namespace], int] = getattr(
        import_module(f"tankwalk.commands.{module}"), function
    )
    return found


# ---- the parser


class _Parser(argparse.ArgumentParser):
    """One that says in a sentence what it does not understand."""

    def error(self, message: str) -> NoReturn:
        from tankwalk.commands.mistyped import sentence

        raise Refusal(f"{sentence(message)} Nothing was done. See: {self.prog} --help")


def _parser(words: Sequence[str]) -> argparse.ArgumentParser:
    """What understands these words; of the commands only the one that is named, if one is."""
    parser = _Parser(
        prog="tankwalk",
        formatter_class=_help_lines,
        description="The record a larval-fish hatchery carries through its daily rounds.",
        epilog="Without a command: open the site on the screen. It records and reminds; it "
        "controls no equipment and replaces no alarm.",
    )
    parser.add_argument("--version", action="version", version=f"tankwalk {__version__}")
    _site_and_now(parser, None)
    parser.set_defaults(command=OPENS)
    if _names_no_command(words):  # as most starts: what the commands take is not asked
        return parser
    shared = _Parser(add_help=False, formatter_class=_help_lines)
    _site_and_now(shared, argparse.SUPPRESS)
    listed = parser.add_subparsers(title="commands", metavar="COMMAND", prog="tankwalk")
    # Making all parsers for one command costs a start some milliseconds: the first word decides.
    first = words[0] if words else ""
    for name, function, takes, does in [c for c in COMMANDS if c[0] == first] or COMMANDS:
        command = listed.add_parser(
            name, parents=[shared], help=does, description=does, formatter_class=_help_lines,
            epilog=f"for example: tankwalk {EXAMPLES[name]}" if name in EXAMPLES else None,
        )  # fmt: skip
        command.set_defaults(command=function)
        takes(command)
    return parser


def _names_no_command(words: Sequence[str]) -> bool:
    """Whether these words are options alone, each with its value: the site is opened."""
    pairs = [*zip(words[::2], words[1::2], strict=False)]
    return len(words) == 2 * len(pairs) and all(
        option in ("--site", "--now") and not value.startswith("-") for option, value in pairs
    )


def _site_and_now(one: argparse.ArgumentParser, default: str | None) -> None:
    """The options that stand before a command or after it."""
    one.add_argument("--site", metavar="DIR", default=default, help="the site's folder")
    one.add_argument(
        "--now",
        metavar="INSTANT",
        default=default,
        help="run as if at this time (2026-05-10T06:50)",
    )


def _help_lines(prog: str) -> argparse.HelpFormatter:
    """Help as wide as the terminal, without the 2 ms of importing shutil to measure it."""
    try:
        columns = os.get_terminal_size(1).columns
    except (OSError, ValueError):
        columns = 80
    return argparse.HelpFormatter(prog, width=max(40, columns - 2))
