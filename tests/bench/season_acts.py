"""What else is entered in the bench's years: meals, cones, samples, handovers, follow-ups."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import timedelta
from random import Random

from bulk import Act
from season_days import Day

from tankwalk.clock import Instant
from tankwalk.ledger.entries import (
    Batch,
    Calibration,
    Closing,
    Detail,
    Dose,
    Entry,
    FollowUp,
    Handover,
    Meal,
    Movement,
    Note,
    PlanVersion,
    SaidBack,
    Sample,
    Suspect,
)
from tankwalk.ledger.standing import WORDS
from tankwalk.plan.model import Plan
from tankwalk.practice.site import SITE
from tankwalk_demo.feeding import (
    ARTEMIA,
    DRY,
    NAUPLII_PER_G,
    WEEKDAY,
    WEEKEND,
    dry_grams,
    live_thousands,
)
from tankwalk_demo.stock import STOCKED, length_mm, mass_mg

OPEN_DAYS = 6
"""Follow-ups of the last days are left open: two a day, a dozen."""

TREATMENT = "M14"
"""What a tank is fed by that has no treatment."""


def acts(plan: Plan, day: Day, living: dict[str, int]) -> Iterator[Act]:
    """All of a day but its rounds; `living` are the fish of each tank."""
    yield from _plan_version(plan, day)
    yield from _checks(plan, day)
    yield from _handovers(day)
    yield from _follow_ups(plan, day)
    yield from _notes(plan, day)
    yield from _meals(plan, day, living)
    yield from _cones(plan, day)
    yield from _scope(plan, day)
    yield from _stock(plan, day, living)
    if day.number % 3 == 0:
        dose = Dose("sodium bicarbonate", 250.0, "g", 3600.0, 41.4, "mg/L as CaCO3")
        yield _act("dose", "MV", day.at("10:20"), "L1", dose)


def _act(
    kind: str, who: str, at: Instant, place: str, *details: Detail, name: str = "",
    refers: str = "", reason: str | None = None, late: int = 0,
) -> Act:  # fmt: skip
    entered = Instant(at.utc + late, at.offset)
    return Act(Entry(kind, who, at, entered, place, reason=reason), details, name, refers)


def _plan_version(plan: Plan, day: Day) -> Iterator[Act]:
    """A plan once a month, the last of them the one in force."""
    if day.on.day != 1 and day.number:
        return
    last = day.left < 9
    text = plan.text if last else f"{plan.text}\n# As of {day.on:%B %Y}.\n"
    digest = hashlib.sha256(text.encode("utf-8")).hexdigest()
    yield _act("plan", "MV", day.at("06:30"), SITE, PlanVersion(digest, text))


METERS = (("A", "moist air", 100.0, 0.6, 1, "%"), ("B", "moist air", 100.0, 0.6, 1, "%"),
          ("P1", "buffer pH 7", 7.0, 0.02, 2, None),
          ("S1", "100 g weight", 100.0, 0.005, 2, "g"))  # fmt: skip


def _checks(plan: Plan, day: Day) -> Iterator[Act]:
    """Four meters each morning; now and then one fails, its readings are suspect, it is mended."""
    for nth, (meter, what, reference, size, decimals, unit) in enumerate(METERS):
        found = round(reference + day.luck.uniform(-size, size), decimals)
        check = Calibration(meter, what, reference, found, reference, unit, True)
        yield _act("calibration", day.morning, day.at("06:40", 40 * nth), SITE, check)
    meter, nth = "AB"[day.number // 45 % 2], day.number % 45
    name = f"meter {day.on - timedelta(days=1)}"
    if nth == 20:
        at = day.at("16:00")
        failed = Calibration(meter, "moist air", 100.0, 108.0, None, "%", False)
        yield _act("calibration", day.afternoon, at, SITE, failed)
        item = plan.item("do")
        entry = Entry("suspect", day.afternoon, at, at, SITE, "do", item.unit,
                      reason="moist air 108 % for 100")  # fmt: skip
        yield Act(entry, (Suspect(meter, day.at("06:40").utc, at.utc),))
        words = f"Meter {meter} failed its check (moist air 108 % for 100): mend it and check it"
        yield _act("follow-up", day.afternoon, at, SITE, FollowUp("action", "open", words, "MV"),
                   Closing("meter", meter), name=f"meter {day.on}")  # fmt: skip
        mended = Calibration(meter, "moist air, new cap", 100.0, None, 100.0, "%", True)
        yield _act("calibration", "MV", day.at("16:25"), SITE, mended)
    elif nth == 21:
        closed = FollowUp("action", "close", "New cap; its readings looked at.")
        yield _act("follow-up", "MV", day.at("10:00"), SITE, closed, refers=name)


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


def _handovers(day: Day) -> Iterator[Act]:
    """Given and taken at the change of shifts; given in the evening, taken the next morning.

    Now and then the evening's is never taken, and the lead notes it. Nobody took the last one yet.
    """
    name, text = f"room {day.on}", _page(day, 0)
    yield _act("handover", day.morning, day.at("14:55"), SITE, Handover("give", text), name=name)
    taker = "TS" if day.weekend else day.afternoon
    yield _act("handover", taker, day.at("15:01"), SITE, Handover("take", text, "in person"),
               *SAID, refers=name)  # fmt: skip
    yield _act("handover", day.afternoon, day.at("21:15"), SITE, Handover("give", _page(day, 1)),
               name=f"evening {day.on}")  # fmt: skip
    if not day.number:
        return
    before = day._replace(on=day.on - timedelta(days=1), number=day.number - 1)
    if _untaken(before):
        noted = Note("spoken with both")
        yield _act("note", "MV", day.at("16:30"), SITE, noted, reason=f"{WORDS}never taken")
        return
    read = Handover("take", _page(before, 1), "read alone")
    taker = "TS" if day.weekend else day.morning
    yield _act("handover", taker, day.at("06:35"), SITE, read, *SAID[:2],
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


def _follow_ups(plan: Plan, day: Day) -> Iterator[Act]:
    """Two opened and owned each day, done on the next and closed on the one after that."""
    for nth, wall in enumerate(("09:15", "15:55")):
        what, place, words, rule, about = _follow_up(plan, day, nth)
        name = f"follow-up {day.on} {nth}"
        due = day.at("16:00").utc + 2 * 86400
        beside = () if rule == "task" else (Closing(rule, about),)
        yield _act("follow-up", day.morning, day.at(wall, 30), place,
                   FollowUp(what, "open", words, None, due), *beside, name=name)  # fmt: skip
        if day.left >= OPEN_DAYS or nth:
            given = FollowUp(what, "open", "given to MV", "MV")
            yield _act("follow-up", "MV", day.at(wall, 900), place, given, refers=name)
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
            yield _act("follow-up", who, day.at(wall, 200 * nth), place, turn, refers=name)


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


def _notes(plan: Plan, day: Day) -> Iterator[Act]:
    """Eight a day: five of tanks and site, three of a person's own on the handover's page.

    Every other day one is taken back; once a week one is late, for it was on paper.
    """
    tanks = [tank.code for tank in plan.tanks]
    for nth, wall in enumerate(("07:45", "09:40", "11:30", "15:36", "19:10")):
        place = SITE if nth % 2 else day.luck.choice(tanks)
        who = day.morning if nth < 3 else day.afternoon
        late = 4 * 3600 if (nth, day.on.isoweekday()) == (0, 3) else 0
        note = Note(day.luck.choice(PLAIN_NOTES))
        yield _act("note", who, day.at(wall, 5), place, note, name=f"note {nth}", late=late)
    if day.number % 2:
        at = day.at("15:38")
        yield Act(Entry("void", day.afternoon, at, at, SITE, reason="taken back"), amends="note 3")
    for (part, words), wall in zip(OWN_WORDS, ("14:20", "20:40", "21:25"), strict=True):
        who = day.morning if wall < "15:00" else day.afternoon
        yield _act("note", who, day.at(wall), SITE, Note(words), reason=f"{WORDS}{part}")


# ---- feed


def _meals(plan: Plan, day: Day, living: dict[str, int]) -> Iterator[Act]:
    """Every meal of every tank at the plan's times."""
    table = WEEKEND if day.weekend else WEEKDAY
    for wall, who, apart in table:
        who = {"am": day.morning, "pm": day.afternoon}.get(who, who)
        for turn, tank in enumerate(plan.tanks, 1):
            code = tank.treatment or TREATMENT
            at = day.at(wall, 12 * apart * turn / len(plan.tanks))
            live = float(round(live_thousands(code, day.dph) / len(table)))
            dry = round(dry_grams(code, day.dph, living[tank.code]) / len(table), 2)
            left = int(day.luck.random() < 0.1)
            if live:
                yield _act("meal", who, at, tank.code, Meal(ARTEMIA, live, "thousand", live, left))
            if dry:
                yield _act("meal", who, at, tank.code, Meal(DRY, dry, "g", dry, left))


