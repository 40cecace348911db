"""Writes docs/stock.md: the demo's fish by the record beside what the season's own fates say.

    python tests/stock_table.py [FILE]

The fates (demo/tankwalk_demo/stock.py) know every fish, also those that vanished unseen; the record
knows what people entered. `tests/test_stock_table.py` holds the one to the other, and the page to
both.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import NamedTuple

from demo_support import STATION, whole
from site_support import moment
from tankwalk.practice.site import open_site
from tankwalk.practice.stock.numbers import StockNumbers, numbers, survival
from tankwalk_demo.room import SEED, plan
from tankwalk_demo.stock import STOCKED, TankDay, at_census, book, fates

PAGE = Path(__file__).parent.parent / "docs" / "stock.md"

AT_CENSUS, AT_END = "2026-05-04T14:45", "2026-05-19T19:00"
"""When the census by volume samples is over, and the census by hand on day 30."""

SCENARIO = {
    "E10": (1951, 3621, 38),
    "M14": (2175, 3687, 34),
    "L18": (2335, 3736, 32),
}
"""The scenario's own table for 33 dph (job.md, section 8), written before there was a program:
true, by the book, and percent of stocked unseen, each as a mean of its four tanks."""

BY_SAMPLES = 3.0
"""How many standard errors of the fish counted (Poisson) a census by samples may be off."""

CENSUS_L, CENSUS_SAMPLES = 10.0, 6
"""What each sample of the census is, in L, and how many there are."""

FEWEST_WITHIN = 9
"""So many of 12 tanks at least lie within 1.96 of them: fewer come one time in 500."""

BY_HAND = 10
"""A census by hand may be off by so many fish, as its entry says."""

BOOK_OFF = 25
"""The book may be off by one count of the dead: the last round ends after the table is read."""

LIVING_OFF, BOOK_MEAN_OFF, UNSEEN_OFF = 0.03, 0.02, 2.0
"""Means of four tanks against the scenario's table: parts of the living and of the book, points of
unseen. Its tanks scatter by +/- 10 % of their losses about it, which cancels but for chance."""


class Told(NamedTuple):
    """One tank: the record's numbers then and at the end, and what the fates know."""

    tank: str
    treatment: str
    then: StockNumbers
    end: StockNumbers
    days: dict[int, TankDay]

    @property
    def true_then(self) -> int:
        return at_census(self.days)

    @property
    def by_chance(self) -> float:
        """One standard error of the census by samples, by the fish counted alone, in fish."""
        census = self.then.census
        assert census is not None
        counted = census.fish * CENSUS_SAMPLES * CENSUS_L / plan().tank(self.tank).volume_l
        return float(census.fish / counted**0.5)

    @property
    def true_end(self) -> int:
        return self.days[30].living

    @property
    def true_book(self) -> int:
        return book(self.days, 30)


def told() -> list[Told]:
    """Every tank of the demo, in the order of the plan."""
    with closing(open_site(whole(), STATION, AT_END)) as site:
        tanks = [tank.code for tank in site.plan.tanks]
        then = numbers(site, tanks, moment(AT_CENSUS))
        end = numbers(site, tanks, moment(AT_END))
    return [
        Told(one.code, one.treatment or "", then[one.code], end[one.code], fates(SEED)[one.code])
        for one in plan().tanks
    ]


def page(found: list[Told]) -> str:
    """The page as it is written."""
    return "\n".join(_lines(found)) + "\n"


