"""What an answer means where the feed walk stands: read it, ask about it, or have it kept."""

from __future__ import annotations

from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.practice.feeding import meals
from tankwalk.practice.feeding.meals import FeedDoubt, GivenTwice
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meal import amounts, keeping, listing
from tankwalk.practice.meal.at_meal import AtMeal
from tankwalk.practice.meal.questions import (
    ANOTHER,
    BESIDES,
    CORRECTED,
    ENOUGH,
    NOT_FED,
    OFF,
    OWN_WORDS,
    AskDoubt,
    AskFar,
    AskFeed,
    AskInstead,
    AskNote,
    AskNotFed,
    AskNotTaken,
    AskOff,
    AskOn,
    AskValue,
    AskWords,
    Order,
    Sure,
    Words,
)
from tankwalk.practice.meal.stops import Asked, Line, Portion, Stop, another
from tankwalk.practice.round.questions import OF_THE_MENU, REASONS, Reply

SAFE = ("+", "")
"""What never keeps what is asked about: the easy keys."""


def answer(walk: AtMeal, raw: str) -> Reply:
    """One answer to what is asked now. Refusal: a sentence about what was typed."""
    typed = text.clean(raw)
    match walk.question:
        case AskWords() as asked:
            return _words(walk, asked, typed)
        case AskOff() as asked:
            return _stood_by(walk, asked.order, Sure.OFF, typed)
        case AskDoubt(order, doubt):
            sure = Sure.TWICE if isinstance(doubt, GivenTwice) else Sure.PLAN
            return _stood_by(walk, order, sure, typed)
        case AskOn() as asked:
            return _on_again(walk, asked, typed)
        case AskFar() as asked:
            return _far(walk, asked, typed)
        case AskInstead() as asked:
            return _instead(walk, asked, typed)
        case AskNotFed() as asked:
            return _not_fed(walk, asked, typed)
        case AskFeed() as asked:
            return _another(walk, asked, typed)
        case AskNote() as asked:
            return _note(walk, asked, typed)
        case AskNotTaken() as asked:
            return _not_taken(walk, asked, typed)
        case AskValue() as asked:
            return _value_in_doubt(walk, asked, typed)
        case None:
            return _here(walk, typed)


def _here(walk: AtMeal, typed: str) -> Reply:
    if walk.at_end:
        return Reply("The meal is done: Enter leads on.", Flag.CHECK)
    if typed == "-":
        return walk.ask(AskNote(walk.stop, walk.site.plan.canned_notes[:9]))
    if typed == "*":
        return _again(walk)
    line = walk.line
    if isinstance(line, Asked):
        return _asked(walk, line, typed)
    if typed == "/":
        return ask_not_fed(walk, walk.stop, line)
    if line is None:
        return Reply("The plan gives no feed here. Did some go in? Press /.", Flag.CHECK)
    return _portion(walk, line, typed)


# ---- what is fed


def _portion(walk: AtMeal, portion: Portion, typed: str) -> Reply:
    stop = walk.stop
    gave = walk.held.gave(stop, portion)
    if typed == "":
        return Reply("Nothing was typed: + gives it as listed, / says why not.", Flag.CHECK)
    if typed != "+":
        return weigh(walk, Order(stop, portion, amounts.read(portion, typed)))
    if stop.off is not None:
        walk.go_on()
        return Reply(f"{stop.tank.code} is off feed and gets none.")
    if gave:
        told = GivenTwice(
            stop.tank.code,
            portion.label,
            gave[-1].at,
            gave[-1].who,
            walk.site.now().hours_since(gave[-1].at),
        )
        again = amounts.Amount(gave[-1].amount, portion.pours)
        order = Order(stop, portion, amounts.as_listed(portion) or again)
        return walk.ask(AskDoubt(order.standing_by(Sure.HELD), told))
    return _as_listed(walk, stop, portion)


