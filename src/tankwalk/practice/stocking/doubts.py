"""What speaks against a number of fish before it is kept: more than there are, tenfold, a gap."""

from __future__ import annotations

from collections.abc import Generator

from tankwalk.clock import Instant
from tankwalk.ledger.stock import What
from tankwalk.practice.dialog import Answer, Step
from tankwalk.practice.site import Site
from tankwalk.practice.stock.numbers import Best, Gap, Number, numbers
from tankwalk.practice.stock.reconciling import Judged, Verdict, Why, judge

AGAIN = "type it again"
KEEP = "keep it"
RIGHT = "it is right: keep it"
EARLIER = "it was earlier"

TENFOLD = 7.0
"""So many times more or less than what it is held against is asked about: a zero too many is ten.
Common practice, no source."""

LARGE_PART = 0.5
"""Fish going out that are more than this part of all are asked about. Common practice."""


def of_going(site: Site, tank: str, what: What, fish: int, held: Best) -> list[str]:
    """What speaks against so many going out of a tank, or being handled there."""
    if fish > held.fish:
        book = numbers(site, [tank])[tank].book.fish
        said = f"{tank} holds about {held.fish:,} fish"
        said += f", {book:,} by the book" if book != held.fish else ""
        return [f"{said}: {fish:,} are more than that. Is it this tank?"]
    before = [
        one.fish for one in numbers(site, [tank])[tank].movements if one.what == what and one.fish
    ]
    if before and fish >= TENFOLD * max(before):
        return [f"{fish:,} is {fish / before[-1]:.0f} times the {before[-1]:,} of the last time."]
    if fish > LARGE_PART * held.fish and what != What.MOVED_OUT:
        return [f"{fish:,} are {100 * fish / held.fish:.0f} % of the about {held.fish:,} there."]
    return []


def of_a_stocking(site: Site, tank: str, fish: int, held: Best | None) -> list[str]:
    """What speaks against so many being stocked."""
    found = []
    if held is not None and held.fish:
        found.append(f"{tank} holds about {held.fish:,} fish already: are these more?")
    here = site.plan.find_tank(tank)
    others = sorted(
        one.stocked.fish
        for code, one in numbers(site, [t.code for t in site.plan.tanks]).items()
        if code != tank
        and one.stocked.fish
        and here is not None
        and getattr(site.plan.find_tank(code), "lot", None) == here.lot
    )
    if others:
        usual = others[len(others) // 2]
        if fish >= TENFOLD * usual or fish * TENFOLD <= usual:
            found.append(f"Other tanks of the lot got about {usual:,}: is a zero too many or few?")
    return found


def of_a_census(site: Site, tank: str, fish: int, error: float) -> list[str]:
    """What speaks against a census of so many."""
    its = numbers(site, [tank]).get(tank)
    if its is None:
        return [f"No fish were ever entered for {tank}: is it this tank?"]
    book, best = its.book, its.best.fish
    if best and (fish >= TENFOLD * best or fish * TENFOLD <= best):
        return [f"About {best:,} were expected: is a zero too many or too few?"]
    if fish - error > book.fish + (book.plus_minus or 0.0):
        return [
            f"{fish:,} are more than the {book.fish:,} that the book can hold: is it this tank, "
            "or was too low a number stocked?"
        ]
    return []


def why_a_gap(
    site: Site, tank: str, fish: int, error: float
) -> Generator[Step, Answer, str | None]:
    """Asked where a census leaves a gap that wants a word: what may be behind it."""
    judged = gap_of(site, tank, fish, error)
    if judged is None or judged.verdict in (Verdict.CHANCE, Verdict.FINE):
        return None
    lost, expected = judged.gap.lost, judged.gap.expected.fish
    which = "missing" if lost > 0 else "too many"
    labels = tuple(why.value for why in Why)
    answer = yield Step(
        f"{abs(lost):,} of {expected:,} {which}, {judged.verdict.value}: what is it?",
        labels,
        zero="not known yet",
    )
    return answer.words if answer.number else None


def gap_of(site: Site, tank: str, fish: int, error: float | None) -> Judged | None:
    """What a census of so many would leave open; None where no fish were ever entered."""
    its = numbers(site, [tank]).get(tank)
    if its is None:
        return None
    now: Instant = site.now()
    gap = Gap(0, now, Number(fish, error, now, 1), its.best, None)
    here = site.plan.find_tank(tank)
    return judge(gap, None if here is None else site.plan.age(here, now.day))
