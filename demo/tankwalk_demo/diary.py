"""The rest of the season: meters checked, doses, notes, open actions, and the room handed over."""

from __future__ import annotations

from collections.abc import Iterator

from tankwalk.ledger.entries import Calibration, Closing, Dose, FollowUp, Handover, Note
from tankwalk.practice.site import SITE
from tankwalk_demo.acts import Act
from tankwalk_demo.days import DAYS, chance, moment, morning, weekend, wobble
from tankwalk_demo.water import OVERDOSE_DAY, alkalinity, raised_by

BICARBONATE = "sodium bicarbonate"
B_NOT_CHECKED = (11, 12, 13)
B_CHECK_FAILED = (13, "16:00")
B_AWAY = (14, 15)
"""Incident 2: the morning check of meter B is left out, fails on the third day, B is put away."""

B_ACTION = "follow meter B"
"""The action that the program opens when the check of B fails; it marks B's readings as well."""


def calibrations(seed: int) -> Iterator[Act]:
    """Every morning before the round: both oxygen meters in moist air, pH, the scale."""
    for day in DAYS:
        who, wall = morning(day), "06:45" if weekend(day) else "06:40"
        for nth, (meter, what, reference, size, unit) in enumerate(
            (
                ("A", "moist air", 100.0, 0.5, "%"),
                ("B", "moist air", 100.0, 0.5, "%"),
                ("P1", "buffer pH 7", 7.0, 0.02, None),
                ("S1", "100 g weight", 100.0, 0.008, "g"),
            )
        ):
            if meter == "B" and day in (*B_NOT_CHECKED, *B_AWAY):
                continue
            luck = chance(seed, "check", meter, day)
            found = round(reference + wobble(luck, size, 2 * size), 1 if unit == "%" else 2)
            checked = Calibration(meter, what, reference, found, reference, unit, True)
            yield Act(kind="calibration", who=who, at=moment(day, wall, 40 * nth), detail=checked)
    day, wall = B_CHECK_FAILED
    failed = Calibration("B", "moist air", 100.0, 110.0, None, "%", False)
    yield Act(
        kind="calibration", who="PB", at=moment(day, wall), name=B_ACTION, detail=failed
    )  # fmt: skip
    mended = Calibration("B", "moist air, new cap", 100.0, 101.2, 100.0, "%", True)
    yield Act(kind="calibration", who="MV", at=moment(15, "16:25"), detail=mended)


def doses() -> Iterator[Act]:
    """Bicarbonate into the loop; incident 6 is ten times the usual, keyed and poured."""
    for day, (_, grams) in alkalinity().items():
        if not grams:
            continue
        expected = round(raised_by(grams), 1)
        dose = Dose(BICARBONATE, grams, "g", 3600.0, expected, "mg/L as CaCO3")
        wall = "10:05" if day == OVERDOSE_DAY else "10:20"
        who = "JQ" if day == OVERDOSE_DAY else "MV"
        yield Act(kind="dose", who=who, at=moment(day, wall), place="L1", detail=dose)


NOTES = (
    (1, "10:20", "TS", SITE, "Stocked 12 tanks, 4,400 each. No dead in the transport bags."),
    (2, "10:40", "TS", SITE, "Larvae spread out, most with food in the gut by eye."),
    (4, "07:45", "JQ", "T09", "Clay tank ran low, turbidity behind; dosed by the sheet."),
    (5, "11:30", "MV", SITE, "Generator test run with facilities, 20 min, fine."),
    (6, "07:00", "PB", "L1", "Header low for a minute after the drum rinsed, then overflowing."),
    (8, "12:05", "TS", "T05", "T04's cup went into T05 at 08:10: dry feed at 11 dph, M14 is due "
                              "it at 14. T04 had no feed at 08:00 and 10:00."),
    (9, "09:00", "TS", SITE, "Many dead in all tanks alike: larvae that never fed, as expected."),
    (11, "07:05", "JQ", SITE, "Footbath renewed, strength by the strip."),
    (12, "21:04", "RO", "T03", "Larvae along the wall, light was still on over T03. Dimmed."),
    (13, "16:06", "PB", SITE, "Meter B reads 110 % in moist air. Put away, A for all tanks."),
    (14, "15:55", "PB", SITE, "Cone set 09:30 at 23 degC, pH 7.6: the heater does not hold. "
                              "Look at it before 08:30 Monday, set a spare cone."),
    (15, "13:15", "TS", SITE, "Cone late and thin, 46 % hatched, instar II. Live feed short today "
                              "in M14 and L18. Nobody had read Sunday's page."),
    (16, "07:50", "JQ", "T01", "Not siphoned: tub cracked. Done at 10:30."),
    (18, "15:36", "RO", "T11", "Skipped: water on the floor at the block D power strip."),
    (19, "08:14", "JQ", "T12", "Inlet fitting weeps, valve throttled."),
    (20, "08:16", "PB", SITE, "Quiet morning, all tanks feeding."),
    (21, "07:04", "PB", "T07", "Screen was matted with clay and feed, brushed; spare screen in."),
    (21, "08:30", "TS", "T07", "64 dead, no wounds, no other tank. Low oxygen overnight."),
    (22, "10:15", "MV", SITE, "Generator test run with facilities, 20 min, fine."),
    (24, "10:46", "MV", "L1", "2,500 g went in for 250. Feed off, make-up water full open."),
    (26, "09:10", "TS", SITE, "Fish back on feed in all tanks; no dead beyond the usual."),
    (30, "18:05", "TS", SITE, "Trial ends. All tanks counted."),
)  # fmt: skip


