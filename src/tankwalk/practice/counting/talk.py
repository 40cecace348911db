"""What is asked around a count, by number: what of, how large a drop, by whom, and as what kept."""

from __future__ import annotations

from collections.abc import Callable, Generator

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.ledger.feeding import BEGINS, BatchEvent, BatchKind, BatchSeen
from tankwalk.practice.counting.pad import (
    REASONS,
    SQUARE_ML,
    About,
    Count,
    Sort,
    State,
    Worked,
)
from tankwalk.practice.counting.sitting import Sitting, about_of, drafts
from tankwalk.practice.dialog import Answer, Hand, Step, Talk, writer
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

BACK_DAYS = 45
"""Batches that began so long ago are still offered."""

MOST_OFFERED = 9
"""A digit chooses."""

WHAT = (
    (Sort.NAUPLII, "nauplii of a cone"),
    (Sort.ROTIFERS, "rotifers and eggs"),
    (Sort.CELLS, "cells in a chamber"),
    (Sort.HATCH, "a test hatch"),
    (Sort.LARVAE, "larvae in a vessel"),
    (Sort.EGGS, "eggs"),
)
"""What can be counted, by number."""

OF_KIND = {
    Sort.NAUPLII: (BatchKind.CONE, BatchKind.SHELLED),
    Sort.ROTIFERS: (BatchKind.ROTIFERS,),
    Sort.CELLS: (BatchKind.ALGAE,),
    Sort.HATCH: (BatchKind.CYSTS,),
}
"""Which batches each sort is of."""

SORT_OF = {
    BatchKind.CONE: Sort.NAUPLII,
    BatchKind.SHELLED: Sort.NAUPLII,
    BatchKind.ROTIFERS: Sort.ROTIFERS,
    BatchKind.ALGAE: Sort.CELLS,
    BatchKind.CYSTS: Sort.HATCH,
}

DROPS = {
    Sort.NAUPLII: (0.05, 0.1, 0.25, 0.5, 1.0),
    Sort.ROTIFERS: (0.1, 0.25, 0.5, 1.0, 5.0),
    Sort.CELLS: (SQUARE_ML, SQUARE_ML / 25),
    Sort.HATCH: (0.1, 0.25, 0.5, 1.0),
    Sort.LARVAE: (50.0, 100.0, 250.0, 500.0, 1000.0),
    Sort.EGGS: (0.1, 0.5, 1.0, 5.0, 10.0),
    Sort.FISH: (1000.0, 2000.0, 5000.0, 10_000.0, 20_000.0),
    Sort.DEAD: (10.0, 50.0, 100.0, 250.0, 500.0),
}
"""Sizes that are often used, in mL. Common practice, no source."""

Setup = Generator[Step, Answer, "Ready"]


class Ready(NamedTuple):
    """All that is known before the first number: what is counted, and who counts."""

    about: About
    who: str


def of_batch(site: Site, batch: str) -> About:
    """What a count of a batch is for, by what the record knows of it; Refusal for none."""
    events = site.reader.feeding.batch(batch)
    begun = next((one for one in reversed(events) if one.event in BEGINS), None)
    if begun is None:
        raise Refusal(f"There is no batch {batch} in the record.")
    sort = SORT_OF.get(_kind(begun))
    if sort is None:
        raise Refusal(f"{batch} is nothing that is counted in drops.")
    return with_cysts(site, in_vessel(site, batch, about_of(site, batch, About(sort, sort.ml))))


def in_vessel(site: Site, batch: str, about: About) -> About:
    """The same, in the liters of its vessel: what was harvested of a culture is not its volume."""
    vessel = next((one for one in site.plan.cultures if one.code == batch), None)
    return about if vessel is None or not vessel.litres else about._replace(liters=vessel.litres)


def with_cysts(site: Site, about: About) -> About:
    """The same, with what a gram of its cysts would give if all of them hatched."""
    cysts = next((one for one in site.plan.cysts if one.code == about.lot), None)
    return about if cysts is None else about._replace(per_gram=cysts.per_gram or None)


def _kind(begun: BatchSeen) -> BatchKind:
    return BatchKind(begun.kind or BatchKind.CONE)


def setup(site: Site, hand: Hand, about: About | None = None) -> Setup:
    """Ask what is not known yet; Enter alone begins with what is usual."""
    if about is None:
        about = yield from _what(site)
    while True:
        shown = f"{_one(about)} of {_ml(about)}, {_diluted(about)}, {_in(about)}."
        answer = yield Step(
            f"Count {about.of} {_words(about.sort)}: {shown}".replace("  ", " "),
            ("another size", "another dilution", "other liters"),
            enter="begin",
        )
        if answer.number == 0:
            break
        if answer.number == 1:
            about = yield from _size(about)
        elif answer.number == 2:
            times = yield from _number("How many times diluted? 1 is not at all:", 1, 1e6)
            about = about._replace(dilution=times)
        else:
            liters = yield from _number("Liters in all:", 0.001, 1e6, "L")
            about = about._replace(liters=liters)
    who = yield from writer(site, hand, "Who counts?")
    return Ready(about, who)


