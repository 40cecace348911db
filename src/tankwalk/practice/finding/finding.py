"""Find: what of the record holds some typed words, the newest first, as one value."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from pathlib import Path

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.ledger.word_index import Sought, WordIndex
from tankwalk.ledger.words import WordsIn, WordsSeen
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

MOST = 200
"""So many of the newest are found; whoever wants older ones types one more word."""

LONGEST = 10_000
"""Characters that can be sought."""


class Hit(NamedTuple):
    """Words of one entry that hold what was sought.

    `text` is the line of it that holds most of that, `marks` where in it, as (from, to); `whole`
    is all of the entry. A page of a handover repeats from day to day: `times` says on how many
    pages the same line stands, and `since` when it did first.
    """

    n: int
    stands_in: WordsIn
    of: str
    place: str | None
    item: str | None
    at: Instant
    who: str
    text: str
    marks: tuple[tuple[int, int], ...]
    whole: tuple[str, ...]
    amended: bool
    times: int = 1
    since: Instant | None = None
    reading: Seen | None = None
    """What a reason is of, where it is of a value that was amended and stands."""


class Found(NamedTuple):
    """What was found of some words. `more`: there is older than this; `entries`: of how many.

    `kept`: the list of words is kept on the disk; `fast`: it is sought by FTS5.
    """

    site: str
    now: Instant
    typed: str
    since: Instant | None
    hits: tuple[Hit, ...]
    more: bool
    entries: int
    kept: bool
    fast: bool


class Finder:
    """The words of one site's record, sought again and again.

    `folder` is this laptop's own for lists of words, None where it has none.
    """

    def __init__(self, site: Site, folder: Path | None) -> None:
        self.site = site
        self.index = WordIndex(site.reader, folder)

    def steps(self) -> Iterator[float]:
        """Take in what is new in the record, a part at a time; gives how much is done, 0 to 1."""
        return self.index.steps()

    def find(self, typed: str, since: Instant | None = None) -> Found:
        """The newest entries with every one of the typed words; none for no word.

        A word finds all that begin like it, without case and accents. One that is the code of a
        place or a person's initials is taken as it stands.
        """
        words = tuple(dict.fromkeys(text.clean(typed, limit=LONGEST).split()))
        known = {one.casefold() for one in self._codes()}
        sought = [Sought(word, word.casefold() in known) for word in words]
        hits: list[Hit] = []
        more = False
        if sought:
            utc = 0 if since is None else since.utc
            seen = self.index.search(sought, utc, MOST + 1)
            pages = self.index.search(sought, utc, MOST + 1, handovers=True)
            more = max(len(seen), len(pages)) > MOST
            seen, pages = seen[:MOST], pages[:MOST]
            amended = self.site.reader.spine.amended(one.n for one in (*seen, *pages))
            hits = [self._of_reading(_hit(one, sought, one.n in amended)) for one in seen]
            hits += _lines([_hit(one, sought, one.n in amended) for one in pages])
            hits.sort(key=lambda one: (one.at.utc, one.n), reverse=True)
        return Found(
            self.site.plan.name, self.site.now(), " ".join(words), since, tuple(hits), more,
            self.site.reader.spine.last_number(), self.index.kept, not self.index.plain,
        )  # fmt: skip

    def _of_reading(self, hit: Hit) -> Hit:
        """A reason with the value it stands beside, where that was put in another one's place."""
        if hit.stands_in is not WordsIn.REASON:
            return hit
        seen = self.site.reader.readings.seen(hit.n)
        return hit if seen is None or seen.was is None else hit._replace(reading=seen)

    def close(self) -> None:
        self.index.close()

    def _codes(self) -> Iterator[str]:
        """Codes of places and initials of people, of the plan and of the record."""
        yield from self.site.reader.spine.places()
        plan = self.site.plan
        for those in (plan.tanks, plan.loops):
            yield from (one.code for one in those)
        yield from (one.initials for one in plan.people)


def _hit(one: WordsSeen, sought: Sequence[Sought], amended: bool) -> Hit:
    """Words of the record with the line of them that holds most of what is sought."""
    lines = tuple(line.strip() for line in one.text.splitlines() if line.strip()) or ("",)
    marked = [(line, marks_in(line, sought)) for line in lines]
    line, marks = max(marked, key=lambda pair: len(pair[1]))
    return Hit(
        one.n, one.stands_in, one.of, one.place, one.item, one.at, one.who, line, marks, lines,
        amended,
    )  # fmt: skip


def _lines(pages: Sequence[Hit]) -> list[Hit]:
    """Of pages of handovers that hold the same line the newest, with how many there are."""
    found: dict[str, Hit] = {}
    for one in pages:  # the newest comes first
        newest = found.get(one.text)
        if newest is None:
            found[one.text] = one
        else:
            found[one.text] = newest._replace(times=newest.times + 1, since=one.at)
    return [*found.values()]


def marks_in(words: str, sought: Sequence[Sought]) -> tuple[tuple[int, int], ...]:
    """Where in a text the sought words stand, from the beginning on; none overlaps another."""
    folded, origin = _folded(words)
    found: list[tuple[int, int]] = []
    for one in sought:
        for word, whole in _pieces(one):
            at = folded.find(word)
            while at >= 0:
                end = at + len(word)
                signs = not word[0].isalnum()
                begins = signs or at == 0 or not folded[at - 1].isalnum()
                ends = not whole or end == len(folded) or not folded[end].isalnum()
                if begins and ends:
                    last = end
                    while not signs and last < len(folded) and folded[last].isalnum():
                        last += 1
                    found.append((origin[at], origin[last - 1] + 1))
                at = folded.find(word, at + 1)
    apart: list[tuple[int, int]] = []
    for start, end in sorted(found):
        if apart and start <= apart[-1][1] and start < apart[-1][1]:
            apart[-1] = (apart[-1][0], max(end, apart[-1][1]))
        else:
            apart.append((start, end))
    return tuple(apart)


def _pieces(one: Sought) -> Iterator[tuple[str, bool]]:
    """The parts of a typed word with letters, as they are sought; a word of signs as it is."""
    parts = re.findall(r"[^\W_]+", _folded(one.word)[0])
    if not parts:
        yield _folded(one.word)[0], False
        return
    yield from ((part, True) for part in parts[:-1])
    yield parts[-1], one.whole


def _folded(words: str) -> tuple[str, list[int]]:
    """A text without case and accents, and for each character of it the one it came from."""
    folded, origin = [], []
    for n, one in enumerate(words):
        for part in unicodedata.normalize("NFKD", one.casefold()):
            if not unicodedata.combining(part):
                folded.append(part)
                origin.append(n)
    return "".join(folded), origin
