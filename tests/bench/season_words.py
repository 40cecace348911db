"""Words of the bench's years: the room given and taken, what is open, notes."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from random import Random

from bulk import Act, act
from season_days import Day

from tankwalk.ledger.entries import Closing, Entry, FollowUp, Handover, Note, SaidBack
from tankwalk.ledger.handovers import WORDS
from tankwalk.plan.model import Plan
from tankwalk.practice.site import SITE

OPEN_DAYS = 6
"""Follow-ups of the last days are left open: two a day, a dozen."""


# ---- the room given and taken


def _page(day: Day, half: int) -> str:
    """About a kilobyte, as the program drafts it."""
    luck = Random(f"page {day.on} {half}")
    tanks = luck.sample(range(1, 13), 5)
    since = day.on - timedelta(days=1 - half)
    lines = [
        f"HANDOVER Alder Rapids Larval Fish Laboratory, {day.on}T{'21:15' if half else '14:55'}, "
        f"since {since:%a} {since.day} {since:%b}",
        "STOCK",
        *(f"  T{n:02d} ! WATCH Oxygen {luck.uniform(6, 7):.1f} mg/L at {luck.randint(7, 15)}:40"
          for n in tanks[:2]),
        f"  site note {luck.randint(7, 13)}:16 {day.morning}: {luck.choice(PLAIN_NOTES)}",
        "  10 of 12 tanks steady",
        "TASKS",
        *(f"  Cone A{day.on:%m%d} harvest: {luck.randint(8, 9)}:30, in {luck.randint(1, 12)} h"
          for _ in range(1)),
        f"  Morning round signed {day.on:%a} 08:15 by {day.morning}",
        *(f"  not taken: Outlet screen, T{n:02d} (not looked)" for n in tanks[2:4]),
        "  next meal 18:00",
        "ALTERED",
        f"  T{tanks[4]:02d} Inlet valve throttled to {luck.uniform(2, 4):.1f} L/min, fitting weeps"
        " (MV, carried 5 shifts: MV decides)",
        "TO DO",
        *(f"  {luck.choice(TO_DO)} (MV, carried {luck.randint(1, 9)} shifts)" for _ in range(3)),
        "EXPECT",
        *(f"  if T{n:02d} Oxygen is still out: clear the screen, raise the flow, open the oxygen, "
          "stop the feed, look again in 5 min" for n in tanks[:2]),
    ]  # fmt: skip
    return "\n".join(lines)


SAID = (
    SaidBack("Which tank is worst?", "T07", 1),
    SaidBack("What is altered?", "T12 inlet valve throttled", 1),
    SaidBack("What is due next?", "harvest of the cone", 2),
)


def _untaken(day: Day) -> bool:
    return day.number % 60 == 30


def handovers(day: Day) -> Iterator[Act]:
    """Given and taken at the change of shifts; given in the evening, taken the next morning.

    Now and then the evening's is never taken, and the lead notes it. Nobody took the last one yet.
    """
    name, text = f"room {day.on}", _page(day, 0)
    yield act("handover", day.morning, day.at("14:55"), SITE, Handover("give", text), name=name)
    taker = "TS" if day.weekend else day.afternoon
    yield act("handover", taker, day.at("15:01"), SITE, Handover("take", text, "in person"),
               *SAID, refers=name)  # fmt: skip
    yield act("handover", day.afternoon, day.at("21:15"), SITE, Handover("give", _page(day, 1)),
               name=f"evening {day.on}")  # fmt: skip
    if not day.number:
        return
    before = day._replace(on=day.on - timedelta(days=1), number=day.number - 1)
    if _untaken(before):
        noted = Note("spoken with both")
        yield act("note", "MV", day.at("16:30"), SITE, noted, reason=f"{WORDS}never taken")
        return
    read = Handover("take", _page(before, 1), "read alone")
    taker = "TS" if day.weekend else day.morning
    yield act("handover", taker, day.at("06:35"), SITE, read, *SAID[:2],
               refers=f"evening {before.on}")  # fmt: skip


# ---- what is open


TO_DO = (
    "Count again at noon, oxygen every 2 h, keep 20 dead for DK",
    "Drum: rinse nozzle drips, fit the spare",
    "Clay for turbidity ends on Tuesday, order more of it",
    "Screen of this tank is matted with clay and feed: brush it, put the spare in",
    "Generator test run: fix a time with facilities",
)
ALTERED = (
    "Inlet valve throttled to 3.1 L/min, fitting weeps",
    "Sump level alarm shelved, chatters at each drum rinse; MV agreed",
    "Spray off while the nozzle is mended",
)
RULES = ("task", "safety", "task", "health", "deviation", "treatment", "task")


def follow_ups(plan: Plan, day: Day) -> Iterator[Act]:
    """Two opened and owned each day, done on the next and closed on the one after that."""
    for nth, wall in enumerate(("09:15", "15:55")):
        what, place, words, rule, about = _follow_up(plan, day, nth)
        name = f"follow-up {day.on} {nth}"
        due = day.at("16:00").utc + 2 * 86400
        beside = () if rule == "task" else (Closing(rule, about),)
        yield act("follow-up", day.morning, day.at(wall, 30), place,
                   FollowUp(what, "open", words, None, due), *beside, name=name)  # fmt: skip
        if day.left >= OPEN_DAYS or nth:
            given = FollowUp(what, "open", "given to MV", "MV")
            yield act("follow-up", "MV", day.at(wall, 900), place, given, refers=name)
    for ago, event, wall, said in (
        (1, "done", "11:05", "Done and looked at again an hour later."),
        (2, "close", "13:45", "Seen. No effect on the trial."),
    ):
        before = day._replace(on=day.on - timedelta(days=ago), number=day.number - ago)
        if before.number < 0 or day.left + ago < OPEN_DAYS:
            continue
        for nth in range(2):
            what, place, *_ = _follow_up(plan, before, nth)
            who = "TS" if event == "close" else day.morning
            turn, name = FollowUp(what, event, said), f"follow-up {before.on} {nth}"
            yield act("follow-up", who, day.at(wall, 200 * nth), place, turn, refers=name)


def _follow_up(plan: Plan, day: Day, nth: int) -> tuple[str, str, str, str, str | None]:
    """What, where, words, rule and what it was drafted from."""
    turn = 2 * day.number + nth
    tank = plan.tanks[turn % len(plan.tanks)].code
    if turn % 4 == 1:
        return "altered", tank, ALTERED[turn % len(ALTERED)], "task", None
    rule = RULES[turn % len(RULES)]
    about = f"missed-feed {tank} {day.on}T08:00" if rule == "deviation" else f"flag place {tank} do"
    return "action", tank, TO_DO[turn % len(TO_DO)], rule, about


PLAIN_NOTES = (
    "Quiet morning, all tanks feeding.",
    "Larvae spread out, most with food in the gut by eye.",
    "Header low for a minute after the drum rinsed, then overflowing.",
    "Footbath renewed, strength by the strip.",
    "Larvae along the wall, light was still on. Dimmed.",
    "Generator test run with facilities, 20 min, fine.",
)
OWN_WORDS = (
    ("STOCK", "Look at T09 first, its fish hang at the surface since noon."),
    ("EXPECT", "If the drum rattles again: rinse it by hand and phone MV."),
    ("added", "The clay came after all, it stands by the door."),
)


def notes(plan: Plan, day: Day) -> Iterator[Act]:
    """Eight a day: five of tanks and site, three of a person's own on the handover's page.

    Every other day one is taken back; once a week one is late, for it was on paper.
    """
    tanks = [tank.code for tank in plan.tanks]
    for nth, wall in enumerate(("07:45", "09:40", "11:30", "15:36", "19:10")):
        place = SITE if nth % 2 else day.luck.choice(tanks)
        who = day.morning if nth < 3 else day.afternoon
        late = 4 * 3600 if (nth, day.on.isoweekday()) == (0, 3) else 0
        note = Note(day.luck.choice(PLAIN_NOTES))
        yield act("note", who, day.at(wall, 5), place, note, name=f"note {nth}", late=late)
    if day.number % 2:
        at = day.at("15:38")
        yield Act(Entry("void", day.afternoon, at, at, SITE, reason="taken back"), amends="note 3")
    for (part, words), wall in zip(OWN_WORDS, ("14:20", "20:40", "21:25"), strict=True):
        who = day.morning if wall < "15:00" else day.afternoon
        yield act("note", who, day.at(wall), SITE, Note(words), reason=f"{WORDS}{part}")
