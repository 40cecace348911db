"""Flags that a whole round found: kept in the record, standing until whole rounds find no more.

What one value says is kept beside that value. What only shows when every tank has been read (a
slow drift, a meter, a lot that dies faster) has no reading of its own, so it is kept as a turn of
a flag.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.ledger.flags import TurnSeen
from tankwalk.practice.judging.rules import Rule, recorded
from tankwalk.practice.judging.standing.condemned import Condemned
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.ledger.entries import FoundFlag


LOGGER = "logger"
"""What a flag of a logger is about, by its kind: see `practice/importing/against.py`."""


class Key(NamedTuple):
    """What a flag is about: an item at a tank, loop or the site, of a whole loop, of a meter, of
    a batch of feed, of a lot or of a treatment."""

    kind: str
    code: str
    item: str

    @property
    def names_place(self) -> bool:
        """Whether its code is a place of the plan; what is done about others is kept at a tank."""
        return self.kind in ("place", "loop")


class Found(NamedTuple):
    """What a whole round found: of what, by which rule, how serious, and what is done first.

    `places` are the tanks it stands for, at least one; `item` is the code of the item.
    """

    key: Key
    rule: Rule
    flag: Flag
    sentence: str
    do: str
    places: tuple[str, ...]
    item: str


class Lasting(NamedTuple):
    """A flag of whole rounds as it stands: since when, last found when, and missed how often.

    `n` is the entry that found it last, `round` the newest round that had a say in it.
    """

    found: Found
    raised: Instant
    at: Instant
    n: int
    missed: int
    round: int | None


def lasting(turns: Iterable[TurnSeen], calm: int) -> dict[Key, Lasting]:
    """What of turns, oldest first, still stands, by what it is about.

    `calm` misses in a row end it, and a miss in the round that first raised it does at once: a
    value that it came from was corrected.
    """
    found: dict[Key, Lasting] = {}
    for turn in turns:
        key = Key(turn.kind, turn.code, turn.item)
        here = found.get(key)
        if turn.event == "raise":
            one = Found(
                key,
                recorded(turn.rule) or Rule.OTHER,
                Flag(turn.level),
                turn.sentence,
                turn.response,
                turn.places,
                turn.item,
            )
            raised = turn.at if here is None else here.raised
            found[key] = Lasting(one, raised, turn.at, turn.n, 0, turn.round)
        elif here is not None:
            own = here.missed == 0 and here.round == turn.round and here.raised == here.at
            missed = calm if own or key.kind == LOGGER else here.missed + 1
            found[key] = here._replace(missed=missed, round=turn.round)
            if missed >= calm:
                del found[key]
    return found


def keep_found(site: Site, who: str, found: Found, number: int | None = None) -> bool:
    """Put what a whole round found into the record; False where it stands there as it is.

    `number` is the round that found it.
    """
    here = _standing_now(site).get(found.key)
    if here is not None and not here.missed and here.found.flag >= found.flag:
        return False
    _keep(site, who, found, "raise", number)
    return True


def miss(site: Site, who: str, number: int, found: Sequence[Found], read: set[str]) -> None:
    """Flags of earlier rounds that this one looked for and found no more: told so, once a round.

    `read` are the places that the round has a value of, as "place item".
    """
    still = {one.key for one in found}
    for key, one in _standing_now(site).items():
        looked = any(f"{place} {key.item}" in read for place in one.found.places)
        counted = one.round == number and one.missed
        if key.kind == LOGGER:
            continue  # only what is imported later tells that it agrees
        if key not in still and looked and not counted:
            _keep(site, who, one.found, "end", number)


def end(site: Site, who: str, key: Key) -> None:
    """A flag that stands is over: what it was about agrees again, or was taken back."""
    one = _standing_now(site).get(key)
    if one is not None:
        _keep(site, who, one.found, "end", None)


def turns_that_count(site: Site, since: int, now: Instant) -> list[TurnSeen]:
    """Turns of whole rounds since a UTC second, without those that a failed check took back."""
    turns = site.reader.flags.turns(since)
    if not turns:
        return []
    back = Condemned(site, since).turns_taken_back(turns, now)
    return [turn for turn in turns if turn.n not in back]


def _standing_now(site: Site) -> dict[Key, Lasting]:
    """What still stands and nobody closed since it was found last."""
    from tankwalk.practice.judging.standing import flags

    now = site.now()
    since = now.utc - flags.STANDING_DAYS * 86400
    kept = lasting(turns_that_count(site, since, now), site.plan.judging.calm_rounds)
    done = flags.newest_done(site.reader.flags.done(since)) if kept else {}
    return {
        key: one
        for key, one in kept.items()
        if key not in done or done[key].event != "close" or done[key].n < one.n
    }


def _keep(site: Site, who: str, found: Found, event: str, number: int | None) -> None:
    from tankwalk.ledger.entries import Entry, FlagEvent

    now, key = site.now(), found.key
    entry = Entry(
        "flag",
        who,
        now,
        now,
        key.code if key.names_place else found.places[0],
        found.item,
        site.plan.item(found.item).unit,
        number,
    )
    meter = key.code if key.kind == "meter" else None
    site.record(entry, FlagEvent(event, meter), beside(found))


def beside(found: Found) -> FoundFlag:
    """What the record keeps of it beside each turn of its flag."""
    from tankwalk.ledger.entries import FoundFlag

    return FoundFlag(
        found.key.kind,
        found.key.code,
        found.rule,
        int(found.flag),
        found.sentence,
        found.do,
        " ".join(found.places),
    )
