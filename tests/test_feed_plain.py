"""A meal line by line: the same walk as on the screen, for a screen reader or a slow link."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

from site_support import moment, opened, surroundings, write_plan
from tankwalk import plain_feed
from tankwalk.practice.feeding.sharing import Pour
from tankwalk.practice.meal import keeping
from tankwalk.practice.meal.amounts import Amount
from tankwalk.practice.meal.stops import Portion
from tankwalk.practice.site import Site
from test_feed_walk import PLAN, kept

NOON = "2026-05-10T12:04"


def give(site: Site, *answers: str, who: str = "AB") -> tuple[int, str]:
    said: list[str] = []
    status = plain_feed.feed(site, iter(answers), said.append, who)
    return status, "\n".join(said)


def test_a_whole_meal_is_given_line_by_line_and_ends_with_what_stood_out(tmp_path: Path) -> None:
    both, one = ("+", "12", "0.5", "1"), ("+", "12", "1")
    with opened(tmp_path, PLAN, now=NOON) as site:
        status, said = give(site, *both, *one, *both, *one[:2], "3")
        assert status == 0
        assert "T01, tank 1 of 4. E8, 9 dph" in said
        assert "4 of 4 tanks fed." in said
        assert "! WATCH  T04 Feeding response: poor" in said
        assert len(kept(site)) == 6


def test_the_wrong_feed_is_stopped_in_words_line_by_line_too(tmp_path: Path) -> None:
    with opened(tmp_path, PLAN, now=NOON) as site:
        status, said = give(site, "next", "+", "/", "5", "1", "0.4", "+", "end")
        assert status == 1
        assert "T02 M12: dry feed D1 starts at 12 dph, today 9. Continue? + not given" in said
        assert "Stopped. 0 of 4 tanks are done" in said
        assert kept(site) == []


def test_what_was_kept_stays_when_the_program_is_killed_and_the_meal_goes_on_there(
    tmp_path: Path,
) -> None:
    folder = write_plan(tmp_path / "site", PLAN)
    command = [sys.executable, "-m", "tankwalk", "feed", "--plain", "--who", "AB", "--site",
               str(folder), "--now", NOON]  # fmt: skip
    with opened(folder):
        pass
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=surroundings(tmp_path)
    ) as program:
        assert program.stdin is not None
        assert program.stdout is not None
        program.stdin.write(b"+\n12\n")
        program.stdin.flush()
        for line in program.stdout:
            if b"nauplii 12.0 g kept" in line or b"nauplii 12.00 g kept" in line:
                break
        program.send_signal(signal.SIGKILL)
    with opened(folder, now=NOON) as site:
        assert [(one.place, one.feed) for one in kept(site)] == [("T01", "Art")]
        assert kept(site)[0].meal_at == moment("2026-05-10T12:00").utc
        _, said = give(site, "end")
        assert "T01 dry feed D1, g. no ration in the plan: type how much went in:" in said


def test_a_line_says_that_plus_gives_the_other_feed_of_the_tank_too(tmp_path: Path) -> None:
    from demo_support import opened as demo_opened
    from site_support import clock_shows

    site = demo_opened(tmp_path)
    clock_shows(site, "2026-05-10T10:00")
    said: list[str] = []
    answers = ["next", "next", "+", "end"]
    plain_feed.feed(site, iter(answers), said.append, "PB", moment("2026-05-10T10:00"))
    site.close()
    asked = next(line for line in said if line.startswith("T03 ") and "listed" in line)
    assert "+ gives " in asked
    assert asked.rstrip(":").endswith(" as well")
    assert any(" and " in line and line.endswith("kept.") for line in said if line[:3] == "T03")
    assert "08:20 was not entered for 12 tanks: --at 08:20." in said


def test_what_is_listed_and_what_is_said_to_be_kept_are_one_number() -> None:
    """Rounded once: the list said 462 mL of what was then kept as 461."""
    pour = Pour("A0503", 461.52, 192.0)
    portion = Portion("Art", "Artemia nauplii", "thousand", True, 88.6, 155.0, (pour,))
    listed = Amount(88.6, (pour,))
    assert keeping.measured(portion, listed) == "461 mL"
    assert keeping.amount_words(portion, listed) == "461 mL, 89 thousand"
    assert keeping.in_hand(portion, 88.6) == "461 mL", "as the table has it"
    two = Amount(88.6, (pour._replace(ml=200.0), Pour("A0504", 150.0, 350.0)))
    assert keeping.measured(portion, two) == "350 mL", "of two batches it is their sum"
