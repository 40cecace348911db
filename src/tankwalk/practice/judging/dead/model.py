"""What the dead of a tank should be: by its sisters of the slot, its own share, and its own days.

Expected = the level of the slot (what tanks of the same treatment and age had then) x the tank's
own share of it (its looks before the onset, drawn toward its treatment's), with how sure that is.
A slot is one part of one day. docs/mortality.md tells the mathematics; nothing asks the record.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import sqrt

from tankwalk.practice.judging.dead.slots import Expected, Line, Look, Slots, Window
from tankwalk.science import negative_binomial as nb
from tankwalk.science.middle import MAD_TO_SD, median

# Taken for granted where a site's own counts do not say. Common practice, no source. Spreads are
# parts of the mean, one standard deviation; they were tried on seasons by chance, seeds 1 to 200.

DISPERSION, DISPERSION_LOOKS = 2.0, 20.0
"""Variance over mean of a count before any is known, and how many looks that is worth."""
LEAST_DISPERSION = 1.0
"""Deaths that have nothing to do with one another: Poisson."""
SHARES = 0.15
"""How far tanks of one treatment part for good."""
ARMS = 0.15
"""How far treatments part from one slot to the next."""
FORECAST = 0.25
"""How far the level moves in a day, where no sister is counted yet."""
DYING = 0.7
"""The same, at the ages at which larvae die that never fed."""
OWN = 0.15
"""How far a tank without sisters moves by itself."""
OWN_PLAN, SEED_PLAN = 0.3, 0.7
"""How far a tank's first days are from what its plan expects, and from what its species does."""
LOT_PLAN = 0.15
"""How far a lot, or a treatment of it, may be from what its plan expects before that is told."""
LIKE = 3
"""Slots of the same part of the day that tell what the next one should have."""
FEWEST_SISTERS = 2
"""With fewer a tank is held against its own days alone."""
FEWEST_OWN = 2
"""Days of its own, of this part of the day, that a tank without sisters needs."""
REFERENCE = 4
"""Looks before a possible onset that tell what a tank's share was; a look alone needs none."""
LEAST = 0.25
"""A look is never expected to have less: below that it is chance which tank has one."""
FAR = 16.0
"""Squares of what is left count up to so many times the dispersion."""
GAP = 1.5
"""A slot so many times as long as its like is told by all parts of the day together."""
LIKELY = 1.5
"""Below so many standard deviations the chance is not worked out: it is no signal."""


