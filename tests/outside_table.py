"""Writes docs/outside-values.md: every outside value, how far ours is from it, and what differs.

    python tests/outside_table.py [FILE]

Made from the same lists that `tests/test_outside.py` checks; `tests/test_outside_table.py` holds
the written page to them.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from outside import Differs, Kind, Source, got, values
from outside_all import DIFFERS, SOURCES
from tankwalk.science.calculators import ALL

PAGE = Path(__file__).parent.parent / "docs" / "outside-values.md"

_DEFINED = "by definition; its worked examples are in the tests of its module"

NOBODY: dict[str, str] = {
    "stocking-density": f"a division {_DEFINED}",
    "feed-conversion": f"a division {_DEFINED}",
    "ration": f"a product {_DEFINED}",
    "daily-mortality": f"a division {_DEFINED}",
    "count-gap": f"sums of counts {_DEFINED}",
    "algae-feed": f"a product and a division {_DEFINED}",
    "enrichment-dose": f"a product {_DEFINED}",
    "degree-days-to": f"a division {_DEFINED}",
    "culture-harvest": f"products {_DEFINED}",
    "feed-lasts": f"sums and a division {_DEFINED}",
    "tempering": f"a division {_DEFINED}",
}
"""Calculators that nobody outside can be asked about, and why."""


class Row(NamedTuple):
    """One source with its values, and the one that uses up most of its tolerance."""

    source: Source
    held: int
    apart: float
    relative: float | None
    tolerance: float
    typed: Mapping[str, str]
    key: str


def used(apart: float, tolerance: float) -> float:
    """Which part of its tolerance a disagreement takes."""
    if tolerance > 0:
        return apart / tolerance
    return float("inf") if apart else 0.0


TIGHT = 0.8
"""A gap of more than this part of its tolerance is told: it may have been widened to fit."""

_BY_RULE = re.compile(
    r"(\S+: )?(to the printed figures: )?(half of the last digit|(to )?the (\w+ )?printed figures"
    r"|whole \w+|printed (digits|to (a )?\w+( digits| decimals)?)|the table has two decimals"
    r"|(two|three|four) (decimals|digits)( printed)?|\S+ %: the (table has|cells are printed) .*)"
    r"($|;|, so)"
    r"|.*(rounding only|bisection|stepped? to 1e-|steps to 1e-|exact solution|by halving)"
    r"|1e-\d+\b"
)
"""Why a tolerance is as it is, where the digits printed or rounding alone give it."""


def by_rule(source: Source) -> bool:
    """Whether a tolerance stood before the value was seen; where nobody can tell, it did not."""
    return _BY_RULE.match(source.why) is not None


def measured(source: Source) -> Row:
    """Every value of a source worked, and the worst of them."""
    found = values(source)
    worst: Row | None = None
    for typed, expected, tolerance, key in found:
        ours = got(source, typed, key)
        if expected is None or ours is None:
            continue  # an answer that has no value is held by the test, and has no distance
        apart = abs(ours - expected)
        relative = apart / abs(expected) if expected else None
        if worst is None or used(apart, tolerance) > used(worst.apart, worst.tolerance):
            worst = Row(source, len(found), apart, relative, tolerance, typed, key)
    return worst or Row(source, len(found), 0.0, None, 0.0, found[0].typed, found[0].key)


def counts() -> dict[tuple[str, str], int]:
    """How many values each (calculator, reference) has."""
    total: dict[tuple[str, str], int] = {}
    for source in SOURCES:
        at = cell(source.calculator), cell(source.reference)
        total[at] = total.get(at, 0) + len(values(source))
    return total


def cell(words: str) -> str:
    """Words as they stand in a cell of a table."""
    return " ".join(words.split()).replace("|", "\\|")


def inputs(typed: Mapping[str, str], key: str) -> str:
    """Inputs as the command line takes them; a long list is cut. The key where it is not value."""
    shown = " ".join(f"{name}={_short(text)}" for name, text in typed.items())
    return cell((f"`{shown}`" if shown else "as usual") + ("" if key == "value" else f" ({key})"))


def _short(text: str) -> str:
    words = text.split()
    if len(words) > 6:
        return f"{' '.join(words[:3])} ... ({len(words)} numbers)"
    return text


def page() -> str:
    """The whole page."""
    rows = [measured(source) for source in SOURCES]
    order = list(ALL)
    rows.sort(key=lambda row: order.index(row.source.calculator))
    return "\n".join([*_head(rows), *_agree(rows), *_known(DIFFERS)]) + "\n"


def _head(rows: list[Row]) -> list[str]:
    covered = {row.source.calculator for row in rows}
    references = {row.source.reference for row in rows}
    lines = [
        "# Outside values",
        "",
        "What others print, tabulate or compute, and how far the calculators are from it. Written",
        "by `python tests/outside_table.py` from the lists that `tests/test_outside.py` checks; no",
        "value here is our own output. *Worst* is how far ours is at the value that uses up most",
        "of its tolerance; *relative* is the same over that value. A tolerance is in the unit of",
        "the answer.",
        "",
        f"- outside values: {sum(row.held for row in rows)}",
        *(_of_kind(rows, kind) for kind in Kind),
        f"- references: {len(references)}",
        f"- calculators held to at least one: {len(covered)} of {len(ALL)}",
    ]
    left = [name for name in ALL if name not in covered]
    lines += [f"- nobody outside to ask about `{name}`: {NOBODY.get(name, '')}" for name in left]
    return [*lines, *_tight(rows)]


def _of_kind(rows: list[Row], kind: Kind) -> str:
    """How many values are of a kind; those that are another row's turned round count there."""
    here = [row for row in rows if row.source.kind is kind]
    again = sum(row.held for row in here if row.source.again)
    once = sum(row.held for row in here) - again
    more = f", and {again} that are some of these turned round" if again else ""
    return f"- {kind}: {once}{more}"


