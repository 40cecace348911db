"""Ratios 6 and 14: from page to page, until what is on it stands, in turn with a bare key."""

from __future__ import annotations

from driving import (
    BOARD,
    HANDOVER,
    TANK,
    WALK,
    BareKey,
    Sites,
    back_to_the_walk,
    ours,
    show,
    to_page,
    walking,
)
from rows import Row, against, median

from terminal import Terminal

STOPS = range(2, 8)


def next_tank(sites: Sites, times: int) -> list[Row]:
    """Ratio 6: the next stop of a walk."""
    found = []
    for name, site in (sites.full | sites.some("100 tanks", "6.6 M")).items():
        took = []
        with BareKey(sites.env) as bare, Terminal(walking(site), sites.env) as walk:
            show(walk, WALK)
            for _ in range(max(1, times // len(STOPS))):
                for stop in STOPS:
                    bare.press()
                    took.append(to_page(walk, "right", f"stop {stop} of"))
                for _ in STOPS:
                    walk.press("left", quiet=0.03)
        found.append(against(f"6 next tank, {name}", median(took), median(bare.took), 12.0))
    return found


def to_pages(sites: Sites, times: int) -> list[Row]:
    """Ratios 6 and 14: `b` from the Walk to the Board, `3` from there to the Handover.

    The first time a page is shown it is made; the median leaves that out (ratio 15 has it).
    """
    found = []
    for name, site in (sites.full | sites.some("6.6 M")).items():
        boards, handovers = [], []
        with BareKey(sites.env) as bare, Terminal(walking(site), sites.env) as walk:
            show(walk, WALK)
            for _ in range(times):
                bare.press()
                boards.append(to_page(walk, "b", BOARD))
                bare.press()
                handovers.append(to_page(walk, "3", HANDOVER))
                back_to_the_walk(walk)
        floor, most = median(bare.took), 8.0 if name == "demo" else 10.0
        for page, took in (("Board", boards), ("Handover", handovers)):
            found.append(against(f"14 to the {page}, {name}", median(took), floor, most))
    return found


def to_a_tank(sites: Sites, times: int) -> list[Row]:
    """Ratio 6: from the Board to the tank of the worst flag, and on to the next tank.

    A tank that was not shown yet is read whole; the flags of all tanks are found once.
    """
    found = []
    for name, site in (sites.full | sites.some("6.6 M")).items():
        first, after = [], []
        with BareKey(sites.env) as bare, Terminal(ours(site), sites.env) as room:
            show(room, BOARD)
            for _ in range(times):
                bare.press()
                first.append(to_page(room, "1", TANK))
                bare.press()
                after.append(to_page(room, "right", TANK))
                to_page(room, "esc", BOARD)
        floor = median(bare.took)
        found.append(against(f"6 to a tank's page, {name}", median(first), floor, 12.0))
        found.append(against(f"6 to the next tank's, {name}", median(after), floor, 12.0))
    return found