def _what(site: Site) -> Generator[Step, Answer, About]:
    """What is counted: one under way, or a new one of a batch, a tank or neither."""
    before = drafts(site)[:2]
    going = tuple(
        f"go on: {one.begun.about.of} {_words(one.begun.about.sort)}, {one.at.hm()} {one.who}"
        for one in before
    )
    answer = yield Step("What is counted?", (*going, *(words for _, words in WHAT)))
    if answer.number <= len(going):
        return with_cysts(site, before[answer.number - 1].begun.about)
    sort = WHAT[answer.number - len(going) - 1][0]
    about = About(sort, sort.ml)
    if sort is Sort.LARVAE:
        tanks = tuple(tank.code for tank in site.plan.tanks)
        answer = yield Step("Larvae for which tank?", tanks, zero="none of them")
        if answer.number:
            about = about._replace(place=answer.words)
        liters = yield from _number("Liters in the vessel:", 0.001, 1e6, "L")
        return about._replace(liters=liters)
    offered = _offered(site, sort)
    if offered:
        answer = yield Step("Of which batch?", offered, zero="of none of these")
        if answer.number:
            known = about_of(site, answer.words, about)
            return with_cysts(site, in_vessel(site, answer.words, known))
    return about


def _offered(site: Site, sort: Sort) -> tuple[str, ...]:
    """Batches that can be counted so, newest first."""
    reader = site.reader.feeding
    events = reader.batches(site.now().utc - BACK_DAYS * 86400)
    if sort is Sort.HATCH:
        events = [*reader.stock_batches(), *events]
    found: dict[str, None] = {}
    for one in events:
        if one.event in BEGINS and _kind(one) in OF_KIND.get(sort, ()):
            found.pop(one.batch, None)
            found[one.batch] = None
        elif one.event in (BatchEvent.DISCARD, BatchEvent.EMPTY):
            found.pop(one.batch, None)
    return tuple(reversed(found))[:MOST_OFFERED]


def _size(about: About) -> Generator[Step, Answer, About]:
    sizes = DROPS[about.sort]
    shown = tuple(_ml(about._replace(ml=ml)) for ml in sizes)
    answer = yield Step("How large is one?", shown, zero="another, typed in mL", writes=True)
    if answer.number:
        return about._replace(ml=sizes[answer.number - 1])
    try:
        value = _read(answer.words, 1e-6, 1e5, "mL")
    except Refusal as refusal:
        value = yield from _number("How large is one, mL?", 1e-6, 1e5, "mL", told=str(refusal))
    return about._replace(ml=value)


def _number(
    ask: str, low: float, high: float, unit: str = "", told: str = ""
) -> Generator[Step, Answer, float]:
    while True:
        answer = yield Step(ask, writes=True, told=told)
        try:
            return _read(answer.words, low, high, unit)
        except Refusal as refusal:
            told = str(refusal)


def _read(words: str, low: float, high: float, unit: str) -> float:
    value = quantity.read(words, unit).value
    if not low <= value <= high:
        raise Refusal(f"{value:g} {unit} is not from {low:g} to {high:g}.".replace("  ", " "))
    return value


def leaving_out(sitting: Sitting) -> Talk:
    """Leave the sub-sample one stands at out, with a reason by number."""
    answer = yield Step(
        "Why does it not count? It stays in the record.", tuple(one.value for one in REASONS)
    )
    sitting.leave_out(REASONS[answer.number - 1])
    return f"Left out: {answer.words}."


def keeping(
    sitting: Sitting, title: Callable[[About], str], tell: Callable[[Count, Worked], str]
) -> Talk:
    """Keep a count; asked first where it is not enough, or can be kept in several ways.

    `title` and `tell` say it in words for the record. "" where one counts on.
    """
    worked, about = sitting.worked, sitting.count.about
    if worked is None or sitting.count.part:
        raise Refusal("Nothing to keep yet: type the number of this one first.")
    if worked.state is not State.ENOUGH:
        answer = yield Step("Keep it all the same?", ("count on", "keep it as it is"))
        if answer.number == 1:
            return ""
    movement = yield from _keep_as(worked.total, about.place)
    told = tell(sitting.count, worked)
    sitting.keep(told if about.batch else f"{title(about)}: {told}", movement)
    return f"Kept ({sitting.who}): {title(about)}, {told}."


def _keep_as(total: float | None, place: str | None) -> Generator[Step, Answer, str]:
    """As what larvae are kept: "stocked", "census", or "" for a note."""
    if total is None or place is None:
        return ""
    answer = yield Step(
        f"{total:,.0f} larvae at {place}: keep them as what?",
        ("stocked into it now", "a count of all that are in it", "a note only"),
    )
    return {1: "stocked", 2: "census"}.get(answer.number, "")


# ---- words of the questions


def _words(sort: Sort) -> str:
    return "test hatch" if sort is Sort.HATCH else sort.value


def _one(about: About) -> str:
    return {Sort.NAUPLII: "drops", Sort.CELLS: "squares"}.get(about.sort, "samples")


def _ml(about: About) -> str:
    if about.sort is Sort.CELLS:
        side = {SQUARE_ML: "1 mm", SQUARE_ML / 25: "0.2 mm"}.get(about.ml)
        if side is not None:
            return f"{side} a side, 0.1 mm deep"
    return f"{number_text(about.ml)} mL"


def _diluted(about: About) -> str:
    if about.dilution == 1:
        return "not diluted"
    return f"diluted {number_text(about.dilution)} times"


def _in(about: About) -> str:
    return "liters not known" if about.liters is None else f"in {number_text(about.liters)} L"
