"""The screen of a look: the walk on a small round of its own, which leads back to its flag."""

from __future__ import annotations

from tankwalk.pages import incident_words
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.round.looks import LookWalk
from tankwalk.practice.site import Site
from tankwalk.screens.walk import WalkScreen


class LookScreen(WalkScreen):
    """A look at a few items; with its last value it is over, and its flag stands again."""

    def __init__(self, site: Site, walk: LookWalk, key: Key | None) -> None:
        super().__init__(site, walk)
        self.key = key

    def look_at(self, walk: LookWalk, key: Key | None) -> None:
        """Take another look."""
        self.key = key
        self.begin(walk)

    def _answer(self, typed: str) -> None:
        super()._answer(typed)
        walk = self.walk
        if walk.signed and isinstance(walk, LookWalk):
            words = incident_words.kept(walk.read(), walk.who, self.site.now())
            self.tankwalk.looked(self.key or walk.raised(), walk.who, words)

    def handed_to(self, who: str) -> None:
        """A look is begun anew by whoever looks."""
        if isinstance(self.walk, LookWalk):
            self.tankwalk.look_at(self.walk.asked, who, self.key)

    def leave(self) -> None:
        if self.key is None:
            super().leave()
        else:
            self.tankwalk.incident(self.key, self.walk.who)
