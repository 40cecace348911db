"""What is wrong now: flags that stand, one line for what tanks of a loop share, worst first."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import RESPONSE, Item, Level, Plan
from tankwalk.plan.walking_order import walking_order
from tankwalk.practice.judging.rules import FEWEST_TANKS, Rule, Shared, is_shared, recorded
from tankwalk.practice.judging.standing import flags
from tankwalk.practice.judging.standing.condemned import Condemned
from tankwalk.practice.judging.standing.flags import Key, Standing
from tankwalk.practice.judging.verdict import Flag, spread_words, value_words
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple


class Flags(NamedTuple):
    """Flags that stand and are seen, and those that somebody put on the shelf."""

    wrong: tuple[Standing, ...]
    shelved: tuple[Standing, ...]


def wrong_now(site: Site, newest: dict[tuple[str, str], Seen], now: Instant) -> Flags:
    """Flags that stand, worst first and then in walking order; those on the shelf apart."""
    plan = site.plan
    order = {t.code: i for i, t in enumerate(walking_order(plan, now.day))}

    def rank(one: Standing) -> tuple[int, int, str]:
        return -one.flag, order.get(one.place, -1), one.sentence

    condemned = Condemned(site, now.utc - flags.STANDING_DAYS * 86400)
    every = flags.standing(site, newest, now, condemned)
    counting = newest
    if condemned.marks:
        condemned.learn(newest.values())
        counting = {key: seen for key, seen in newest.items() if condemned.of(seen) is None}
    seen = [
        w
        for w in every
        if w.state != "shelved"
        and (w.found or w.key.kind == "meter" or not _said_elsewhere(plan, counting, w.seen))
    ]
    return Flags(
        tuple(sorted(_whole(_by_loop(site, newest, _by_batch(site, seen))), key=rank)),
        tuple(sorted((w for w in every if w.state == "shelved"), key=rank)),
    )


def _said_elsewhere(plan: Plan, newest: dict[tuple[str, str], Seen], seen: Seen) -> bool:
    """Whether another line says it: one measurement is one message, the worse of the two.

    A derived value and a part of it at the same place are one measurement, while the derived one
    was worked out from it or from a later one.
    """
    for one in plan.items:
        if not one.derived:
            continue
        worked = newest.get((seen.place, one.code))
        if worked is None:
            continue
        parts = {code for _, code in BY_CODE[one.code].items}
        if seen.item in parts and worked.at >= seen.at and worked.flag > seen.flag:
            return True
        if seen.item == one.code:
            here = [newest.get((seen.place, code)) for code in parts]
            if any(p is not None and p.flag >= seen.flag and seen.at >= p.at for p in here):
                return True
    return False


def _by_batch(site: Site, wrong: list[Standing]) -> list[Standing]:
    """What most tanks fed from one batch ate poorly, as one message that names the batch.

    It stands until the last of these tanks eats as it should again.
    """
    item = site.plan.find_item(RESPONSE)
    here = [w for w in wrong if w.key.item == RESPONSE]
    if item is None or not here:
        return wrong
    from tankwalk.practice.judging import eating

    since = min(w.raised.utc for w in here) - int(2 * eating.FED_HOURS * 3600)
    pourings = eating.Pourings(site.reader.feeding.poured(since))
    looks = site.reader.readings.lately(item.code, item.unit, eating.REACH)
    kept = list(wrong)
    poor: dict[str, list[eating.Meal]] = {}
    for meal in eating.poor_batches(item, looks, pourings):
        poor.setdefault(meal.fed.batch, []).append(meal)
    for batch, meals in poor.items():
        shared = {place for meal in meals for place in meal.poor}
        mine = [
            w
            for w in kept
            if w.key.item == RESPONSE
            and w.key.kind == "place"
            and w.place in shared
            and any(fed.batch == batch for fed in pourings.before(w.place, w.seen.at.utc))
        ]
        if not mine:
            continue
        worst = max(mine, key=lambda w: (w.flag, w.seen.value or 0.0))
        words = eating.batch_words(item, meals[-1], len(mine))
        one = worst._replace(
            key=Key("batch", batch, item.code),
            place=batch,
            sentence=words,
            raised=min(w.raised for w in mine),
            at=max(w.at for w in mine),
            tanks=tuple(w.place for w in mine),
            rule=Rule.BATCH,
        )
        kept = [w for w in kept if w not in mine] + [one]
    return kept


def _by_loop(
    site: Site, newest: dict[tuple[str, str], Seen], wrong: list[Standing]
) -> list[Standing]:
    """What tanks of a loop share, as one message for the loop.

    At least three tanks that are out, and most of those that have the value (`is_shared`), are one
    cause; so is whatever was told to be one when it was read.
    """
    plan = site.plan
    kept, at_meals = list(wrong), _at_meals(plan)
    for item in plan.items:
        if item.level is not Level.TANK:
            continue
        if not item.kind.told_by_loop and item.code not in at_meals:
            continue
        for loop in plan.loops:
            tanks = [t.code for t in plan.tanks if t.loop == loop.code]
            here = [w for w in kept if w.key.item == item.code and w.place in tanks]
            if item.code in at_meals and len(here) < FEWEST_TANKS:
                continue  # each meal is another: what two tanks still share is theirs alone
            have = [t for t in tanks if (t, item.code) in newest]
            told = [w for w in here if w.rule is not None and w.rule.shared is Shared.LOOP]
            many = is_shared(len(here), len(have))
            if not many and not told:
                here = [w for w in here if w.shared]
            if not here:
                continue
            worst = max(here, key=lambda w: (w.flag, w.seen.value or 0.0))
            words = None
            if told and not item.kind.by_words:
                one = max(told, key=lambda w: w.at)
                read = [newest[t, item.code] for t in have]
                words = _told_since(site, read, one) or one.sentence
            one = worst._replace(
                key=Key("loop", loop.code, item.code),
                place=loop.code,
                sentence=words or _loop_words(plan, item, newest, loop.code, here, len(have)),
                raised=min(w.raised for w in here),
                at=max(w.at for w in here),
                tanks=tuple(w.place for w in here),
                state=min((w.state for w in here), key=lambda state: state != "standing"),
            )
            kept = [w for w in kept if w not in here] + [one]
    return kept


def _told_since(site: Site, read: Sequence[Seen], told: Standing) -> str:
    """What was said last at a tank that was counted to a loop's flag; "" for none since."""
    since = [seen for seen in read if seen.flag and seen.n > told.seen.n]
    last = max(since, key=lambda seen: seen.n, default=None)
    why = None if last is None else site.reader.flags.why(last.n)
    return why[1] if why is not None and recorded(why[0]) is told.rule else ""