def _as_listed(walk: AtMeal, stop: Stop, portion: Portion) -> Reply:
    """All that is open at this tank, as the list has it: one key."""
    still = [one for one in stop.portions if walk.held.open(stop, one)]
    orders = [
        Order(stop, one, listed) for one in still if (listed := amounts.as_listed(one)) is not None
    ]
    if amounts.as_listed(portion) is None:
        if portion.full == 0:
            return keeping.none(walk, AskNotFed(stop, portion, False, 1), ENOUGH, lasting=False)
        if portion.listed == 0:
            return ask_not_fed(walk, stop, portion)
        return Reply(f"No ration in the plan: type how much {portion.label} went in.", Flag.CHECK)
    if not orders:
        return Reply("+ does not stand for an amount here: type it.", Flag.CHECK)
    for order in orders:
        twice = _twice(walk, order)
        if twice is not None:
            return walk.ask(AskDoubt(order, twice))
    return keeping.given(walk, orders)


def _again(walk: AtMeal) -> Reply:
    """`*`: another answer where one stands, else where the last one was given."""
    every = [
        (at, nth)
        for at, stop in enumerate(walk.stops[: walk.where[0] + 1])
        for nth, line in enumerate(stop.lines)
        if (at, nth) <= walk.where and _answered(walk, stop, line)
    ]
    if not every:
        return Reply("Nothing was given yet at this meal.", Flag.CHECK)
    walk.where = every[-1]
    line = walk.line
    label = line.slot.item.label if isinstance(line, Asked) else line.label if line else ""
    return Reply(f"{walk.stop.tank.code} {label}: enter it again, both stay in the record.")


def _answered(walk: AtMeal, stop: Stop, line: Line) -> bool:
    if isinstance(line, Portion):
        return bool(walk.held.gave(stop, line))
    return walk.held.seen.get((stop.tank.code, line.slot.item.code)) is not None


def weigh(walk: AtMeal, order: Order) -> Reply:
    """Ask about an amount what is to be asked, one thing after the other; then keep it."""
    stop, portion, sure = order.stop, order.portion, order.sure
    gave = walk.held.gave(stop, portion)
    if stop.off is not None and Sure.OFF not in sure:
        return walk.ask(AskOff(order, stop.off))
    if gave and order.amends is None and Sure.HELD not in sure:
        return walk.ask(AskInstead(order, gave[-1]))
    if amounts.far(portion, order.amount) and Sure.FAR not in sure:
        return walk.ask(AskFar(order, amounts.tenfold(portion, order.amount)))
    doubt: FeedDoubt | GivenTwice | None = None
    if order.amends is None and Sure.PLAN not in sure:
        day = (walk.given_at or walk.site.now()).day
        doubt = meals.doubt(walk.site.plan, stop.tank, portion.feed, day)
    if doubt is None and order.amends is None and not {Sure.TWICE, Sure.HELD} & sure:
        doubt = _twice(walk, order)
    if doubt is not None:
        return walk.ask(AskDoubt(order, doubt))
    return keeping.given(walk, [order])


def _twice(walk: AtMeal, order: Order) -> GivenTwice | None:
    """The same feed that went in a moment ago, for another meal than one planned so near."""
    now, place, feed = walk.given_at or walk.site.now(), order.stop.tank.code, order.portion.feed
    near = int(meals.TWICE_HOURS * 3600)
    for one in reversed(walk.held.past.get((place, feed), ())):
        planned = one.meal_at is not None and walk.meal.utc - one.meal_at <= near
        if 0 <= now.utc - one.at.utc <= near and not planned:
            label = order.portion.label
            return GivenTwice(place, label, one.at, one.who, now.hours_since(one.at))
    return None


