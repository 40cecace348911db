"""The demo on a morning on which everything is wrong at once: forty flags in twelve tanks."""

from __future__ import annotations

import shutil
from pathlib import Path

from demo_support import STATION, until
from tankwalk.clock import FixedClock, Instant
from tankwalk.ledger.entries import Entry, Reading, Round
from tankwalk.practice.judging.assess import Weighing
from tankwalk.practice.site import Site, open_site
from tankwalk_demo.scenario import rehearsal

NOW = "2026-05-10T08:30"

OUT: dict[str, tuple[tuple[str, str], ...]] = {
    "T01": (("flow", "2.6"), ("turbidity", "24"), ("morts", "41"), ("screen", "fouled")),
    "T02": (("temp", "20.0"), ("level", "5.0"), ("spray", "off")),
    "T03": (("do", "6.4"), ("flow", "2.7"), ("siphoned", "no"), ("turbidity", "25")),
    "T04": (("ph", "8.45"), ("level", "12.5"), ("morts", "44")),
    "T05": (("temp", "20.6"), ("screen", "fouled"), ("flow", "4.6")),
    "T06": (("do", "5.7"), ("spray", "off"), ("morts", "38")),
    "T07": (("do", "4.8"), ("level", "4.0"), ("screen", "fouled"), ("morts", "64")),
    "T08": (("temp", "16.9"), ("turbidity", "56"), ("siphoned", "no")),
    "T09": (("ph", "6.40"), ("flow", "2.2"), ("level", "11.0")),
    "T10": (("do", "6.8"), ("ph", "8.70"), ("turbidity", "58"), ("spray", "off")),
    "T11": (("temp", "20.3"), ("morts", "39"), ("siphoned", "no")),
    "T12": (("ph", "6.60"), ("level", "3.5"), ("screen", "fouled")),
}
"""What is out, tank by tank; never in most tanks of the loop, so that each is a flag of its own."""


def crowded(folder: Path) -> Site:
    """The demo with that morning entered, open at half past eight."""
    shutil.copytree(until(rehearsal()), folder)
    site = open_site(folder, STATION, NOW)
    site.ledger.db.execute("PRAGMA synchronous = OFF")
    start = rehearsal()
    number = 1000
    with site.ledger.writing():
        opened = Entry("round", "PB", start, start, "site", round=number)
        first = site.record(opened, Round(number, "am", "open"))
        weighing = Weighing(site, number, first)
        minute = 0
        for place, answers in OUT.items():
            for code, typed in answers:
                minute += 1
                _read(site, weighing, place, code, typed, Instant(start.utc + 60 * minute, -300))
        signed = Instant(start.utc + 5400, -300)
        site.record(
            Entry("round", "PB", signed, signed, "site", round=number),
            Round(number, "am", "sign", "I took these readings, and they are what I saw"),
        )
    site.clock = FixedClock(Instant(start.utc + 6000, -300))
    return site


def _read(site: Site, weighing: Weighing, place: str, code: str, typed: str, at: Instant) -> None:
    from tankwalk.plan.bands import band_for
    from tankwalk.practice.judging.verdict import band_text

    item = site.plan.item(code)
    site.clock = FixedClock(at)
    band = band_for(site.plan, item, tank=site.plan.tank(place), loop="L1", on=at.day)
    value = float(item.choices.index(typed)) if item.choices else float(typed)
    judged = weighing.weigh(place, item, band, None, value, typed, None, {}, sure=True)
    entry = Entry("reading", "PB", at, at, place, code, item.unit, 1000)
    site.record(entry, Reading(value, typed, band=band_text(band), flag=int(judged.flag)))