def _whole(wrong: list[Standing]) -> list[Standing]:
    """What a whole round found, told with the flags of its tanks that are no worse.

    What is worse in one tank stays a line of its own.
    """
    kept = wrong
    for one in [w for w in wrong if w.found is not None and w.tanks]:
        theirs = [
            w
            for w in kept
            if w is not one
            and w.key.item == one.key.item
            and (w.key == one.key or (w.key.kind == "place" and w.place in one.tanks))
            and w.flag <= one.flag
        ]
        kept = [w for w in kept if w is not one and w not in theirs]
        if all(w.key != one.key for w in kept):  # else the loop itself is out, and worse
            begun = min([one.raised, *(w.raised for w in theirs)])
            kept.append(one._replace(raised=begun))
    return kept


def _at_meals(plan: Plan) -> set[str]:
    """Items that are asked at meals: one meal is eaten alike where the feed or the water is one."""
    return {RESPONSE, *(code for meal in plan.meals for code in (*meal.before, *meal.after))}


def _loop_words(
    plan: Plan,
    item: Item,
    newest: dict[tuple[str, str], Seen],
    loop: str,
    here: list[Standing],
    have: int,
) -> str:
    if item.kind.by_words:
        words = " or ".join(dict.fromkeys(value_words(item, w.seen) for w in here))
        return f"{item.label} {words}, {len(here)} of {have} tanks"
    values = spread_words(item, [w.seen for w in here])
    if all(w.state != "standing" for w in here):
        return f"{item.label} in band once in {len(here)} of {have} tanks, was {values}"
    words = f"{item.label} {values}, {len(here)} of {have} tanks"
    shared = _shared_part(plan, item)
    part = shared and newest.get((loop, shared.code))
    if shared and part is not None and part.flag < Flag.WATCH:
        words += f"; {shared.label} {value_words(shared, part)} in band"
    return words


def _shared_part(plan: Plan, item: Item) -> Item | None:
    """The part of a derived item that is read once for the whole loop."""
    if not item.derived:
        return None
    codes = {code for _, code in BY_CODE[item.code].parts}
    return next((i for i in plan.items if i.code in codes and i.level is Level.LOOP), None)
