"""Writes docs/doses.md: what stands between each dose and the record, as it is said today.

    python tests/doses_table.py [FILE]

Each sum is worked and kept in a fresh demo site, step by step, as a person would; the same inputs
go through `calc`. `tests/test_doses_table.py` holds the written page to it.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import closing
from pathlib import Path
from typing import NamedTuple

from demo_support import opened
from tankwalk.pages import worksheet as drawing
from tankwalk.pages.lines import plain
from tankwalk.practice.site import Site
from tankwalk.practice.workings import working_out
from tankwalk.practice.workings.figures import answer
from tankwalk.practice.workings.keep_talk import Asks
from tankwalk.practice.workings.sheet_view import sheet_view
from tankwalk.practice.workings.worksheet import Worksheet
from tankwalk.science.calculators import ALL
from tankwalk.science.ceilings import CEILINGS

PAGE = Path(__file__).parent.parent / "docs" / "doses.md"


class Case(NamedTuple):
    """A sum, the product it is of, and what is typed: usually, tenfold, above its ceiling."""

    name: str
    product: str
    typed: Mapping[str, str]
    tenfold: Mapping[str, str]
    ceiling: Mapping[str, str]


CASES = (
    Case("salt-dose", "salt", {"volume": "220", "from": "0", "to": "0.4"},
         {"to": "4"}, {"to": "15"}),
    Case("brine-dose", "brine 250 g/L", {"volume": "220", "from": "0", "to": "0.4"},
         {"to": "4"}, {"to": "15"}),
    Case("bicarbonate-dose", "sodium bicarbonate", {"volume": "220", "from": "80", "to": "84"},
         {"to": "120"}, {"to": "400"}),
    Case("bicarbonate-rise", "sodium bicarbonate", {"volume": "220", "mass": "1.5"},
         {"mass": "15"}, {"mass": "250"}),
    Case("chloride-for-nitrite", "salt", {"volume": "220", "nitrite": "0.3", "ratio": "20"},
         {"nitrite": "3"}, {"ratio": "2000"}),
    Case("chlorine-neutralize", "sodium thiosulfate", {"volume": "220", "chlorine": "0.2"},
         {"chlorine": "2"}, {"chlorine": "5000000"}),
    Case("bath", "peroxide 35 %", {"volume": "220", "dose": "20"},
         {"dose": "200"}, {"dose": "1000"}),
    Case("bath-flow", "formalin 37 %",
         {"flow": "3.5", "minutes": "60", "volume": "220", "dose": "20"},
         {"dose": "200"}, {"dose": "1000"}),
    Case("anesthetic-bath", "tricaine", {"volume": "4", "dose": "50", "purpose": "sedate",
                                         "buffer": "2"},
         {"dose": "500"}, {"dose": "1000"}),
)  # fmt: skip
"""One of each sum whose answer can be kept as a dose, each at a tank of its own."""


class Step(NamedTuple):
    """One line of the table."""

    what: str
    typed: str
    said: str
    printed: str


def sitting(site: Site, case: Case, place: str, more: Mapping[str, str]) -> Worksheet:
    """MV at the calculator with its fields typed, the caution read, asked as what it is kept."""
    sheet = Worksheet(site)
    sheet.go_to(place)
    sheet.arrive("MV", None)
    sheet.choose(case.name)
    keys = [one.key for one in sheet.inputs]
    for key, words in {"product": case.product, **case.typed, **more}.items():
        sheet.field = keys.index(key)
        sheet.type(words)
    if sheet.hidden:
        sheet.record()
    sheet.record()
    return sheet


def dosed(site: Site, case: Case, place: str, more: Mapping[str, str]) -> Worksheet:
    """The same, kept as a dose as far as it goes without another answer."""
    sheet = sitting(site, case, place, more)
    sheet.answer("2")
    return sheet


def told(sheet: Worksheet) -> str:
    """What the page of a dose says before it is kept."""
    talk = sheet.talk
    if talk is None or talk.reviewed is None:
        return sheet.said
    above = " ".join(f"! {one.words}" for one in talk.reviewed.above)
    return " ".join(part for part in (talk.reviewed.headline, above, talk.question) if part)


def through_calc(sheet: Worksheet) -> str:
    """The answer of the same fields and what stands against it, as `calc` prints them."""
    assert sheet.chosen is not None
    done = working_out.work(sheet.chosen.name, sheet.typed)
    caution = "caution first" if done.calculator.caution else ""
    danger = ", dangerous" if done.dangerous else ""
    against = " ".join(f"! {words}" for words in done.warnings)
    return f"{caution}{danger}; **{answer(done)}** {against}".strip("; ")


def keep_first(sheet: Worksheet) -> None:
    """The first dose typed again, so that it is kept."""
    assert sheet.talk is not None
    assert sheet.talk.asks is Asks.AGAIN
    assert sheet.talk.dose is not None
    sheet.answer(sheet.talk.dose.shown)
    assert sheet.talk is None, sheet.said


def steps(site: Site, case: Case, place: str) -> Iterator[Step]:
    """A dose through all that can become of it, at one place."""
    first = dosed(site, case, place, {})
    yield Step("first dose", _shown(case.typed), told(first), through_calc(first))
    keep_first(first)
    tenfold = dosed(site, case, place, case.tenfold)
    yield Step("tenfold", _shown(case.tenfold), told(tenfold), through_calc(tenfold))
    above = dosed(site, case, place, case.ceiling)
    yield Step("ceiling", _shown(case.ceiling), told(above), through_calc(above))
    back = sitting(site, case, place, {})
    back.answer("3")
    back.answer("1")
    said = back.said
    again = dosed(site, case, place, {})
    yield Step("withdrawn", "+ 3, then 1", f"{said} Then: {told(again)}", "keeps nothing")


def _shown(typed: Mapping[str, str]) -> str:
    return " ".join(f"{key}={words}" for key, words in typed.items())


def _cell(words: str) -> str:
    return " ".join(words.split()).replace("|", "\\|")


def page(folder: Path) -> str:
    """The whole page, from a demo site made in a folder."""
    lines = [
        "# Doses: what stands before the record",
        "",
        "Written by `python tests/doses_table.py`. Each sum is worked at a tank of its own of the "
        "demo, where its product never went in before: the first dose, ten times as much after it, "
        "one above its ceiling, and the first one taken back. Left is what the page before the "
        "record says in a terminal, right what `calc` prints. Nothing below was kept but the first "
        "dose, by its amount typed again.",
        "",
        "| kind | ceiling | of | who says so |",
        "| --- | --- | --- | --- |",
    ]
    for kind, most in CEILINGS.items():
        lines.append(f"| {kind.value} | {most.words} | {most.of} | {_cell(most.source)} |")
    no_dose = [c.name for c in ALL.values() if c.dose is None and c.kind is not None]
    lines += [
        "",
        f"Never a dose into water with fish, so kept as a note alone: {', '.join(no_dose)}.",
    ]
    with closing(opened(folder)) as site:
        overdose = Case("bicarbonate-rise", "sodium bicarbonate", {"volume": "3600"}, {}, {})
        sheet = dosed(site, overdose, "L1", {"mass": "2500"})
        drawn = plain(drawing.draw(sheet_view(sheet), 80, 24))
        lines += ["", "Ten times the bicarbonate that loop L1 usually gets, at 80x24:", "", "```"]
        lines += [row.rstrip() for row in drawn.split("\n")]
        lines += ["```"]
        for case, tank in zip(CASES, site.plan.tanks, strict=False):
            lines += [
                "",
                f"## {case.name}: {case.product} into {tank.code}",
                "",
                "| | typed | in the terminal | through calc |",
                "| --- | --- | --- | --- |",
            ]
            lines += [
                f"| {one.what} | `{one.typed}` | {_cell(one.said)} | {_cell(one.printed)} |"
                for one in steps(site, case, tank.code)
            ]
    return "\n".join(lines) + "\n"


def main() -> int:
    """Write the page."""
    file = Path(sys.argv[1]) if len(sys.argv) > 1 else PAGE
    with tempfile.TemporaryDirectory() as folder:
        file.write_text(page(Path(folder)), "utf-8")
    print(f"Wrote {file}.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