def _stood_by(walk: AtMeal, order: Order, sure: Sure, typed: str) -> Reply:
    """A doubt: 1 stands by it; + and Enter take the safe way, and nothing goes in."""
    if typed == "1":
        walk.question = None
        if sure is Sure.TWICE and Sure.HELD not in order.sure:
            order = order.standing_by(Sure.HELD)
        return weigh(walk, order.standing_by(sure))
    if typed not in SAFE:
        return Reply(OF_THE_MENU, Flag.CHECK)
    walk.question = None
    if order.portion.extra and not walk.held.gave(order.stop, order.portion):
        walk.take_off(order.stop, order.portion)
    elif sure is Sure.TWICE:
        walk.go_on()
    label = order.portion.label
    return Reply(f"{order.stop.tank.code} {label}: nothing was kept.")


def _far(walk: AtMeal, asked: AskFar, typed: str) -> Reply:
    if typed == "1":
        walk.question = None
        return weigh(walk, asked.order.standing_by(Sure.FAR))
    if typed == "2" and asked.meant is not None:
        walk.question = None
        return weigh(walk, asked.order._replace(amount=asked.meant))
    if typed not in SAFE:
        return Reply(OF_THE_MENU, Flag.CHECK)
    walk.question = None
    return Reply("Nothing was kept: type the amount again.")


def _instead(walk: AtMeal, asked: AskInstead, typed: str) -> Reply:
    if typed in SAFE:
        walk.question = None
        return Reply("It stands as it was.")
    if typed == BESIDES:
        return weigh(walk, asked.order.standing_by(Sure.HELD).standing_by(Sure.TWICE))
    order = asked.order._replace(amends=asked.old)
    if typed == OWN_WORDS:
        return walk.ask(AskWords(order.stop, Words.CORRECTED, order))
    if typed not in CORRECTED:
        return Reply(OF_THE_MENU, Flag.CHECK)
    return weigh(walk, order._replace(reason=CORRECTED[typed]))


# ---- what is not fed


def ask_not_fed(walk: AtMeal, stop: Stop, line: Portion | None) -> Reply:
    """Ask why there is no feed; at a tank that is given none, which feed went in all the same."""
    if stop.off is not None:
        return walk.ask(AskOn(stop, stop.off))
    if line is None:
        return _ask_another(walk, stop)
    many = sum(walk.held.open(stop, one) for one in stop.portions)
    return walk.ask(AskNotFed(stop, line, False, many, listing.flag_at(walk.site, stop)))


def _ask_another(walk: AtMeal, stop: Stop) -> Reply:
    """Ask which other feed went in, of those the plan has."""
    feeds = listing.others(walk.site.plan, stop)
    if feeds:
        return walk.ask(AskFeed(stop, feeds))
    walk.question = None
    return Reply("The plan has no other feed: write what went in as a note, with -.", Flag.CHECK)


def _on_again(walk: AtMeal, asked: AskOn, typed: str) -> Reply:
    if typed == "1":
        return keeping.feed_on(walk, asked.stop)
    if typed not in SAFE:
        return Reply(OF_THE_MENU, Flag.CHECK)
    walk.question = None
    return Reply(f"{asked.stop.tank.code} stays off feed.")


def _not_fed(walk: AtMeal, asked: AskNotFed, typed: str) -> Reply:
    if typed in SAFE:
        walk.question = None
        return Reply("Back: nothing was kept.")
    if typed == "/" and asked.many > 1:
        return walk.ask(asked._replace(whole=not asked.whole))
    if typed == ANOTHER:
        return _ask_another(walk, asked.stop)
    if typed == OWN_WORDS:
        return walk.ask(AskWords(asked.stop, Words.NOT_FED, asked))
    if typed not in NOT_FED:
        return Reply(OF_THE_MENU, Flag.CHECK)
    return _none(walk, asked, NOT_FED[typed])


def _none(walk: AtMeal, asked: AskNotFed, why: str) -> Reply:
    lasting = why == OFF
    if lasting and asked.flag:
        why = f"{OFF}, {asked.flag}"
    if not lasting and walk.held.gave(asked.stop, asked.portion):
        raise Refusal(f"{asked.portion.label} was given here: u takes that back first.")
    return keeping.none(walk, asked, why, lasting=lasting)


