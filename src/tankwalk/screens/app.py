"""The app: begins with the first page, hears keys and signals, ends cleanly whatever happens."""

from __future__ import annotations

import asyncio
import gc
import signal
import sys
from collections.abc import Callable, Iterable, Iterator
from itertools import chain
from typing import ClassVar

from textual import events
from textual.app import SystemCommand
from textual.screen import ModalScreen, Screen

from tankwalk import paths
from tankwalk.errors import Refusal
from tankwalk.pages.actions import ACTIONS
from tankwalk.practice.site import Site
from tankwalk.screens._textual_private import forgive_bad_bytes
from tankwalk.screens.base import PageScreen
from tankwalk.screens.beginnings import Start
from tankwalk.screens.openings import Openings
from tankwalk.screens.tones import LOOKS, after

KEPT = "Everything accepted is kept"

SECONDS_TO_LEAVE = 5
"""How long a program that was told to stop may take until it is gone, whatever hangs."""


class TankwalkApp(Openings):
    """One open site on the screen."""

    ENABLE_COMMAND_PALETTE = True
    INLINE_PADDING = 0
    CSS = "Screen { overflow: hidden; }"
    BINDINGS: ClassVar = []

    def __init__(self, site: Site, first: Start, look: str = "day") -> None:
        bare = bool(paths.environment().get("NO_COLOR"))
        super().__init__(site, ansi_color=True if bare or look == "plain" else None)
        self.first = first
        self.looks = ("plain",) if bare else tuple(LOOKS)
        self.look = "plain" if bare else look
        self.ascii = bool(paths.environment().get("TANKWALK_ASCII"))
        """Whether signs are drawn in ASCII."""
        self.crash: Exception | None = None
        self.stopped_by = ""
        self.stands = False
        """Whether the first page was painted."""
        self._typed_at = 0.0
        self._loading: Iterator[str] = iter(())
        self._reading: Iterator[str] = iter(())
        self._reads_after = 0.0
        self.reads_ahead = False
        """Whether what is read ahead goes on by itself."""

    def __repr__(self) -> str:
        """Its name alone: Textual keeps this with every timer, and spells out much more."""
        return type(self).__name__

    def on_mount(self) -> None:
        self._catch_signals()
        self.call_after_refresh(self._first_page_stands)

    def _first_page_stands(self) -> None:
        """In a moment the collector may run again, and what the first keys need is loaded."""
        self.stands = True
        from tankwalk.screens import ahead

        self._loading = chain(ahead.steps(ahead.FIRST), ahead.values())
        if self._typed_at:
            self._loading = chain(self._loading, ahead.steps(ahead.NEXT))
        self.set_timer(ahead.AFTER_SECONDS, gc.enable)
        self.set_timer(ahead.TIMERS_SECONDS, self._first_timers)
        self.set_timer(ahead.AFTER_SECONDS, lambda: self._load_ahead(ahead.QUIET_SECONDS))

    def _first_timers(self) -> None:
        """What ran when the program ended runs on: read once the first page stands."""
        if not self.screen_stack:  # somebody left within the moment
            return
        self.read_timers()
        front = self.screen
        if self.timers and isinstance(front, PageScreen):
            front.draw()

    def _load_ahead(self, quiet: float) -> None:
        """One step of loading while nobody types, then the next; keys always come first."""
        since = asyncio.get_running_loop().time() - self._typed_at
        if since < quiet:
            self.set_timer(quiet - since, lambda: self._load_ahead(quiet))
        elif next(self._loading, None) is not None:
            self.set_timer(0.002, lambda: self._load_ahead(quiet))
        else:
            gc.freeze()  # what is loaded stays: the collector need not walk through it again

    def read_ahead(self, steps: Iterator[str], quiet: float | None = None) -> None:
        """Read these while nobody types, in place of what was to be read before.

        `quiet` is how long after a key it begins, in seconds: as a rule `READ_SECONDS`.
        """
        from tankwalk.screens import ahead

        self._reading = steps
        self._reads_after = ahead.READ_SECONDS if quiet is None else quiet
        if self.stands and not self.reads_ahead:
            self.reads_ahead = True
            self.set_timer(self._reads_after, self._read_on)

    def _read_on(self) -> None:
        """One question of what is read ahead, then the next; a key comes first."""
        since = asyncio.get_running_loop().time() - self._typed_at
        if since < self._reads_after:
            self.set_timer(self._reads_after - since, self._read_on)
            return
        try:
            more = next(self._reading, None) is not None
        except Refusal:  # whoever needs it says so
            more = False
        if more:
            self.set_timer(0.001, self._read_on)
        else:
            self.reads_ahead = False

    def _load_next(self) -> None:
        """Somebody began to type: load also where a round leads."""
        from tankwalk.screens import ahead

        self._loading = chain(self._loading, ahead.steps(ahead.NEXT))
        self.set_timer(ahead.AFTER_SECONDS, lambda: self._load_ahead(ahead.QUIET_SECONDS))

    def get_default_screen(self) -> PageScreen:
        """The first page is the lowest screen; an empty one below it would be made for nothing."""
        first = self._beginning(self.first)
        first.arrive()
        return first

    async def on_event(self, event: events.Event) -> None:
        """What is typed goes to the page in front, one key after another.

        Textual would queue each key for the page in front when it arrives, so that what is typed
        ahead while a page changes goes to the page that leaves.
        """
        front = self.screen_stack[-1] if self.screen_stack else None
        if isinstance(event, events.Resize):
            self._leave_palette_without_room(front, event.size)
            if event.size != self.size and isinstance(front, PageScreen):
                front.sheet.left()  # a terminal may shift what it shows as it gets another size
        typed = isinstance(event, events.Key | events.Paste) and not event.is_forwarded
        if not (typed and isinstance(front, PageScreen)):
            await super().on_event(event)
        elif isinstance(event, events.Paste):
            front.on_paste(event)
        elif isinstance(event, events.Key):
            if self.stands and not self._typed_at:
                self._load_next()
            self._typed_at = asyncio.get_running_loop().time()
            if event.key.startswith("ctrl+") and event.key != "ctrl+j":
                await super().on_event(event)
            else:
                front.on_key(event)

    def change_look(self) -> None:
        """Day, night or plain; plain alone where NO_COLOR is set."""
        self.look = after(self.look, self.looks)
        # In the plain look the terminal's own colours stay, be it dark or light.
        self.ansi_color = True if self.look == "plain" else None
        for screen in self._screens.values():
            screen.set_look(self.look)

    # ---- palette

    def action_command_palette(self) -> None:
        from tankwalk.screens.palette import Palette, fits

        if isinstance(self.screen, Palette):
            return
        if fits(self.size):
            self.push_screen(Palette(placeholder="An act by name"))
        elif isinstance(self.screen, PageScreen):
            self.screen.say("Window too small")

    def _leave_palette_without_room(self, front: object, size: tuple[int, int]) -> None:
        """A window made too small for Textual's list: leave it before it is laid out."""
        if isinstance(front, ModalScreen):
            from tankwalk.screens.palette import fits

            if not fits(size):
                front.dismiss()

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """The acts of the screen in front, by name."""
        if isinstance(screen, PageScreen):
            for action in ACTIONS:
                if screen.scope in action.scopes and action.keys:
                    title = f"{action.word} ({action.shown})"
                    yield SystemCommand(title, action.does, self._doing(screen, action.name))

    def _doing(self, screen: PageScreen, name: str) -> Callable[[], None]:
        return lambda: screen.do(name)

    # ---- ends

    def _catch_signals(self) -> None:
        """A signal to stop ends the program as Esc would, with one sentence afterwards."""
        if sys.platform == "win32":
            return
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
            loop.add_signal_handler(number, self._stop, number.name)

    def _stop(self, name: str) -> None:
        """Leave; the system ends the program, whatever hangs on the way: nothing is lost by it."""
        signal.alarm(SECONDS_TO_LEAVE)
        self.stopped_by = name
        self.exit(return_code=1)

    def _fatal_error(self) -> None:
        """A fault of the program: one sentence afterwards, no traceback with what was typed."""
        self.crash = self._exception
        self._close_messages_no_wait()


def run(site: Site, first: Start, look: str = "day") -> str:
    """Run the app until it is left; a sentence when it did not end by itself, else "".

    `first` is the screen to open, or the round to walk and who walks it. Raises Refusal when
    this is no terminal.
    """
    if not all(s is not None and s.isatty() for s in (sys.stdin, sys.stdout)):
        raise Refusal(
            "There is no terminal here. Print a page with: tankwalk board; or walk line by line "
            "with: tankwalk walk --plain"
        )
    if not sys.stderr.isatty():
        raise Refusal(
            "The screen is drawn on standard error, and that goes elsewhere here: start it "
            "without 2>, or walk line by line with: tankwalk walk --plain"
        )
    forgive_bad_bytes()
    app = TankwalkApp(site, first, look)
    app.run(mouse=False)
    if lost := site.ledger.lost():
        if app.stopped_by:
            signal.alarm(0)  # what is saved now is all there is: it takes the time it takes
        return lost
    if app.crash is not None:
        return (
            f"The program met a fault of its own ({type(app.crash).__name__}). {KEPT}; go on with: "
            "tankwalk"
        )
    if app.stopped_by:
        return f"Stopped by {app.stopped_by}. {KEPT}; go on with: tankwalk"
    return ""
