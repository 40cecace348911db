"""A meal line by line: the feed walk as on the screen, one prompt and one answer a line."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.figures import percent_of
from tankwalk.pages import feed as list_page
from tankwalk.pages import feed_asks, feed_meal
from tankwalk.pages import feed_tank as page
from tankwalk.pages.lines import plain as as_text
from tankwalk.plain_idle import Attended
from tankwalk.practice.dialog import LONGEST_WORDS, too_long
from tankwalk.practice.judging.verdict import value_words
from tankwalk.practice.meal import amounts, list_view
from tankwalk.practice.meal.feed_walk import FeedWalk
from tankwalk.practice.meal.keeping import amount_words
from tankwalk.practice.meal.questions import AskWords
from tankwalk.practice.meal.stops import Asked
from tankwalk.practice.meal.view import EndView, FeedView, LineView, StopView
from tankwalk.practice.site import Site

Say = Callable[[str], None]

WORDS = {"undo": "take back your newest entry", "back": "leave the question", "end": "stop here",
         "up": "a line back", "down": "a line on", "next": "next tank", "before": "tank before",
         "note": "write a note", "help": "this list"}  # fmt: skip
"""Words that may be answered instead of an amount."""


def feed(
    site: Site,
    answers: Iterator[str],
    say: Say,
    who: str,
    meal: Instant | None = None,
    given_at: Instant | None = None,
) -> int:
    """Give a meal to its end; 0 when every tank is done, 1 when the answers ended before that."""
    view = list_view.made(site, meal)
    if view is None:
        raise Refusal("The plan has no meal to give: write [[meal]] and [[feed]] into plan.toml.")
    walk = FeedWalk(site, view.meal, who, given_at)
    seen = walk.view()
    late = "" if given_at is None else f", given at {given_at.hm()}"
    say(f"Meal {view.meal.hm()}{late}, {walk.who}, {seen.now.short()}. "
        f"{seen.done} of {seen.of} tanks done.")  # fmt: skip
    for words, _ in list_page.told_before(view, list_page.IN_LINES):
        say(words)
    for words in list_page.made_up(view):
        say(words)
    say(f"Answer + as listed, another amount, / not fed, - note, * again; or a word: "
        f"{', '.join(WORDS)}.")  # fmt: skip
    try:
        return _through(walk, answers, say)
    except BrokenPipeError:  # nobody reads any more; what was kept is kept
        return 0 if walk.at_end else 1


def _through(walk: FeedWalk, answers: Iterator[str], say: Say) -> int:
    at = -1
    there = Attended(walk.site, answers, say)
    while not (walk.at_end and walk.question is None):
        at = _prompt(walk.view(), at, say)
        line = there.next(walk.who, walk.hand_to)
        if line is None or line.strip().lower() in ("end", "q"):
            return _stopped(walk, say)
        if len(line) > LONGEST_WORDS:
            say(too_long(LONGEST_WORDS))
        elif not _word(walk, line, say):
            reply = walk.answer(line.strip())
            if reply.sentence:
                say(reply.sentence)
    here = walk.view().here
    if isinstance(here, EndView):
        say(as_text(feed_meal.end(walk.view(), here, 100)))
        return 1 if here.open else 0
    return 1


def _stopped(walk: FeedWalk, say: Say) -> int:
    if lost := walk.site.ledger.lost():
        say(lost)
    else:
        seen = walk.view()
        say(f"Stopped. {seen.done} of {seen.of} tanks are done, and kept. Go on with the same "
            "command.")  # fmt: skip
    return 1


def _word(walk: FeedWalk, line: str, say: Say) -> bool:
    """Do an act given by word; False when the line is an answer."""
    word = {"?": "help"}.get(line.strip().lower(), line.strip().lower())
    if isinstance(walk.question, AskWords):
        if word:
            return False
        walk.back()
        say(walk.said.sentence)
        return True
    if word not in WORDS:
        return False
    if word == "undo":
        say(walk.undo().sentence)
    elif word == "back":
        if walk.back():
            say(walk.said.sentence)
    elif word == "note":
        if refused := walk.note().sentence:
            say(refused)
    elif word == "help":
        say("; ".join(f"{w}, {does}" for w, does in WORDS.items()))
    else:
        walk.move({"next": "right", "before": "left"}.get(word, word))
    return True


def _prompt(view: FeedView, at: int, say: Say) -> int:
    """Say where one stands and what is asked; returns the tank, to say it only on arrival."""
    here = view.here
    number = here.number if isinstance(here, StopView) else 0
    if isinstance(here, StopView) and number != at:
        stop = here.stop
        say(f"{stop.tank.code}, tank {number} of {view.stops}. {page.facts(here)}")
        if stop.off is not None:
            since = f"{stop.off.since.told(view.now)}, {stop.off.who}"
            say(f"FEED OFF since {since}: {page.off_words(stop.off)}")
        if not here.lines:
            say("No feed by the plan. / enters a feed that went in; next goes on.")
    asked = view.question
    if asked is not None:
        names = {"Esc": "an empty line", "Enter": "a line"}
        told = "; ".join(
            f"{names.get(key, key)} {words}" for key, words in feed_asks.options(asked)
        )
        say(f"{feed_asks.words(asked)} {told}")
    elif isinstance(here, StopView) and here.lines:
        say(_wanted(here.lines, here.at, here.stop.tank.code))
    return number


def _wanted(lines: Sequence[LineView], at: int, tank: str) -> str:
    """What is wanted now: a feed with what is listed, or an item with its answers."""
    one = lines[at]
    if isinstance(one.line, Asked):
        item = one.line.slot.item
        parts = [f"{tank} {item.label}" + (f", {item.unit}" if item.unit else "")]
        if one.looks:
            parts.append(f"last {value_words(item, one.looks[-1], bare=True)}")
        if item.answers:
            parts.append("+ or " + ", ".join(f"{key} {word}" for key, word in item.answers))
        return ". ".join(parts) + ":"
    portion = one.line
    listed = amounts.as_listed(portion)
    parts = [f"{tank} {portion.label}, {amounts.unit_of(portion)}"]
    if one.gave:
        parts.append(f"given {sum(m.amount for m in one.gave):g} {portion.unit} "
                     f"at {one.gave[-1].at.hm()} by {one.gave[-1].who}")  # fmt: skip
    if listed is None:
        parts.append("no ration in the plan: type how much went in")
    else:
        from_ = page.from_words(portion)
        several = from_ if not from_ or from_.startswith("from ") else f"({from_})"
        parts.append(f"listed {amount_words(portion, listed)} {several}".rstrip())
        if portion.short and portion.full:
            parts.append(f"{percent_of((portion.listed or 0) / portion.full)} % of its full ration")
        if one.open and (others := page.fed_with(lines, portion)):
            parts.append(f"+ gives {' and '.join(others)} as well")
    return ". ".join(parts) + ":"
