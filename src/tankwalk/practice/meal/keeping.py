"""An answer of the feed walk put on the disk: what is said of it, and what comes next."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.figures import show
from tankwalk.ledger.feeding import MealSeen
from tankwalk.ledger.readings import Seen
from tankwalk.practice.feeding import giving
from tankwalk.practice.feeding.meals import GivenTwice
from tankwalk.practice.judging.verdict import Flag, Judged, left_out
from tankwalk.practice.meal.amounts import Amount
from tankwalk.practice.meal.at_meal import AtMeal
from tankwalk.practice.meal.held import EARLIEST_HOURS
from tankwalk.practice.meal.questions import AskDoubt, AskNotFed, Order, Sure
from tankwalk.practice.meal.stops import Asked, Portion, Stop
from tankwalk.practice.round.questions import Message, Reply
from tankwalk.quantity import Quantity
from tankwalk.text import clean


def amount_words(portion: Portion, amount: Amount) -> str:
    """An amount with its unit: "0.42 g", "321 mL, 112 thousand"."""
    if amount.ml is None:
        return told(portion, amount.amount)
    return f"{measured(portion, amount)}, {told(portion, amount.amount)}"


def measured(portion: Portion, amount: Amount) -> str:
    """An amount as it is measured out, the same before it is kept and after: "321 mL"."""
    if amount.ml is None or len(amount.pours) < 2:
        return in_hand(portion, amount.amount)
    return f"{_ml(amount.ml)} mL"


def told(portion: Portion, amount: float) -> str:
    """An amount in the unit it is kept in."""
    if not amount:
        return show(0.0, portion.unit, 0)
    if portion.live and amount >= 1000:
        return f"{amount:,.0f} {portion.unit}"
    decimals = 2 if not portion.live and amount < 100 else 1 if amount < 10 else 0
    return show(amount, portion.unit, decimals)


def in_hand(portion: Portion, amount: float) -> str:
    """An amount as it is measured out: live feed in mL where a batch is known."""
    if not portion.density:
        return told(portion, amount)
    return f"{_ml(amount / portion.density)} mL"


def _ml(ml: float) -> str:
    return show(ml, "", 0 if ml >= 10 else 1)


def given(walk: AtMeal, orders: Sequence[Order]) -> Reply:
    """Keep feed that went in at one tank, all by one key; then stand at what comes next.

    Where another laptop kept the same meanwhile, it is asked about first.
    """
    stop = orders[0].stop
    entries: list[int] = []
    with walk.site.ledger.writing():
        other = _meanwhile(walk, orders)
        if other is not None:
            return walk.ask(other)
        for one in orders:
            n = walk.serving.given(
                stop.tank.code, one.portion, one.amount.amount, one.amount.pours, one.amends,
                one.reason,
            )  # fmt: skip
            entries += [] if n is None else [n]
    walk.together.update(dict.fromkeys(entries, tuple(entries)))
    walk.look_up()
    walk.go_on()
    shown = " and ".join(
        f"{one.portion.label} {measured(one.portion, one.amount)}" for one in orders
    )
    why = f" Corrected: {orders[0].reason}; both stay." if orders[0].reason else ""
    short = " Short ration." if any(_is_short(one) for one in orders) else ""
    return Reply(f"{stop.tank.code} {shown} kept.{why}{short}{passed_over(walk, stop)}")


def _is_short(order: Order) -> bool:
    full = order.portion.full
    return full is not None and order.amount.amount < full and order.portion.short


def _meanwhile(walk: AtMeal, orders: Sequence[Order]) -> AskDoubt | None:
    """What somebody else gave here since the record was read last."""
    known = {
        one.n
        for order in orders
        for one in walk.held.gave(order.stop, order.portion)
    }  # fmt: skip
    walk.look_up()
    for order in orders:
        for one in walk.held.gave(order.stop, order.portion):
            if one.n not in known and Sure.TWICE not in order.sure:
                hours = walk.site.now().hours_since(one.at)
                place = order.stop.tank.code
                twice = GivenTwice(place, order.portion.label, one.at, one.who, hours)
                return AskDoubt(order.standing_by(Sure.HELD), twice)
    return None


def passed_over(walk: AtMeal, since: Stop) -> str:
    """Tanks off feed between the one that was left and the one one stands at now."""
    start = next((i for i, one in enumerate(walk.stops) if one.tank == since.tank), 0)
    off = [one for one in walk.stops[start + 1 : walk.where[0]] if one.off is not None]
    return "".join(f" {one.tank.code} is off feed: nothing goes in." for one in off)


def none(walk: AtMeal, asked: AskNotFed, why: str, *, lasting: bool) -> Reply:
    """Keep that there is no feed and why: of one feed, or of all that is open at the tank.

    What holds from now on is of the whole tank.
    """
    stop = asked.stop
    here = [asked.portion]
    if asked.whole:
        here = [one for one in stop.portions if walk.held.open(stop, one)]
    why = clean(why, limit=120)
    with walk.site.ledger.writing():
        entries = [
            walk.serving.none(stop.tank.code, one, why, lasting=lasting)
            for one in (here[:1] if lasting else here)
        ]
    walk.together.update(dict.fromkeys(entries, tuple(entries)))
    if lasting:
        walk.read_anew()
    else:
        walk.look_up()
    walk.go_on()
    what = stop.tank.code if lasting else f"{stop.tank.code} {', '.join(p.label for p in here)}"
    if lasting:
        return Reply(f"{what} not fed, feed off until / turns it on again.")
    return Reply(f"{what} not given, {why}.")


def feed_on(walk: AtMeal, stop: Stop) -> Reply:
    """Turn the feed of a tank on again: it is on the list from now on."""
    code = stop.tank.code
    giving.feed_on(walk.site, walk.who, code)
    walk.read_anew()
    walk.question = None
    walk.arrive(next(i for i, one in enumerate(walk.stops) if one.tank == stop.tank))
    return Reply(f"Feed is on again at {code} ({walk.who}).")


def reading(walk: AtMeal, line: Asked, read: Quantity, judged: Judged, again: Seen | None) -> Reply:
    """Keep what was seen at a tank, judged as on any round; then stand at what comes next."""
    slot = line.slot
    stop = walk.stop
    with walk.site.ledger.writing():
        seen = walk.keeping.reading(slot, read, judged, slot.instrument, recheck=again is not None)
        if seen is not None:
            from tankwalk.practice.workings import deriving

            deriving.follow(walk.site, seen, walk.who, None)
    walk.take_in(line, seen)
    walk.go_on()
    words = f"{slot.place} {slot.item.label}: {slot.item.shown(read.value, read.typed)} kept."
    words += passed_over(walk, stop)
    if judged.flag < Flag.WATCH:
        return Reply(words, judged.flag if judged.sentence else Flag.OK)
    message = Message(f"{slot.place} {judged.headline}", judged.reasons, judged.first)
    said = f"{judged.flag.mark} {slot.place} {judged.sentence}."
    first = f" First: {judged.first}" if judged.first else ""
    return Reply(f"{said}{first}", judged.flag, message=message, kept=words)


def not_taken(walk: AtMeal, line: Asked, word: str) -> Reply:
    """Keep why something was not looked at."""
    walk.keeping.not_taken(line.slot, word, recheck=False, amends=None)
    walk.take_in(line, None)
    walk.go_on()
    return Reply(f"{line.slot.place} {line.slot.item.label}: {left_out(word)}.")


def note(walk: AtMeal, stop: Stop, words: str) -> Reply:
    """Keep words about a tank at this meal."""
    walk.serving.note(stop.tank.code, words)
    walk.question = None
    return Reply(f"Noted for {stop.tank.code}.")


def undo(walk: AtMeal) -> Reply:
    """Take back this person's newest standing entry of the meal, and what went in with it."""
    walk.look_up()
    fed = [one for many in walk.held.given.values() for one in many]
    fed += walk.held.none.values()
    since = walk.meal.utc - EARLIEST_HOURS * 3600
    fed += [
        one
        for one in walk.site.reader.feeding.meals(since)
        if one.n in walk.together and one.event is not None and one.meal_at is None
    ]
    mine = [one for one in fed if one.who == walk.who]
    seen = [s for s in walk.held.seen.values() if s is not None and s.who == walk.who]
    newest = max((*(one.n for one in mine), *(one.n for one in seen)), default=0)
    if not newest:
        return Reply("There is nothing of yours to undo at this meal.", Flag.CHECK)
    looked = next((one for one in seen if one.n == newest), None)
    if looked is not None:
        walk.keeping.undo(looked)
        walk.let_go(looked)
        item = walk.site.plan.item(looked.item)
        _stand(walk, looked.place, looked.item)
        return Reply(f"Undone: {looked.place} {item.label}: {looked.typed}.")
    numbers = walk.together.get(newest, (newest,))
    back = [one for one in mine if one.n in numbers]
    with walk.site.ledger.writing():
        for one in back:
            walk.serving.undo(one)
    walk.read_anew()  # what it was to get is listed again
    _stand(walk, back[0].place, back[0].feed)
    return Reply(f"Undone: {back[0].place} {' and '.join(_undone(walk, one) for one in back)}.")


def _undone(walk: AtMeal, one: MealSeen) -> str:
    """What was taken back, in the words it was kept with."""
    portion = next(
        (
            portion
            for stop in walk.stops
            if stop.tank.code == one.place
            for portion in stop.portions
            if portion.feed == one.feed
        ),
        None,
    )
    label = one.feed if portion is None else portion.label
    if one.event is not None:
        return f"{label} {one.event}"
    amount = f"{one.amount:g} {one.unit}" if portion is None else in_hand(portion, one.amount)
    return f"{label} {amount}"


def _stand(walk: AtMeal, place: str, what: str) -> None:
    """Stand at the line that was taken back."""
    walk.question = None
    for i, stop in enumerate(walk.stops):
        if stop.tank.code != place:
            continue
        for j, line in enumerate(stop.lines):
            code = line.feed if isinstance(line, Portion) else line.slot.item.code
            if code == what:
                walk.where = i, j
