"""What screens share that ask by number: the keys of a talk, and how it ends."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from tankwalk.pages import steps
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.dialog import Asking, Hand, Talk
from tankwalk.practice.site import Site
from tankwalk.screens.base import ENTER, NO_CHARACTER, NUM_LOCK, PAD_WITHOUT_NUM_LOCK, PageScreen

SCROLLS = ("up", "down", "left", "right")
"""Keys that move the page while it asks."""


class AskingScreen(PageScreen):
    """A page that asks below it; one that shows what is in the record reads it anew in `look`."""

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.hand = Hand()
        self.asking: Asking | None = None
        self._before: int | None = None
        """The newest entry as the talk began; None for a talk that only chooses."""

    def look(self) -> None:
        """Read the record anew; nothing to do where only what this screen wrote is shown."""

    def new_hand(self) -> None:
        """Who comes to the page is asked who they are."""
        self.hand.forget()

    def arrive(self) -> None:
        self.new_hand()
        self.asking, self.said, self.top = None, "", 0
        self.look()
        super().arrive()

    def keys(self, width: int) -> Line:
        """The keys that work while nothing is asked."""
        return footer(self.scope, width)

    def above(
        self, page: list[Line], width: int, height: int, entry: Sequence[Line] = ()
    ) -> list[Line]:
        """What of the page is in sight above what is asked, or above what was said and typed."""
        if self.asking is not None:
            below = steps.draw(self.asking, width)
        else:
            said = wrapped(width, self.said, "check", 5) if self.said else []
            below = [*said, *entry, self.keys(width)]
        return [*self.scrolled(page, width, height - len(below)), *below][-height:]

    def ask(self, talk: Talk, *, keeps: bool = True) -> None:
        """Begin a talk; a refusal before its first question is said.

        One that only chooses what is shown (not `keeps`) is left without a word.
        """
        self.said = ""
        self._before = self.site.reader.spine.last_number() if keeps else None
        self.hand.begin()
        self.asking = Asking(talk)
        self._went_on()

    def _went_on(self) -> None:
        """After a key of the talk: draw, or say how it ended."""
        if self.asking is not None and self.asking.over:
            said, self.asking = self.asking.said, None
            self.look()
            self.say(said)
        else:
            self.draw()

    def pressed(self, key: str, character: str | None) -> None:
        asking = self.asking
        if asking is None:
            super().pressed(key, character)
        elif key == "escape":
            self.asking = None
            self.hand.back()
            self._leave_talk()
        elif key in ENTER:
            asking.enter()
            self._went_on()
        elif key == "backspace":
            asking.rub()
            self.draw()
        elif key in SCROLLS or (key == "question_mark" and not asking.writing):
            super().pressed(key, character)
        elif key in PAD_WITHOUT_NUM_LOCK:
            asking.said = NUM_LOCK
            self.draw()
        elif character == "\ufffd":
            asking.said = NO_CHARACTER
            self.draw()
        elif character is not None:
            asking.type(character)
            self._went_on()

    def _leave_talk(self) -> None:
        """Say what became of a talk that was left: some keep what was answered before the end."""
        if self._before is None:
            self.say("")
        elif self.site.reader.spine.last_number() != self._before:
            self.look()
            self.say("Back. What was kept before this question stays in the record.")
        else:
            self.say("Back: nothing was kept.")

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        if self.asking is None:
            return
        words = self.pasted(event)
        if words:
            self.asking.paste(words)
            self.draw()
