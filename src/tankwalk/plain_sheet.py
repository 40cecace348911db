"""A round typed in from paper line by line: its times, its values, what is typed twice."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from tankwalk.pages.sheet_words import begun_words, twice_words
from tankwalk.plain import through
from tankwalk.plain_flag import talked
from tankwalk.practice.dialog import Hand, Talk
from tankwalk.practice.round import rounds
from tankwalk.practice.site import Site
from tankwalk.practice.transcribing import beginning
from tankwalk.practice.transcribing.sheet_walk import SheetWalk

Say = Callable[[str], None]


def transcribe(
    site: Site, answers: Iterator[str], say: Say, checklist: str | None, who: str | None
) -> int:
    """Type in a paper round to its signature; 0 when signed, 1 when the answers ended before."""
    hand = Hand()
    asked = None if checklist is None else rounds.named_checklist(site, checklist)
    if who is not None:
        hand.named(site.signs(who), site.now())
    begun: list[SheetWalk] = []
    kept: list[str] = []

    def setup() -> Talk:
        found = yield from beginning.setup(site, hand, asked)
        if isinstance(found, str):
            kept.append(found)
            return found
        begun.append(found)
        return ""

    if not talked(setup(), answers, say) or not begun:
        return 0 if kept else 1
    walk = begun[0]
    say(begun_words(walk.view(worked=False)))
    say(twice_words(site.plan))
    return 0 if through(walk, answers, say) else 1
