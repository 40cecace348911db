"""Files that nobody here made: how many values come in, how many do not, and why.

Where each is from stands in data/import/README.md; docs/import.md tells the same commands.
"""

from __future__ import annotations

from pathlib import Path

from import_support import said, tried
from site_support import SMALL, write_plan
from tankwalk.exchange.incoming.understanding import Told
from tankwalk.practice.importing.view import DryRun

FILES = Path(__file__).parent / "data" / "import"

PLAN = (
    SMALL.replace('site = ["alarm"]', 'site = ["alarm", "stage", "river"]').replace(
        '"screen", "morts"]', '"screen", "morts", "ph"]'
    )
    + """
[[item]]
code = "stage"
label = "Stage"
level = "site"
unit = "cm"
plausible = [-300, 600]
[[item]]
code = "river"
label = "River flow"
level = "site"
unit = "L/min"
plausible = [0, 9000000]
[[item]]
code = "ph"
label = "pH"
decimals = 2
plausible = [0, 14]
"""
)
"""A room that reads a river too: what these files hold is not of tanks."""


def brought(folder: Path, name: str, told: Told) -> DryRun:
    """A file as it would be imported into such a room."""
    write_plan(folder / "site", PLAN)
    with tried(folder, FILES / name, told) as trial:
        return trial.view()


def test_a_groundwater_logger_with_fifteen_title_lines(tmp_path: Path) -> None:
    view = brought(tmp_path, "wiski.csv", Told())
    assert [one.flag for one in view.asks] == ['--column "Value[mNAP]=temp"', "--place T01"]
    told = Told(columns={"Value[mNAP]": "site stage m"}, zone="Europe/Amsterdam")
    view = brought(tmp_path, "wiski.csv", told)
    assert (view.head, view.lines, view.taken, view.turned_down) == (16, 28, 28, 0)
    # The first line: 1 February 2007, 13:00, -0.607 m; the clock there is an hour ahead of UTC.
    assert said(view)[0] == "site stage -60.7 cm 2007-02-01T06:00-06:00"


def test_a_wide_sheet_with_a_line_of_types_and_zones_by_line(tmp_path: Path) -> None:
    columns = {"gage_height_va": "site stage ft", "discharge_va": "site river ft3/s"}
    view = brought(tmp_path, "usgs_measurements.txt", Told(columns=columns))
    assert (view.separator, view.head, view.first) == ("tab", 15, 17)
    assert (view.lines, view.taken, view.turned_down) == (9, 15, 3)
    # 5.62 ft are 171.3 cm; 298 ft3/s are 298 * 28.316846592 L * 60; EDT is UTC - 4.
    assert said(view)[:2] == [
        "site stage 171.3 cm 2008-06-02T11:00-05:00",
        "site river 506305.2 L/min 2008-06-02T11:00-05:00",
    ]
    assert {(one.line, one.cell) for one in view.refused} == {
        (24, "21.10"), (24, "16600"), (25, "5930"),
    }  # fmt: skip


def test_a_european_file_with_its_own_words(tmp_path: Path) -> None:
    columns = {"NUMERIEKEWAARDE": "site stage", "EENHEID_CODE": "unit"}
    view = brought(tmp_path, "waterinfo.csv", Told(columns=columns))
    assert (view.separator, view.lines, view.taken, view.turned_down) == ("semicolon", 5, 5, 0)
    # Midnight of 1 January 2022 in CET.
    assert said(view)[0] == "site stage 43.0 cm 2021-12-31T17:00-06:00"


def test_samples_one_result_a_line_with_units_and_zones_of_their_own(tmp_path: Path) -> None:
    view = brought(tmp_path, "usgs_samples.csv", Told(places={"USGS-05406500": "T01"}))
    assert view.asks == ()
    assert {name: means for name, means in view.columns if means != "skip"} == {
        "Location_Identifier": "place",
        "Activity_StartDate": "time",
        "Activity_StartTime": "clock",
        "Activity_StartTimeZone": "zone",
        "Result_Characteristic": "item",
        "Result_Measure": "value",
        "Result_MeasureUnit": "unit",
    }
    assert view.lines == 33
    assert {(one.channel.item, one.values) for one in view.laid} == {
        ("temp", 3), ("do", 3), ("ph", 3), ("tan", 1),
    }  # fmt: skip
    assert dict(view.reasons) == {
        "The plan has no item 'Nitrite' in mg/L.": 6,
        "The plan has no item 'Chloride' in mg/L.": 3,
        "The plan has no item 'Dissolved oxygen saturation' in %.": 3,
        "The plan has no item 'Barometric pressure' in mmHg.": 3,
        "The plan has no item 'Temperature, air' in degC.": 3,
        "Line 29 has a value of the same moment.": 1,
    }
    assert view.without == (("", 4),)
