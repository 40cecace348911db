"""What is sound in a plan and could be better: said by the check, and never a reason to refuse."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator

from tankwalk.plan.bands import limits_at, target_on
from tankwalk.plan.keys import header
from tankwalk.plan.model import RESPONSE, BandRule, Item, Plan, Side
from tankwalk.rows import NamedTuple


class Advice(NamedTuple):
    """One thing that could be better: about what, what it is, and what to write."""

    item: str
    what: str
    mend: str
    table: str = "item"

    def __str__(self) -> str:
        return f"{header(self.table)} {self.item}: {self.what}. Better: {self.mend}."


def advice(plan: Plan) -> tuple[Advice, ...]:
    """All that could be better in a checked plan: its items in their order, then its feeds."""
    old = _of_one_response(plan)
    found: list[Advice] = []
    for item in plan.items:
        if item.code in old:
            found.append(Advice(item.code, *_to_split(item)))
            continue
        found += [Advice(item.code, *words) for words in _unanswered(plan, item)]
    return (
        *found,
        *_without_a_ration(plan),
        *_not_made(plan),
        *_not_asked(plan),
        *_on_one_disk(plan),
    )


def _on_one_disk(plan: Plan) -> Iterator[Advice]:
    """A working site whose backups all lie where its record lies."""
    if plan.rehearsal is None and not plan.backups.second:
        what = "every backup lies on the same disk as the record"
        yield Advice("second", what, 'name a stick: second = "/media/stick/tankwalk"', "backup")


def _without_a_ration(plan: Plan) -> Iterator[Advice]:
    """Feeds whose amount has to be typed at every tank, on every day that they are given."""
    for feed in plan.feeds:
        first, last = feed.dph
        mine = [r for r in plan.rations if r.feed == feed.code and r.treatment == feed.treatment]
        mine = mine or [r for r in plan.rations if r.feed == feed.code and r.treatment is None]
        if not any(r.points[0][0] <= last and first <= r.points[-1][0] for r in mine):
            whom = f"{feed.code} {feed.treatment}" if feed.treatment else feed.code
            what = f"no ration says how much is given at {first}-{last} dph, so it is typed"
            yield Advice(whom, what, "add a [[ration]] for it", "feed")


def _not_made(plan: Plan) -> Iterator[Advice]:
    """Live feed that is planned, and nothing it could be hatched from."""
    live = next((f.code for f in plan.feeds if f.hatched), None)
    if live is not None and plan.rations and not plan.cysts:
        what = "no cysts are in the plan, so tomorrow's cones cannot be worked out"
        yield Advice(live, what, "add a [[cysts]] table", "feed")


def _not_asked(plan: Plan) -> Iterator[Advice]:
    """Meals after which nobody is asked how the fish went for them."""
    asked = {code for one in plan.checklists for code in one.tank}
    asked |= {code for one in plan.meals for code in (*one.before, *one.after)}
    if plan.meals and plan.rations and RESPONSE not in asked:
        what = "no meal and no round asks how the fish go for it, so a poor batch is not told"
        mend = f'add [[item]] {RESPONSE}, words from best to worst, and after = ["{RESPONSE}"]'
        yield Advice(f"{plan.meals[0].at:%H:%M}", what, mend, "meal")


def _of_one_response(plan: Plan) -> set[str]:
    """Items that still have one first response, whatever is wrong with them."""
    tables = tomllib.loads(plan.text).get("item", [])
    return {str(table.get("code")) for table in tables if "first_response" in table}


def _to_split(item: Item) -> tuple[str, str]:
    if item.kind.by_words:
        words = " and ".join(map(_when, (*item.watch_on, *item.act_on)))
        return "first_response is the same for every word", f"write {words} instead"
    return (
        "first_response is the same for too low and too high",
        "write when_low and when_high instead",
    )


def _when(word: str) -> str:
    """The key for a word of a choice, in quotes where TOML wants them."""
    return f"when.{word}" if word.isascii() and word.isalnum() else f'when."{word}"'


def _unanswered(plan: Plan, item: Item) -> Iterator[tuple[str, str]]:
    """Each way it can be out for which nothing is to be done first."""
    if item.kind.by_words:
        told = dict(item.when)
        for word in (*item.watch_on, *item.act_on):
            if not told.get(word):
                yield f'"{word}" is flagged and has no first response', f"add {_when(word)} = [...]"
        return
    for side in sides_with_a_limit(plan, item):
        if not (item.when_low if side is Side.LOW else item.when_high):
            what = f"its band has a limit for too {side.value}, and it has no first response"
            yield what, f"add when_{side.value} = [...]"


def sides_with_a_limit(plan: Plan, item: Item) -> tuple[Side, ...]:
    """The sides on which any band of an item has a limit, the plan's own and the species'."""
    rules = [rule for rule in plan.bands if rule.item == item.code]
    rules += [rule for one in plan.profiles for rule in one.bands if rule.item == item.code]
    return tuple(side for side in Side if any(side in limited(rule) for rule in rules))


def limited(rule: BandRule) -> set[Side]:
    """The sides on which a rule has a limit, or flags a change that way."""
    ramp = rule.ramp
    limits = limits_at(rule, rule.target if ramp is None else target_on(rule, ramp.points[0][0]))
    low = (limits.watch_below, limits.act_below, limits.urgent_below)
    high = (limits.watch_above, limits.act_above, limits.urgent_above)
    found = set()
    if any(limit is not None for limit in low):
        found.add(Side.LOW)
    if any(limit is not None for limit in high):
        found.add(Side.HIGH)
    if limits.watch_change is not None or limits.act_change is not None:
        ways = {"fall": {Side.LOW}, "rise": {Side.HIGH}}
        found |= ways.get(limits.change_way, {Side.LOW, Side.HIGH})
    if limits.watch_share_percent is not None or limits.act_share_percent is not None:
        found.add(Side.HIGH)
    if limits.doubled_within is not None or limits.ratio_of is not None:
        found.add(Side.HIGH)  # too little chloride is too much nitrite
    if limits.watch_fall_percent is not None or limits.act_fall_percent is not None:
        found.add(Side.LOW)
    return found
