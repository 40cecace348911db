"""What a handover says of feed, in words: short lines, each with its when or whose at the right."""

from __future__ import annotations

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.pages import feed_words
from tankwalk.pages.due_words import FEW_TANKS
from tankwalk.pages.livefeed_words import lasts
from tankwalk.pages.when import at_words
from tankwalk.practice.feeding.tomorrow import Remedy, Way
from tankwalk.practice.handover.lines import (
    EatenLine,
    FeedGivenLine,
    FeedLine,
    FeedOffLine,
    NextMealLine,
    NotGivenLine,
    OnHandLine,
    ShortLine,
    StockLine,
)
from tankwalk.practice.livefeed.on_hand import OnHand

FEW = 6
"""So many tanks are named in a line; of more it is said how many."""


def line(one: FeedLine, now: Instant) -> str:
    """A line of feed, whole."""
    match one:
        case NextMealLine():
            return ", ".join(part for part in meal(one, now) if part)
        case FeedOffLine():
            return ", ".join(part for part in off(one, now) if part)
        case FeedGivenLine():
            return given(one)
        case NotGivenLine(draft):
            return feed_words.deviation(draft)
        case EatenLine(label, words):
            said = "; ".join(f"{word} {text.named(tanks, FEW)}" for word, tanks in words)
            return f"{label}: {said}"
        case OnHandLine():
            return on_hand(one, now)
        case StockLine(stock):
            return f"On hand: {'; '.join(_stock(each, now) for each in stock)}"
        case ShortLine(short, remedies):
            until = "" if short.last == short.first else f" to {at_words(short.last, now)}"
            when = f"{at_words(short.first, now)}{until}"
            ways = "; ".join(way(each, now) for each in remedies)
            return f"Nauplii {short.percent} % short, meals {when}" + (f": {ways}" if ways else "")


def meal(one: NextMealLine, now: Instant) -> tuple[str, str]:
    """The next meal and for whom; at the right who gave the one of that hour last."""
    many = f"{one.tanks} tank{'s' if one.tanks != 1 else ''}"
    return f"Next meal {at_words(one.at, now)}, {many}", f"last {one.who}" if one.who else ""


def off(one: FeedOffLine, now: Instant) -> tuple[str, str]:
    """Whose feed is off and why; at the right by whom and since when."""
    whom = text.named(one.tanks, FEW_TANKS)
    why = feed_words.no_feed(one.off.words).removeprefix("feed off").strip(" ,")
    return (
        f"FEED OFF  {whom}" + (f": {why}" if why else ""),
        f"{one.off.who} since {at_words(one.off.since, now)}",
    )


def given(one: FeedGivenLine) -> str:
    """How many meals were given."""
    return f"Meals {one.given} of {one.planned} given"


def on_hand(one: OnHandLine, now: Instant) -> str:
    """Live feed in the cold store, cones with when they are ready, dry feed of tomorrow."""
    parts = [
        f"{each.batch} {each.thousand:,.0f} thousand, use by {at_words(each.warn_at, now)}"
        for each in one.store
    ]
    for cone in one.standing:
        much = "" if cone.thousand is None else f", {cone.thousand:,.0f} thousand"
        parts.append(f"{cone.batch} ready {at_words(cone.ready, now)}{much}")
    if one.chill is not None:
        verb = "keep" if one.chill.cold else "chill"
        parts.append(f"{verb} {one.chill.thousand:,.0f} thousand")
    said = f"Nauplii: {'; '.join(parts)}" if parts else ""
    dry = ", ".join(f"{each.feed.code} {each.grams:.0f} g" for each in one.dry if each.grams)
    return ". ".join(part for part in (said, f"Dry for tomorrow: {dry}" if dry else "") if part)


def to_order(one: StockLine, now: Instant) -> bool:
    """Whether any of it is to be ordered now."""
    return any(each.order_now(now.day) for each in one.stock)


def _stock(one: OnHand, now: Instant) -> str:
    """A feed or lot of cysts: how much there is, how long it lasts, by when to order."""
    words, _ = lasts(one, now)
    grams = f"{one.code} {one.grams or 0.0:,.0f} g"
    return f"{grams}, {words.removeprefix('! ')}" if words else grams


def way(one: Remedy, now: Instant) -> str:
    """One thing that can be done about a shortage."""
    match one.way:
        case Way.HARVEST:
            return f"harvest {one.batch} now"
        case Way.EXTRA_CONE:
            grams = "" if one.grams is None else f" of {one.grams:.1f} g"
            ready = "" if one.from_ is None else f", ready {at_words(one.from_, now)}"
            return f"set an extra cone{grams}{ready}"
        case Way.SHARE:
            return f"give all {100 * (one.share or 0.0):.0f} % of the ration"
