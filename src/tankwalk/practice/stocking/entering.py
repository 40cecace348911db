"""Fish of a tank entered by number: what happened, how many, how sure; then the last look."""

from __future__ import annotations

from collections.abc import Generator, Sequence

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry, Movement
from tankwalk.ledger.stock import MovedFish, What
from tankwalk.practice.counting.pad import Sort
from tankwalk.practice.dialog import Answer, Hand, Step, Talk, writer
from tankwalk.practice.livefeed.asking import earlier, number, wanted, whole
from tankwalk.practice.site import Site
from tankwalk.practice.stock.numbers import Best, best
from tankwalk.practice.stocking import samples
from tankwalk.practice.stocking.doubts import (
    AGAIN,
    EARLIER,
    KEEP,
    RIGHT,
    of_a_census,
    of_a_stocking,
    of_going,
    why_a_gap,
)
from tankwalk.practice.stocking.mass import mass_event

MOST_FISH = 10_000_000
"""More than anybody puts into one tank."""

UNDO_HOURS = 24
"""How long one's own newest movement can be taken back here; later it is the lead's."""

WHAT = (
    (What.CENSUS, "census: all counted"),
    (What.SAMPLED, "sampled, kept"),
    (What.RETURNED, "sampled, put back"),
    (What.MOVED_OUT, "moved to another tank"),
    (What.CULLED, "culled"),
    (What.CANNIBALS, "cannibals taken out"),
    (What.DEAD, "many dead at once: estimated"),
    (What.ESCAPED, "escaped"),
    (What.STOCKED, "stocked into it"),
)
"""What can have happened, by number."""

REASONS = {
    What.CULLED: ("surplus", "deformed", "sick or weak", "humane endpoint"),
    What.ESCAPED: ("screen", "overflow", "jumped", "found in the drain"),
}
"""Why, by number; 0 writes other words."""

BY_HAND, BY_VOLUME, BY_GUESS = "all counted by hand", "volume samples", "another way, with its +/-"


def enter(site: Site, hand: Hand, tank: str) -> Talk:
    """Anything that changes the fish of a tank, or counts them."""
    who = yield from writer(site, hand, "Who handled the fish?")
    held = best(site, [tank]).get(tank)
    about = "no fish yet" if held is None else f"about {held.fish:,} fish"
    answer = yield Step(f"{tank}, {about}: what happened?", tuple(words for _, words in WHAT))
    what = WHAT[answer.number - 1][0]
    if what in (What.STOCKED, What.CENSUS):
        return (yield from _counted(site, who, tank, what, held))
    if held is None:
        raise Refusal(f"No fish were ever entered for {tank}: enter first what was stocked.")
    if what == What.DEAD:
        return (yield from mass_event(site, who, tank, held))
    if what == What.MOVED_OUT:
        return (yield from _moved(site, who, tank, held))
    return (yield from _taken(site, who, tank, what, held))


# ---- stocked, census


def _counted(site: Site, who: str, tank: str, what: What, held: Best | None) -> Talk:
    """Fish counted into a tank, or all that are in it."""
    answer = yield Step(f"{tank} {what}: counted how?", (BY_HAND, BY_VOLUME, BY_GUESS))
    if answer.words == BY_VOLUME:
        return (yield from samples.by_volume(site, who, tank, what, Sort.FISH))
    told = ""
    while True:
        fish = yield from _fish(f"{tank} {what}: how many fish", told)
        error, method = 0.0, "counted by hand"
        if answer.words == BY_GUESS:
            error = yield from wanted(
                number(f"{tank} {what}: {fish:,} fish, +/- how many (95 %)", "", 0, MOST_FISH)
            )
            method = yield from _method()
        doubts = (
            of_a_stocking(site, tank, fish, held)
            if what == What.STOCKED
            else of_a_census(site, tank, fish, error)
        )
        why = None
        if what == What.CENSUS:
            why = yield from why_a_gap(site, tank, fish, error)
        words = f"{tank} {what} {fish:,}{f' +/- {error:,.0f}' if error else ''}, {method}"
        at = yield from last_look(site, words, doubts)
        if at is None:
            told = "Nothing was kept: type it again."
            continue
        put(site, who, tank, Movement(what, fish, error, method), at, why)
        return f"Kept {at.told(site.now())} ({who}): {words}.{_gap_told(site, tank, what)}"


def _method() -> Generator[Step, Answer, str]:
    answer = yield Step("By which method?", ("by weight", "by eye", "by photograph"), "write it",
                        writes=True)  # fmt: skip
    return text.clean(answer.words) or "estimated"


def _gap_told(site: Site, tank: str, what: What) -> str:
    """What the page says of a census, once it is kept."""
    if what != What.CENSUS:
        return ""
    from tankwalk.practice.stock.numbers import numbers

    found = numbers(site, [tank]).get(tank)
    if found is None or found.unaccounted is None:
        return ""
    return f" Unaccounted {found.unaccounted.fish:,} of {found.book.fish:,} by the book."


# ---- out of a tank