def _tight(rows: list[Row]) -> list[str]:
    """How many rows hardly hold, and how many of these by a tolerance that was set beforehand."""
    tight = [row for row in rows if used(row.apart, row.tolerance) > TIGHT]
    before = sum(by_rule(row.source) for row in tight)
    return [
        "",
        f"In {len(tight)} of {len(rows)} rows the worst gap takes more than {TIGHT:.0%} of its",
        f"tolerance. In {before} of these the digits that are printed, or rounding, give the",
        "tolerance, which so stood before the value was seen (*set*: before). In the other",
        f"{len(tight) - before} it was set, or may have been, when the gap was known (after): such",
        "a row says how far two sources are apart and shows a slip of the pen, and is no test of",
        "the last digits.",
    ]


def _agree(rows: list[Row]) -> list[str]:
    lines = [
        "",
        "## Agreements",
        "",
        "| calculator | reference | values | worst | relative | at | tolerance | why | set |",
        "| --- | --- | ---: | ---: | ---: | --- | ---: | --- | --- |",
    ]
    for row in rows:
        relative = "" if row.relative is None else f"{row.relative:.1e}"
        name = row.source.calculator
        lines.append(
            f"| {name} | {cell(row.source.reference)} | {row.held} | {row.apart:.2g} "
            f"| {relative} | {inputs(row.typed, row.key)} | {row.tolerance:.2g} "
            f"| {cell(row.source.why)} | {'before' if by_rule(row.source) else 'after'} |"
        )
    return lines


def _known(differs: tuple[Differs, ...]) -> list[str]:
    lines = [
        "",
        "## Known to differ",
        "",
        "Printed numbers that the equation does not give. Ours are not bent to meet them.",
        "",
        "| calculator | statement | printed | ours | at | why | reference |",
        "| --- | --- | ---: | ---: | --- | --- | --- |",
    ]
    for known in differs:
        ours = got(known, known.typed, known.key)
        assert ours is not None
        lines.append(
            f"| {known.calculator} | {cell(known.statement)} | {known.printed:.6g} | {ours:.6g} "
            f"| {inputs(known.typed, known.key)} | {cell(known.reason)} | {cell(known.reference)} |"
        )
    return lines


def main(argv: list[str]) -> None:
    target = Path(argv[0]) if argv else PAGE
    target.write_text(page(), "utf-8")
    print(f"Wrote {target}.")


if __name__ == "__main__":
    main(sys.argv[1:])
