"""The app: opens on the board, keeps one of each screen, and ends cleanly whatever happens."""

from __future__ import annotations

import asyncio
import signal
import sys
from collections.abc import Callable, Iterable
from typing import ClassVar

from textual.app import App, SystemCommand
from textual.screen import Screen
from textual.theme import Theme

from tankwalk.errors import Refusal
from tankwalk.ledger.queries import RoundSeen
from tankwalk.pages.actions import ACTIONS
from tankwalk.practice.site import Site
from tankwalk.screens._textual_private import forgive_bad_bytes
from tankwalk.screens.base import PageScreen
from tankwalk.screens.tones import GROUND, after


def _theme(look: str) -> Theme:
    ground = GROUND[look]
    return Theme(
        f"tankwalk-{look}", primary="#8fb6c9", background=ground, surface=ground, panel=ground
    )


class TankwalkApp(App[str]):
    """One open site on the screen."""

    ENABLE_COMMAND_PALETTE = True
    INLINE_PADDING = 0
    CSS = "Screen { background: $background; overflow: hidden; }"
    BINDINGS: ClassVar = []

    def __init__(self, site: Site, first: str = "board", look: str = "day") -> None:
        super().__init__()
        self.site = site
        self.first = first
        self.look = look
        self.crash: Exception | None = None
        self.stopped_by = ""
        self._screens: dict[str, PageScreen] = {}

    def on_mount(self) -> None:
        for name in GROUND:
            self.register_theme(_theme(name))
        self.theme = f"tankwalk-{self.look}"
        self._catch_signals()
        self.open(self.first)

    # ---- screens

    def open(self, name: str) -> None:
        """Show the board, the handover, or who walks; each screen is made once and kept."""
        self._show(self._kept(name))

    def walk(self, found: RoundSeen, who: str) -> None:
        """Show the walk of a round."""
        from tankwalk.screens.walk import WalkScreen

        screen = self._screens.get("walk")
        if isinstance(screen, WalkScreen):
            screen.begin(found, who)
        else:
            screen = self._install("walk", WalkScreen(self.site, found, who))
        self._show(screen)

    def _kept(self, name: str) -> PageScreen:
        if name not in self._screens:
            self._install(name, self._made(name))
        return self._screens[name]

    def _install(self, name: str, screen: PageScreen) -> PageScreen:
        """Keep a screen: Textual throws away one that is not installed when another shows."""
        self._screens[name] = screen
        self.install_screen(screen, name)
        return screen

    def _made(self, name: str) -> PageScreen:
        if name == "handover":
            from tankwalk.screens.handover import HandoverScreen

            return HandoverScreen(self.site)
        if name == "who":
            from tankwalk.screens.who import WhoScreen

            return WhoScreen(self.site)
        from tankwalk.screens.board import BoardScreen

        return BoardScreen(self.site)

    def _show(self, screen: PageScreen) -> None:
        if self.screen is screen:
            screen.arrive()
        elif len(self.screen_stack) == 1:
            self.push_screen(screen)
        else:
            self.switch_screen(screen)

    def change_look(self) -> None:
        """Day, night or plain."""
        self.look = after(self.look)
        self.theme = f"tankwalk-{self.look}"
        for screen in self._screens.values():
            screen.set_look(self.look)

    # ---- palette

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
        """SIGTERM and SIGHUP end the program as Esc would, with one sentence afterwards."""
        if sys.platform == "win32":
            return
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGHUP):
            loop.add_signal_handler(number, self._stop, number.name)

    def _stop(self, name: str) -> None:
        self.stopped_by = name
        self.exit(return_code=1)

    def _fatal_error(self) -> None:
        """A fault of the program: one sentence afterwards, no traceback with what was typed."""
        self.crash = self._exception
        self._close_messages_no_wait()


def run(site: Site, first: str = "board", look: str = "day") -> str:
    """Run the app until it is left; a sentence when it did not end by itself, else "".

    Raises Refusal when this is no terminal.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise Refusal(
            "There is no terminal here. Print a page with: tankwalk board; or walk line by line "
            "with: tankwalk walk --plain"
        )
    forgive_bad_bytes()
    app = TankwalkApp(site, first, look)
    app.run(mouse=False)
    if app.crash is not None:
        return _crash_sentence(app.crash)
    if app.stopped_by:
        return f"Stopped by {app.stopped_by}. Everything accepted is kept; go on with: tankwalk"
    return ""


def _crash_sentence(fault: Exception) -> str:
    return (
        f"The program met a fault of its own ({type(fault).__name__}). Everything accepted is "
        "kept; go on with: tankwalk"
    )
