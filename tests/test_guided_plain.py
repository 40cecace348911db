"""Guided procedures line by line: caution first, each step kept, gone on with after a kill."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from site_support import clock_shows, opened, today_there, write_plan
from tankwalk.errors import Refusal
from tankwalk.ledger.store import Ledger, Station
from tankwalk.plain_guided import PlainGuided
from tankwalk.practice.livefeed.guided import Mark, Stage
from tankwalk.practice.livefeed.guided_sitting import under_way
from tankwalk.practice.site import Site
from test_guided import PLAN, marks

BEGUN = ("+", "1", "15", "2")
"""The caution passed, 15 g of AC-7, and the recipe agreed to."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path / "site", PLAN, "2026-05-10T09:00") as made:
        yield made


def walked(
    site: Site, answers: Sequence[str | tuple[str, str]], name: str | None = None
) -> tuple[int, list[str]]:
    """What it ends with and says; an answer with a time of day is given when it is that late."""
    said: list[str] = []

    def lines() -> Iterator[str]:
        for one in answers:
            if isinstance(one, tuple):
                clock_shows(site, f"2026-05-10T{one[0]}")
                yield one[1]
            else:
                yield one

    return PlainGuided(site, lines(), said.append, "AB").run(name), said


def test_no_line_but_the_plus_passes_the_caution(site: Site) -> None:
    code, said = walked(site, ["1", "yes", ""], "decapsulate")
    assert code == 0
    assert "Bleach with caustic burns" in said[0]
    assert said.count("+ says that you have read this; an empty line: leave") == 3
    assert said[-1] == "Nothing was begun."
    assert under_way(site) == []


def test_a_whole_decapsulation_line_by_line_ends_as_shelled_cysts(site: Site) -> None:
    code, said = walked(
        site,
        [*BEGUN, ("10:05", "+"), "2", "+", "1", "14", "4", ("10:07", "+"), ("10:08", "20"),
         ("10:09", "25"), "-", "3", "+", "+", "+", "+", "2", "+", "+", "+", "1", "+", "2"],
        "decapsulate",
    )  # fmt: skip
    assert code == 0
    words = "\n".join(said)
    assert "89 mL of bleach" in words
    assert "S0510, step 4 of 7. Temperature of the bath, degC, each minute." in said
    assert "2 min of 15, stop by 10:22, 25 degC at 10:09." in said
    assert "! At this rate 35 degC at 10:11: ice." in said
    assert "Nothing goes on with chlorine in it: rinse and neutralize once more." in said
    assert said[-1].startswith("S0510 is shelled, use by Sun 17 May")
    assert marks(site)[-4:] == [Mark.RINSED, Mark.NEUTRALIZED, Mark.CLEAN, Mark.IN_COLD]


def test_at_40_degrees_nothing_but_the_stop_is_taken(site: Site) -> None:
    _, said = walked(
        site,
        [*BEGUN, ("10:05", "+"), "2", "+", "1", "4", ("10:07", "+"), "40", "-", "/", "+", ""],
        "decapsulate",
    )  # fmt: skip
    assert any("STOP THE BATH NOW" in words for words in said)
    assert said.count("Stop the bath first: +.") == 1
    assert any(words.startswith("Stop the bath first: + stops it") for words in said)
    assert under_way(site)[0].stage is Stage.RINSE
    assert said[-1] == "Left: S0510 runs on, and is taken up at this step."


def test_what_is_no_temperature_is_refused_and_the_step_stands(site: Site) -> None:
    code, said = walked(
        site, [*BEGUN, ("10:05", "+"), "2", "+", "1", "300", "nine", "+"], "decapsulate"
    )
    assert code == 1, "the answers ended"
    assert "300 degC is no temperature of a bath: -5 to 100." in said
    assert "'nine' is none of these." in said
    assert "Type the temperature of the bath first: 10 degC or less." in said
    assert under_way(site)[0].stage is Stage.CHILL


def test_gear_out_early_is_asked_about_and_hung_at_the_end(site: Site) -> None:
    _, said = walked(
        site, ["+", "1", "20", "+", "+", "+", "1", ("11:00", "+"), "+", "+", "+", "1", "+"],
        "disinfect",
    )  # fmt: skip
    assert any("what is out early is not disinfected" in words for words in said)
    assert said[-1].endswith("hung to dry: it is done.")
    assert under_way(site) == []


def test_a_name_that_is_not_under_way_is_refused_with_those_that_are(site: Site) -> None:
    walked(site, [*BEGUN, ""], "decapsulate")
    with pytest.raises(Refusal, match="There is: S0510, decapsulate, disinfect"):
        walked(site, [], "S0509")
    _, said = walked(site, ["", ""])
    assert said[0].startswith("S0510, step 1 of 7. Cysts in aerated fresh water until 10:00.")


def test_killed_in_the_bath_it_goes_on_there_and_the_clock_is_right(tmp_path: Path) -> None:
    folder = tmp_path / "site"
    folder.mkdir()
    plan = PLAN.replace("2026-05-06", today_there())
    write_plan(folder, plan.replace('"60 min"', '"1 min"'))
    Ledger.open(folder / "ledger.sqlite", Station("x", "x"), create=True).close()

    def command(*more: str) -> list[str]:
        return [sys.executable, "-m", "tankwalk", "guided", *more, "--plain", "--site", str(folder)]

    stop = ""
    with subprocess.Popen(
        command("decapsulate", "--who", "AB"), stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        text=True,
    ) as first:  # fmt: skip
        assert first.stdin is not None
        assert first.stdout is not None
        first.stdin.write("\n".join([*BEGUN, "+", "2", "+", "1", "4", "+", "21", ""]))
        first.stdin.flush()
        for line in first.stdout:
            if "stop by" in line and "21 degC" in line:
                stop = line.partition("stop by ")[2][:5]
                break
        first.kill()
    again = subprocess.run(command(), input="+\n", capture_output=True, text=True, check=False)
    assert again.returncode == 1, "its answers end at the next step"
    assert "step 4 of 7" in again.stdout
    assert f"min of 15, stop by {stop}, 21 degC" in again.stdout
    assert "step 5 of 7. Rinse." in again.stdout
