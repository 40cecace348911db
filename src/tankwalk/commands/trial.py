"""The trial printed: one measure, all of them as data or CSV, or a report that stands alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import open_site_of, printed, shares
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse

    from tankwalk.clock import Instant
    from tankwalk.practice.site import Site
    from tankwalk.practice.trial.comparing import Compared
    from tankwalk.practice.trial.gathering import Gathered


def trial(arguments: argparse.Namespace) -> int:
    """Print the comparison of a measure; Refusal where n is to count anything but tanks."""
    if arguments.unit.strip().casefold() != "tank":
        from tankwalk.plan.trial import NO_FISH

        raise Refusal(f"n = {arguments.unit[:20]} is refused. {NO_FISH}")
    if arguments.html is not None:
        return _report(arguments)
    if arguments.csv is not None:
        return _csv(arguments)
    if arguments.json:
        return _json(arguments)
    return printed(arguments, lambda site, width: _words(site, arguments, width))


def _until(site: Site, arguments: argparse.Namespace) -> Instant | None:
    """The last second of the day that was asked for."""
    if arguments.until is None:
        return None
    from datetime import date, timedelta

    from tankwalk.clock import Instant, at, zone

    try:
        day = date.fromisoformat(arguments.until)
        end = at(day + timedelta(days=1), 0, 0, zone(site.plan.zone))
    except (ValueError, OverflowError) as fault:
        raise Refusal(f"{arguments.until[:20]!r} is no day: write it as 2026-05-10.") from fault
    return Instant(end.utc - 1, end.offset)


def _gathered(site: Site, arguments: argparse.Namespace) -> Gathered:
    from tankwalk.practice.trial.gathering import gather

    return gather(site, _until(site, arguments))


def _compared(page: Gathered, code: str, *, arcsine: bool) -> Compared:
    from tankwalk.practice.trial.comparing import compared

    return compared(page.measure(code), page.treatments, page.trial, arcsine=arcsine)


def _every(page: Gathered, *, arcsine: bool) -> list[Compared]:
    """All measures compared; the arcsine only where it means something."""
    return [_compared(page, one.code, arcsine=arcsine and one.unit == "%") for one in page.measures]


def _words(site: Site, arguments: argparse.Namespace, width: int) -> str:
    from tankwalk.pages import trial as drawn
    from tankwalk.pages.lines import plain
    from tankwalk.practice.trial.courses import courses

    page = _gathered(site, arguments)
    measure = page.measure(arguments.measure or page.measures[0].code)
    one = _compared(page, measure.code, arcsine=arguments.arcsine)
    lines = drawn.draw(page, one, courses(page, measure), width, None)
    lines += drawn.behind(page, one, width)
    return plain(lines)


def _json(arguments: argparse.Namespace) -> int:
    import json

    from tankwalk.exchange.plain_values import plain_value

    site = open_site_of(arguments)
    page = _gathered(site, arguments)
    if arguments.measure is None:
        every = _every(page, arcsine=arguments.arcsine)
    else:
        every = [_compared(page, arguments.measure, arcsine=arguments.arcsine)]
    site.close()
    value = {
        "trial": page.trial,
        "until": page.until,
        "unit": "tank",
        "measures": every,
        "not_as_planned": page.not_as_planned,
    }
    print(json.dumps(plain_value(value), indent=2, ensure_ascii=False))
    return 0


def _csv(arguments: argparse.Namespace) -> int:
    from pathlib import Path

    from tankwalk.exchange import tables
    from tankwalk.pages import trial_tables

    site = open_site_of(arguments)
    page = _gathered(site, arguments)
    every = _every(page, arcsine=arguments.arcsine)
    made = trial_tables.tables(page, every)
    methods = trial_tables.methods(site.plan, page, every)
    site.close()
    names = tables.write(Path(arguments.csv), "trial", made, methods)
    print(f"{len(names)} files are in {arguments.csv}: {', '.join(names)}.")
    return 0


def _report(arguments: argparse.Namespace) -> int:
    from tankwalk.commands.common import on_paper
    from tankwalk.exchange import trial_plots
    from tankwalk.pages import trial_html

    show = shares("Writing the report")

    def told(share: float) -> None:
        if show is not None:
            show(share)

    def made(site: Site, seal: str) -> str:
        told(0)
        try:
            page = _gathered(site, arguments)
            told(0.1)
            every = _every(page, arcsine=arguments.arcsine)
            told(0.2)
            plots = trial_plots.plots(page, every, lambda share: told(0.2 + 0.7 * share))
            return trial_html.report(site.plan, page, every, plots, seal)
        finally:
            told(1)

    return on_paper(arguments, made)
