"""Which part changed: each tank, loop and meter held against the rest of the water."""

from __future__ import annotations

from collections.abc import Collection, Generator, Iterator, Sequence
from math import copysign, log, sqrt

from tankwalk.practice.judging.model.beside import stayed
from tankwalk.practice.judging.model.levels import (
    GOES_ON,
    Levels,
    Noise,
    levels,
    part_of_day,
)
from tankwalk.practice.judging.model.looks import Anew, Change, Look, Part, Settings, Suspect
from tankwalk.practice.judging.model.points import Point, points_of
from tankwalk.rows import NamedTuple
from tankwalk.science.changing import Onset, Shape, best_onset

MOST_CHANGES = 6
"""Changes that are told from each other at once."""
TREND = 0.5
"""A loop's water may always have gone so many of its standard deviations a day: fish grow."""
OPPOSED = 0.85
"""Scores of two meters that are this close do not say by themselves which of them it is."""
MOSTLY = 0.5
"""A part of which most rounds have nothing beside them holds what its water does."""
APART_PASSES = 2
"""How often what a part did slowly and what it did at once are told from each other."""
PARTS_A_STEP = 6
"""So many parts are held against the rest between two keys."""
LITTLE = 0.05
"""So small a share that goes on is not worth its cost: it counts as new in each round."""


class Found(NamedTuple):
    """What explains a part's points best."""

    suspect: Suspect
    onset: Onset
    points: tuple[Point, ...]

    @property
    def looks(self) -> int:
        """How many looks are part of it."""
        return len(self.points) - self.onset.at

    @property
    def evidence(self) -> float:
        """The log of the likelihood ratio."""
        return self.onset.score**2 / 2


def changes(
    looks: Sequence[Look],
    settings: Settings,
    anew: Anew | None = None,
    *,
    of: Collection[Suspect] = (),
) -> tuple[Change, ...]:
    """What changed in the looks of one item, the best explained first; () for nothing.

    What has been found is taken out of the looks before the next is looked for, so that a meter's
    change is not told again of each of its tanks. `of` asks about these parts alone: it is looked
    no further once none of them moved.
    """
    return in_one_go(changing(looks, settings, anew, of=of))