def _taken(site: Site, who: str, tank: str, what: What, held: Best) -> Talk:
    """Fish that go out of a tank for good, or that were handled and put back."""
    told = ""
    while True:
        fish = yield from _fish(f"{tank} {what}: how many fish", told)
        doubts = of_going(site, tank, what, fish, held)
        why = yield from _why(what)
        words = f"{tank} {what} {fish:,}" + (f", {why}" if why else "")
        at = yield from last_look(site, words, doubts)
        if at is not None:
            put(site, who, tank, Movement(what, fish, 0.0, "counted"), at, why or None)
            left = best(site, [tank]).get(tank, held)
            return f"Kept {at.told(site.now())} ({who}): {words}; about {left.fish:,} left."
        told = "Nothing was kept: type it again."


def _why(what: What) -> Generator[Step, Answer, str]:
    if what not in REASONS:
        return ""
    answer = yield Step(f"{what.capitalize()}: why?", REASONS[what], "write it", writes=True)
    return text.clean(answer.words)


def _moved(site: Site, who: str, tank: str, held: Best) -> Talk:
    """Fish moved to another tank: one act writes both sides."""
    # This tank stands in the list too: so the number of a tank is its own, and 8 is T08.
    tanks = tuple(one.code for one in site.plan.tanks)
    if tanks == (tank,):
        raise Refusal("The plan has no other tank.")
    other, told = tank, ""
    while other == tank:
        answer = yield Step(f"{tank}: moved to which tank?", tanks, told=told)
        other, told = answer.words, f"{tank} is where they are."
    told = ""
    while True:
        fish = yield from _fish(f"{tank} to {other}: how many fish", told)
        error = yield from wanted(
            number(f"{fish:,} fish, +/- how many (95 %)", "", 0, MOST_FISH, proposed=0,
                   as_what="counted one by one")
        )  # fmt: skip
        doubts = of_going(site, tank, What.MOVED_OUT, fish, held)
        sure = f" +/- {error:,.0f}" if error else ""
        words = f"{fish:,}{sure} fish moved from {tank} to {other}"
        at = yield from last_look(site, words, doubts)
        if at is None:
            told = "Nothing was kept: type it again."
            continue
        method = "counted" if not error else "estimated"
        with site.ledger.writing():
            put(site, who, tank, Movement(What.MOVED_OUT, fish, error, method, other), at)
            put(site, who, other, Movement(What.MOVED_IN, fish, error, method, tank), at)
        now = best(site, [tank, other])
        left = " and ".join(f"{code} about {now[code].fish:,}" for code in (tank, other))
        return f"Kept {at.told(site.now())} ({who}): {words}, on both pages; now {left}."


# ---- shared


def _fish(ask: str, told: str) -> Generator[Step, Answer, int]:
    """A number of fish, one at least."""
    while True:
        fish = yield from whole(f"{told} {ask}".strip(), MOST_FISH)
        if fish:
            return fish
        told = "0 is no fish to enter; Esc leaves."


def last_look(
    site: Site, words: str, doubts: Sequence[str]
) -> Generator[Step, Answer, Instant | None]:
    """The last look before something is kept: its moment, or None to type it again."""
    at = site.now()
    while True:
        when = "" if at.utc >= site.now().utc - 60 else f" at {at.told(site.now())}"
        choices = (AGAIN, RIGHT, EARLIER) if doubts else (KEEP, EARLIER, AGAIN)
        answer = yield Step(f"{words}{when}.", choices, told=" ".join(doubts))
        if answer.words in (KEEP, RIGHT):
            return at if at.utc < site.now().utc - 60 else site.now()
        if answer.words == AGAIN:
            return None
        at = yield from earlier(site)


def put(
    site: Site, who: str, tank: str, moved: Movement, at: Instant, why: str | None = None
) -> int:
    """Keep a movement."""
    return site.record(Entry("movement", site.signs(who), at, site.now(), tank, reason=why), moved)


# ---- taken back


def take_back(site: Site, hand: Hand, tank: str) -> Talk:
    """Take back one's own newest movement of today, both sides of it; the record keeps all."""
    who = yield from writer(site, hand, "Who takes a movement back?")
    now = site.now()
    codes = [one.code for one in site.plan.tanks]
    every = site.reader.stock.all_movements(codes, now.utc - UNDO_HOURS * 3600)
    mine = [(place, one) for place, seen in every.items() for one in seen if one.who == who]
    if not mine:
        raise Refusal(f"{who} entered no movement of fish in the last {UNDO_HOURS} h.")
    place, last = max(mine, key=lambda one: one[1].n)
    pair = [(place, last), *_other_side(every, place, last)]
    if last.what == What.MOVED_IN and len(pair) == 2:
        pair.reverse()
        place, last = pair[0]
    words = f"{place} {last.what} {last.fish:,}"
    if last.other_place:
        words += f" ({last.other_place})"
    words += f", {last.at.told(now)}"
    yield Step(f"{words} {who}:", ("take it back",))
    with site.ledger.writing():
        for code, one in pair:
            entry = Entry("void", site.signs(who), now, now, code, amends=one.n, reason="undone")
            site.record(entry)
    return f"Taken back: {words}."


def _other_side(
    every: dict[str, list[MovedFish]], place: str, last: MovedFish
) -> list[tuple[str, MovedFish]]:
    """The other half of a move, which goes with it."""
    twins = {What.MOVED_OUT: What.MOVED_IN, What.MOVED_IN: What.MOVED_OUT}
    twin = twins.get(What(last.what))
    if twin is None or last.other_place is None:
        return []
    found = [
        (last.other_place, one)
        for one in every.get(last.other_place, ())
        if one.what == twin and one.other_place == place and abs(one.n - last.n) == 1
    ]
    return found[-1:]
