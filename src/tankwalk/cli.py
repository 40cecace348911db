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
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from tankwalk.ledger.store import Station
    from tankwalk.practice.site import Site
    from tankwalk.screens.app import Start

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


# ---- opening


def _station() -> Station:
    from tankwalk import paths
    from tankwalk.ledger.store import Station

    def new_key() -> str:
        from uuid import uuid4

        return str(uuid4())

    return Station(*paths.station(paths.environment(), new_key))


def _site(arguments: argparse.Namespace, folder: Path | None = None) -> Site:
    from tankwalk import paths
    from tankwalk.practice.site import open_site

    environ = paths.environment()
    chosen = folder or paths.choose_site(arguments.site, environ)
    plans = paths.home(environ) / "plans"
    site = open_site(chosen, _station(), arguments.now, plans=plans)
    paths.remember_site(chosen, environ)
    warning = paths.shared_folder(chosen)
    if warning:
        print(warning, file=sys.stderr)
    return site


def _on_screen(site: Site, first: Start = "board") -> int:
    from tankwalk.screens.app import run

    try:
        words = run(site, first)
    finally:
        site.close()
    if words:
        print(words, file=sys.stderr)
        return 1
    return 0


def _terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def _need_terminal() -> None:
    """Refuse before anything is opened: there is nothing to draw on."""
    if not _terminal():
        raise Refusal(
            "There is no terminal here. Print a page with: tankwalk board; or walk line by line "
            "with: tankwalk walk --plain"
        )


def _open(arguments: argparse.Namespace) -> int:
    _need_terminal()
    return _on_screen(_site(arguments))


def _replay() -> int:
    """Enter the demo's season anew and print every flag as it came up, and how many a day."""
    from pathlib import Path
    from tempfile import TemporaryDirectory

    from tankwalk_demo.replay import days, line, replay

    with TemporaryDirectory() as folder:
        seen = replay(Path(folder), heard=lambda one: print(line(one), flush=True))
    print(f"\n{days(seen.flags)}")
    return 0


def _demo(arguments: argparse.Namespace) -> int:
    if arguments.replay:
        return _replay()
    from pathlib import Path

    from tankwalk import paths

    folder = Path(arguments.to) if arguments.to else paths.home(paths.environment()) / "demo"
    ready = (folder / paths.PLAN).exists()
    if ready and arguments.anew:
        _drop_demo(folder)
        ready = False
    if not ready:
        _make_demo(folder, arguments.now)
    site = _site(arguments, folder)
    if _terminal():
        return _on_screen(site)
    with_pages = [_board_text(site, PRINT_WIDTH), "", _handover_text(site, PRINT_WIDTH)]
    print("\n".join(with_pages))
    print(f"\nThe demo site is in {folder}. In a terminal this command opens it.")
    site.close()
    return 0


def _drop_demo(folder: Path) -> None:
    """Remove a demo site that this program made, and nothing else."""
    from tankwalk import paths
    from tankwalk.ledger.store import FILE
    from tankwalk.plan.file import load

    if load(folder / paths.PLAN).rehearsal is None:
        raise Refusal(f"{folder} holds a working site, no demo: nothing was dropped.")
    for name in (paths.PLAN, FILE, FILE + "-journal"):
        (folder / name).unlink(missing_ok=True)


def _make_demo(folder: Path, now: str | None) -> None:
    from tankwalk.clock import parse_instant, zone
    from tankwalk_demo import make
    from tankwalk_demo.room import plan

    until = None if now is None else parse_instant(now, zone(plan().zone))
    shown = sys.stderr.isatty()

    def progress(part: float) -> None:
        if shown:
            end = "\n" if part >= 1 else ""
            print(f"\rMaking the demo site: {part:4.0%}", end=end, file=sys.stderr, flush=True)

    make(folder, _station(), until=until, progress=progress)