def in_one_go(steps: Generator[None, None, tuple[Change, ...]]) -> tuple[Change, ...]:
    """What is found at the end of these steps."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            found: tuple[Change, ...] = end.value
            return found


def changing(
    looks: Sequence[Look],
    settings: Settings,
    anew: Anew | None = None,
    *,
    of: Collection[Suspect] = (),
) -> Generator[None, None, tuple[Change, ...]]:
    """The same a step at a time, so that somebody who types meanwhile does not wait."""
    found: list[Change] = []
    left = list(looks)
    known = whole = levels(left, settings, anew)
    first: dict[Suspect, _First] = {}
    twice: set[Suspect] = set()
    while len(found) < MOST_CHANGES:
        yield
        mine = [held(known, s, settings) for s in of]
        if of and not any(one is not None and told_of(one, settings) for one in mine):
            break
        every: list[Found] = []
        for nth, suspect in enumerate(suspects(known)):
            if nth % PARTS_A_STEP == PARTS_A_STEP - 1:
                yield
            one = held(known, suspect, settings)
            if one is not None:
                every.append(one)
        told = [one for one in every if told_of(one, settings)]
        if not told:
            break
        best, other = _which_meter(known, told, every, settings)
        best = _one_tank(best, told)
        yield
        rivals = _rivals(best, every, other, settings)
        if best.suspect.kind is Part.LOOP:
            rivals += _meter_of_loop(known, best, settings)
        elif best.suspect.kind is Part.TANK:
            rivals += _meter_of_tank(known, best)
        else:
            rivals += _loops_of_meter(known, best)
        if best.suspect in first:
            if best.suspect in twice:
                break
            twice.add(best.suspect)
            slow = first[best.suspect]
            on_top = _swallowed(slow.found, best)
            begun, best, left = yield from _apart(slow.found, best, left, settings, anew)
            if not on_top:
                far = begun.onset.size + best.onset.size
                found[slow.nth] = found[slow.nth]._replace(size=far)
        else:
            on_top = True
            first[best.suspect] = _First(best, len(found))
            left = _without(left, best)
        yield
        known = levels(left, settings, anew)
        yield
        if on_top:
            rivals = _no_others(rivals, known, settings)
            found.append(_change(best, rivals, _stayed(whole, best)))
    return tuple(found)


class _First(NamedTuple):
    """What was found of a part first, and where it stands among the changes."""

    found: Found
    nth: int


def _swallowed(slow: Found, quick: Found) -> bool:
    """Whether a part did the one slowly, and the other at once on top of it, the same way.

    That is a change of its own. Anything else went on or came back some time later: it is told
    once, by how far it stands from what it was.
    """
    return (
        slow.onset.shape is Shape.RAMP
        and slow.looks > quick.looks
        and slow.onset.size * quick.onset.size > 0
    )


def _no_others(rivals: Sequence[Suspect], known: Levels, settings: Settings) -> tuple[Suspect, ...]:
    """Rivals of a change without those that move all the same when it is taken out."""
    return tuple(
        one
        for one in dict.fromkeys(rivals)
        if (still := held(known, one, settings)) is None or not told_of(still, settings)
    )


def _apart(
    slow: Found, quick: Found, left: Sequence[Look], settings: Settings, anew: Anew | None
) -> Generator[None, None, tuple[Found, Found, list[Look]]]:
    """What a part did first and what it did then, each told without the other; and the looks
    without both. `left` is without what it did first.

    What it did slowly is told without what came at once: a ramp through both would take half of it.
    """
    looks = _without(left, slow, back=True)
    for _ in range(APART_PASSES):
        without = levels(_without(looks, quick), settings, anew)
        slow = held(without, slow.suspect, settings) or slow
        yield
        alone = _without(looks, slow)
        quick = held(levels(alone, settings, anew), quick.suspect, settings) or quick
        yield
    return slow, quick, _without(alone, quick)


def suspects(known: Levels) -> Iterator[Suspect]:
    """Every tank, loop and meter that was read in the newest rounds."""
    return iter(known.shown)


def held(
    known: Levels, suspect: Suspect, settings: Settings, *, alone: bool = False
) -> Found | None:
    """One part held against the rest of the water; None with too few looks.

    `alone` holds its tanks against their own past, whatever the others did.
    """
    history = before(known, suspect, settings, alone=alone)
    return tested(history, known.noise, suspect, settings)


class History(NamedTuple):
    """A part's points; `beside` says that those without anything beside them were left out,
    `alone` that each is held against its own past whatever the others did."""

    points: tuple[Point, ...]
    beside: bool
    alone: bool


def before(known: Levels, suspect: Suspect, settings: Settings, *, alone: bool = False) -> History:
    """A part's points, oldest first, as far back as they count."""
    beside = suspect.kind is Part.METER
    points = points_of(known, suspect, beside=beside, alone=alone)
    if len(points) <= settings.reference and beside:
        # Beside others a meter is itself, with none it is its water: a course of both is neither.
        if len({here.block.loop for here in known.shown.get(suspect, ())}) < 2:
            return History((), beside=True, alone=False)  # the water's course says all of it
        beside, alone = False, True
        points = points_of(known, suspect, alone=alone)
    since = known.anew.get(suspect, 0)
    counted = tuple(p for p in points[-settings.reach :] if p.at >= since)
    return History(counted, beside, alone)


def and_now(history: History, now: Levels, suspect: Suspect) -> History:
    """The same with what is read now."""
    more = points_of(now, suspect, beside=history.beside, alone=history.alone)
    return history._replace(points=(*history.points, *more))


