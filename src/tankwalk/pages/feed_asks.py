"""What the feed walk asks, in words: the question, and its keys with the safe one first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import assert_never

from tankwalk.pages import feed_words
from tankwalk.practice.feeding import meals
from tankwalk.practice.meal import amounts
from tankwalk.practice.meal.keeping import amount_words, told
from tankwalk.practice.meal.questions import (
    ANOTHER,
    BESIDES,
    CORRECTED,
    NOT_FED,
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
    Question,
    Words,
)
from tankwalk.practice.meal.stops import Portion
from tankwalk.practice.round.questions import REASONS, Option

LISTED = AskNotFed | AskFeed | AskNote | AskNotTaken | AskInstead
"""Questions whose answers stand in a list, in the place of the figures."""

_WHY = {
    "1": "missed: no time",
    "2": "missed: this feed ran out",
    "3": "feed off from now on",
    "4": "planned pause, this meal",
}
"""Why there is no feed, as a person reads it, by the key."""


def words(asked: Question) -> str:
    """What is asked."""
    match asked:
        case AskOff(order, off):
            since = f"{off.since.hm()} ({off.who}), {feed_words.no_feed(off.words)}"
            return f"{order.stop.tank.code} is off feed since {since}. Feed it all the same?"
        case AskOn(stop, off):
            since = f"{off.since.hm()} ({off.who})"
            return f"{stop.tank.code} is off feed since {since}. Feed it again from now on?"
        case AskFar(order):
            return _far(order)
        case AskDoubt(_, doubt):
            return feed_words.question(doubt)
        case AskInstead(order, old):
            portion = order.portion
            was = f"{told(portion, old.amount)} ({old.at.hm()} {old.who})"
            now = amount_words(portion, order.amount)
            return f"{order.stop.tank.code} {portion.label} was {was}; {now} instead. Why?"
        case AskNotFed(stop, portion, whole, many):
            what = f"none of its {many} feeds" if whole else f"no {portion.label}"
            return f"{stop.tank.code}: {what} at this meal. Why?"
        case AskFeed(stop):
            return f"{stop.tank.code}: which other feed went in?"
        case AskNote(stop):
            return f"Note for {stop.tank.code}:"
        case AskNotTaken(_, line):
            return f"{line.slot.place} {line.slot.item.label} not taken. Why?"
        case AskValue(_, line, _, judged):
            return f"{line.slot.place}: {judged.question}"
        case AskWords(stop, of):
            return f"{stop.tank.code}, {_of(of)}:"
        case never:
            assert_never(never)


def _of(of: Words) -> str:
    match of:
        case Words.NOTE:
            return "note"
        case Words.NOT_FED:
            return "not fed, because"
        case Words.CORRECTED:
            return "corrected, because"
        case never:
            assert_never(never)


def _far(order: Order) -> str:
    """How far an amount is from what is listed."""
    portion, amount = order.portion, order.amount
    against = portion.listed or portion.full or 0.0
    listed = _as_typed(portion, against)
    times = amount.amount / against
    many = f"{times:.2g}" if times < 10 else f"{float(f'{times:.2g}'):,.0f}"
    much = f"{many} times" if times >= 1 else f"only {100 * times:.2g} % of"
    return f"{amount_words(portion, amount)} is {much} the listed {listed}."


def _as_typed(portion: Portion, amount: float) -> str:
    """An amount of the list in the unit it is typed in."""
    if portion.density:
        return f"{amount / portion.density:.0f} mL"
    return told(portion, amount)


def options(asked: Question) -> Sequence[Option]:
    """The keys that answer, and what each means here; the safe one first."""
    match asked:
        case AskOff():
            return [("+", "not fed"), ("1", "it was fed: keep it")]
        case AskOn():
            return [("+", "stays off"), ("1", "feed on again")]
        case AskFar(order, meant):
            found = [
                ("+", "type it again"),
                ("1", f"keep {amount_words(order.portion, order.amount)}"),
            ]
            if meant is not None:
                found.append(("2", f"{amount_words(order.portion, meant)} is meant"))
            return found
        case AskDoubt():
            return [("+", "not given"), ("1", "it went in: keep it")]
        case AskInstead():
            return [
                ("+", "leave it as it was"),
                *CORRECTED.items(),
                (BESIDES, "given besides: both count"),
                (OWN_WORDS, "why, in words"),
            ]
        case AskNotFed():
            return _not_fed(asked)
        case AskFeed(_, feeds):
            listed = [(str(n), meals.feed_words(one)) for n, one in enumerate(feeds, 1)]
            return [("+", "none"), *listed]
        case AskNote(_, notes):
            listed = [(str(n), one) for n, one in enumerate(notes, 1)]
            return [*listed, (OWN_WORDS, "write it")]
        case AskNotTaken(_, line):
            return [one.option(line.slot) for one in REASONS if one.fits(line.slot)]
        case AskValue(_, _, read, judged):
            again = [("+", "read it again")]
            return again if judged.impossible else [*again, ("1", f"keep {read.typed}")]
        case AskWords(_, of):
            what = "note" if of is Words.NOTE else "reason"
            return [("Enter", f"keep the {what}"), ("Esc", "back")]
        case never:
            assert_never(never)


def _not_fed(asked: AskNotFed) -> Sequence[Option]:
    found = [(key, _WHY[key]) for key in NOT_FED]
    if asked.flag:
        found[2] = ("3", f"feed off from now on: {asked.flag}")
    found += [(ANOTHER, "another feed went in"), (OWN_WORDS, "missed: why, in words")]
    if asked.many > 1:
        found.append(("/", "this feed alone" if asked.whole else f"all {asked.many} feeds here"))
    return found


def unit_words(portion: Portion) -> str:
    """What bare digits are in, and what else may be typed."""
    unit = amounts.unit_of(portion)
    return f"{unit}; or thousand: 120k" if unit == "mL" else unit