def _lines(found: list[Told]) -> Iterator[str]:
    yield "# The demo's fish, counted"
    yield ""
    yield from _words(
        "Made by `python tests/stock_table.py`, held by `tests/test_stock_table.py`.",
        "The demo's season is drawn from rates: so many of the living die a day and are found, so",
        "many vanish (eaten whole, decayed). Those fates know every fish. The record holds what",
        "people entered: what was stocked, the dead that were found, the samples, two censuses.",
        "Here the one stands beside the other; nothing of the right side comes from the record.",
    )
    yield from (
        "**Book**: stocked and moved in, less all that was seen to go; a census does not restart",
        "it. **Census**: what was counted, with its +/- (95 %, as entered). **Best**: the newest",
        "census less what was seen to go since; rates and rations use it. **Unaccounted**: the",
        "book at the census less the census; its +/- is that of both counts in quadrature, as they",
        "are independent.",
        "",
    )
    yield "## Set beforehand: what the noise allows"
    yield ""
    yield from (
        "- The census of 4 May (18 dph) is six volume samples of 10 L: some 700 fish a tank, put"
        " back.",
        "  Fish in a well-mixed tank scatter as Poisson, by about 3.8 % of the census. Each tank",
        f"  may be off by {BY_SAMPLES:g} of that, and at least {FEWEST_WITHIN} of 12 lie within"
        " 1.96 of it. The +/- that is",
        "  entered is never narrower (see the end), so the census is not held to it here.",
        f"- The census of 19 May (33 dph) is by hand: +/- {BY_HAND} fish.",
        f"- The book may differ by one count of the dead, {BOOK_OFF} fish.",
        f"- Means of a treatment against the scenario's table: the living within"
        f" {100 * LIVING_OFF:.0f} %, the book within",
        f"  {100 * BOOK_MEAN_OFF:.0f} %, unseen within {UNSEEN_OFF:.0f} points. The tanks of a"
        " treatment scatter by +/- 10 % of their",
        "  losses about it, which cancels but for chance; T07 lost fish to its screen beside that.",
        "",
    )
    yield "## At 18 dph, by volume samples"
    yield ""
    yield "| tank | arm | book | census | +/- | true | off by | unaccounted | +/- | truly unseen |"
    yield "| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |"
    for one in found:
        census, lost = one.then.census, one.then.unaccounted
        assert census is not None
        assert lost is not None
        assert census.plus_minus is not None
        unseen = one.then.book.fish - one.true_then
        yield (
            f"| {one.tank} | {one.treatment} | {one.then.book.fish:,} | {census.fish:,} "
            f"| {census.plus_minus:.0f} | {one.true_then:,} | {census.fish - one.true_then:+d} "
            f"| {lost.fish:,} | {lost.plus_minus or 0:.0f} | {unseen:,} |"
        )
    yield ""
    yield "## At 33 dph, by hand"
    yield ""
    yield (
        "| tank | arm | book | book by the fates | census | true | unaccounted, % of stocked "
        "| truly unseen, % |"
    )
    yield "| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: |"
    for one in found:
        census, lost = one.end.census, one.end.unaccounted
        assert census is not None
        assert lost is not None
        yield (
            f"| {one.tank} | {one.treatment} | {one.end.book.fish:,} | {one.true_book:,} "
            f"| {census.fish:,} | {one.true_end:,} | {lost.fish:,}, {percent(lost.fish):.1f} "
            f"| {percent(one.true_book - one.true_end):.1f} |"
        )
    yield ""
    yield "## Means of four tanks beside the scenario's table"
    yield ""
    yield "| arm | census | scenario | book | scenario | unseen, % | scenario |"
    yield "| --- | ---: | ---: | ---: | ---: | ---: | ---: |"
    for arm, (living, by_book, unseen) in SCENARIO.items():
        mean = means(found, arm)
        yield (
            f"| {arm} | {mean[0]:,.0f} | {living:,} | {mean[1]:,.0f} | {by_book:,} "
            f"| {mean[2]:.1f} | {unseen} |"
        )
    yield ""
    yield from (
        "The scenario's table knows of no samples: forty fish of each tank were kept for length",
        "and mass, which lowers book and living by so many.",
        "",
    )
    yield "## Survival: three figures that are never mixed"
    yield ""
    yield from (
        "Seen dead is the product-limit of the dead that were found, samples allowed for: an upper",
        "figure. Census is of those stocked and not taken out. Unaccounted is a part of stocked.",
        "At 33 dph, by tank; no figure is an average of fish of several tanks.",
        "",
    )
    yield "| tank | arm | seen dead, % | census, % | +/- | unaccounted, % | +/- |"
    yield "| --- | --- | ---: | ---: | ---: | ---: | ---: |"
    for one in found:
        its = survival(one.end)
        cells = (its.seen, its.census, its.census_error, its.unseen, its.unseen_error)
        yield (
            f"| {one.tank} | {one.treatment} | "
            + " | ".join("-" if cell is None else f"{100 * cell:.1f}" for cell in cells)
            + " |"
        )
    yield ""
    yield "## A gap, and what it says"
    yield ""
    yield from (
        "A census against what was expected then (the census before it, less what was seen to go):",
        "up to 5 % is fine, to 15 % it is explained, above it is looked into (common practice, no",
        "source). A gap within the error of the two counts says nothing. Percid larvae have a band",
        "of their own, up to 55 % and to 45 dph: in perch 28 to 53 % of the stock was swallowed",
        "whole while other deaths stayed at 1 % a day or less, and percid losses of more than half",
        "in the first weeks are told of (published trials, read second hand, not checked again).",
        "",
        "## Which error a number of fish has",
        "",
        "Sub-samples have two errors, and the wider one is entered and named. **By chance**: exact",
        "Poisson limits of all fish counted, which hold where fish are well mixed. **By spread**:",
        "Student's t of how the sub-samples differ, which holds where they are not. Before, the",
        "first was taken until a test spoke against it: T07 had 200 for six samples with a CV of",
        "11 %, where their spread gives more than 300. Six samples seldom show that fish clump. Of",
        "40,000 censuses simulated with six samples of 117 fish, so many of 100 held the number:",
        "",
        "| fish scatter | by chance | until a test speaks | by spread | the wider |",
        "| --- | ---: | ---: | ---: | ---: |",
        "| as chance does (Poisson) | 95.0 | 95.2 | 94.9 | 97.6 |",
        "| 1.5 times its variance | 89.3 | 90.7 | 94.9 | 96.5 |",
        "| 2 times | 83.6 | 87.9 | 95.0 | 96.0 |",
        "| 3 times | 74.4 | 87.1 | 95.0 | 95.3 |",
        "",
        "By spread alone would hold too, but six samples that agree by luck look surer than any",
        "count of so many fish is. Rations, survival and what is unaccounted for all lean on a",
        "census, so its error must not be too small. The counting pad for live feed keeps the rule",
        "with the test: a cone is stirred, and what it decides is one day's feed.",
    )


def _words(*lines: str) -> Iterator[str]:
    yield from lines
    yield ""


def percent(fish: float) -> float:
    """Percent of the fish that a tank was stocked with."""
    return 100 * fish / STOCKED


def means(found: list[Told], arm: str) -> tuple[float, float, float]:
    """Means of a treatment's tanks at the end: census, book, percent unaccounted for."""
    here = [one.end for one in found if one.treatment == arm]
    census = [one.census.fish for one in here if one.census is not None]
    lost = [percent(one.unaccounted.fish) for one in here if one.unaccounted is not None]
    many = len(here)
    return sum(census) / many, sum(one.book.fish for one in here) / many, sum(lost) / many


def main() -> None:
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else PAGE
    target.write_text(page(told()), "utf-8")


if __name__ == "__main__":
    main()
