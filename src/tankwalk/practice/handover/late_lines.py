"""What a handover says of values that were entered later than they were seen."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.corrections import Late
from tankwalk.ledger.handovers import Given
from tankwalk.practice.handover.lines import LateLine
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site


def late_lines(site: Site, since: int) -> list[LateLine]:
    """Values entered late since a UTC second: a line a round, a person who entered, and a handover
    that was given before they were in."""
    found = [
        one for one in site.reader.corrections.entered_late(since) if one.read.value is not None
    ]
    if not found:
        return []
    given = site.reader.handovers.given(min(one.at.utc for one in found))
    grouped: dict[tuple[int | None, str, bool, Given | None], list[Late]] = {}
    for one in found:
        by = one.who if one.typist is None else one.typist
        key = one.round, by, one.typist is not None, _without(one, given)
        grouped.setdefault(key, []).append(one)
    return [_line(site, number, by, paper, lacks, values)
            for (number, by, paper, lacks), values in grouped.items()]  # fmt: skip


def _without(one: Late, given: Sequence[Given]) -> Given | None:
    """The newest handover that was given after a value was seen and before it was entered."""
    between = (each for each in given if each.at.utc >= one.at.utc and each.n < one.n)
    return max(between, key=lambda each: each.n, default=None)


def _line(
    site: Site, number: int | None, by: str, paper: bool, lacks: Given | None, values: list[Late]
) -> LateLine:
    out = sorted((v for v in values if v.flag >= Flag.WATCH), key=lambda v: (-v.flag, v.n))
    return LateLine(
        _label(site, number),
        Instant(*min((v.at.utc, v.at.offset) for v in values)),
        max((v.entered for v in values), key=lambda at: at.utc),
        by,
        paper,
        len(values),
        tuple(out),
        tuple(site.plan.find_item(v.item) for v in out),
        lacks,
    )


def _label(site: Site, number: int | None) -> str:
    """What a round is called; "" for none, and for a look."""
    code = None if number is None else site.reader.rounds.checklist_of(number)
    return next((one.label for one in site.plan.checklists if one.code == code), "")
