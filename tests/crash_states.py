"""Every state that a pulled plug may leave, of real commands: traced, built, opened, counted.

    python tests/crash_states.py [--samples 40] [--most 8] [--seed 1] [NAME...]

Each act is one real command of the program under strace (`power_traced`); the model of the disk is
`power_cut`, and `crash_seen` opens what it leaves. A row an act; the exit status is 1 where
anything that had been shown as kept was lost, or anything was half. The counts are in
docs/crash-states.md.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import crash_seen
import power_traced
from ledger_support import OFFICE, TROLLEY, one_of_everything, plainly, write
from power_cut import Found, judge
from site_support import NOW, SMALL
from tankwalk.clock import parse_instant, zone
from tankwalk.ledger.store import FILE, Ledger
from tankwalk.plan.start import start_text
from test_ledger import as_version_left_it, known_at
from test_plain import MORNING


class Act(NamedTuple):
    """One command, what has to be there before it, and what is answered."""

    words: tuple[str, ...]
    """Words of the command; {site} and {room} are folders."""
    before: Callable[[Path], None]
    answers: tuple[str, ...] = ()
    own: bool = False
    """A command of this file, for what the program does from a screen."""


def nothing(site: Path) -> None:
    """No site yet."""


def small(site: Path) -> None:
    """A room of two tanks with an empty record."""
    site.mkdir()
    (site / "plan.toml").write_text(SMALL, "utf-8")
    Ledger.open(site / FILE, TROLLEY, create=True).close()


def started(site: Path) -> None:
    """The room that `tankwalk start` makes."""
    site.mkdir()
    tz = zone("America/Chicago")
    day = parse_instant(NOW, tz).day
    (site / "plan.toml").write_text(start_text(day, tz.key), "utf-8")
    Ledger.open(site / FILE, TROLLEY, create=True).close()


def old(version: int) -> Callable[[Path], None]:
    """The small room with a record as an older version left it."""

    def make(site: Path) -> None:
        small(site)
        write(site / FILE, known_at(version))
        with plainly(site / FILE) as db:
            db.execute("PRAGMA synchronous = OFF")
            as_version_left_it(db, version)

    return make


def program(*words: str, site: Path) -> None:
    """A command that is not traced, on the same site and laptop."""
    env = {**os.environ, "TANKWALK_HOME": str(site.parent / "home")}
    subprocess.run([sys.executable, "-m", "tankwalk", *words], env=env, check=True,
                   stdout=subprocess.DEVNULL)  # fmt: skip


def backed_up(site: Path) -> None:
    """A room whose backup on a stick holds three entries, and whose record went on."""
    small(site)
    write(site / FILE, [one for one in known_at(9) if one.station == TROLLEY][:3])
    program(
        "--site", str(site), "backup", str(site.parent / "stick" / "one"), "--now", NOW, site=site
    )
    write(site / FILE, [one for one in known_at(9) if one.station == OFFICE][:2])
    program("--site", str(site), "board", "--now", NOW, site=site)


def filled(site: Path) -> None:
    """A room whose record holds one of everything."""
    small(site)
    write(site / FILE, one_of_everything())


def sheet(site: Path) -> None:
    """A sheet of before, of two tanks and two days."""
    small(site)
    rows = [f"2026-05-0{d},T0{t},{16 + t / 10 + d / 10:.1f},{7 + t / 10:.1f}" for d in (3, 4)
            for t in (1, 2)]  # fmt: skip
    text = "\n".join(["date,tank,temp (degC),do (mg/L)", *rows])
    (site.parent / "old.csv").write_text(f"{text}\n", "utf-8")


WALK = ("--site", "{site}", "walk", "--plain", "--who", "AB", "--now", NOW)

ACTS = {
    "new site": Act(("start", "{site}", "--now", NOW), nothing),
    "round signed": Act((*WALK, "--round", "am"), small, MORNING),
    "round of seven": Act(WALK, started, ("+", "12", "") * 40),
    "one look": Act(
        ("--site", "{site}", "look", "T01", "--item", "do", "--plain", "--who", "AB", "--now", NOW),
        small, ("4.1", "4.0", "1", "16.4", "", "", "1", "", ""),
    ),
    "plan changed": Act(("change", "{site}"), small, own=True),
    "migration from 1": Act(("--site", "{site}", "board", "--now", NOW), old(1)),
    "migration from 8": Act(("--site", "{site}", "board", "--now", NOW), old(8)),
    "page for the printer": Act(
        ("--site", "{site}", "sheet", "--round", "am", "--now", NOW, "--html",
         "{room}/sheet.html"),
        small,
    ),
    "backup": Act(("--site", "{site}", "backup", "{room}/stick/one", "--now", NOW), small),
    "restore": Act(("restore", "{room}/stick/one", "--to", "{site}", "--now", NOW), backed_up),
    "paper typed in": Act(
        ("--site", "{site}", "transcribe", "am", "--plain", "--now", "2026-05-10T09:30"),
        small, ("1", "1", "2", "0700", "0704", "1", "1", "1", "0.05", "0.05", "end"),
    ),
    "export": Act(
        ("--site", "{site}", "export", "{room}/stick/out", "--now", "2026-05-12T07:00"), filled
    ),
    "import": Act(
        ("--site", "{site}", "import", "{room}/old.csv", "--as", "old sheet", "--keep", "--who",
         "AB", "--now", NOW),
        sheet,
    ),
}  # fmt: skip


def change(site: Path) -> None:
    """The plan put in its place as a lead's change of a limit does."""
    from tankwalk.plan.load import read_plan
    from tankwalk.practice.learning import changing
    from tankwalk.practice.site import open_site

    here = open_site(site, TROLLEY, NOW)
    text = SMALL.replace("watch_within = 1.0", "watch_within = 1.5", 1)
    changing._put(here, read_plan(text), "AB", "too many flags")
    print("The limit is 1.5 now.", flush=True)
    here.ledger.close()


