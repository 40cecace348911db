"""Fish counted by sub-samples, one by one on the counting pad's own sums: each is kept as typed."""

from __future__ import annotations

from collections.abc import Generator

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.ledger.stock import What
from tankwalk.practice.counting.pad import (
    HALF_RANGE,
    MOST_COUNTED,
    About,
    Count,
    Sort,
    State,
    Worked,
    fish_error,
)
from tankwalk.practice.counting.sitting import Draft, Sitting, drafts
from tankwalk.practice.dialog import Answer, Hand, Step, Talk, writer
from tankwalk.practice.livefeed.asking import number, wanted
from tankwalk.practice.site import Site
from tankwalk.practice.stock.numbers import best
from tankwalk.practice.stocking.doubts import (
    AGAIN,
    RIGHT,
    of_a_census,
    of_a_stocking,
    of_going,
    why_a_gap,
)

LITERS = 10.0
"""A usual volume sample, in L."""

MOST_L = 1e6

BY_SPREAD, BY_CHANCE = ", spread", ", chance"
"""Which error a number of fish has: Student's t of its sub-samples, or Poisson of all counted."""

STATES = {
    State.NONE: "Nothing counted",
    State.FEW: "Few: count three at least",
    State.UNEVEN: "Not well mixed: stir, or count one again",
    State.SCATTERED: "Scattered: count more",
    State.WIDE: "Wide: count more",
    State.ENOUGH: "Enough",
}
"""How a count stands, as it is said while it goes on."""


def by_volume(site: Site, who: str, tank: str, what: What, sort: Sort) -> Talk:
    """Volume samples of a tank, or of what it was stocked from."""
    left = under_way(site, tank)
    if left is not None and left.begun.about.liters is not None and left.what == what:
        return (yield from _gone_on(site, who, left))
    here = site.plan.find_tank(tank)
    proposed = None if here is None else here.volume_l
    liters = yield from wanted(
        number("Liters that the samples are of", "L", 0.1, MOST_L, proposed=proposed,
               as_what="the tank")
    )  # fmt: skip
    size = yield from wanted(
        number("Liters of one sample", "L", 0.01, liters, proposed=min(LITERS, liters),
               as_what="as usual")
    )  # fmt: skip
    sitting = Sitting(site, who, About(sort, 1000 * size, liters=liters, place=tank), what)
    return (yield from counted_out(site, sitting, tank, what, _how(size)))


def under_way(site: Site, tank: str) -> Draft | None:
    """Volume samples of a tank that were begun and not kept as a number of fish yet."""
    found = (one for one in drafts(site) if one.begun.about.sort is Sort.FISH)
    return next((one for one in found if one.begun.about.of == tank), None)


def go_on(site: Site, hand: Hand, tank: str) -> Talk:
    """On with volume samples of a tank that were left under way."""
    left = under_way(site, tank)
    if left is None or not left.what or left.begun.about.liters is None:
        raise Refusal(f"{tank}: count or move leads on with its samples.")
    who = yield from writer(site, hand, "Who handled the fish?")
    return (yield from _gone_on(site, who, left))


def _gone_on(site: Site, who: str, left: Draft) -> Talk:
    about, what = left.begun.about, What(left.what)
    sitting = Sitting(site, who, about, what)
    return (yield from counted_out(site, sitting, about.of, what, _how(about.ml / 1000)))


def _how(size: float) -> str:
    return f"volume samples of {size:g} L"


def counted_out(site: Site, sitting: Sitting, tank: str, what: What, how: str) -> Talk:
    """Count sub-samples until it is enough, and keep what they come to as a movement."""
    yield from _samples(sitting, tank)
    worked = sitting.worked
    if worked is None or worked.total is None:
        raise Refusal("Nothing was counted: nothing was kept.")
    fish, limits = round(worked.total), fish_error(sitting.count)
    half, error = limits.half, BY_SPREAD if limits.by_spread else BY_CHANCE
    held = best(site, [tank]).get(tank)
    if what == What.STOCKED:
        doubts = of_a_stocking(site, tank, fish, held)
    elif what == What.CENSUS:
        doubts = of_a_census(site, tank, fish, half)
    else:
        doubts = [] if held is None else of_going(site, tank, what, fish, held)
    why = None
    if what == What.CENSUS:
        why = yield from why_a_gap(site, tank, fish, half)
    cv = "" if worked.aliquots.cv is None else f", CV {worked.aliquots.cv:.0f} %"
    method = f"{worked.many} {how}{cv}{error}"
    name = "mass event" if what == What.DEAD else what.value
    words = f"{tank} {name} {fish:,} +/- {half:,.0f}, {method}"
    choices = (AGAIN, RIGHT) if doubts else ("keep it", AGAIN)
    answer = yield Step(f"{words}.", choices, told=" ".join(doubts))
    if answer.words == AGAIN:
        raise Refusal("Nothing was kept as a movement; the samples are, and are gone on with.")
    sitting.keep(method, what, why)
    return f"Kept {site.now().hm()} ({sitting.who}): {words}."


def running(count: Count, worked: Worked | None) -> str:
    """How the count stands: mean, CV, total with its range, and whether it is enough."""
    if worked is None or worked.total is None:
        return ""
    mean = worked.found / worked.many
    cv = "" if worked.aliquots.cv is None else f", CV {worked.aliquots.cv:.0f} %"
    half = fish_error(count).half
    wide = worked.state is State.ENOUGH and half > HALF_RANGE * worked.total
    state = STATES[State.WIDE if wide else worked.state]
    return (
        f"{worked.many} counted, mean {mean:.1f}{cv}: {worked.total:,.0f} +/- {half:,.0f} fish. "
        f"{state}."
    )


def _samples(sitting: Sitting, tank: str) -> Generator[Step, Answer, None]:
    """One number after another, each kept; `+` is enough, `-` takes the newest back."""
    told = ""
    while True:
        worked = sitting.worked
        nth = len(sitting.count.taken) + 1
        keys = []
        if worked is not None:
            keys = [("+", "enough"), ("-", "newest back")]
        stands = " ".join(part for part in (told, running(sitting.count, worked)) if part)
        answer = yield Step(f"{tank} sample {nth}: how many fish?", writes=True, told=stands,
                            quick=tuple(keys))  # fmt: skip
        told = ""
        if answer.words == "+" and worked is not None:
            return
        if answer.words == "-" and worked is not None:
            sitting.undo()
            told = "Taken back."
            continue
        try:
            value = quantity.read(answer.words, "", most=MOST_COUNTED).value
            if value != int(value) or value < 0:
                raise Refusal(f"{value:g} is no count: type a whole number.")
            sitting.add(int(value))
        except Refusal as refusal:
            told = str(refusal)
