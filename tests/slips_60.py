"""Sixty slips: what was meant, what was typed, and the keys that lead to the right record.

Common practice, no source; out-by-ten slips are the classic ones in number entry (Thimbleby &
Cairns 2010, J. R. Soc. Interface). `python tests/slips_60.py > docs/slips.md` renews the table.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from site_support import SMALL, opened, readings, seen_before, standing_at
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.questions import AskAgain, AskSlip, menu
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site

YESTERDAY = "2026-05-09T19:00"

ITEMS = """
[[item]]
code = "rim"
label = "Water below rim"
unit = "cm"
plausible = [0, 60]
[[item]]
code = "acid"
label = "pH of the tank"
decimals = 2
plausible = [4, 10.5]
[[item]]
code = "no2n"
label = "Nitrite of the tank"
unit = "mg/L as N"
decimals = 2
plausible = [0, 20]
[[item]]
code = "bottle"
label = "Backup oxygen"
unit = "bar"
decimals = 0
plausible = [0, 300]
[[item]]
code = "air"
label = "Blower pressure"
unit = "kPa"
plausible = [0, 60]
[[item]]
code = "glow"
label = "Light at the surface"
unit = "lux"
decimals = 0
plausible = [0, 5000]
"""

BANDS = """
[[band]]
item = "rim"
watch_below = 7.0
act_below = 5.0
watch_above = 15.0
source = "our plan"
[[band]]
item = "acid"
watch_below = 7.0
watch_above = 8.2
act_below = 6.5
act_above = 8.8
source = "our plan"
[[band]]
item = "no2n"
watch_above = 0.2
act_above = 0.5
source = "our plan"
[[band]]
item = "bottle"
watch_below = 100
act_below = 50
source = "our plan"
[[band]]
item = "air"
watch_below = 15
act_below = 10
source = "our plan"
[[band]]
item = "glow"
watch_below = 500
watch_above = 2000
source = "our plan"
"""

TANK_ITEMS = ["temp", "do", "flow", "rim", "acid", "no2n", "bottle", "air", "glow", "morts"]

PLAN = (
    SMALL.replace("[[checklist]]", f"{ITEMS}[[checklist]]", 1)
    .replace('tank = ["temp", "do", "flow", "screen", "morts"]', f"tank = {TANK_ITEMS}")
    .replace("[notes]", f"{BANDS}[notes]")
).replace("'", '"')

LAST = {
    "temp": 16.4, "do": 8.2, "flow": 2.5, "rim": 12.2, "acid": 7.6, "no2n": 0.08, "bottle": 150,
    "air": 20, "glow": 1250, "morts": 12,
}  # fmt: skip
"""What was seen last, yesterday evening."""


class Slipped(NamedTuple):
    """One slip: its kind, the item, what the meter showed (as it should be typed), what was
    typed, and the answers that lead to the right record; `to` is the tank it belongs to."""

    kind: str
    item: str
    shows: str
    typed: str
    answers: tuple[str, ...]
    to: str = "T01"


def _again(kind: str, item: str, shows: str, typed: str) -> Slipped:
    """Met before it is kept: * and the number."""
    return Slipped(kind, item, shows, typed, ("*", shows))


def _second(kind: str, item: str, shows: str, typed: str) -> Slipped:
    """Kept as a first reading out of band: the second one tells."""
    return Slipped(kind, item, shows, typed, (shows,))


def _chosen(item: str, shows: str, typed: str) -> Slipped:
    """What cannot be, with the guess chosen by its number."""
    return Slipped("unit", item, shows, typed, ("2",))


def _unseen(kind: str, item: str, shows: str, typed: str) -> Slipped:
    """In band by chance, so nothing is said: corrected by who sees it."""
    return Slipped(kind, item, shows, typed, ("up", shows, "1"))


def _moved(item: str, shows: str) -> Slipped:
    return Slipped("wrong tank", item, shows, shows, ("-", "*", "2"), "T02")


SLIPS: tuple[Slipped, ...] = (
    _chosen("temp", "62.1f", "62.1"),
    _chosen("temp", "61.5f", "61.5"),
    _chosen("temp", "63f", "63"),
    _chosen("temp", "60.8f", "60.8"),
    _again("unit", "flow", "2.5", "0.66"),
    _again("unit", "flow", "2.4", "0.63"),
    _chosen("flow", "150 L/h", "150"),
    _chosen("flow", "144 L/h", "144"),
    _again("unit", "rim", "12.2", "4.8"),
    _again("unit", "rim", "12.0", "4.7"),
    _second("unit", "rim", "7.6", "3"),
    _chosen("bottle", "2200 psi", "2200"),
    _chosen("bottle", "2100 psi", "2100"),
    _again("unit", "air", "20", "2.9"),
    _again("unit", "air", "20", "0.2"),
    _chosen("air", "150 mmHg", "150"),
    _again("tenfold", "temp", "16.4", "164"),
    _again("tenfold", "temp", "16.4", "1.6"),
    _again("tenfold", "temp", "16.4", "1640"),
    _again("tenfold", "do", "8.2", "82"),
    _again("tenfold", "do", "8.2", "0.82"),
    _again("tenfold", "do", "8.2", "820"),
    _again("tenfold", "flow", "2.5", "25"),
    _again("tenfold", "flow", "2.5", "0.25"),
    _again("tenfold", "flow", "2.5", "250"),
    _again("tenfold", "acid", "7.60", "76"),
    _again("tenfold", "acid", "7.62", "762"),
    _again("tenfold", "acid", "7.6", "0.76"),
    _again("tenfold", "no2n", "0.08", "0.8"),
    _second("tenfold", "no2n", "0.03", "0.30"),
    _again("tenfold", "no2n", "0.08", "8"),
    _again("tenfold", "rim", "12.2", "122"),
    _again("tenfold", "rim", "12.2", "1.2"),
    _again("tenfold", "bottle", "150", "1500"),
    _again("tenfold", "bottle", "150", "15"),
    _again("tenfold", "morts", "11", "110"),
    _second("tenfold", "morts", "3", "30"),
    _again("tenfold", "air", "20", "200"),
    _again("comma", "glow", "1250", "1,250"),
    _again("comma", "glow", "1200", "1.200"),
    _again("comma", "glow", "1210", "1,210"),
    Slipped("comma", "temp", "16.4", "16,,4", ("16.4",)),
    Slipped("comma", "temp", "16.4", "16.4.", ("16.4",)),
    Slipped("comma", "morts", "11", "1,1", ("11",)),
    Slipped("comma", "morts", "11", "1,100", ("11",)),
    _second("comma", "glow", "1250", "12,50"),
    _second("swapped fields", "temp", "16.4", "7.6"),
    _second("swapped fields", "temp", "16.4", "8.2"),
    _again("swapped fields", "acid", "7.6", "16.4"),
    _unseen("swapped fields", "acid", "7.60", "8.2"),
    _unseen("swapped fields", "do", "8.2", "16.4"),
    _second("swapped fields", "flow", "2.5", "16.4"),
    _second("swapped fields", "flow", "2.5", "12.2"),
    _unseen("swapped fields", "rim", "12.2", "8.2"),
    _moved("temp", "16.3"),
    _moved("do", "8.0"),
    _moved("flow", "2.4"),
    _moved("acid", "7.55"),
    _moved("rim", "11.8"),
    _moved("glow", "1300"),
)

PAD = ("", "+", "-", "*", "/", "1", "2", "3", "u", "down")
"""The one keys that may be pressed next; "" is Enter, `u` takes back."""


class Outcome(NamedTuple):
    """What one key led to: the newest value that stands at the slot, and how it is flagged."""

    key: str
    value: str
    flag: str

    @property
    def silent(self) -> bool:
        return self.flag == "ok"


@contextmanager
def room() -> Iterator[Site]:
    """The tanks as they were seen yesterday."""
    with tempfile.TemporaryDirectory() as folder, opened(Path(folder) / "room", PLAN) as site:
        for tank in ("T01", "T02"):
            for item, value in LAST.items():
                seen_before(site, tank, item, value, YESTERDAY)
        yield site


def press(walk: Walk, answers: Sequence[str]) -> int:
    """Answer one after the other; how many keys of the pad it took."""
    keys = 0
    for answer in answers:
        if answer in ("up", "down", "u"):
            walk.undo() if answer == "u" else walk.move(answer)
            keys += 1
            continue
        at_once = answer in ("+", "-", "*", "/") or menu(walk.question)
        keys += 1 if at_once else len(answer) + 1
        walk.answer(answer)
    return keys


def stands(site: Site, place: str, item: str) -> tuple[float, str] | None:
    """The newest value of this round that stands there, and its flag."""
    rows = readings(site, "round, place, item, value, flag")
    found = [r[3:] for r in rows if r[0] is not None and r[1:3] == (place, item)]
    numbers = [(float(value), str(flag)) for value, flag in found if value is not None]
    return numbers[-1] if numbers else None


def as_typed(walk: Walk) -> Flag:
    """How the number would be flagged if it were kept as typed; OK where it cannot be kept."""
    asked = walk.question
    if isinstance(asked, AskAgain):
        return Flag(asked.first.flag)
    if isinstance(asked, AskSlip):
        typed = asked.meant[0]
        worst = max(m.judged.flag for m in asked.meant) if asked.two_ways else typed.judged.flag
        return worst if typed.possible else Flag.OK
    return Flag.OK


def said(walk: Walk) -> str:
    """What the program says after the number was typed."""
    asked = walk.question
    if isinstance(asked, AskSlip):
        both = "; ".join(f"{key} {words}" for key, words in asked.options() if key.isdigit())
        return f"{asked.doubt} {both}".strip()
    return asked.words if asked is not None else walk.said.sentence


def outcomes(slipped: Slipped) -> list[Outcome]:
    """What every single key leads to after the slip."""
    found = []
    for key in PAD:
        with room() as site:
            walk = standing_at(site, "T01", slipped.item)
            walk.answer(slipped.typed)
            if key.isdigit() and not menu(walk.question):
                continue  # a digit alone is the beginning of a number
            press(walk, [key])
            left = stands(site, "T01", slipped.item)
            found.append(Outcome(key, *(("", "") if left is None else (f"{left[0]:g}", left[1]))))
    return found


def worst(slipped: Slipped, every: Sequence[Outcome]) -> str:
    """The worst record that one wrong key makes, in words."""
    order = {"ok": 0, "check": 1, "watch": 2, "act": 3, "urgent": 4}
    kept = [one for one in every if one.flag]
    if not kept:
        return "nothing kept"
    one = min(kept, key=lambda each: order[each.flag])
    key = "Enter" if one.key == "" else one.key
    return f"{key}: {one.value}, {one.flag}"


def table() -> Iterator[str]:
    """The table in Markdown, a row a slip."""
    yield "# Sixty slips"
    yield ""
    yield (
        "What was seen last: " + ", ".join(f"{item} {value:g}" for item, value in LAST.items())
        + ". *Worst* is the mildest record that any one key pressed next leaves standing."
    )  # fmt: skip
    yield ""
    yield "| # | slip | item | shows | typed | said | to the right record | keys | worst |"
    yield "| --- | --- | --- | --- | --- | --- | --- | --- | --- |"
    for number, slipped in enumerate(SLIPS, 1):
        with room() as site:
            walk = standing_at(site, "T01", slipped.item)
            walk.answer(slipped.typed)
            told = said(walk)
            keys = press(walk, slipped.answers)
        answers = " ".join(f"`{a}`" for a in slipped.answers)
        cells = (
            str(number), slipped.kind, slipped.item, slipped.shows, f"`{slipped.typed}`", told,
            answers, str(keys), worst(slipped, outcomes(slipped)),
        )  # fmt: skip
        yield "| " + " | ".join(cells) + " |"


if __name__ == "__main__":
    print("\n".join(table()))
