"""Bulk weighing: lots of fish weighed together, several times, to a mean mass with its error.

Every lot is on disk as it is typed, in a note that the next one replaces; the sample that is kept
at the end takes its place.
"""

from __future__ import annotations

from collections.abc import Generator

from tankwalk.figures import number_text
from tankwalk.ledger.entries import Entry, Note, Sample
from tankwalk.practice.dialog import Answer, Hand, Step, Talk, writer
from tankwalk.practice.feeding.rations import in_unit
from tankwalk.practice.livefeed.asking import number, wanted
from tankwalk.practice.samples import doubts, sampling
from tankwalk.practice.samples.fish import WANTED, Look
from tankwalk.practice.samples.sampling import MOST_FISH, Cell
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science import samples
from tankwalk.science.samples import Bulk

UNDER_WAY = "bulk weighing"
GO_ON_HOURS = 12
"""So long a bulk weighing is gone on with. Common practice, no source."""


class Lot(NamedTuple):
    """Fish weighed together: how many, and their net weight in mg."""

    fish: int
    mg: float


def enter(site: Site, hand: Hand, tank: str, cell: Cell) -> Talk:
    """Weigh lots until they are enough; the mean mass is kept with its error."""
    draft, lots = under_way(site, tank)
    who = yield from writer(site, hand, "Who weighs them?")
    many = lots[-1].fish if lots else None
    told = f"On where it was: {len(lots)} kept already. " if lots else ""
    while True:
        if lots:
            answer = yield Step(
                f"{tank}, lot {len(lots) + 1}?", ("weigh one more", "that is all"),
                told=told + come_to(lots),
            )  # fmt: skip
            if answer.number == 2:
                break
        many = yield from _fish(tank, len(lots) + 1, many)
        mg = yield from _net(site, tank, cell, many)
        lots = (*lots, Lot(many, mg))
        now = site.now()
        entry = Entry(
            "note", who, now, now, tank, amends=draft, reason=f"{UNDER_WAY}; {written(lots)}"
        )
        draft = site.record(entry, Note(f"Bulk weighing under way: {come_to(lots)}"))
        told = ""
    found = worked(lots)
    unit = cell.sampling.unit or "mg"
    mean = float(f"{in_unit(found.mean, 'mg', unit):.5g}")
    now = site.now()
    sample = Sample(cell.sampling.what, found.n, mean=mean, unit=unit)
    reason = f"{UNDER_WAY}; {written(lots)}; {come_to(lots)}"
    site.record(Entry("sample", who, now, now, tank, amends=draft, reason=reason), sample)
    return f"Kept {now.hm()} ({who}): {tank} {cell.sampling.what}, {come_to(lots)}"


def _fish(tank: str, nth: int, before: int | None) -> Generator[Step, Answer, int]:
    many = yield from wanted(
        number(f"{tank}, lot {nth}: how many fish", "", 1, MOST_FISH,
               proposed=None if before is None else float(before), as_what="as before")
    )  # fmt: skip
    return round(many)


def _net(site: Site, tank: str, cell: Cell, many: int) -> Generator[Step, Answer, float]:
    """The net weight of a lot; asked again where a fish of it would be far from the last mass."""
    told = ""
    while True:
        mg = yield from wanted(
            number(f"{tank}: net weight of {many} fish", "mg", 0.001, doubts.MOST[Look.MASS],
                   told=told)
        )  # fmt: skip
        last = cell.last
        if last is None or not last.mean or not last.unit:
            return mg
        sample = Sample(cell.sampling.what, many, mean=in_unit(mg / many, "mg", last.unit),
                        unit=last.unit)  # fmt: skip
        if not sampling.oddities(sample, last, site.now()):
            return mg
        answer = yield Step(
            f"{mg:g} mg for {many}: {mg / many:.3g} mg a fish, last {last.mean:g} {last.unit}.",
            ("weigh it again", "it is right: keep it"),
        )
        if answer.number == 2:
            return mg
        told = "Nothing was kept: weigh it again."


def under_way(site: Site, tank: str) -> tuple[int | None, tuple[Lot, ...]]:
    """The note of a bulk weighing that can be gone on with, and its lots."""
    for note in site.reader.notes.since(site.now().utc - GO_ON_HOURS * 3600):
        words = (note.reason or "").split("; ")
        if note.place == tank and words[0] == UNDER_WAY and len(words) > 1:
            pairs = (one.split("/") for one in words[1].split())
            return note.n, tuple(Lot(int(many), float(mg)) for many, mg in pairs)
    return None, ()


def written(lots: tuple[Lot, ...]) -> str:
    """Lots as the record keeps them: fish/mg, with blanks between."""
    return " ".join(f"{one.fish}/{number_text(one.mg)}" for one in lots)


def worked(lots: tuple[Lot, ...]) -> Bulk:
    """What lots come to."""
    return samples.bulk_mass([one.mg for one in lots], [one.fish for one in lots])


def come_to(lots: tuple[Lot, ...]) -> str:
    """The mean mass of a fish with its error, in words."""
    found = worked(lots)
    first = f"{found.n} fish in {found.lots} lot{'s' * (found.lots != 1)}, mean {found.mean:.4g} mg"
    if found.limits is None:
        return f"{first}. One lot has no error: weigh two more."
    half = 100 * (found.limits.high - found.mean) / found.mean
    enough = "enough" if half <= WANTED[Look.MASS] else "another lot would narrow it"
    return (
        f"{first}, 95 % {found.limits.low:.4g} - {found.limits.high:.4g} "
        f"(+/- {half:.0f} %, {enough})."
    )
