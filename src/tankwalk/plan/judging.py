"""The limits of judging as one value: wanted false alarms, charts, looks; each with its source."""

from __future__ import annotations

from datetime import date

from tankwalk.rows import NamedTuple

OURS = "common practice, no source"

COPIED_PART, COUNTED_PART, FEW_PART = 0.05, 0.2, 0.01
"""Chances below which values as alike as these, an equal count and a count of no dead are asked
about, as parts of the CHECK that chance may ask in a day. Tried on simulated seasons, no source."""


class JudgingLimits(NamedTuple):
    """What judging is held to: the [judging] table of a plan over what holds everywhere.

    False alarms are a day of twelve tanks. `LIMITS` says of each what it is, its bounds, and
    where the value here comes from.
    """

    false_watch_a_day: float = 0.2
    false_act_a_day: float = 0.02
    false_check_a_day: float = 0.2
    watch_a_day: float = 3.0
    act_a_day: float = 0.0
    reference_looks: int = 4
    reference_most: int = 40
    onset_looks: int = 16
    clip: float = 3.5
    margin: float = 2.0
    calm_rounds: int = 2
    ratio: float = 2.0
    tail: float = 0.0007
    owner: str = ""
    source: str = OURS
    dated: date | None = None

    @property
    def copied_chance(self) -> float:
        """The chance of values as alike as these, below which one asks whether they were read."""
        return COPIED_PART * self.false_check_a_day

    @property
    def counted_chance(self) -> float:
        """The chance of a count equal to the last, below which one asks if it was kept already."""
        return COUNTED_PART * self.false_check_a_day

    @property
    def few_chance(self) -> float:
        """The chance of no dead at all, below which one asks whether the tank was siphoned."""
        return FEW_PART * self.false_check_a_day


class Limit(NamedTuple):
    """One key of the [judging] table: what it is, its bounds, its value where no plan says one."""

    what: str
    low: float
    high: float
    usual: float
    source: str = OURS


_USUAL = JudgingLimits()

LIMITS: dict[str, Limit] = {
    "false_watch_a_day": Limit(
        "WATCH that chance alone may raise in a day of twelve tanks",
        0.01,
        3.0,
        _USUAL.false_watch_a_day,
    ),
    "false_act_a_day": Limit(
        "ACT that chance alone may raise in a day of twelve tanks",
        0.001,
        1.0,
        _USUAL.false_act_a_day,
    ),
    "false_check_a_day": Limit(
        "CHECK that chance alone may ask in a day of twelve tanks",
        0.01,
        3.0,
        _USUAL.false_check_a_day,
    ),
    "watch_a_day": Limit(
        "WATCH of all kinds that an ordinary day of twelve tanks may raise",
        0.5,
        30.0,
        _USUAL.watch_a_day,
    ),
    "act_a_day": Limit(
        "ACT of all kinds that an ordinary day of twelve tanks may raise",
        0.0,
        12.0,
        _USUAL.act_a_day,
    ),
    "reference_looks": Limit(
        "fewest looks before a change that make its reference",
        4,
        40,
        _USUAL.reference_looks,
        "tried on simulated series, no source",
    ),
    "reference_most": Limit(
        "most looks before a change that its reference reaches back over",
        10,
        400,
        _USUAL.reference_most,
    ),
    "onset_looks": Limit(
        "looks back over which the start of a change is sought",
        4,
        100,
        _USUAL.onset_looks,
        "tried on simulated series, no source",
    ),
    "clip": Limit(
        "spreads beyond which one look counts no more, so that one wild look decides nothing",
        2.0,
        10.0,
        _USUAL.clip,
        "the cut of Iglewicz & Hoaglin 1993 for outliers, from memory",
    ),
    "margin": Limit(
        "log likelihood by which another cause has to be weaker, to be named no more",
        0.5,
        10.0,
        _USUAL.margin,
        "a likelihood ratio of about 7; by simulation, docs/judging.md",
    ),
    "calm_rounds": Limit(
        "whole rounds that no longer find a change before its flag ends",
        1,
        10,
        _USUAL.calm_rounds,
    ),
    "ratio": Limit(
        "times the expected dead for which the chart of a slow rise is laid out",
        1.2,
        10.0,
        _USUAL.ratio,
    ),
    "tail": Limit(
        "chance of a count of the dead as high as this one, below which it is a jump",
        0.00001,
        0.05,
        _USUAL.tail,
        "tried on simulated seasons, docs/mortality.md; three standard deviations are 0.00135",
    ),
}
"""Every number of the [judging] table. A new one is a field above, a line here, one in
`plan/keys.py` and one in docs/plan-judging.md; a test holds them together."""
