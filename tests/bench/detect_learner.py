"""The ideal detector that has to learn its levels: what anybody at a site could tell of looks.

It is given what the ideal one is given but for the levels: how far looks shake, what a loop's water
does from round to round and how much of it stays. What each tank reads by itself, what each meter
adds, how the afternoon differs from the morning and how a loop's water creeps, it has to learn from
the same looks, as unknowns beside every change that it asks for (generalized least squares, from
memory; the same onsets and shapes as the ideal one). What the ideal finds and this one does not is
hidden by the levels, which nobody at a site knows; what this one finds and ours does not is ours.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any, NamedTuple

import detect_ideal
import numpy as np
from detect_ideal import ONSETS, AtRound, Scored
from detect_ours import planned
from detect_series import Series
from scipy.linalg import solve_triangular

from chance_faults import Look

CREEPS = 0.5
"""A loop's water may creep by so many of its own spreads a day: what fish that grow do to it."""
UNKNOWN = 20.0
"""How far a level may be from where it is thought to be, in spreads of a look: anywhere."""
FEWEST = 4
"""Rounds before an onset."""

Matrix = Any
"""An array of numpy, which is seen without its types."""


class _Part(NamedTuple):
    """A tank, loop or meter, and which looks are of it."""

    kind: str
    code: str
    tanks: frozenset[str]
    mine: Matrix


def readings(item: str, looks: Sequence[Look], since: int = 0) -> list[AtRound]:
    """What is known after each round of one item, from a round on."""
    if not looks:
        return []
    rounds = [list(group) for _, group in groupby(looks, lambda look: look.round)]
    index: Matrix = np.repeat(np.arange(len(rounds)), [len(group) for group in rounds])
    days = np.array([group[0].at for group in rounds]) / 86400
    ends = np.cumsum([len(group) for group in rounds])
    parts = _parts(looks)
    whiten = _whitened(looks)
    value = whiten(np.array([look.value for look in looks])[:, None])[:, 0]
    known, prior = _unknown(looks, days[index] - days[0])
    known = whiten(known)
    found = []
    shifts = [whiten(_shifts(part, index, days)) for part in parts]
    for last, group in enumerate(rounds):
        if last < FEWEST or group[0].round < since:
            continue
        upto = ends[last]
        x, y = known[:upto], value[:upto]
        inner = np.linalg.inv(x.T @ x + np.diag(prior))
        fitted = inner @ (x.T @ y)
        first = max(FEWEST, last + 1 - ONSETS)
        scored = []
        for part, every in zip(parts, shifts, strict=True):
            w = every[:upto, 2 * first : 2 * (last + 1)]
            across = x.T @ w
            top = w.T @ y - across.T @ fitted
            under = (w * w).sum(axis=0) - (across * (inner @ across)).sum(axis=0)
            good = under > 1e-6
            score = float((top**2 / np.maximum(under, 1e-9) / 2 * good).max())
            scored.append(Scored(part.kind, part.code, item, part.tanks, score))
        scored.sort(key=lambda one: -one.score)
        found.append(AtRound(group[0].round, group[-1].at, tuple(scored)))
    return found


def learner(season: Series) -> list[list[AtRound]]:
    """What can be known of every item that meters show, and of the dead what the ideal knows."""
    begun = 0 if season.planted is None else season.planted.first - 1
    found = []
    for item, looks in season.looks.items():
        asked = tuple(
            look._replace(value=planned(season, item, look.round, look.value)) for look in looks
        )
        found.append(readings(item, asked, begun))
    return [*found, detect_ideal.counts(season.dead)]


def _parts(looks: Sequence[Look]) -> list[_Part]:
    asked = [("place", "tank"), ("loop", "loop"), ("meter", "meter")]
    found = []
    for kind, name in asked:
        of = [getattr(look, name) for look in looks]
        for code in sorted({one for one in of if one is not None}):
            mine = np.array([one == code for one in of])
            tanks = frozenset(k.tank for k, so in zip(looks, mine, strict=True) if so)
            found.append(_Part(kind, code, tanks, mine))
    return found


def _whitened(looks: Sequence[Look]) -> Any:
    """Takes columns of looks to where all of them shake by 1 and by themselves.

    A triangle: what is known of the first looks is not moved by those after them.
    """
    loops = [look.loop for look in looks]
    triangles = []
    for loop in dict.fromkeys(loops):
        here = np.array([n for n, one in enumerate(loops) if one == loop])
        truth = looks[here[0]].truth
        at = np.array([looks[n].round for n in here])
        shared = truth.shared**2 * truth.follows ** np.abs(at[:, None] - at[None, :])
        own = np.diag([looks[n].truth.sd ** 2 for n in here])
        triangles.append((here, np.linalg.cholesky(shared + own)))

    def whiten(columns: Matrix) -> Matrix:
        found = np.zeros_like(columns, dtype=float)
        for here, triangle in triangles:
            found[here] = solve_triangular(triangle, columns[here], lower=True)
        return found

    return whiten


def _unknown(looks: Sequence[Look], days: Matrix) -> tuple[Matrix, Matrix]:
    """What has to be learned, as columns of looks, and how little is known of each before."""
    columns, prior = [], []
    sd = float(np.median([look.truth.sd for look in looks]))
    shared = max(looks[0].truth.shared, 0.1 * sd)
    for name in ("tank", "meter", "part"):
        of = [getattr(look, name) for look in looks]
        for nth, code in enumerate(sorted({one for one in of if one is not None})):
            if name == "part" and nth == 0:
                continue
            columns.append([one == code for one in of])
            prior.append(1e-6 if name == "tank" else (UNKNOWN * sd) ** -2)
    loops = [look.loop for look in looks]
    for code in dict.fromkeys(loops):
        columns.append(days * np.array([one == code for one in loops]))
        prior.append((CREEPS * shared) ** -2)
    return np.array(columns, dtype=float).T, np.array(prior)


def _shifts(part: _Part, index: Matrix, days: Matrix) -> Matrix:
    """A step and a ramp of a part from each round on, side by side, as columns of looks.

    A ramp begins half way between the last round without it and the first with it.
    """
    columns = []
    for onset in range(len(days)):
        since = part.mine & (index >= onset)
        before = days[onset - 1] if onset else days[0] - 0.5
        columns.append(since.astype(float))
        columns.append(np.where(since, days[index] - (before + days[onset]) / 2, 0.0))
    return np.array(columns).T
