"""Ratios 3, 4 and 6 at a meal: a digit, `+` until durable and painted, and the next tank."""

from __future__ import annotations

from driving import BareKey, Sites, ours, press, show, to_page
from keys import Commits
from rows import Row, against, at_most, high, median, ms

from terminal import Terminal

TANKS = range(2, 8)


def meals(sites: Sites, presses: int) -> list[Row]:
    """A meal of the demo, and of a record of five years with everything in it."""
    found: list[Row] = []
    for name, site in sites.some("demo", "5 years").items():
        with (
            BareKey(sites.env) as bare,
            Commits(sites.folder / f"raw meal {name}.sqlite") as raw,
            Terminal(ours(site, "feed"), sites.env) as meal,
        ):
            _begin(meal)
            moved = []
            for tank in TANKS:
                bare.press()
                moved.append(to_page(meal, "right", f"tank {tank} of"))
            _to_a_feed(meal)
            mine, sizes = [], []
            for i in range(presses):
                bare.press()
                took, size = press(meal, str(1 + i % 9))
                mine.append(took)
                sizes.append(size)
                if i % 4 == 3:
                    for _ in range(4):
                        meal.press("backspace", quiet=0.02)
            for _ in range(4):
                meal.press("backspace", quiet=0.02)
            kept = []
            for _ in range(presses // 3):
                bare.press()
                raw.commit()
                kept.append(press(meal, "+")[0])
                meal.press("u", quiet=0.1)
                _to_a_feed(meal)
        floor = median(bare.took)
        limit = 2 * floor + 1.5 * median(raw.took)
        found += [
            against(f"3 digit key at a meal, {name}", median(mine), floor, 1.0),
            at_most(f"3 digit key at a meal, {name}: 95th percentile", high(mine), 0.010, ms),
            at_most(
                f"3 digit key at a meal, {name}: bytes", median(sizes), 500, lambda b: f"{b:.0f}"
            ),
            against(f"4 + at a meal until durable and painted, {name}", median(kept), limit, 1),
            against(f"6 next tank of a meal, {name}", median(moved), floor, 12.0),
        ]
    return found


def whole(number: float) -> str:
    return f"{number:.0f}"


def _begin(meal: Terminal) -> None:
    """From the list of the next meal to its first tank, as PB."""
    show(meal, "make up")
    meal.press("enter", quiet=0.3)
    if "Give it now?" in meal.text():
        meal.press("1", quiet=0.3)
    show(meal, "Who gives this meal?")
    number = next(
        word for line in meal.text().split("\n") if " PB" in line and "1 " in line
        for word, who in zip(line.split(), line.split()[1:], strict=False) if who == "PB"
    )  # fmt: skip
    meal.press(number)
    show(meal, "tank 1 of")


def _to_a_feed(meal: Terminal) -> None:
    """Stand at the first feed of the tank, whatever is asked before it."""
    for _ in range(4):
        if "as listed" in meal.text().split("\n")[-1]:
            return
        meal.press("down", quiet=0.05)
    raise SystemExit(f"no feed to give:\n{meal.text()}")