def _start(arguments: argparse.Namespace) -> int:
    from pathlib import Path

    from tankwalk import paths
    from tankwalk.clock import SystemClock, parse_instant, zone
    from tankwalk.ledger.store import FILE, Ledger
    from tankwalk.plan.start import start_text

    folder = Path(arguments.folder)
    plan = folder / paths.PLAN
    tz = zone(arguments.zone or paths.local_zone(paths.environment()))
    now = parse_instant(arguments.now, tz) if arguments.now else SystemClock(tz).now()
    station = _station()
    try:
        if plan.exists():
            raise Refusal(
                f"{plan} is there already: nothing was written. Edit it, or name a new DIR."
            )
        folder.mkdir(parents=True, exist_ok=True)
        part = plan.with_suffix(".partial")
        part.write_text(start_text(now.day, tz.key), "utf-8")
    except OSError as fault:
        raise Refusal(
            f"{folder} cannot be written ({fault.strerror}): no site was made. Name another DIR."
        ) from fault
    try:
        Ledger.open(folder / FILE, station, create=True).close()
    except Refusal:
        part.unlink(missing_ok=True)
        raise
    part.replace(plan)
    paths.remember_site(folder, paths.environment())
    print(
        f"A new site is in {folder}, and tankwalk opens it from now on. "
        f"Edit {plan}, check it with: tankwalk check"
    )
    return 0


def _check(arguments: argparse.Namespace) -> int:
    from tankwalk import paths
    from tankwalk.ledger.inspect import inspect
    from tankwalk.ledger.store import FILE
    from tankwalk.plan.faults import PlanFaults
    from tankwalk.plan.file import load

    folder = paths.choose_site(arguments.site, paths.environment())
    sound = True
    print(f"Site: {folder}")
    try:
        plan = load(folder / paths.PLAN)
        print(f"Plan: sound, {len(plan.tanks)} tanks, {len(plan.items)} items.")
    except PlanFaults as faults:
        print(str(faults))
        sound = False
    shown = sys.stderr.isatty()

    def progress(seen: int) -> None:
        if shown:
            print(f"\r{seen} entries", end="", file=sys.stderr, flush=True)

    gc.enable()
    found = inspect(folder / FILE, progress)
    if shown:
        print("\r", end="", file=sys.stderr)
    for sentence in found.sentences:
        print(f"Record: {sentence}")
    return 0 if sound and found.sound else 1


# ---- pages


def _board_text(site: Site, width: int) -> str:
    from tankwalk.pages import board as page
    from tankwalk.pages.lines import plain
    from tankwalk.practice.board import board

    return plain(page.draw(board(site), width, None))


def _handover_text(site: Site, width: int) -> str:
    from tankwalk.pages import handover as page
    from tankwalk.pages.lines import plain
    from tankwalk.practice.handover import draft

    return plain(page.draw(draft(site), width))


def _width(arguments: argparse.Namespace) -> int:
    if not 40 <= arguments.width <= 400:
        raise Refusal(f"A page is 40 to 400 cells wide, not {arguments.width}.")
    return int(arguments.width)


def _printed(arguments: argparse.Namespace, page: Callable[[Site, int], str]) -> int:
    width = _width(arguments)
    site = _site(arguments)
    print(page(site, width))
    site.close()
    return 0


def _on_paper(arguments: argparse.Namespace, page: Callable[[Site], str]) -> int:
    """Write a page as a file that a browser prints."""
    from pathlib import Path

    from tankwalk.exchange import printed

    site = _site(arguments)
    printed.write(Path(arguments.html), page(site))
    site.close()
    print(f"The page is in {arguments.html}: open it in a browser and print it.")
    return 0


def _board(arguments: argparse.Namespace) -> int:
    if arguments.html is None:
        return _printed(arguments, _board_text)
    from tankwalk.pages import paper
    from tankwalk.practice.blank import last_entry
    from tankwalk.practice.board import board

    def page(site: Site) -> str:
        last = last_entry(site)
        return paper.board(board(site), last)

    return _on_paper(arguments, page)


