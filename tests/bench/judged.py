"""Ratio 4 where most is judged: at a round's first value, at the last of a loop, and of a round.

The first value of a round is the first of a session; before the others the round is filled by the
walk itself, with what stood before and a breath more. What is typed is held against the record
while it is typed, so its digits come as a person's do: ten a second is fast in gloves. The same at
a key each 20 ms, as a scanner types, has a row of its own.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from random import Random

from driving import NOW, WALK, BareKey, Sites, at_temperature, press, show, walking
from keys import READ_S, Commits
from rows import Row, against, high, median, ms

from tankwalk.ledger.store import Station
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.questions import AskAgain, AskSlip
from tankwalk.practice.round.rounds import begin
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site, open_site
from terminal import Terminal

WATER = {"temp": "Temperature", "do": "Oxygen", "ph": "pH"}
"""Items of a loop's last tank, and how the walk names them."""
MOST_QUESTIONS = 6
BY_HAND_S, AT_ONCE_S = 0.1, 0.02
"""Seconds from one key to the next: of a person, and of what types faster than one."""


def firsts(sites: Sites, sessions: int) -> list[Row]:
    """The first Enter of a round: what it is held against is read for the first time."""
    found: list[Row] = []
    for name, site in sites.some("demo", "5 years", "6.6 M").items():
        took: list[float] = []
        with BareKey(sites.env) as bare, Commits(sites.folder / f"raw 1 {name}.sqlite") as raw:
            for _ in range(sessions):
                with Terminal(walking(site), sites.env) as walk:
                    show(walk, WALK)
                    walk.read(READ_S)
                    at_temperature(walk)
                    walk.read(READ_S)
                    took.append(_enter(walk, bare, raw, "18.5"))
                    walk.press("u", quiet=0.05)
            found += _rows(f"first value of a round, {name}", took, bare, raw)
    return found


def lasts(sites: Sites, presses: int) -> list[Row]:
    """Enter with the last value of a loop, for each of its water's items, and of a whole round."""
    found: list[Row] = []
    for name, site in sites.some("demo", "5 years", "6.6 M").items():
        for code, label in WATER.items():
            filled = _filled(
                site, sites.folder / f"{name} {code}", _before_the_last_of_a_loop(code)
            )
            what = f"{code}, the last of its loop, {name}"
            found += _again(sites, filled, label, presses, what)
        filled = _filled(site, sites.folder / f"{name} round", _before_the_last_of_all)
        found += _again(sites, filled, "stop ", presses, f"the last value of a round, {name}")
    return found


class Filled:
    """A copy of a site with a round in it of which one slot is open, and what to type there."""

    def __init__(self, folder: Path, typed: str) -> None:
        self.folder = folder
        self.typed = typed


def _again(sites: Sites, filled: Filled, label: str, presses: int, what: str) -> list[Row]:
    took: list[float] = []
    at_once: list[float] = []
    with (
        BareKey(sites.env) as bare,
        Commits(filled.folder / "raw.sqlite") as raw,
        Terminal(walking(filled.folder), sites.env) as walk,
    ):
        show(walk, label)
        walk.read(READ_S)
        for _ in range(presses):
            for times, between in ((took, BY_HAND_S), (at_once, AT_ONCE_S)):
                walk.press("1", quiet=0.3)  # what was typed last time is no longer at hand
                walk.press("backspace", quiet=0.1)
                times.append(_enter(walk, bare, raw, filled.typed, between))
                walk.read(0.3)
                walk.press("u", quiet=0.3)
        rows = _rows(what, took, bare, raw)
        rows.append(Row(f"4 Enter, {what}: a key each 20 ms", ms(median(at_once))))
    shutil.rmtree(filled.folder)
    return rows


def _enter(
    walk: Terminal, bare: BareKey, raw: Commits, typed: str, between: float = BY_HAND_S
) -> float:
    bare.press()
    raw.commit()
    for digit in typed:
        walk.press(digit, quiet=between)
    return press(walk, "\r")[0]


def _rows(what: str, took: list[float], bare: BareKey, raw: Commits) -> list[Row]:
    limit = 2 * median(bare.took) + 1.5 * median(raw.took)
    return [
        against(f"4 Enter, {what}", median(took), limit, 1),
        Row(f"4 Enter, {what}: 95th percentile", ms(high(took))),
    ]


# ---- a round filled but for one slot


def _before_the_last_of_a_loop(code: str) -> Callable[[Walk], Slot]:
    """The first loop's last tank's item; the whole loop was read before it."""

    def open_slot(walk: Walk) -> Slot:
        of_loop = {t.code for t in walk.site.plan.tanks if t.loop == walk.site.plan.tanks[0].loop}
        return _last(walk, lambda slot: slot.item.code == code and slot.place in of_loop)

    return open_slot


def _before_the_last_of_all(walk: Walk) -> Slot:
    """The last number of the last tank."""
    tanks = {tank.code for tank in walk.site.plan.tanks}
    return _last(walk, lambda slot: slot.place in tanks and slot.item.code in WATER)


def _last(walk: Walk, wanted: Callable[[Slot], bool]) -> Slot:
    """The last such slot with a number that can be."""
    luck = Random("any")
    return [s for s in walk.slots if wanted(s) and _typed(walk.site, s, luck)][-1]


def _filled(site: Path, folder: Path, left_open: Callable[[Walk], Slot]) -> Filled:
    """A copy with a round filled, as far as its one open slot, or whole but for that."""
    shutil.copytree(site, folder)
    with closing(open_site(folder, Station("bench", "bench"), NOW)) as opened:
        opened.ledger.db.execute("PRAGMA synchronous = OFF")
        walk = Walk(opened, begin(opened, opened.plan.checklists[0], "PB"), "PB")
        wanted, whole = left_open(walk), left_open is _before_the_last_of_all
        luck = Random("a round")
        with opened.ledger.writing():
            for index, slot in enumerate(walk.slots):
                if slot == wanted:
                    if whole:
                        continue
                    break
                walk.stand(index)
                _answer(walk, slot, _typed(opened, slot, luck))
        return Filled(folder, _typed(opened, wanted, luck))


def _typed(site: Site, slot: Slot, luck: Random) -> str:
    """What is read there now: what stood there before, and a breath more; "" for what cannot be."""
    item = slot.item
    if item.kind.by_words:
        return "+"
    seen = site.reader.readings.newest(slot.place, item.code, item.unit)
    value = 0.0 if seen is None or seen.value is None else seen.value
    if item.plausible is not None and not item.plausible[0] <= value <= item.plausible[1]:
        return ""  # the largest record is drawn at random, whatever can be: it was not taken
    step = 0 if item.kind.of_animals else luck.choice((-1, 1)) * 10**-item.decimals
    return f"{max(0.0, value + step):.{item.decimals}f}"


def _answer(walk: Walk, slot: Slot, typed: str) -> None:
    if not typed:
        _leave_out(walk)
        return
    walk.answer(typed)
    for _ in range(MOST_QUESTIONS):
        if isinstance(walk.question, AskSlip):
            walk.answer("1")
        elif isinstance(walk.question, AskAgain) and walk.pending(slot):
            walk.answer(typed)
        elif not walk.of(slot):
            _leave_out(walk)
        else:
            return
    raise SystemExit(f"{slot.place} {slot.item.code}: {walk.said.sentence}")


def _leave_out(walk: Walk) -> None:
    walk.answer("/")
    walk.answer("2")