class Room:
    """Tanks of one age, fitted together: the levels of slots, shares of tanks, dispersion."""

    def __init__(
        self, lines: Sequence[Line], slots: Slots, clip: float = 3.5, judged: int | None = None
    ) -> None:
        self.lines = lines
        self.slots = slots
        self.clip = clip
        self.dispersion = DISPERSION
        # Fish now for each at first: at first a tank is thought to be like the others.
        self._times = [line.looks[0].times if line.looks else 1.0 for line in lines]
        self._shares = list(self._times)
        names = sorted({line.arm for line in lines})
        self.arms = tuple(names)
        self._arm = [names.index(line.arm) for line in lines]
        # Of each slot: looks that cover it alone; of each arm the fish, clipped, and their shares.
        self._at: list[list[tuple[int, float]]] = [[] for _ in slots.parts]
        for tank, line in enumerate(lines):
            for look in line.looks:
                if look.first == look.last:
                    self._at[look.last].append((tank, look.now))
        self._fish: list[list[float]] = [[] for _ in slots.parts]
        self._held: list[list[float]] = [[] for _ in slots.parts]
        self._mine: list[dict[int, float]] = [{} for _ in lines]
        self._like = _like(slots.parts)
        self._level = [median([fish for _, fish in here]) if here else 0.0 for here in self._at]
        others = [fish for tank, fish in self._at[-1] if tank != judged]
        if others:  # what is judged says nothing of what is usual
            self._level[-1] = median(others)
        if len(lines) > FEWEST_SISTERS:
            self._sum_up()
            self._share()
            self._sum_up()
            self._disperse()
        elif lines:
            self._disperse_alone()

    # -- fitting

    def _sum_up(self) -> None:
        """The level of each slot: its fish over the shares of its tanks, one wild look clipped."""
        for slot, here in enumerate(self._at):
            fish, held = [0.0] * len(self.arms), [0.0] * len(self.arms)
            for tank, count in here:
                share = self._shares[tank]
                mean = max(self._level[slot] * share, 2 * LEAST)
                counted = min(count, mean + self.clip * sqrt(self.dispersion * mean))
                fish[self._arm[tank]] += counted
                held[self._arm[tank]] += share
                self._mine[tank][slot] = counted
            self._fish[slot], self._held[slot] = fish, held
            if here:
                self._level[slot] = sum(fish) / sum(held)

    def _share(self) -> None:
        """Each tank's share by all but the newest slot, drawn toward that of its treatment."""
        own, due = [0.0] * len(self.lines), [0.0] * len(self.lines)
        for slot, here in enumerate(self._at[:-1]):
            for tank, _ in here:
                own[tank] += self._mine[tank][slot]
                due[tank] += self._level[slot]
        weight = self.dispersion / SHARES**2
        for arm in range(len(self.arms)):
            tanks = [tank for tank, of in enumerate(self._arm) if of == arm]
            had = sum(own[t] for t in tanks)
            middle = (had + weight) / (sum(due[t] * self._times[t] for t in tanks) + weight)
            for tank in tanks:
                usual = middle * self._times[tank]
                self._shares[tank] = (own[tank] + weight * usual) / (due[tank] + weight)

    def _disperse(self) -> None:
        """Variance over mean by what is left, each square clipped, drawn toward the usual."""
        total = count = 0.0
        for slot, here in enumerate(self._at[:-1]):
            for tank, fish in here if len(here) > 1 else ():
                mean = self._level[slot] * self._shares[tank]
                if mean >= 1:
                    total += min(FAR * self.dispersion, (fish - mean) ** 2 / mean)
                    count += 1 - 1 / len(here)
        self._draw(total, count)

    def _disperse_alone(self) -> None:
        """The same of a tank without sisters, by its steps between days of one part: neither a
        trend nor one bad day makes counts look wild, and so hides the next bad day."""
        for line in self.lines[:1]:
            by_part: dict[str, list[float]] = {}
            for look in line.looks[:-1]:
                by_part.setdefault(self.slots.parts[look.last], []).append(look.now)
            total = count = 0.0
            for fish in by_part.values():
                steps = [abs(after - one) for one, after in pairwise(fish)]
                if steps:
                    spread = (MAD_TO_SD * median(steps)) ** 2 / 2
                    total += len(steps) * spread / max(1.0, median(fish))
                    count += len(steps)
            self._draw(total, count)

    def _draw(self, total: float, count: float) -> None:
        found = (total + DISPERSION_LOOKS * DISPERSION) / (count + DISPERSION_LOOKS)
        self.dispersion = max(LEAST_DISPERSION, found)

    # -- levels

    def level(self, tank: int, slot: int) -> tuple[float, float] | None:
        """What a tank of share 1 should have in a slot, by the others, and its relative variance.

        Gamma, by counts over the dispersion: tanks of its treatment as they are, the others as far
        as treatments go together, and what the days before say of this one.
        """
        fish, held, arm = self._fish[slot], self._held[slot], self._arm[tank]
        mine = self._mine[tank].get(slot)
        near = fish[arm] - (mine or 0.0), held[arm] - (0.0 if mine is None else self._shares[tank])
        far = sum(fish) - fish[arm], sum(held) - held[arm]
        scale = self.dispersion
        shape, rate = near[0] / scale, max(0.0, near[1]) / scale
        if far[1] > 0:
            noise = scale / max(far[0], scale)
            part = noise / (noise + ARMS**2) / scale
            shape, rate = shape + part * far[0], rate + part * far[1]
        before = self._forecast(tank, slot) or self._foreseen(tank, slot)
        if before is not None:
            mean, variance = before
            shape, rate = shape + 1 / variance, rate + 1 / (variance * mean)
        elif rate > 0:
            shape += 0.5 / scale  # nothing is known before: half a fish, after Jeffreys
        return (shape / rate, 1 / shape) if rate > 1e-9 else None

    def _forecast(self, tank: int, slot: int) -> tuple[float, float] | None:
        """What the same part of the last days says of a slot; by all parts where it is long."""
        like = self._like[slot]
        usual = median([self.slots.hours[one] for one in like]) if like else 0.0
        if not like or self.slots.hours[slot] > GAP * usual:
            like = tuple(range(max(0, slot - 2 * LIKE), slot))
        fish = held = 0.0
        for before in like:
            mine = self._mine[tank].get(before)
            fish += sum(self._fish[before]) - (mine or 0.0)
            here = sum(self._held[before]) - (0.0 if mine is None else self._shares[tank])
            held += here * self.slots.hours[before]
        if held <= 1e-9:
            return None
        spread = DYING if self.slots.dying[slot] else FORECAST
        mean = (fish + 0.5) * self.slots.hours[slot] / held
        return mean, spread**2 + self.dispersion / (fish + 0.5)

    def _foreseen(self, tank: int, slot: int) -> tuple[float, float] | None:
        """What the plan says of a slot of a lot's first days, and how sure that is."""
        planned = self.slots.plan(slot, self.lines[tank].arm)
        if planned is None or planned.fish <= 0:
            return None
        return planned.fish, (OWN_PLAN if planned.own else SEED_PLAN) ** 2

    # -- windows

    def windows(self, tank: int, onset: int = 16, tail: float = 0.003) -> list[Window]:
        """What the looks since each possible onset had, and should have had.

        The newest look first alone, then with those before it, back to one that was a jump by
        itself (`tail`). Looks before the onset tell what is usual.
        """
        if not self.lines[tank].looks:
            return []
        if len(self.lines) > FEWEST_SISTERS:
            found = self._beside_sisters(tank, onset, tail)
            if found:
                return found
        return self._alone(tank, onset, tail)

    def _beside_sisters(self, tank: int, onset: int, tail: float) -> list[Window]:
        looks = self.lines[tank].looks
        due = [self._due(tank, look) for look in looks]
        if due[-1] is None:
            return []
        mates = [n for n, of in enumerate(self._arm) if of == self._arm[tank] and n != tank]
        alike = [self._shares[n] / self._times[n] for n in mates]
        prior = self._times[tank] * (sum(alike) / len(alike) if alike else 1.0)
        weight = self.dispersion / SHARES**2
        own, base = [0.0], [0.0]
        for look, here in zip(looks, due, strict=True):
            own.append(own[-1] + (0.0 if here is None else self._clipped(look, here[0] * prior)))
            base.append(base[-1] + (0.0 if here is None else here[0]))
        result: list[Window] = []
        fish = mean = spread = 0.0
        for n in range(len(looks) - 1, max(-1, len(looks) - 1 - onset), -1):
            here = due[n]
            if here is None or (result and n < REFERENCE):
                break
            share = (own[n] + weight * prior) / (base[n] + weight)
            sure = self.dispersion / (own[n] + weight * prior)
            mean, spread = mean + here[0], spread + here[1]
            total = max(LEAST, mean * share)
            noise = self.dispersion * total + spread * share**2 + sure * total**2
            level = here[0] * share
            if result and self._told(looks[n], level, here[1] * share**2 + sure * level**2, tail):
                break
            fish += self._clipped(looks[n], level)
            had = fish if result else looks[n].now
            result.append(_window(len(looks) - n, looks[n].first, had, total, noise))
        return result

    # -- treatments

    def of_arm(self, arm: int, onset: int = 16) -> list[Window]:
        """What a whole treatment had since each possible onset, and should have had by the others.

        Its usual part of what they have is that of the slots before the onset. What parts the
        treatments from slot to slot is not averaged out: they may part for some days.
        """
        slots = len(self._at)
        had, due, base = [0.0], [0.0], [0.0]
        for slot in range(slots):
            fish, held = self._fish[slot], self._held[slot]
            other, shares = sum(fish) - fish[arm], sum(held) - held[arm]
            known = shares > 1e-9 and held[arm] > 1e-9
            had.append(had[-1] + (fish[arm] if known else 0.0))
            due.append(due[-1] + (other / shares * held[arm] if known else 0.0))
            base.append(base[-1] + (other if known else 0.0))
        weight = self.dispersion / ARMS**2
        result: list[Window] = []
        for n in range(slots - 1, max(-1, slots - 1 - onset), -1):
            if n < REFERENCE:
                break
            part = (had[n] + weight) / (due[n] + weight)
            mean = max(LEAST, (due[slots] - due[n]) * part)
            unsure = self.dispersion / (had[n] + weight) + ARMS**2
            unsure += self.dispersion / max(1.0, base[slots] - base[n])
            noise = self.dispersion * mean + unsure * mean**2
            result.append(_window(slots - n, n, had[slots] - had[n], mean, noise))
        return result

    def times_of_others(self, tank: int, looks: Sequence[Look]) -> float:
        """How many times what tanks of other treatments had a tank has in some looks, by its share
        of what they had before."""
        first = looks[0].first if looks else 0
        sums = [0.0, 0.0, 0.0, 0.0]
        for slot, fish in self._mine[tank].items():
            other = sum(self._fish[slot]) - self._fish[slot][self._arm[tank]]
            held = sum(self._held[slot]) - self._held[slot][self._arm[tank]]
            if held > 1e-9:
                at = 0 if slot >= first else 2
                sums[at] += fish
                sums[at + 1] += other / held
        weight = self.dispersion / ARMS**2
        usual = (sums[2] + weight) / (sums[3] + weight)
        return sums[0] / max(LEAST, sums[1] * usual)

    def tanks_of(self, arm: int) -> list[int]:
        """The tanks of a treatment by their number."""
        return [tank for tank, of in enumerate(self._arm) if of == arm]

    def by_slot(self) -> tuple[Look, ...]:
        """All tanks together by slot, as if each slot had every one of them."""
        shares = sum(self._shares)
        return tuple(
            Look(slot, slot, round(self._level[slot] * shares))
            for slot, here in enumerate(self._at)
            if here
        )

    def beside_plan(self, tanks: Sequence[int], onset: int = 16) -> list[Window]:
        """What some tanks together had since each possible onset, and should have by the plan.

        As far back as the site's own plan says a number, and at most so many looks; as if each
        slot had every one of these tanks.
        """
        shares = sum(self._shares[tank] for tank in tanks)
        result: list[Window] = []
        had = mean = 0.0
        for slot in range(len(self._at) - 1, max(-1, len(self._at) - 1 - onset), -1):
            planned = [self.slots.plan(slot, self.lines[tank].arm) for tank in tanks]
            said = [one.fish for one in planned if one is not None and one.own]
            here = [self._mine[tank][slot] for tank in tanks if slot in self._mine[tank]]
            held = sum(self._shares[tank] for tank in tanks if slot in self._mine[tank])
            if len(said) < len(tanks) or not here:
                break
            had += sum(here) / held * shares
            mean += sum(said)
            noise = self.dispersion * mean + (LOT_PLAN * mean) ** 2
            result.append(_window(len(self._at) - slot, slot, had, mean, noise))
        return result

    def _due(self, tank: int, look: Look) -> tuple[float, float] | None:
        """What a look should have at share 1, and the variance of that; None where none knows."""
        mean = variance = 0.0
        for slot in range(look.first, look.last + 1):
            found = self.level(tank, slot)
            if found is None:
                return None
            mean += found[0]
            variance += found[1] * found[0] ** 2
        return mean, variance

    def _told(self, look: Look, mean: float, unsure: float, tail: float) -> bool:
        """Whether a look was a jump by itself: it was told, and what adds up starts anew."""
        mean = max(LEAST, mean)
        noise = self.dispersion * mean + unsure
        return _window(1, look.first, look.now, mean, noise).chance < tail

    def _clipped(self, look: Look, mean: float) -> float:
        """A look as it adds to others: one bad day is no rise, nor is it usual."""
        level = max(2 * LEAST, mean)
        return min(look.now, level + self.clip * sqrt(self.dispersion * level))

    def _alone(self, tank: int, onset: int, tail: float) -> list[Window]:
        """A tank by its own days: the same part of the day before the onset."""
        looks = self.lines[tank].looks
        result: list[Window] = []
        for n in range(len(looks) - 1, max(-1, len(looks) - 1 - onset), -1):
            before, since = looks[:n], looks[n:]
            rates = self._rates(before)
            if not before or rates is None:
                if not result:
                    result += self._by_plan(tank, since[0])
                break
            mean = fish = first = 0.0
            known = dying = False
            for look in since:
                hours = sum(self.slots.hours[look.first : look.last + 1])
                usual = rates.get(self.slots.parts[look.last])
                long = usual is None or hours > GAP * usual[1]
                rate = rates[""][0] if usual is None or long else usual[0]
                here = max(LEAST, rate * hours)
                first = first or here
                mean += here
                fish += look.now if len(since) == 1 else self._clipped(look, here)
                known = known or not long or len(before) > 2 * FEWEST_OWN
                dying = dying or self.slots.dying[look.last]
            if not known:
                break
            sure = (DYING if dying else OWN) ** 2 + self.dispersion / max(1.0, rates[""][2])
            noise = self.dispersion * mean + sure * mean**2
            if result and self._told(looks[n], first, sure * first**2, tail):
                break
            result.append(_window(len(since), since[0].first, fish, mean, noise))
        return result

    def _by_plan(self, tank: int, look: Look) -> list[Window]:
        """The newest look of a tank of whose days nothing is known, held against the plan."""
        planned = [self._foreseen(tank, slot) for slot in range(look.first, look.last + 1)]
        known = [one for one in planned if one is not None]
        if not known or len(known) < len(planned):
            return []
        mean = max(LEAST, sum(fish for fish, _ in known))
        noise = self.dispersion * mean + known[-1][1] * mean**2
        return [_window(1, look.first, look.now, mean, noise)]

    def _rates(self, before: Sequence[Look]) -> dict[str, tuple[float, float, float]] | None:
        """By part of the day, "" for all: dead an hour, hours of such a look, and all its dead.

        The middle look, so that one bad day is not usual; None where no part has two.
        """
        by_part: dict[str, list[tuple[float, float]]] = {}
        for look in before:
            hours = sum(self.slots.hours[look.first : look.last + 1])
            by_part.setdefault(self.slots.parts[look.last], []).append((look.now, hours))
        found = {}
        fish = spent = counted = 0.0
        for part, here in by_part.items():
            middle = median([one for one, _ in here])
            hours = median([one for _, one in here])
            fish, spent = fish + middle, spent + hours
            counted += middle * len(here)
            if len(here) >= FEWEST_OWN:
                found[part] = middle / hours, hours, middle * len(here)
        if not found:
            return None
        return {**found, "": (fish / spent, spent, counted)}


def _window(looks: int, first: int, fish: float, mean: float, variance: float) -> Window:
    likely = fish < mean + LIKELY * sqrt(variance)
    chance = 1.0 if likely else nb.at_least(fish, mean, variance)
    return Window(looks, first, fish, Expected(mean, variance), chance)


def _like(parts: Sequence[str]) -> list[tuple[int, ...]]:
    """Of each slot the last before it of the same part of the day."""
    seen: dict[str, list[int]] = {}
    found = []
    for slot, part in enumerate(parts):
        here = seen.setdefault(part, [])
        found.append(tuple(here[-LIKE:]))
        here.append(slot)
    return found
