"""The trial on paper and as CSV: it stands alone, and holds no formula and no markup."""

from __future__ import annotations

import csv
import re
from datetime import date
from pathlib import Path

import pytest

from demo_support import opened, until
from site_support import SEAL
from tankwalk.cli import main
from tankwalk.clock import parse_instant, zone
from tankwalk.exchange import tables, trial_plots
from tankwalk.pages import trial_html
from tankwalk.pages.trial_tables import Table
from tankwalk.plan.bands import band_for, edges
from tankwalk.practice.trial.comparing import compared
from tankwalk.practice.trial.gathering import gather

SUNDAY = "2026-05-10T07:52"


def _where() -> list[str]:
    site = until(parse_instant(SUNDAY, zone("America/Chicago")))
    return ["--site", str(site), "--now", SUNDAY]


def test_the_report_stands_alone_without_matplotlib(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(trial_plots, "find_spec", lambda _: None)
    file = tmp_path / "trial.html"
    assert main(["trial", *_where(), "--html", str(file)]) == 0
    told = file.read_text("utf-8")
    assert "matplotlib is not installed here" in told
    assert "<svg" not in told
    assert not re.findall(r'(?:src|href)="(?!#)', told)
    for words in (
        "The tank is the experimental unit", "Two-way analysis",
        "plan ", "record up to entry", "Planned stopping", "Not as planned", "Missing",
        "live feed was eaten too", "People: ", "Bands in force", "suspect",
    ):  # fmt: skip
        assert words in told, words
    for code in ("E10", "M14", "L18", "T01", "T12"):
        assert code in told
    # On paper the head of a table stands again on each page, and no code is broken.
    assert len(re.findall(r'<table class="small"><thead>', told)) == len(trial_html.TABLES)
    assert '<td class="whole">T01</td>' in told


def test_words_of_the_plan_are_text_on_the_report(tmp_path: Path) -> None:
    def hostile(plan: str) -> str:
        return plan.replace(
            'question = "age at the start of dry feed"',
            'question = "<script>alert(1)</script> $x_1$ [red]"',
        )

    site = opened(tmp_path, hostile)
    page = gather(site)
    one = compared(page.measures[0], page.treatments, page.trial)
    told = trial_html.report(site.plan, page, [one], None, SEAL)
    site.close()
    assert "<script>" not in told
    assert "&lt;script&gt;alert(1)&lt;/script&gt; $x_1$ [red]" in told


def test_the_plots_are_black_and_stand_inside_the_page(tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    site = opened(tmp_path)
    page = gather(site)
    site.close()
    one = compared(page.measures[0], page.treatments, page.trial)
    page = page._replace(waters=tuple(w for w in page.waters if w.item.code in ("do", "temp")))
    made = trial_plots.plots(page, [one])
    assert made is not None
    assert set(made) == {"dots", "survival", "water-do", "water-temp"}
    ids: list[str] = []
    for markup in made.values():
        colors = re.findall(r"#([0-9a-f]{6})\b", markup.html)
        assert all(c[:2] == c[2:4] == c[4:] for c in colors), "a color on a page printed in black"
        assert 'href="http' not in markup.html
        ids += re.findall(r'\bid="([^"]+)"', markup.html)
        assert ">T01" in markup.html or "dots" in markup.html or ">A<" in markup.html
    assert len(ids) == len(set(ids))
    assert "stroke-dasharray" in made["survival"].html


def test_the_tables_are_csv_with_units_in_their_heads_and_na(tmp_path: Path) -> None:
    assert main(["trial", *_where(), "--csv", str(tmp_path / "out")]) == 0
    with (tmp_path / "out" / "tanks.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    census = [row for row in rows if row["measure"] == "census"]
    assert len(census) == 12
    assert all(row["unit"] == "%" and 40 < float(row["value"]) < 80 for row in census)
    assert {row["value"] for row in rows if row["measure"] == "fcr"} == {"NA"}
    with (tmp_path / "out" / "water.csv").open(encoding="utf-8", newline="") as handle:
        water = list(csv.DictReader(handle))
    assert any(int(row["suspect_looks_left_out"]) for row in water)
    assert "experimental unit" in (tmp_path / "out" / "methods.txt").read_text("utf-8")
    # Over its own files it writes anew, over anybody else's never.
    assert main(["trial", *_where(), "--csv", str(tmp_path / "out")]) == 0
    other = tmp_path / "other"
    other.mkdir()
    (other / "tanks.csv").write_text("mine")
    assert main(["trial", *_where(), "--csv", str(other)]) == 2
    assert (other / "tanks.csv").read_text() == "mine"


@pytest.mark.parametrize("words", ["=1+1", "+1", "-1", "@sum(a1)", "\tx", "\r=1"])
def test_no_cell_is_a_formula(words: str) -> None:
    told = tables.as_csv(Table("x", ("name",), ((words,), (-1.5,), (None,))))
    read = list(csv.reader(told.splitlines()))
    assert f"'{words[:1]}" in told
    assert ["-1.5"] in read
    assert ["NA"] in read


def test_bands_in_force_are_a_row_a_change_and_right_on_every_day(tmp_path: Path) -> None:
    site = opened(tmp_path)
    page = gather(site)
    waters = {(one.item.code, one.tank.code): one for one in page.waters}
    for one in page.bands:
        water = waters[one.item, one.tank]
        for step in one.steps:
            days = (step.last - step.day).days
            for n in range(days + 1):
                day = date.fromordinal(step.day.toordinal() + n)
                band = band_for(site.plan, water.item, tank=water.tank, loop=None, on=day)
                told = edges(band.limits) if band is not None else (None, None)
                for first, last, right in zip(step[1:3], step[5:7], told, strict=True):
                    if right is None or first is None or last is None:
                        assert (first, last, right) == (None, None, None)
                    else:
                        line = first + (last - first) * n / max(1, days)
                        assert line == pytest.approx(right, abs=0.03), (one.item, day)
    temperature = next(one for one in page.bands if one.item == "temp")
    assert len(temperature.steps) <= 2, "a ramp is one row, and not one a day"
    site.close()