def tested(history: History, noise: Noise, suspect: Suspect, settings: Settings) -> Found | None:
    """What explains a part's points best; None with too few."""
    points = history.points
    if len(points) <= settings.reference:
        return None
    swing = part_of_day([p.part for p in points], [p.off for p in points])
    values = [p.off - swing.get(p.part, 0.0) for p in points]
    values = _without_wild(points, values, settings.clip)
    begun = points[0].at
    water = sum(not p.beside for p in points) > MOSTLY * len(points)
    lasting = sum(p.lasting for p in points) / len(points)
    onset = best_onset(
        [(p.at - begun) / 86400 for p in points],
        values,
        [p.variance for p in points],
        reference=settings.reference,
        newest=settings.newest,
        lasting=lasting if lasting > LITTLE else 0.0,
        correlation=GOES_ON,
        trend=TREND * sqrt(noise.loop) if water else 0.0,
    )
    if onset is None:
        return None
    return Found(suspect, onset._replace(score=_sure(onset.score, points, noise)), points)


def _sure(score: float, points: Sequence[Point], noise: Noise) -> float:
    """A score that is as sure as the noise it is held against is known.

    Of a noise that is known from n looks t spreads are as rare as sqrt(n ln(1 + t^2/n)): what the
    likelihood ratio is where the noise is told from the same looks. What comes of two noises is
    as well known as both (Welch 1947, from memory).
    """
    share = sum(p.lasting for p in points if not p.beside) / len(points)
    freedom = 1 / ((1 - share) ** 2 / noise.looks + share**2 / noise.rounds)
    return copysign(sqrt(freedom * log(1 + score * score / freedom)), score)


def _without_wild(points: Sequence[Point], values: Sequence[float], clip: float) -> list[float]:
    """Values of which none stands alone: those before and after it let it go so far and no further.

    The newest stands as it is: what comes after it will tell.
    """
    found = list(values)
    for n in range(len(points) - 1):
        near = values[n + 1], values[n - 1 if n else 1]
        far = clip * sqrt(points[n].variance)
        found[n] = min(max(values[n], min(near) - far), max(near) + far)
    return found


def told_of(one: Found, settings: Settings) -> bool:
    """Whether a part's change is more than chance makes often."""
    return abs(one.onset.score) >= settings.score


def _which_meter(
    known: Levels, told: Sequence[Found], every: Sequence[Found], settings: Settings
) -> tuple[Found, Found | None]:
    """What is explained best; and the other meter, where it may be that one as well.

    What one meter reads too high looks like what the other reads too low. Told apart they are by
    the tanks' own past: those of the one left it, those of the other did not.
    """
    best = max(told, key=lambda one: abs(one.onset.score))
    other = max(
        (one for one in every if _opposed(best, one) or (one in told and _against(best, one))),
        key=lambda one: one.evidence,
        default=None,
    )
    if other is None:
        return best, None
    # What their water did before it moved is no sign of either.
    lately = settings._replace(newest=max(best.looks, other.looks))
    mine, theirs = (held(known, one.suspect, lately, alone=True) for one in (best, other))
    apart = (0.0 if mine is None else mine.evidence) - (0.0 if theirs is None else theirs.evidence)
    if apart > settings.margin:
        return best, None
    if apart < -settings.margin:
        # It is the same difference, told from its other side, and as sure.
        score = copysign(best.onset.score, other.onset.score)
        return other._replace(onset=other.onset._replace(score=score)), None
    return best, other if _opposed(best, other) else None


def _one_tank(best: Found, told: Sequence[Found]) -> Found:
    """The tank, where a meter has read one tank alone since it moved: it is that tank or it."""
    if best.suspect.kind is not Part.METER:
        return best
    tanks = {t for point in best.points[best.onset.at :] for t in point.tanks}
    return next(
        (one for one in told if one.suspect.kind is Part.TANK and tanks == {one.suspect.code}), best
    )


def _meter_of_tank(known: Levels, best: Found) -> tuple[Suspect, ...]:
    """The one meter that has read this tank since it moved, where it has read no other."""
    begun = best.points[best.onset.at].round
    since = [read for block in known.blocks if block.round >= begun for read in block.reads]
    meters = {read.meter for read in since if read.tank == best.suspect.code}
    read = {read.tank for read in since if read.meter in meters}
    if len(meters) != 1 or len(read) != 1 or None in meters:
        return ()
    return tuple(Suspect(Part.METER, meter) for meter in meters if meter is not None)


