"""Plots of a trial as SVG, drawn by matplotlib where it is installed (the extra "report").

In black on white: lines are told apart by dash and by a label at their end, bands are gray.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from tankwalk.pages import trial_words as words
from tankwalk.pages.paper import Markup
from tankwalk.practice.trial.comparing import Compared
from tankwalk.practice.trial.gathering import Gathered
from tankwalk.practice.trial.water import Water

Figure = Any
"""A figure of matplotlib, which may not be here, so that nothing is said of its types."""

DASHES = ("-", "--", ":", "-.", (0, (6, 2, 1, 2, 1, 2)), (0, (1, 3)))
"""Of the treatments, in their order."""
MARKS = ("o", "^", "s", "D", "v", "P")
MOST_ITEMS = 6
"""Items of the water that are drawn; the tables hold all."""
BAND = "0.88"


def plots(
    page: Gathered, every: Sequence[Compared], progress: Callable[[float], None] | None = None
) -> dict[str, Markup] | None:
    """Plots by name; None where matplotlib is not installed. `progress` is told 0 to 1."""
    if find_spec("matplotlib") is None:
        return None
    matplotlib = import_module("matplotlib")

    # Text stays text, so that it can be read and searched, and no font has to be carried along.
    style: dict[str, Any] = {
        "svg.fonttype": "none", "svg.hashsalt": "tankwalk", "font.size": 8,
        "font.family": "sans-serif", "text.parse_math": False,
        "axes.spines.top": False, "axes.spines.right": False, "axes.linewidth": 0.6,
        "lines.linewidth": 0.9, "axes.prop_cycle": matplotlib.cycler(color=["black"]),
    }  # fmt: skip
    found: dict[str, Markup] = {}
    with matplotlib.rc_context(style):
        found["dots"] = _svg(_dots(page, every), "Each tank of each treatment, by measure")
        found["survival"] = _svg(_survival(page), "Survival by the dead that were seen, by tank")
        codes = _drawn(page)
        for n, code in enumerate(codes):
            if progress is not None:
                progress((n + 1) / (len(codes) + 1))
            here = [one for one in page.waters if one.item.code == code]
            found[f"water-{code}"] = _svg(_water(page, here), f"{here[0].item.label} by tank")
    return found


def _drawn(page: Gathered) -> list[str]:
    """The items of the water that are drawn: measured ones first, as the plan has them."""
    seen = [one.item for one in page.waters if len(one.looks) > 1]
    order = dict.fromkeys(item.code for item in sorted(seen, key=lambda i: bool(i.derived)))
    return list(order)[:MOST_ITEMS]


def _svg(figure: Figure, title: str) -> Markup:
    """A figure as markup of its own, without a header, a date, or anything outside itself."""
    made = io.StringIO()
    figure.savefig(made, format="svg", metadata={"Date": None, "Creator": None, "Title": title})
    text = made.getvalue()
    text = text[text.index("<svg") :]
    # Names inside a figure are its own: several stand on one page.
    salt = re.sub(r"\W+", "-", title.lower())
    text = re.sub(r'\bid="([^"]+)"', rf'id="{salt}-\1"', text)
    text = re.sub(r'href="#([^"]+)"', rf'href="#{salt}-\1"', text)
    text = re.sub(r"url\(#([^)]+)\)", rf"url(#{salt}-\1)", text)
    return Markup(re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL))


def _figure(wide: float, high: float) -> Figure:
    return import_module("matplotlib.figure").Figure(figsize=(wide, high), layout="constrained")


# ---- every tank of every treatment


def _dots(page: Gathered, every: Sequence[Compared]) -> Figure:
    """Tanks as their blocks' letters, the mean of a treatment as a bar, a panel a measure."""
    shown = [one for one in every if one.measure.topic.value in ("survival", "growth")]
    shown = [one for one in shown if any(arm.n for arm in one.arms)][:9]
    rows = max(1, -(-len(shown) // 3))
    figure = _figure(7.2, 1.9 * rows)
    axes = figure.subplots(rows, 3, squeeze=False)
    for axis, one in zip(axes.flat, [*shown, *[None] * (3 * rows - len(shown))], strict=True):
        if one is None:
            axis.set_axis_off()
            continue
        for n, arm in enumerate(one.arms):
            for k, value in enumerate(sorted(arm.values, key=lambda v: v.value or 0.0)):
                letter = value.tank.block or "o"
                axis.text(
                    n + 0.16 * (k % 2) - 0.08, value.value or 0.0, letter[:2], ha="center",
                    va="center", fontsize=8, fontweight="bold",
                )  # fmt: skip
            if arm.mean is not None:
                axis.plot([n - 0.34, n + 0.34], [arm.mean, arm.mean], "-", color="0.35", lw=1.2)
        values = [v.value for arm in one.arms for v in arm.values if v.value is not None]
        room = (max(values) - min(values) or 1.0) * 0.15
        axis.set_ylim(min(values) - room, max(values) + room)
        axis.set_xlim(-0.6, len(one.arms) - 0.4)
        axis.set_xticks(range(len(one.arms)), [arm.treatment for arm in one.arms])
        axis.set_title(_folded(words.label(one.measure), 34), fontsize=8, loc="left")
    return figure


def _folded(told: str, cells: int) -> str:
    from tankwalk import text

    return "\n".join(text.wrap(told, cells)[:2])


# ---- survival


def _survival(page: Gathered) -> Figure:
    """A step curve a tank, a panel a treatment, on one scale."""
    many = max(1, len(page.treatments))
    figure = _figure(7.2, 2.6)
    axes = figure.subplots(1, many, sharey=True, squeeze=False)[0]
    for axis, code in zip(axes, page.treatments, strict=True):
        mine = [fate for fate in page.fates if fate.tank.treatment == code and fate.curve]
        ends = []
        for n, fate in enumerate(mine):
            days = range(len(fate.curve))
            alive = [100 * one.part for one in fate.curve]
            axis.step(days, alive, where="post", linestyle=DASHES[n % len(DASHES)])
            axis.fill_between(
                days, [100 * one.low for one in fate.curve], [100 * one.high for one in fate.curve],
                step="post", color="0.9", zorder=0,
            )  # fmt: skip
            ends.append((alive[-1], fate.tank.code, len(fate.curve) - 1))
        _labels(axis, ends)
        axis.set_title(code, fontsize=9, fontweight="bold", loc="left")
        axis.set_xlabel("days since stocking")
    axes[0].set_ylabel("alive by the dead seen, %")
    return figure


def _labels(axis: Any, ends: Iterable[tuple[float, str, int]]) -> None:
    """Names at the ends of lines, moved apart where they would lie on one another."""
    low, high = axis.get_ylim()
    apart = (high - low) * 0.06
    last = float("-inf")
    for value, name, day in sorted(ends):
        last = max(value, last + apart)
        axis.annotate(
            name, (day, value), (day + 0.4, last), fontsize=7, va="center", annotation_clip=False
        )


# ---- water


def _water(page: Gathered, here: Sequence[Water]) -> Figure:
    """A panel a tank with its band, all on one scale, in rows of four."""
    rows = max(1, -(-len(here) // 4))
    high = 0.5 + 1.1 * rows
    # Placed by hand: making room by itself takes seconds for so many panels.
    figure = import_module("matplotlib.figure").Figure(figsize=(7.2, high))
    figure.subplots_adjust(0.08, 0.45 / high, 0.99, 1 - 0.2 / high, wspace=0.08, hspace=0.35)
    axes = figure.subplots(rows, 4, sharex=True, sharey=True, squeeze=False)
    # The ends of both scales before anything is drawn: all panels share them, and looking for them
    # anew at every line takes most of the time.
    values = [look.value for one in here for look in one.looks]
    room = (max(values) - min(values) or 1.0) * 0.12
    axes[0][0].set_ylim(min(values) - room, max(values) + room)
    end = _day(page.until.day, page) + 1
    axes[0][0].set_xlim(-0.02 * end, 1.02 * end)
    for axis in axes.flat:
        axis.set_autoscale_on(False)
    bands = {(one.item, one.tank): one for one in page.bands}
    for axis in axes.flat[len(here) :]:
        axis.set_axis_off()
    for axis, one in zip(axes.flat, here, strict=False):
        band = bands.get((one.item.code, one.tank.code))
        if band is not None and band.steps:
            # One area a tank: one a step would take matplotlib seconds.
            steps = [*band.steps, band.steps[-1]]
            days = [*(_day(step.day, page) for step in band.steps), end]
            axis.fill_between(
                days, [-1e6 if step.low is None else step.low for step in steps],
                [1e6 if step.high is None else step.high for step in steps],
                where=[step.low is not None or step.high is not None for step in steps],
                step="post", color=BAND, lw=0, zorder=0,
            )  # fmt: skip
        when = [_day(look.at.day, page) + look.at.wall.hour / 24 for look in one.looks]
        axis.plot(when, [look.value for look in one.looks], "-", marker=".", ms=2)
        both = zip(when, one.looks, strict=True)
        out = [(t, look.value) for t, look in both if look.inside is False]
        if out:
            axis.plot([t for t, _ in out], [v for _, v in out], "o", ms=4, mfc="white", mec="black")
        tank = one.tank
        axis.set_title(f"{tank.code}  {tank.treatment or ''} {tank.block or ''}", fontsize=7,
                       loc="left", pad=2)  # fmt: skip
    item = here[0].item
    figure.supylabel(f"{item.label}, {item.unit}" if item.unit else item.label, fontsize=8)
    figure.supxlabel(f"days since {page.first.day} {page.first:%b}", fontsize=8)
    return figure


def _day(on: date, page: Gathered) -> int:
    return (on - page.first) // timedelta(days=1)