def _handover(arguments: argparse.Namespace) -> int:
    if arguments.html is None:
        return _printed(arguments, _handover_text)
    from tankwalk.pages import paper
    from tankwalk.practice.handover import draft

    return _on_paper(arguments, lambda site: paper.handover(draft(site)))


def _sheet(arguments: argparse.Namespace) -> int:
    from tankwalk.pages import sheet, sheet_html
    from tankwalk.pages.lines import plain
    from tankwalk.practice import rounds
    from tankwalk.practice.blank import Blank, blank

    def asked(site: Site) -> Blank:
        return blank(site, rounds.named_checklist(site, arguments.round))

    if arguments.html is None:
        return _printed(arguments, lambda site, width: plain(sheet.draw(asked(site), width)))
    return _on_paper(arguments, lambda site: sheet_html.sheet(asked(site)))


def _walk(arguments: argparse.Namespace) -> int:
    if not arguments.plain:
        _need_terminal()
        site = _site(arguments)
        return _on_screen(site, _begun(site, arguments) if arguments.who else "who")
    from tankwalk import plain

    gc.enable()
    site = _site(arguments)
    try:
        return plain.walk(site, _lines(), _say, arguments.who, arguments.round)
    finally:
        site.close()


def _begun(site: Site, arguments: argparse.Namespace) -> Start:
    """The round that is due, or the one named, begun or taken up by the person named."""
    from tankwalk.practice import rounds

    checklist = rounds.named_checklist(site, arguments.round)
    return rounds.begin(site, checklist, arguments.who), site.signs(arguments.who)


def _lines() -> Iterator[str]:
    """Lines of standard input; a byte that is not UTF-8 becomes a mark, never an end."""
    for raw in sys.stdin.buffer:
        yield raw.decode("utf-8", "replace").rstrip("\r\n")


def _say(words: str) -> None:
    print(words, flush=True)


def _calc(arguments: argparse.Namespace) -> int:
    from tankwalk.pages import workings as page
    from tankwalk.pages.lines import plain
    from tankwalk.practice import workings

    if arguments.name is None:
        if arguments.json:
            _print_json(workings.listed())
        else:
            print(plain(page.draw_list(PRINT_WIDTH)))
        return 0
    asked = workings.calculator(arguments.name)
    if not arguments.inputs and not arguments.json and any(i.needed for i in asked.inputs):
        print(plain(page.draw_asked(asked, PRINT_WIDTH)))
        return 0
    typed: dict[str, str] = {}
    for words in arguments.inputs:
        key, equals, value = words.partition("=")
        if not equals:
            raise Refusal(f"{words[:40]!r} is no input: write it as KEY=VALUE.")
        if key in typed:
            raise Refusal(f"{key[:30]} is given twice.")
        typed[key] = value
    done = workings.work(asked.name, typed)
    if arguments.json:
        _print_json(workings.as_json(done))
    else:
        print(plain(page.draw_done(done, PRINT_WIDTH)))
    return 0


def _print_json(value: object) -> None:
    import json

    print(json.dumps(value, ensure_ascii=False, allow_nan=False))


def _meters(arguments: argparse.Namespace) -> int:
    from tankwalk.pages.meters import printed
    from tankwalk.practice.checking import typed_check

    if arguments.found is None:
        return _printed(arguments, lambda site, width: printed(site, arguments.code, width))
    site = _site(arguments)
    done = typed_check(site, arguments.code or "", vars(arguments))
    site.close()
    print(done.sentence)
    return 0 if done.fit else 1


def _backup(arguments: argparse.Namespace) -> int:
    from pathlib import Path

    from tankwalk.ledger.backup import backup

    site = _site(arguments)
    backup(site.ledger.db, Path(arguments.file))
    site.close()
    print(f"A checked copy is in {arguments.file}.")
    return 0
