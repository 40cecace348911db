"""A room that is fed from batches and looked at after each meal, for tests of responses."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from plan_texts import tanks as tank_tables
from site_support import moment
from tankwalk.clock import FixedClock, Instant
from tankwalk.ledger.entries import Entry, JudgedAs, Meal, Poured, Reading, Served
from tankwalk.practice.judging.assess import Weighing
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.judging.verdict import Judged
from tankwalk.practice.site import Site

TWELVE = tuple(f"T{n:02d}" for n in range(1, 13))
WORDS = ("eager", "fair", "poor", "none")

_HEAD = """
[site]
name = "Feed room"
zone = "America/Chicago"
elevation = "0 m"
emergency = "MV, 555-0100"
[[person]]
initials = "AB"
[[lot]]
code = "YOUNG"
species = "sauger"
hatched = 2026-05-01
[[loop]]
code = "L1"
[[loop]]
code = "L2"
[[item]]
code = "response"
label = "Feeding response"
kind = "choice"
choices = ["eager", "fair", "poor", "none"]
{flagged}
when.fair = ["Look at guts"]
when.poor = ["Measure oxygen", "look at guts"]
when.none = ["Measure oxygen", "tell the lead"]
[[checklist]]
code = "am"
label = "Morning round"
at = "07:00"
tank = ["response"]
[[feed]]
code = "Art"
label = "nauplii"
dph = [2, 40]
[[meal]]
at = "08:00"
[[meal]]
at = "12:00"
[[meal]]
at = "16:00"
"""

LISTED = 'watch_on = ["poor"]\nact_on = ["none"]'
"""The plan flags the words themselves."""


def room(flagged: str = "", tanks: Sequence[str] = TWELVE, second_loop: Sequence[str] = ()) -> str:
    """A plan; with nothing `flagged` no word by itself raises a flag."""
    return _HEAD.replace("{flagged}", flagged) + tank_tables(
        tanks, "YOUNG", lambda code: "L2" if code in second_loop else "L1"
    )


def later(when: str | Instant, seconds: int) -> Instant:
    begun = moment(when) if isinstance(when, str) else when
    return Instant(begun.utc + seconds, begun.offset)


def fed(
    site: Site, when: Instant, place: str, batch: str | None = "A0503", planned: int | None = None
) -> None:
    """A tank was given nauplii of a planned meal, from a batch; None for feed without one."""
    meal = Meal("Art", 100.0, "thousand", 100.0)
    more = () if batch is None else (Poured(batch, 400.0, 250.0),)
    site.record(Entry("meal", "AB", when, when, place), meal, Served(planned or when.utc), *more)


def responds(site: Site, when: Instant, place: str, word: str) -> Judged:
    """How a tank went for it: weighed as a meal does, and kept."""
    site.clock = FixedClock(when)
    item = site.plan.item("response")
    read = item.read(word)
    weighing = Weighing(site, None)
    judged = weighing.weigh(place, item, None, None, read.value, word, None, {})
    why = [JudgedAs(judged.rule or "", judged.sentence)] if judged.flag else []
    entry = Entry("reading", "AB", when, when, place, item.code, item.unit)
    site.record(entry, Reading(read.value, word, flag=int(judged.flag)), *why)
    return judged


def meal(
    site: Site,
    when: str | Instant,
    words: str | Iterable[str] = "eager",
    batch: str | None = "A0503",
    tanks: Sequence[str] | None = None,
) -> dict[str, Judged]:
    """A whole meal, a tank a minute: poured, then looked at; one word for all or one a tank."""
    tanks = [t.code for t in site.plan.tanks] if tanks is None else tanks
    each = [words] * len(tanks) if isinstance(words, str) else list(words)
    found, planned = {}, later(when, 0).utc
    for nth, (place, word) in enumerate(zip(tanks, each, strict=True)):
        fed(site, later(when, 60 * nth), place, batch, planned)
        found[place] = responds(site, later(when, 60 * nth + 40), place, word)
    return found


def settled(site: Site, words: str | Iterable[str] = "eager", batch: str = "A0502") -> None:
    """Four quiet meals of the day before: what is usual is known."""
    words = words if isinstance(words, str) else list(words)
    for hour in ("06:00", "10:00", "14:00", "18:00"):
        meal(site, f"2026-05-09T{hour}", words, batch)


def wrong(site: Site) -> list[tuple[str, str]]:
    """What the board says is wrong: where, and the sentence."""
    return [(one.place, one.sentence) for one in standing(site)]


def standing(site: Site) -> tuple[Standing, ...]:
    newest = site.reader.readings.newest_of_all()
    return wrong_now(site, newest, site.now()).wrong