def notes() -> Iterator[Act]:
    """Words for tanks and the room. The power blip was at night and noted in the morning."""
    for day, wall, who, place, words in NOTES:
        yield Act(kind="note", who=who, at=moment(day, wall), place=place, detail=Note(words))
    blip = Note("Power blip, 5 min; alarms cleared by themselves, pumps back on.")
    yield Act(kind="note", who="JQ", at=moment(12, "02:14"), detail=blip, late=4 * 3600 + 22 * 60)


Opened = tuple[str, str, int, str, str, str, str, str | None, tuple[int, str] | None]
Ended = tuple[str, int, str, str, str, str]

OPENED: tuple[Opened, ...] = (
    # name, what, day, time, who, place, words, owner, due
    ("swap", "action", 8, "12:08", "TS", "T05", "Deviation: dry feed 3 days early, one meal. "
     "Decide whether T05 stays in.", "TS", (10, "16:00")),
    ("missed 08:00", "action", 8, "12:09", "TS", "T04", "Deviation: no feed at 08:00, its cup went "
     "into T05.", "TS", (10, "16:00")),
    ("missed 10:00", "action", 8, "12:10", "TS", "T04", "Deviation: no feed at 10:00, nobody saw "
     "the missing tick.", "TS", (10, "16:00")),
    ("B away", "altered", 13, "16:09", "PB", SITE, "Meter B put away, A used on all tanks",
     "MV", (15, "16:00")),
    ("read-back", "action", 15, "16:30", "MV", SITE, "Sunday's handover was never taken: speak "
     "with JQ and PB.", "MV", (16, "16:00")),
    ("valve", "altered", 19, "08:15", "JQ", "T12", "Inlet valve throttled to 3.1 L/min, fitting "
     "weeps", "MV", (22, "12:00")),
    ("drum", "action", 19, "15:55", "JQ", "L1", "Drum: rinse nozzle drips, fit the spare", "MV",
     (22, "12:00")),
    ("generator", "action", 19, "15:57", "JQ", SITE, "Generator test run: fix a time with "
     "facilities", "MV", (22, "12:00")),
    ("clay", "action", 19, "16:05", "TS", SITE, "Clay for turbidity ends Tuesday, order", "TS",
     (21, "12:00")),
    ("shelved", "altered", 20, "14:20", "RO", "L1", "Sump level alarm shelved, chatters at each "
     "drum rinse; MV agreed", "MV", (21, "16:00")),
    ("T07", "action", 21, "07:12", "PB", "T07", "Count again at noon, oxygen every 2 h, keep "
     "20 dead for DK", "TS", (21, "15:00")),
    ("exchange", "altered", 24, "10:44", "MV", "L1", "Make-up water full open to bring the pH "
     "down", "MV", (26, "10:00")),
    ("scoop", "action", 24, "11:30", "MV", SITE, "Bicarbonate in pre-weighed 250 g bags only",
     "MV", (29, "16:00")),
)  # fmt: skip

