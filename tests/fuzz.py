"""Rubbish typed, read and imported: each is understood or refused in words, never a traceback.

    python tests/fuzz.py [quantity|plan|csv|plain|words] [--many 1000000] [--from 0]

Input number k is made from seed k alone (so any can be made again): something that somebody might
type or have in a file, changed at a few places by signs that hurt. Whatever is raised other than a
`Refusal` is a crash; it is printed with its seed and its input. The exit status is 1 where any was.
"""

from __future__ import annotations

import argparse
import math
import random
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path

from site_support import NOW, SMALL, opened
from tankwalk import plain, quantity
from tankwalk.clock import parse_instant, zone
from tankwalk.errors import Refusal
from tankwalk.exchange.incoming.dry_run import Trial
from tankwalk.exchange.incoming.understanding import Told
from tankwalk.ledger import chain, proof
from tankwalk.plan.load import read_plan
from tankwalk.practice.site import Site
from tankwalk.units import UNITS
from test_plain import MORNING

SIGNS = (
    *"0123456789.,-+*/<>=%'\"\\;:|#[]{}()eE \t\r\n\0",
    *"\u00a0\u2009\u202f\u200b\u200e\u202e\u2028\ufeff\u00b5\u03bc\u00b0\u2030\u2212\u2032\u00bd",
    *"\u0663\uff15\u00b2\u2462\u0301\u65e5\U0001f41f\ud83d\udfff\x1b\x7f\x85\ue000",
    "1e308", "1e-400", "9" * 40, "inf", "nan", "None", "0x1F", "1_000", "../", "%s", "\x1b[2J",
    "e99999", "1,000.5", "1.000,5", "2026-02-30", "24:60", "''", '"""', "= 1\n[[tank]]\n", "T01",
)  # fmt: skip

VALUES = (
    "17.4", "17,4", "<0.05", "62.1 degF", "1.200", "600,000", "2 ft 6 in", "30\"", "68f", "1e-5",
    "4 %", "90 million", "0.53 mg/L as N", "5 lb 3 oz", "31, 28, 36", "1:10", "-0", "+", "-", "*",
    "/", "12 h", "mS/cm", "7.2 mg L-1", "100 gal", "\u22121.5 mV", "2026-05-10", "0", "120 umol/L",
)  # fmt: skip

FILES = (
    "date,tank,temp (degC),do (mg/L)\n2026-05-03,T01,16.4,7.1\n2026-05-03,T02,16.6,---\n",
    "Tank;Datum;Wert;Einheit\nT01;03.05.2026 07:10;16,4;degC\nT02;03.05.2026 07:12;n/a;degC\n",
    "time\tT01 temp\tT02 temp\n05/03/2026 7:00 AM\t61.5\t61.9\n05/03/2026 8:00 AM\t<0.02\tNA\n",
    '"Logger","L1"\n"Zone","-05:00"\n\n"When","temp"\n"2026-05-03T07:00:00-05:00","16.4"\n',
)
"""Files that somebody might have, with a head, units, dates and gaps of several kinds."""

WORDS = (
    "1234-ABCD-EFGH", "0-0000-0000", "2026-05-10T07:00", "2026-05-10", "2026-W19-7", "07:10",
    "yesterday 7:10", "2026-05-10T07:00-05:00",
)  # fmt: skip


def changed(draw: random.Random, seeds: Sequence[str], most: int = 4) -> str:
    """One of the seeds, changed at a few places."""
    words = draw.choice(seeds)
    for _ in range(draw.randint(0, most)):
        at = draw.randint(0, len(words))
        to = min(len(words), at + draw.choice((0, 0, 1, 1, 2, 5, 20)))
        how = draw.random()
        if how < 0.6:
            middle = draw.choice(SIGNS)
        elif how < 0.75:
            middle = words[at:to] * draw.choice((2, 3, 50))
        elif how < 0.9:
            other = draw.choice(seeds)
            start = draw.randint(0, len(other))
            middle = other[start : start + draw.randint(0, 40)]
        else:
            middle = ""
        words = words[:at] + middle + words[to:]
    return words


# ---- what is done with an input


def _is_one_line(refusal: Refusal) -> None:
    assert "\n" not in str(refusal), "a refusal is one line"


