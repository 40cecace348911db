"""The six incidents and the decoys of the invented season, as what was typed where."""

from __future__ import annotations

from tankwalk_demo.acts import Answer
from tankwalk_demo.days import chance, wobble

Slot = tuple[int, str, str, str]
"""Numbered day, checklist, place, item."""

METER_B = ("T07", "T08", "T09", "T10", "T11", "T12")
DRIFT = {10: 0.2, 11: 0.4, 12: 0.7, 13: 1.0}
"""Incident 2: what oxygen meter B reads too high, in mg/L, by day."""

B_OUT = (14, 15)
"""Days on which meter B is put away and A is used for all tanks."""

DRIFT_TOP = {
    "am": dict(zip(METER_B, ("10.2", "10.1", "10.2", "10.2", "10.1", "10.2"), strict=True)),
    "pm": dict(zip(METER_B, ("10.1", "10.1", "10.2", "10.1", "10.0", "10.1"), strict=True)),
}
"""What meter B reads on the last day of its drift."""

WITH_A = dict(zip(METER_B, ("9.2", "9.2", "9.3", "9.2", "9.1", "9.2"), strict=True))
"""The same tanks by meter A, half an hour after the check of B failed."""


def told() -> dict[Slot, Answer]:
    """Every answer that the story sets, by slot."""
    return {**_incidents(), **_decoys(), **_small_things(), **_not_taken()}


def _incidents() -> dict[Slot, Answer]:
    found: dict[Slot, Answer] = {
        # 1: unit slips, named by the walk and accepted.
        (3, "am", "T03", "temp"): Answer("62.1", 16.722222, "degF"),
        (3, "am", "T04", "flow"): Answer("0.66", 2.498372, "gal/min"),
        # 5: the screen of T07, Saturday to Sunday.
        (20, "pm", "T07", "do"): Answer("8.3"),
        (20, "pm", "T07", "level"): Answer("4.5"),
        (20, "pm", "T07", "screen"): Answer(why="not looked"),
        (21, "am", "T07", "glance"): Answer("odd"),
        (21, "am", "T07", "do"): Answer("6.1"),
        (21, "am", "T07", "level"): Answer("4.0"),
        (21, "am", "T07", "screen"): Answer("fouled"),
        (21, "am", "T07", "flow"): Answer("3.5"),
        (21, "pm", "T07", "level"): Answer("8.0"),
        (21, "pm", "T07", "morts"): Answer(
            "64", second=Answer(why="not looked"), name="T07 64 again"
        ),
    }
    for part, read in DRIFT_TOP.items():
        found.update({(13, part, tank, "do"): Answer(value) for tank, value in read.items()})
    return found


def _decoys() -> dict[Slot, Answer]:
    return {
        (17, "am", "T02", "do"): Answer("6.8", second=Answer("8.3")),
        (16, "am", "site", "light"): Answer("138"),
        (11, "am", "site", "footbath"): Answer("renewed"),
    }


def _small_things() -> dict[Slot, Answer]:
    """What an ordinary day has: a watch now and then, and two answers corrected later."""
    return {
        (4, "am", "T09", "turbidity"): Answer("26", second=Answer("27")),
        (6, "am", "L1", "header"): Answer("low"),
        (9, "am", "T08", "morts"): Answer("5", name="T08 mis-keyed"),
        (16, "am", "T06", "flow"): Answer("3.6", name="T06 wrong tank"),
        (12, "ev", "T03", "glance"): Answer("odd"),
        (16, "am", "T01", "siphoned"): Answer("no"),
        (19, "am", "T12", "flow"): Answer("2.8", second=Answer("2.8")),
        (19, "pm", "T12", "flow"): Answer("3.1"),
        (20, "am", "T12", "flow"): Answer("3.2"),
        (20, "pm", "T12", "flow"): Answer("3.1"),
        (21, "am", "T12", "flow"): Answer("3.1"),
        (23, "am", "T10", "turbidity"): Answer("40"),
        (26, "am", "L1", "header"): Answer("low"),
    }


def _not_taken() -> dict[Slot, Answer]:
    """One tank skipped, and a test run nobody could start."""
    found: dict[Slot, Answer] = {
        (18, "pm", "T11", item): Answer(why="unsafe")
        for item in (
            "temp",
            "do",
            "flow",
            "level",
            "screen",
            "morts",
            "spray",
            "turbidity",
            "prey",
            "behavior",
        )
    }
    for day in (2, 3, 4):
        found[day, "am", "site", "generator"] = Answer(why="not due")
    for day in range(12, 22):
        found[day, "am", "site", "generator"] = Answer(why="could not")
    return found


def bent(answer: Answer, day: int, tank: str, item: str, part: str, seed: int) -> Answer:
    """An ordinary answer as the incident of the day bends it."""
    if item == "do" and tank in METER_B and day in DRIFT:
        luck = chance(seed, "drift", tank, day, part)
        drifted = float(answer.typed) + DRIFT[day] + wobble(luck, 0.02, 0.04)
        return Answer(f"{min(drifted, 10.2):.1f}")
    return answer


def meter_for(day: int, tank: str, habit: str | None) -> str | None:
    """The oxygen meter in use on a tank: by habit, but A while B is put away."""
    return "A" if habit == "B" and day in B_OUT else habit