ENDED: tuple[Ended, ...] = (
    # name, day, time, who, event, words
    ("swap", 10, "11:20", "TS", "close", "no effect seen; T05 stays in: one meal, 0.09 g, gut "
     "fill as its sisters'; reported as a deviation."),
    ("missed 08:00", 10, "11:21", "TS", "close", "no effect seen; T04 fed from 12:00 on, morts and "
     "guts as its sisters'; reported."),
    ("missed 10:00", 10, "11:22", "TS", "close", "no effect seen; as for 08:00, reported."),
    ("meter B", 15, "16:26", "MV", "close", "New cap, 101 % found, set to 100 %. Values of B since "
     "Wed 29 Apr read high."),
    ("B away", 15, "16:27", "MV", "close", "B back on T07 to T12 from tomorrow"),
    ("read-back", 16, "10:00", "MV", "close", "Spoken. The page is taken before the round."),
    ("clay", 21, "11:00", "TS", "done", "Ordered, comes Tuesday."),
    ("clay", 22, "09:00", "MV", "close", "Seen."),
    ("shelved", 21, "15:50", "RO", "close", "Alarm back in service"),
    ("T07", 21, "15:45", "RO", "close", "Oxygen steady since 08:00, 2 dead since."),
    ("generator", 22, "10:16", "MV", "close", "Run today, 20 min."),
    ("valve", 22, "11:40", "MV", "close", "New fitting, valve open again"),
    ("drum", 22, "11:45", "MV", "close", "Spare nozzle fitted."),
    ("exchange", 26, "09:30", "MV", "close", "Make-up back to normal"),
    ("scoop", 29, "14:00", "MV", "close", "Bags filled for two weeks."),
)  # fmt: skip


DRAFTED = {
    "swap": "wrong-feed T05 D1 2026-04-27T08:10",
    "missed 08:00": "missed-feed T04 2026-04-27T08:00",
    "missed 10:00": "missed-feed T04 2026-04-27T10:00",
}
"""Incident 3: the deviations the program drafted, which TS keeps and closes with their effect."""


def follow_ups() -> Iterator[Act]:
    """Open actions and altered states, and what became of them."""
    what_of = {"meter B": "action"} | {name: what for name, what, *_ in OPENED}
    for name, what, day, wall, who, place, words, owner, due in OPENED:
        due_at = None if due is None else moment(*due).utc
        yield Act(
            kind="follow-up", who=who, at=moment(day, wall), place=place, name=f"follow {name}",
            detail=FollowUp(what, "open", words, owner, due_at),
            more=(Closing("deviation", DRAFTED[name]),) if name in DRAFTED else (),
        )  # fmt: skip
    places = {"meter B": SITE} | {name: place for name, _, _, _, _, place, *_ in OPENED}
    for name, day, wall, who, event, words in ENDED:
        yield Act(
            kind="follow-up", who=who, at=moment(day, wall), place=places[name],
            refers=f"follow {name}", detail=FollowUp(what_of[name], event, words),
        )  # fmt: skip


WEEKEND_GIVEN: dict[int, tuple[str, str, tuple[int, str, str] | None]] = {
    # day: given at, by whom, taken (day, time, who) or never
    7: ("16:10", "PB", (8, "06:36", "JQ")),
    14: ("16:10", "PB", None),
    20: ("16:05", "RO", (21, "08:20", "PB")),
    21: ("16:05", "RO", (22, "06:35", "JQ")),
    28: ("16:10", "PB", (29, "06:36", "JQ")),
}
"""On most weekends one person has both days. Incident 4: the page of day 14 is never taken."""

READ_BACK = "read back at the tanks"
READ_ALONE = "read on the screen"


def handovers(seed: int) -> Iterator[Act]:
    """Given at four in the afternoon; taken some minutes later, or the next morning.

    The page itself is drafted by the program from the record when the act is written.
    """
    for day in DAYS:
        if weekend(day) and day not in WEEKEND_GIVEN:
            continue
        given, who = ("16:00", "JQ") if not weekend(day) else WEEKEND_GIVEN[day][:2]
        name = f"handover {day}"
        yield Act(
            kind="handover", who=who, at=moment(day, given), name=name,
            detail=Handover("give", ""),
        )  # fmt: skip
        if not weekend(day):
            later = chance(seed, name).randrange(420, 1080, 60)
            at, taker, how = moment(day, given, later), "RO", READ_BACK
        else:
            taken = WEEKEND_GIVEN[day][2]
            if taken is None:
                continue
            at, taker, how = moment(taken[0], taken[1]), taken[2], READ_ALONE
        yield Act(kind="handover", who=taker, at=at, refers=name, detail=Handover("take", "", how))
