"""Every page that is printed is one JSON object too: stable names, moments with their offset."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_support import NOW, demo_in
from tankwalk.cli import COMMANDS, main

PAGES: dict[str, tuple[str, ...]] = {
    "board": ("board",),
    "handover": ("handover",),
    "sheet": ("sheet",),
    "meters": ("meters",),
    "feed list": ("feed", "--list"),
    "feed tomorrow": ("feed", "--tomorrow"),
    "feed week": ("feed", "--week", "T05"),
    "live feed": ("livefeed",),
    "batch": ("livefeed", "A0509"),
    "fed from": ("livefeed", "T05"),
    "tank": ("tank", "T07"),
    "loop": ("tank", "L1"),
    "find": ("find", "screen"),
    "season": ("season",),
    "stock": ("stock",),
    "stock of a tank": ("stock", "T07"),
    "animal use": ("stock", "--ledger"),
    "trial": ("trial",),
    "samples": ("samples",),
    "judging": ("judging",),
    "imports": ("import",),
    "judging of a tank": ("judging", "T05", "ph", "--high", "8.2"),
}
"""Each page with the words that print it."""

PRINTS_NONE = {"demo", "start", "check", "walk", "look", "count", "guided", "backup", "calc",
               "restore", "sample", "export", "transcribe"}  # fmt: skip
"""Commands that print no page of every site: a calculator is worked without one (test_calc.py), and
the demo has no fish looked at one by one."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo_in(tmp_path_factory.mktemp("json") / "site")


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TANKWALK_HOME", str(tmp_path / "home"))