def of(name: str, samples: int, seed: int, most: int) -> tuple[Found, float]:
    """Open every state of one act; what was found, and how many seconds it took."""
    act, began = ACTS[name], time.monotonic()
    memory = Path("/dev/shm")  # a sync is written down there just as well, and waits for no disk
    with tempfile.TemporaryDirectory(dir=memory if memory.exists() else None) as folder:
        root = Path(folder).resolve()
        room, scratch = root / "room", root / "scratch"
        for one in (room, room / "stick", room / "home", scratch):
            one.mkdir()
        site = room / "site"
        act.before(site)
        words = [one.format(site=site, room=room) for one in act.words]
        program = [sys.executable, __file__, "--own"] if act.own else [sys.executable, "-m",
                                                                        "tankwalk"]  # fmt: skip
        env = {"TANKWALK_HOME": str(room / "home")}
        answers = "".join(f"{one}\n" for one in act.answers)
        before, events = power_traced.traced([*program, *words], room, root / "log", answers, env)
        found = judge(before, events, crash_seen.site(scratch), samples, seed, most)
    return found, time.monotonic() - began


def main() -> int:
    """Run as a program."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--samples", type=int, default=40)
    parser.add_argument("--most", type=int, default=8)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    if not power_traced.there():
        print("strace does not run here: nothing was traced.")
        return 2
    print("| act | asked of the disk | cuts | states | different | promises | lost | half | s |")
    print("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |")
    total, wrong = [0, 0, 0, 0, 0], 0
    for name in given.names or ACTS:
        found, took = of(name, given.samples, given.seed, given.most)
        counts = (found.states, found.opened, found.promises, len(found.lost), len(found.half))
        total = [a + b for a, b in zip(total, counts, strict=True)]
        print(f"| {name} | {found.events} | {found.points} | {' | '.join(map(str, counts))} | "
              f"{took:.0f} |", flush=True)  # fmt: skip
        for words in (*found.lost[:3], *found.half[:3]):
            print(f"    {words}")
        wrong += len(found.lost) + len(found.half)
    print(f"| all | | | {' | '.join(map(str, total))} | |")
    return 1 if wrong else 0


if __name__ == "__main__":
    if sys.argv[1:2] == ["--own"]:
        change(Path(sys.argv[3]))
    else:
        raise SystemExit(main())