def _loops_of_meter(known: Levels, best: Found) -> tuple[Suspect, ...]:
    """The loops of a meter beside which nobody read anything since it moved: it is their water, or
    it. Whoever is sent to the meter alone lets the water go on."""
    begun = best.points[best.onset.at].round
    since = [block for block in known.blocks if block.round >= begun]
    if {read.meter for block in since for read in block.reads} != {best.suspect.code}:
        return ()
    return tuple(Suspect(Part.LOOP, loop) for loop in sorted({block.loop for block in since}))


def _against(best: Found, one: Found) -> bool:
    """Whether it is another meter that went the other way."""
    meters = best.suspect.kind is one.suspect.kind is Part.METER
    return meters and best.onset.score * one.onset.score < 0


def _opposed(best: Found, one: Found) -> bool:
    """Whether it is another meter that went the other way about as far."""
    return _against(best, one) and abs(one.onset.score) > OPPOSED * abs(best.onset.score)


def _rivals(
    best: Found, every: Sequence[Found], other: Found | None, settings: Settings
) -> tuple[Suspect, ...]:
    """Other parts that explain as much of the same looks, and the other meter."""
    mine = set(_tanks(best))
    return tuple(
        one.suspect
        for one in sorted(every, key=lambda one: -one.evidence)
        if one is other
        or (
            one.suspect != best.suspect
            and not _opposed(best, one)
            and best.evidence - one.evidence < settings.margin
            and mine & set(_tanks(one))
        )
    )


def _meter_of_loop(known: Levels, best: Found, settings: Settings) -> tuple[Suspect, ...]:
    """The one meter that read all of a loop since it moved, where nothing speaks against it.

    It would have moved in other water that it read as well.
    """
    begun = best.points[best.onset.at].round
    since = [block for block in known.blocks if block.round >= begun]
    here = {r.meter for b in since if b.loop == best.suspect.code for r in b.reads}
    if len(here) != 1 or None in here:
        return ()
    (meter,) = here
    one = Suspect(Part.METER, meter or "")
    elsewhere = any(r.meter == meter for b in since if b.loop != best.suspect.code for r in b.reads)
    alone = held(known, one, settings, alone=True) if elsewhere else None
    speaks = alone is None or best.evidence - alone.evidence < settings.margin
    return (one,) if speaks else ()


def _tanks(one: Found) -> tuple[str, ...]:
    """The tanks read since the onset, in order of their names."""
    return tuple(sorted({t for point in one.points[one.onset.at :] for t in point.tanks}))


def _stayed(known: Levels, best: Found) -> int:
    """How many of those that a part was held against did not move."""
    newest, begun = best.points[-1], best.points[best.onset.at]
    if not newest.beside:
        return 0
    return stayed(known, newest.tanks, begun.round, newest.round, best.onset.size)


def _change(best: Found, rivals: tuple[Suspect, ...], still: int) -> Change:
    onset = best.onset
    return Change(
        best.suspect.kind,
        best.suspect.code,
        _tanks(best),
        best.points[onset.at].at,
        best.looks,
        onset.shape,
        onset.size,
        onset.rate if onset.shape is Shape.RAMP else 0.0,
        onset.score,
        best.points[-1].beside,
        rivals,
        still,
    )


def _without(looks: Sequence[Look], best: Found, *, back: bool = False) -> list[Look]:
    """Looks with a change taken out of them, or put back."""
    onset, suspect = best.onset, best.suspect
    first = best.points[onset.at].round
    before = best.points[onset.at - 1].at
    found = []
    for look in looks:
        code = {Part.TANK: look.tank, Part.LOOP: look.loop, Part.METER: look.meter}[suspect.kind]
        if code == suspect.code and look.round >= first:
            days = (look.at - before) / 86400
            off = (-onset.rate if back else onset.rate) * (
                1.0 if onset.shape is Shape.STEP else max(0.0, days)
            )
            look = look._replace(value=look.value - off)
        found.append(look)
    return found