def printed(folder: Path, capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """What a command prints."""
    assert main([*words, "--site", str(folder), "--now", NOW]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    return said.out


def leaves(value: object, name: str = "") -> Iterator[tuple[str, object]]:
    """Every value of a JSON object with the name it stands under."""
    if isinstance(value, dict):
        for key, one in value.items():
            yield from leaves(one, key)
    elif isinstance(value, list):
        for one in value:
            yield from leaves(one, name)
    else:
        yield name, value


def test_every_command_that_prints_a_page_is_here() -> None:
    printing = {name for name, *_ in COMMANDS} - PRINTS_NONE
    assert printing == {words[0] for words in PAGES.values()}


@pytest.mark.parametrize("page", PAGES)
def test_a_page_is_one_json_object_with_moments_in_iso_8601_and_no_picture_of_a_value(
    folder: Path, capsys: pytest.CaptureFixture[str], page: str
) -> None:
    told = json.loads(printed(folder, capsys, *PAGES[page], "--json"))
    assert isinstance(told, dict)
    for name, one in leaves(told):
        if isinstance(one, float):
            assert math.isfinite(one), name
        if isinstance(one, str):
            assert not re.search(r"\w+\([a-z_]+=", one), f"{name}: {one[:60]} is no plain value"
            assert "<Flag" not in one
            if re.match(r"\d{4}-\d\d-\d\dT", one):
                assert re.fullmatch(r"[\d-]{10}T[\d:]{5,8}[+-]\d\d:\d\d", one), (name, one)


def numbers(text: str) -> list[str]:
    """The numbers of a text that are no part of a code, a day or a time."""
    return re.findall(r"(?<![\w:.-])\d[\d,]*(?:\.\d+)?(?![\w:-])", text)


def said_by(told: object, number: str) -> bool:
    """Whether a JSON object holds a number that is written so when it is rounded."""
    plain = number.replace(",", "")
    digits = len(plain.partition(".")[2])
    for _, one in leaves(told):
        if isinstance(one, bool):
            continue
        if isinstance(one, int | float) and f"{abs(one):.{digits}f}" == plain:
            return True
        if isinstance(one, str) and re.search(rf"(?<![\d.]){re.escape(plain)}(?![\d])", one):
            return True
    return False


def test_the_json_of_a_season_holds_every_number_of_its_table(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = json.loads(printed(folder, capsys, "season", "--json"))
    page = printed(folder, capsys, "season")
    table = page[page.index(" IN\n") : page.index("   Not counted" if "Not counted" in page else
                                                  " WHAT ELSE")]  # fmt: skip
    shown = numbers(table)
    assert len(shown) > 20
    assert [one for one in shown if not said_by(told, one)] == []


def test_the_json_of_the_board_holds_what_every_tank_shows(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = json.loads(printed(folder, capsys, "board", "--json"))
    page = printed(folder, capsys, "board")
    assert [one["tank"] for one in told["tiles"]] == [f"T{n:02d}" for n in range(1, 13)]
    for one in told["tiles"]:
        assert one["value"] in page
        assert one["flag"] in ("ok", "check", "watch", "act", "urgent")
    for flag in told["wrong"]:
        assert flag["flag"].upper() in page
        assert f"{flag['seen']['value']:.1f}" in page
        assert flag["seen"]["unit"] in page


def test_the_json_of_meters_and_of_a_weeks_feed_holds_their_numbers(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    week = json.loads(printed(folder, capsys, "feed", "--week", "T05", "--json"))
    page = printed(folder, capsys, "feed", "--week", "T05")
    given = [one["given"] for day in week["days"] for one in day["feeds"].values()]
    assert given
    assert [one for one in given if f"{one:,.0f}" not in page and f"{one:,.1f}" not in page
            and f"{one:,.2f}" not in page] == []  # fmt: skip
    meters = json.loads(printed(folder, capsys, "meters", "--json"))
    page = printed(folder, capsys, "meters")
    for one in meters["meters"]:
        assert one["state"]["meter"] in page
        passes = one["passes"]
        assert f"{passes['low']:g} to {passes['high']:g} {passes['unit']}".strip() in page


def test_what_is_found_as_json_has_its_words_its_place_and_who(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = json.loads(printed(folder, capsys, "find", "screen", "--json"))
    first = told["hits"][0]
    begin, end = first["marks"][0]
    assert first["text"][begin:end].casefold() == "screen"
    assert {"n", "stands_in", "place", "at", "who", "whole", "amended"} <= set(first)


BOTH_WAYS = ("tank", "loop", "find", "season", "stock", "stock of a tank", "animal use", "trial",
             "samples", "feed list", "feed tomorrow", "feed week", "live feed", "batch", "fed from",
             "sheet", "board", "handover", "meters", "judging")  # fmt: skip
"""Pages whose numbers are held against their JSON both ways."""

NO_NUMBER = (
    r"\b\d{1,2} (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)(?: \d{4})?\b",  # a day
    r"(?<![\d.])\d+ (?:d|h|min)\b(?: \d\d (?:h|min))?",  # an age, or how long until
    r"\b95 %",  # which limits they are
    r"psi is 14\.5 times bar",  # a unit told, no value of the record
    r"8 times in 10",  # how often a change would be seen, the same at every site
    r"^ {1,2}\d{1,2} {2}(?=[A-Z])",  # by which number a row is chosen
    r"^.*(?:·    ){3}.*$|^ +0 +[\d,]+ .*$",  # a scale that is drawn
)


def told_numbers(page: str) -> list[str]:
    """The numbers a page tells, without days, ages and scales; each once."""
    page = page.partition(" The same as a picture:")[0]
    for pattern in NO_NUMBER:
        page = re.sub(pattern, " ", page, flags=re.MULTILINE)
    return list(dict.fromkeys(one.rstrip(",") for one in numbers(page)))


def of_a_part(told: object) -> list[float]:
    """What is a part of 1 in the JSON, as the page tells it in percent."""
    return [100 * one for _, one in leaves(told) if isinstance(one, float) and -1.5 < one < 1.5]


def in_thousands(told: object) -> list[float]:
    """What the JSON counts one by one, as the page tells it: nauplii of a gram in thousand."""
    return [
        one / 1000
        for name, one in leaves(told)
        if name == "per_gram" and isinstance(one, int | float)
    ]


@pytest.mark.parametrize("page", BOTH_WAYS)
def test_every_number_of_a_page_is_in_its_json(
    folder: Path, capsys: pytest.CaptureFixture[str], page: str
) -> None:
    told = json.loads(printed(folder, capsys, *PAGES[page], "--json"))
    shares = {"shares": of_a_part(told), "thousands": in_thousands(told)}
    shown = told_numbers(printed(folder, capsys, *PAGES[page]))
    assert shown
    assert [one for one in shown if not said_by(told, one) and not said_by(shares, one)] == []


TABLES = {
    "board": ("wrong/seen/value",),
    "handover": ("sections/lines/flag/seen/value",),
    "meters": ("meters/passes/low", "meters/passes/high"),
    "judging": ("uses", "watch/false", "act/false", "sees/step", "sees/drift", "places/uses/flags"),
    "trial": ("measures/arms/values/value", "measures/arms/mean", "measures/arms/se",
              "measures/pairs/difference"),
    "tank": ("plots/looks/value", "level/looks/value", "dead/days", "book_percent",
             "gained/sample length/gained", "growth/looks/value"),
    "loop": ("plots/looks/value",),
    "season": ("groups/stocked", "groups/dead", "groups/census", "groups/unaccounted",
               "groups/best", "groups/mass", "groups/biomass_g", "groups/gain",
               "groups/feeds/amount", "groups/alive_out"),
    "stock": (
        "rows/numbers/book/fish",
        "rows/numbers/best/fish",
        "rows/numbers/best/plus_minus",
        "rows/numbers/unaccounted/fish",
        "rows/per_l",
        "best_fish",
    ),
    "stock of a tank": (
        "numbers/book/fish",
        "numbers/best/fish",
        "numbers/census/fish",
        "numbers/unaccounted/fish",
        "numbers/stocked/fish",
        "survival",
        "causes",
        "numbers/book/plus_minus",
        "numbers/best/plus_minus",
        "numbers/census/plus_minus",
        "numbers/unaccounted/plus_minus",
    ),
    "animal use": ("use/tanks", "use/total", "use/unaccounted", "use/approved"),
    "feed list": ("rows/portions/pours/ml", "totals/pours/ml", "totals/have", "day/amounts",
                  "together", "store/per_ml"),
    "feed tomorrow": ("together", "standing/thousand", "to_set/thousand", "to_set/grams",
                      "to_set/litres", "to_set/meals", "dry/grams", "chill/thousand"),
    "feed week": ("days/feeds/Artemia/given", "days/feeds/D1/given", "days/feeds/Artemia/planned",
                  "together"),
    "fed from": ("batches/meals", "batches/ml", "batches/thousand", "batches/hatch_percent"),
    "live feed": ("planned/proposed/grams", "stock/grams", "stock/use",
                  "stock/days"),
    "batch": ("batch/events/grams", "batch/events/litres", "batch/events/temperature",
              "batch/events/ph", "batch/events/salinity"),
    "samples": ("growth/points/length", "growth/points/mass", "growth/points/grown/sgr"),
}  # fmt: skip
"""What of the JSON of a page is a table of it, so that each of its numbers stands on the page."""


def picked(told: object, path: str) -> Iterator[float]:
    """The numbers of a JSON object under a path of names; lists are gone through."""
    if isinstance(told, list):
        for one in told:
            yield from picked(one, path)
        return
    name, _, rest = path.partition("/")
    if name and isinstance(told, dict):
        yield from picked(told.get(name), rest)
        return
    for _, one in leaves(told):
        if isinstance(one, int | float) and not isinstance(one, bool):
            yield float(one)


@pytest.mark.parametrize("page", TABLES)
def test_every_number_of_the_tables_in_the_json_is_on_the_page(
    folder: Path, capsys: pytest.CaptureFixture[str], page: str
) -> None:
    told = json.loads(printed(folder, capsys, *PAGES[page], "--json"))
    words = printed(folder, capsys, *PAGES[page]).replace(",", "")
    shown = set(re.findall(r"\d+(?:\.\d+)?", words))
    if page == "trial":
        told = {"measures": told["measures"][:1]}  # the page tells one measure at a time
    for path in TABLES[page]:
        found = list(picked(told, path))
        if page == "samples":
            found = found and [
                one
                for row in told["growth"]
                for one in picked(row["points"][-1:], path.removeprefix("growth/points/"))
            ]  # the newest of each tank
        assert found, path
        missing = [
            one
            for one in found
            if not any(
                f"{abs(one) * by:.{digits}f}" in shown for by in (1, 100) for digits in range(5)
            )
        ]
        assert missing == [], path