def _quantity(draw: random.Random) -> str:
    words, unit = changed(draw, VALUES), draw.choice(_UNITS)
    try:
        found = quantity.read(words, unit, allow_negative=draw.random() < 0.5)
        assert math.isfinite(found.value), "a value is a number"
    except Refusal as refusal:
        _is_one_line(refusal)
    quantity.thousands_or_decimal(words, unit)
    return words


_UNITS = sorted(UNITS)


def _words(draw: random.Random) -> str:
    words = changed(draw, WORDS)
    for read in (proof.typed, lambda one: parse_instant(one, zone("America/Chicago"))):
        try:
            read(words)
        except Refusal as refusal:
            _is_one_line(refusal)
    return words


_PLANS = (SMALL,)


def _plan(draw: random.Random) -> str:
    words = changed(draw, _PLANS, 3)
    try:
        read_plan(words)
    except Refusal:
        pass
    return words


class _Room:
    """A room with a record, for what needs one."""

    def __init__(self, site: Site, folder: Path) -> None:
        self.site = site
        self.site.ledger.db.execute("PRAGMA synchronous = OFF")
        self.file = folder / "in.csv"
        self.lines: list[str] = []

    def csv(self, draw: random.Random) -> str:
        words = changed(draw, FILES, 6)
        codec = draw.choice(("utf-8", "utf-8", "utf-8-sig", "utf-16", "latin-1"))
        self.file.write_bytes(words.encode(codec, "replace" if codec == "latin-1" else _SURROGATES))
        told = Told(dates=draw.choice(("", "", "day-first")), place=draw.choice(("", "T01")))
        try:
            trial = Trial(self.site, self.file, told)
            try:
                trial.lay()
                trial.view()
                trial.file()
            finally:
                trial.close()
        except Refusal as refusal:
            _is_one_line(refusal)
        return words

    def plain(self, draw: random.Random) -> str:
        """One line more of a round; twenty are walked at once, and then taken up again."""
        self.lines.append(changed(draw, ANSWERS, 2))
        words = repr(self.lines)
        if len(self.lines) == 20:
            answers, self.lines = self.lines, []
            plain.walk(self.site, iter(answers), lambda _: None, "AB", "am")
        return words

    def close(self) -> None:
        assert chain.verify(self.site.ledger.db) is None, "every digest holds"


_SURROGATES = "surrogatepass"

ANSWERS = (*MORNING, *VALUES[:8], "note", "flag", "undo", "up", "next", "help", "m", "worked", "1",
           "2", "3")  # fmt: skip

NAMES = ("quantity", "words", "plan", "csv", "plain")


@contextmanager
def target(name: str) -> Iterator[Callable[[random.Random], str]]:
    """What makes an input of a kind and does with it what the program does."""
    simple = {"quantity": _quantity, "words": _words, "plan": _plan}
    with ExitStack() as held:
        if name in simple:
            yield simple[name]
            return
        folder = Path(held.enter_context(tempfile.TemporaryDirectory()))
        room = _Room(held.enter_context(opened(folder / "room", SMALL, NOW, "trolley")), folder)
        held.callback(room.close)
        yield room.csv if name == "csv" else room.plain


def crashes(name: str, many: int, first: int = 0) -> list[str]:
    """Those of `many` inputs that raised what is no refusal, by seed."""
    found = []
    with target(name) as act:
        for seed in range(first, first + many):
            draw = random.Random(seed)
            try:
                act(draw)
            except Exception as fault:
                found.append(f"{name} {seed}: {type(fault).__name__}: {str(fault)[:200]}")
    return found


def main() -> int:
    """Run as a program."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--many", type=int, default=1000)
    parser.add_argument("--from", dest="first", type=int, default=0)
    given = parser.parse_args()
    wrong = 0
    for name in given.names or NAMES:
        began = time.monotonic()
        found = crashes(name, given.many, given.first)
        took = time.monotonic() - began
        print(f"{name}: {given.many} inputs, {len(found)} crashes, {took:.0f} s, "
              f"{given.many / took:.0f} a second", flush=True)  # fmt: skip
        for words in found[:5]:
            print(f"    {words}")
        wrong += len(found)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
