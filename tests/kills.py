"""`kill -9` at a random moment, again and again: what was said is there, and nothing is half.

    python tests/kills.py [--many 2000] [--seed 1] [NAME...]

A Python that has the program loaded is forked, does one act on a real disk, and is killed at a
drawn moment of the time that the act takes: a command of `crash_states.ACTS`, or entries one after
another. Then the site is opened as the next person would. Each part of it (record, plan, copy) must
be as it was before the act or as it is after it, and as after it where the act had said its last
word; of entries each one that was said is there. Every tenth time the act is done again, whole. The
exit status is 1 where anything was lost or half.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import crash_seen
import crash_states
from forked import forked
from ledger_support import TROLLEY, plainly, temp
from power_cut import Parts, look
from tankwalk import cli
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.store import FILE, Ledger

ENTRIES = "entries"
NAMES = (ENTRIES, "new site", "plan changed", "migration from 1", "migration from 8", "backup",
         "restore", "import", "export")  # fmt: skip
PASSING_BY = {"seals": "not what this laptop saw"}
"""What may be found in the middle of an act and leads on: a restore cut off is done again."""


NOT_AGAIN = ("backup", "plan changed")
"""Acts that come to something else when they are done a second time."""


class Killed(NamedTuple):
    """What came of it."""

    kills: int
    ended: int
    """Times that the act had ended before it was killed."""
    acknowledged: int
    """Entries, or acts, that were said to be kept."""
    lost: tuple[str, ...]
    half: tuple[str, ...]


def _child(act: Callable[[], object], out: Path, answers: Path) -> int:
    """Another process that does this, what it says in a file; its number."""

    def alone() -> None:
        for name, handle, how in ((answers, 0, os.O_RDONLY), (out, 1, os.O_WRONLY | os.O_CREAT),
                                  (Path(f"{out}.err"), 2, os.O_WRONLY | os.O_CREAT)):  # fmt: skip
            os.dup2(os.open(name, how, 0o600), handle)
        sys.stdin, sys.stdout, sys.stderr = os.fdopen(0), os.fdopen(1, "w"), os.fdopen(2, "w")
        act()

    return forked(alone)


def _append(path: Path) -> None:
    """Entries, in turn alone and three together, and each is said when it was kept."""
    with Ledger.open(path, TROLLEY) as ledger:
        done = 0
        while True:
            together = 3 if done % 4 == 0 else 1
            with ledger.writing():
                kept = [ledger.append(*temp(k, 10 + k / 100)) for k in range(done, done + together)]
            done += together
            print(*kept, flush=True)


def _of_entries(root: Path, draw: random.Random, made: Path) -> tuple[int, str, str]:
    site = root / "site"
    shutil.copytree(made, site)
    out, path = root / "out", site / FILE
    pid = _child(lambda: _append(path), out, Path(os.devnull))
    time.sleep(draw.uniform(0.005, 0.25))
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    said = out.read_text().split("\n")[:-1] if out.exists() else []
    told = [int(n) for line in said for n in line.split()]
    found = inspect(path)
    with plainly(path) as db:
        kept = dict(db.execute("SELECT n, value FROM readings").fetchall())
    lost = [n for n in told if kept.get(n) != 10 + (n - 1) / 100]
    sizes, n = set(), 0
    while n <= len(kept):  # what is kept together is kept together
        sizes.add(n)
        n += 3 if n % 4 == 0 else 1
    half = "" if found.sound and len(kept) in sizes else f"{len(kept)} entries {found.sentences}"
    return len(told), f"entries {lost[:5]}" if lost else "", half


class _Act:
    """A command, made ready once: what is there before it, after it, and how long it takes."""

    def __init__(self, name: str, root: Path) -> None:
        self.act, self.made = crash_states.ACTS[name], root / "made"
        self.seen = crash_seen.site(_folder(root / "scratch"))
        room = _folder(self.made)
        for one in ("stick", "home"):
            _folder(room / one)
        station = '{"key": "3f6a-laptop", "name": "laptop"}'
        (room / "home" / "station.json").write_text(station)
        self.act.before(room / "site")
        (root / "answers").write_text("".join(f"{one}\n" for one in self.act.answers))
        self.answers = root / "answers"
        self.before = self.seen(look(room))
        whole = root / "room"  # one path for all, which the laptop's own files name
        shutil.copytree(room, whole)
        began = time.monotonic()
        _, status = os.waitpid(self.begin(whole, root / "out"), 0)
        self.takes = time.monotonic() - began
        self.after = self.seen(look(whole))
        if os.waitstatus_to_exitcode(status):
            raise RuntimeError((root / "out.err").read_text()[-500:])
        shutil.rmtree(whole)

    def begin(self, room: Path, out: Path) -> int:
        words = [one.format(site=room / "site", room=room) for one in self.act.words]
        os.environ["TANKWALK_HOME"] = str(room / "home")
        return _child(lambda: self._do(words, room), out, self.answers)

    def _do(self, words: list[str], room: Path) -> None:
        if self.act.own:
            crash_states.change(room / "site")
        elif cli.main(words) not in (0, 1):
            raise RuntimeError("the command refused")

    def wrong(self, found: Parts, ended: bool) -> tuple[str, str]:
        """What is lost and what is half of what is found."""
        lost, half = "", ""
        for name in found.keys() | self.before.keys() | self.after.keys():
            here, was, is_now = (one.get(name, "") for one in (found, self.before, self.after))
            if here == is_now or (not ended and here in (was, PASSING_BY.get(name))):
                continue
            if ended and here == was:
                lost = f"{name}: {here[:200]}"
            else:
                half = f"{name}: {here[:200]}"
        return lost, half


def _folder(path: Path) -> Path:
    path.mkdir(parents=True)
    return path


def killed(name: str, many: int, seed: int) -> Killed:
    """Kill one act many times."""
    draw, ended, told = random.Random(f"{seed} {name}"), 0, 0
    lost, half = list[str](), list[str]()
    with tempfile.TemporaryDirectory() as base:
        root = Path(base).resolve()
        act = None if name == ENTRIES else _Act(name, root)
        if act is None:
            crash_states.small(root / "made")
        for k in range(many):
            if act is None:
                here = _folder(root / "kill")
                count, gone, broken = _of_entries(here, draw, root / "made")
                told += count
            else:
                here, out = root / "room", root / f"out-{k}"
                shutil.copytree(act.made, here)
                pid = act.begin(here, out)
                time.sleep(draw.uniform(0, 1.05 * act.takes))
                os.kill(pid, signal.SIGKILL)
                done = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 0
                ended += done
                told += done
                gone, broken = act.wrong(act.seen(look(here)), done)
                if not (gone or broken) and k % 10 == 0 and name not in NOT_AGAIN:
                    os.waitpid(act.begin(here, out), 0)
                    again = act.seen(look(here))
                    if again.get("record", "") != act.after["record"]:
                        broken = f"done again: {again.get('record', '')[:200]}"
                    if name == "export" and again != act.after:
                        broken = "done again: another export"
            lost += [f"{name} {k}: {gone}"] if gone else []
            half += [f"{name} {k}: {broken}"] if broken else []
            shutil.rmtree(here)
    return Killed(many, ended, told, tuple(lost), tuple(half))


def main() -> int:
    """Run as a program."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--many", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    names = given.names or NAMES
    print("| act | kills | ended before | said to be kept | lost | half | s |")
    print("| --- | ---: | ---: | ---: | ---: | ---: | ---: |")
    wrong, kills = 0, 0
    for name in names:
        began = time.monotonic()
        found = killed(name, given.many // len(names), given.seed)
        print(f"| {name} | {found.kills} | {found.ended} | {found.acknowledged} | "
              f"{len(found.lost)} | {len(found.half)} | {time.monotonic() - began:.0f} |",
              flush=True)  # fmt: skip
        for words in (*found.lost[:3], *found.half[:3]):
            print(f"    {words}")
        wrong += len(found.lost) + len(found.half)
        kills += found.kills
    print(f"| all | {kills} | | | {wrong} lost or half | | |")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