def _cones(plan: Plan, day: Day) -> Iterator[Act]:
    """One cone a day: set, looked at in the evening, harvested the next morning."""
    need = sum(live_thousands(t.treatment or TREATMENT, day.dph + 1) for t in plan.tanks)
    grams = float(max(4, round(need * 1000 * 1.05 / 0.8 / NAUPLII_PER_G)))
    name, before = f"A{day.on:%m%d}", f"A{day.on - timedelta(days=1):%m%d}"
    due = day.at("08:30").utc + 86400
    if day.number:
        hatch = round(day.luck.uniform(77, 84), 1)
        harvest = Batch(before, "harvest", litres=grams / 2, per_ml=round(4.2 * hatch),
                        hatch_percent=hatch)  # fmt: skip
        yield _act("batch", "TS", day.at("08:30", day.luck.randint(0, 400)), SITE, harvest)
    warm = round(day.luck.uniform(27.4, 28.2), 1)
    begun = Batch(name, "set", "AC-7", grams, grams / 2, warm, 8.2, 25.0, due_at=due)
    yield _act("batch", day.morning, day.at("09:30"), SITE, begun)
    checked = Batch(name, "check", temperature=warm, ph=8.2)
    yield _act("batch", day.afternoon, day.at("21:05"), SITE, checked)