def _another(walk: AtMeal, asked: AskFeed, typed: str) -> Reply:
    if typed in SAFE:
        walk.question = None
        return Reply("Back: nothing was kept.")
    if not typed.isdecimal() or not 1 <= int(typed) <= len(asked.feeds):
        return Reply(OF_THE_MENU, Flag.CHECK)
    feed = asked.feeds[int(typed) - 1]
    portion = listing.unlisted(feed, walk.pours_of(feed.code))
    index = walk.where[0]
    stop = another(asked.stop, portion)
    walk.stops = (*walk.stops[:index], stop, *walk.stops[index + 1 :])
    lines = [one.feed if isinstance(one, Portion) else "" for one in stop.lines]
    walk.where, walk.question = (index, lines.index(feed.code)), None
    return Reply(f"How much {portion.label} went into {stop.tank.code}? Type it, then Enter.")


# ---- what is asked


def _asked(walk: AtMeal, line: Asked, typed: str) -> Reply:
    item = line.slot.item
    key = line.slot.place, item.code
    if typed == "":
        return Reply("Nothing was typed, so nothing is kept. Not looked at? Press /.", Flag.CHECK)
    if typed == "/":
        return walk.ask(AskNotTaken(walk.stop, line))
    if not item.kind.by_words and typed == "+":
        return Reply(f"+ does not stand for a number: type {item.label}.", Flag.CHECK)
    if line.after and not walk.held.fed(walk.stop):
        return Reply(f"{item.label} is asked after the feed.", Flag.CHECK)
    read = item.read(typed)
    judged = walk.judge(line, read, sure=item.kind.by_words)
    if judged.asks:
        return walk.ask(AskValue(walk.stop, line, read, judged))
    return keeping.reading(walk, line, read, judged, again=walk.held.seen.get(key))


def _value_in_doubt(walk: AtMeal, asked: AskValue, typed: str) -> Reply:
    if typed in SAFE:
        walk.question = None
        return Reply("Nothing was kept: read it again and type it.")
    if typed != "1" or asked.judged.impossible:
        return Reply(OF_THE_MENU, Flag.CHECK)
    walk.question = None
    judged = walk.judge(asked.line, asked.read, sure=True)
    key = asked.line.slot.place, asked.line.slot.item.code
    return keeping.reading(walk, asked.line, asked.read, judged, again=walk.held.seen.get(key))


def _not_taken(walk: AtMeal, asked: AskNotTaken, typed: str) -> Reply:
    if typed in SAFE:
        walk.question = None
        return Reply("Back: nothing was kept.")
    reason = next((one for one in REASONS if one.key == typed and one.fits(asked.line.slot)), None)
    if reason is None:
        return Reply(OF_THE_MENU, Flag.CHECK)
    return keeping.not_taken(walk, asked.line, reason.word)


# ---- words


def _note(walk: AtMeal, asked: AskNote, typed: str) -> Reply:
    if typed in SAFE:
        walk.question = None
        return Reply("Back: nothing was kept.")
    if typed == OWN_WORDS:
        return walk.ask(AskWords(asked.stop, Words.NOTE))
    if not typed.isdecimal() or not 1 <= int(typed) <= len(asked.notes):
        return Reply(OF_THE_MENU, Flag.CHECK)
    return keeping.note(walk, asked.stop, asked.notes[int(typed) - 1])


def _words(walk: AtMeal, asked: AskWords, typed: str) -> Reply:
    if not typed:
        return Reply("Nothing was typed, so nothing is kept.", Flag.CHECK)
    about = asked.about
    if isinstance(about, AskNotFed):
        return _none(walk, about, f"{meals.MISSED}{typed}")
    if isinstance(about, Order):
        walk.question = None
        return weigh(walk, about._replace(reason=typed))
    return keeping.note(walk, asked.stop, typed)
