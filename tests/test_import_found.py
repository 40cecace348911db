"""An import is found again: by its words, in its place's story, in its shift's handover."""

from __future__ import annotations

from pathlib import Path

from import_support import LATER, keep, written
from site_support import clock_shows, opened
from tankwalk.exchange.incoming.understanding import Told
from tankwalk.pages import find, handover, import_words, story_words
from tankwalk.practice.finding.finding import Finder
from tankwalk.practice.handover.drafting import draft
from tankwalk.practice.importing import keeping
from tankwalk.practice.past.story import story
from tankwalk.practice.past.window import window
from tankwalk.practice.site import Site

FILE = "time,temp\n2026-06-10 06:00,17.5\n2026-06-12 06:00,17.6\n2026-06-12 07:00,x\n"


def told(site: Site) -> list[str]:
    """What the handover says of imports."""
    lines = [one for section in draft(site).sections for one in section.lines]
    words = [handover.line_words(one, site.now()) for one in lines]
    return [one for one in words if "imported" in one]


def of_place(site: Site, place: str) -> list[tuple[str, str]]:
    """What the story of a place says of imports, with the day it is told at."""
    lines = story(site, place, window(site, site.now(), 30))
    said = [(line.at.iso()[:10], story_words.told(line, place).words) for line in lines]
    return [one for one in said if "imported" in one[1]]


def test_an_import_is_found_by_its_file_its_source_and_who_did_it(tmp_path: Path) -> None:
    with opened(tmp_path / "site", now=LATER) as site:
        n = keep(site, written(tmp_path, FILE, "sump june.csv"), Told(source="TL1", place="T01"))
        for typed in ("june", "TL1", "sump AB"):
            finder = Finder(site, None)
            list(finder.steps())
            (hit,) = finder.find(typed).hits
            finder.close()
            assert (hit.n, find.kind_of(hit), hit.amended) == (n, "import", False)
            assert hit.text == "sump june.csv, 2 values of TL1, 1 not taken"
        keeping.undo(site, "CD", n)
        finder = Finder(site, None)
        list(finder.steps())
        seen = {hit.n: hit for hit in finder.find("june").hits}
        finder.close()
        assert seen[n].amended


def test_the_handover_of_the_shift_that_imported_says_so_and_that_it_was_undone(
    tmp_path: Path,
) -> None:
    with opened(tmp_path / "site", now=LATER) as site:
        n = keep(site, written(tmp_path, FILE, "june.csv"), Told(source="TL1", place="T01"))
        assert told(site) == [
            f"june.csv imported 12:00 by AB: 2 values of TL1, 1 not taken (import {n})"
        ]
        clock_shows(site, "2026-06-30T12:30")
        keeping.undo(site, "CD", n)
        assert told(site) == [
            "june.csv imported 12:00 by AB: 2 values of TL1, 1 not taken; "
            f"undone 12:30 by CD (import {n})"
        ]
        clock_shows(site, "2026-07-04T12:30")
        assert told(site) == []


def test_the_story_of_its_place_tells_it_when_it_was_made_and_later_at_its_last_value(
    tmp_path: Path,
) -> None:
    with opened(tmp_path / "site", now=LATER) as site:
        n = keep(site, written(tmp_path, FILE, "june.csv"), Told(source="TL1", place="T01"))
        words = f"june.csv imported 12:00 by AB: 2 values of TL1, 1 not taken (import {n})"
        assert of_place(site, "T01") == [("2026-06-30", words)]
        assert of_place(site, "T02") == []
        (made,) = site.reader.imports.told(0)
        earlier = window(site, made.at, 30)._replace(until=made.at.utc - 7 * 86400)
        (line,) = [one for one in story(site, "T01", earlier) if one.about == made]
        assert line.at.iso()[:10] == "2026-06-12"
        assert import_words.told(made, made.at) == words