# ---- fish


def _scope(plan: Plan, day: Day) -> Iterator[Act]:
    """Four looks at the fish of each tank, once a week."""
    if day.nth % 7 != 4:
        return
    for nth, tank in enumerate(plan.tanks):
        code, dph, longer = tank.treatment or TREATMENT, day.dph, day.luck.uniform(0.97, 1.03)
        length, mass = length_mm(code, dph) * longer, mass_mg(code, dph) * longer**3
        looks = (
            Sample("length", 20, mean=round(length, 2), sd=round(length * 0.1, 2), unit="mm"),
            Sample("mass", 30, mean=round(mass, 1), sd=round(mass * 0.3, 1), unit="mg"),
            Sample("gut fill", 20, with_it=day.luck.randint(15, 20)),
            Sample("swim bladder", 20, with_it=day.luck.randint(17, 20)),
        )
        for turn, look in enumerate(looks):
            yield _act("sample", "TS", day.at("13:00", 300 * nth + 40 * turn), tank.code, look)


def _stock(plan: Plan, day: Day, living: dict[str, int]) -> Iterator[Act]:
    """Stocked on a season's first day, a few kept each week, all counted and out on its last."""
    for nth, tank in enumerate(plan.tanks):
        code = tank.code
        if day.nth == 1:
            came = Movement("stocked", STOCKED, 176.0, "20/L, 5 sub-samples, CV 6 %")
            yield _act("movement", "TS", day.at("06:31", 8 * nth), code, came)
        elif day.nth == 56:
            counted = Movement("census", living[code], 10.0, "counted by hand, all fish")
            yield _act("movement", "TS", day.at("17:00", 30 * nth), code, counted)
            out = Movement("moved out", living[code], None, "to the raceways")
            yield _act("movement", "TS", day.at("17:00", 30 * nth + 9), code, out)
        elif day.nth % 7 == 4:
            kept = Movement("sampled", 8, 0.0, "counted")
            yield _act("movement", "TS", day.at("13:02", 300 * nth), code, kept)
