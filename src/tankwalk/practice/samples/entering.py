"""Entering a sample of fish by number: how many, then mean and SD, or how many had it."""

from __future__ import annotations

from collections.abc import Generator
from typing import TYPE_CHECKING

from tankwalk.errors import Refusal
from tankwalk.figures import number_text, show
from tankwalk.practice.dialog import Answer, Hand, Step, Talk, writer
from tankwalk.practice.livefeed.asking import number, wanted, whole
from tankwalk.practice.samples.sampling import MOST_FISH, Cell, Odd, SamplesView, limits, oddities
from tankwalk.practice.site import Site

if TYPE_CHECKING:
    from tankwalk.ledger.entries import Sample
    from tankwalk.ledger.feeding import SampleSeen

MOST = 100_000.0
"""More than a fish measures in any unit a sample is kept in."""

AGAIN = "type it again"
RIGHT = "it is right: keep it"

UNDO_HOURS = 24
"""How long one's own newest sample can be taken back here; later it is the lead's."""


def enter(site: Site, hand: Hand, tank: str, cell: Cell) -> Talk:
    """One sample of one tank: asked, held against the last one, kept, and said back."""
    from tankwalk.ledger.entries import Entry

    who = yield from writer(site, hand, "Who looked at them?")
    told = ""
    while True:
        sample = yield from _typed(tank, cell, told)
        odd = oddities(sample, cell.last, site.now())
        if not odd:
            break
        words = " ".join(map(lambda one: _asked(one, sample, cell.last), odd))
        answer = yield Step(f"{tank} {sample.what}: {figures(sample)}.", (AGAIN, RIGHT), told=words)
        if answer.words == RIGHT:
            break
        told = "Nothing was kept: type it again."
    now = site.now()
    site.record(Entry("sample", site.signs(who), now, now, tank), sample)
    return f"Kept {now.hm()} ({who}): {tank} {sample.what}, {said_back(sample, cell.last)}."


def _typed(tank: str, cell: Cell, told: str) -> Generator[Step, Answer, Sample]:
    """The numbers of a sample, one question after another."""
    from tankwalk.ledger.entries import Sample

    what, unit = cell.sampling.what, cell.sampling.unit
    before = None if cell.last is None else float(cell.last.looked_at)
    many = yield from wanted(
        number(f"{tank} {what}: how many fish", "", 1, MOST_FISH, proposed=before,
               as_what="as last time", told=told)
    )  # fmt: skip
    if many != int(many):
        raise Refusal(f"{many:g} is no number of fish: nothing was kept.")
    looked_at = int(many)
    if unit is None:
        had = yield from whole(f"{tank} {what}: how many of {looked_at}", looked_at)
        return Sample(what, looked_at, with_it=had)
    mean = yield from wanted(number(f"{tank} {what}: mean of {looked_at}", unit, 0, MOST))
    if looked_at == 1:
        return Sample(what, 1, mean=mean, unit=unit)
    sd = yield from wanted(number(f"{tank} {what}: SD of {looked_at}", unit, 0, MOST))
    return Sample(what, looked_at, mean=mean, sd=sd, unit=unit)


def take_back(site: Site, hand: Hand, view: SamplesView) -> Talk:
    """Take back one's own newest sample of today: both entries stay in the record."""
    from tankwalk.ledger.entries import Entry

    who = yield from writer(site, hand, "Who takes a sample back?")
    since = view.now.utc - UNDO_HOURS * 3600
    mine = [one for one in site.reader.feeding.samples(since) if one.who == who]
    if not mine:
        raise Refusal(f"{who} entered no sample in the last {UNDO_HOURS} h.")
    last = max(mine, key=lambda one: one.n)
    words = f"{last.place} {last.what}, {figures(last)}, {last.at.told(view.now)}"
    yield Step(f"{words} {who}:", ("take it back",))
    now = site.now()
    site.record(
        Entry("void", site.signs(who), now, now, last.place, amends=last.n, reason="undone")
    )
    return f"Taken back: {words}."


# ---- in words


def figures(sample: Sample | SampleSeen) -> str:
    """What was found: "20 fish, mean 14.28 mm, SD 1.57" or "18 of 20"."""
    if sample.with_it is not None:
        return f"{sample.with_it} of {sample.looked_at}"
    spread = "" if sample.sd is None else f", SD {sample.sd:g}"
    return f"{sample.looked_at} fish, mean {sample.mean:g} {sample.unit or ''}".rstrip() + spread


def said_back(sample: Sample, last: SampleSeen | None) -> str:
    """What was kept with its 95 % limits, and what the last one was."""
    found = limits(sample)
    before = "" if last is None else f"; {last.at.short()[:-6]} {_main(last)}"
    if found is None:
        return figures(sample) + before
    if sample.with_it is not None:
        part = 100 * sample.with_it / sample.looked_at
        sure = f" ({part:.0f} %, limits {100 * found.low:.0f} - {100 * found.high:.0f} %)"
    else:
        typed = (number_text(one) for one in (sample.mean or 0.0, sample.sd or 0.0))
        digits = max(len(one.partition(".")[2]) for one in typed)
        sure = f", 95 % {show(found.low, '', digits)} - {show(found.high, '', digits)}"
    return figures(sample) + sure + before


def _main(sample: SampleSeen) -> str:
    """The one number of a sample."""
    if sample.with_it is not None:
        return f"{sample.with_it} of {sample.looked_at}"
    return f"{sample.mean:g} {sample.unit or ''}".rstrip()


def _asked(odd: Odd, sample: Sample, last: SampleSeen | None) -> str:
    """What speaks against a sample, in a sentence."""
    before = "" if last is None else f"{_main(last)} on {last.at.short()[:-6]}"
    match odd:
        case Odd.TENFOLD:
            return f"It was {before}: is the decimal mark right?"
        case Odd.SHRANK:
            return f"It was {before}, and fish do not shrink: is it this tank?"
        case Odd.LEAPT:
            return f"It was {before}: that is more than fish grow. Is it this tank?"
        case Odd.UNLIKE:
            return f"It was {before}: that is further apart than chance."
        case Odd.SPREAD:
            return f"An SD of {sample.sd:g} is wide beside the mean: is it the SD, and not the SE?"
        case Odd.EVEN:
            return "An SD of 0: were all fish alike?"
