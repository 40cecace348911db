"""Every use of a Textual private, with the reason; looked over at each upgrade of Textual.

Checked against textual 8.2.8.
"""

from __future__ import annotations

import codecs
import functools
import sys
from typing import TYPE_CHECKING, Any, cast

from textual._compositor import CompositorUpdate
from textual.await_complete import AwaitComplete
from textual.command import CommandList, CommandPalette, DiscoveryHit
from textual.screen import Screen

if TYPE_CHECKING:
    from rich.console import Console
    from textual.driver import Driver

    from tankwalk.screens.sheet import Sheet


class CalmPalette(CommandPalette):
    """Textual's list of commands, whom no key ends that comes too early or too late.

    Its keys go to the list as `_action_command_list`. A page is a number of lines of a list that is
    laid out; in the moment before, Textual looks up a line that is not there yet (KeyError).

    An Enter that was already waiting when one left the list makes Textual leave it again, which
    pops the page below, and call `_selected_command` again: the second time both are nothing.
    """

    def dismiss(self, result: object = None) -> AwaitComplete:
        if self.is_current:
            return super().dismiss(None)
        self._selected_command = DiscoveryHit("", _nothing)
        done: AwaitComplete = AwaitComplete.nothing()  # type: ignore[no-untyped-call]
        return done

    def _action_command_list(self, action: str) -> None:
        laid_out = self.query_one(CommandList).scrollable_content_region.height > 0
        if laid_out or not action.startswith("page_"):
            super()._action_command_list(action)


def _nothing() -> None:
    """What an act is that was already done."""


def forgive_bad_bytes() -> None:
    """One byte that is not UTF-8 on the keyboard must not end the program.

    The driver decodes strictly and its thread dies on the first bad byte; here such a byte
    becomes U+FFFD, which a screen can name.
    """
    if sys.platform == "win32":
        return
    from textual.drivers import linux_driver

    def decoder(name: str) -> functools.partial[Any]:
        return functools.partial(codecs.getincrementaldecoder(name), errors="replace")

    vars(linux_driver)["getincrementaldecoder"] = decoder


class SheetScreen(Screen[None]):
    """A screen that is one sheet from corner to corner: what changed of it is sent as it says.

    Textual would put the rows together from all widgets, cut them, and send each row from its first
    change on, with every color in full: twice the bytes, and a third more time a key. And it paints
    a page that opens three times over, as it resumes, is given its size and is laid out.
    """

    sheet: Sheet
    drawn: tuple[int, int] | None = None
    """The size for which the sheet was drawn last."""

    def _compositor_refresh(self) -> None:
        dirty, whole = self._compositor._dirty_regions, self.size.region
        covers = self.sheet.size == self.size and self is self.app.screen
        if covers and dirty and whole not in dirty:
            system = self.app.console._color_system
            sent = None if system is None else self.sheet.changes(system)
            if sent is not None:
                dirty.clear()
                self._dirty_widgets.clear()
                self.app._display(self, cast("Any", _Sent(sent)))
                return
        if covers and whole in dirty:
            if self.drawn != self.size:
                self.sheet.left()
            elif self.sheet.as_shown:
                dirty.clear()
                self._dirty_widgets.clear()
                return
            else:
                self.sheet.stands()
        super()._compositor_refresh()

    def on_screen_suspend(self) -> None:
        self.sheet.left()


class _Sent(CompositorUpdate):
    """Bytes for the terminal as Textual takes them."""

    def __init__(self, words: str) -> None:
        self._words = words

    def render_segments(self, console: Console) -> str:
        del console
        return self._words


def driver() -> type[Driver] | None:
    """Textual's driver, which goes on once after a stop and never while it leaves; None elsewhere.

    At SIGCONT Textual starts a thread for the keyboard beside the one that runs, and of two it ends
    one: the other keeps the program alive, and spins where the terminal went. A terminal that goes
    sends SIGHUP and SIGCONT at once, so the second comes while the program leaves.
    """
    if sys.platform == "win32":
        return None
    from textual.drivers.linux_driver import LinuxDriver

    class OneKeyboardDriver(LinuxDriver):
        def _sigcont_application(self, *_: object) -> None:
            # Not in the handler: it may stand in the middle of a write, whose lock it would want.
            if self._loop is not None and not self._loop.is_closed():
                self._loop.call_soon_threadsafe(self._go_on)

        def _go_on(self) -> None:
            if self._app._exit or not self._auto_restart:
                return
            if self._key_thread is not None and self._key_thread.is_alive():
                self.suspend_application_mode()
            for screen in self._app.screen_stack:
                if isinstance(screen, SheetScreen):
                    screen.sheet.left()
            self.resume_application_mode()

    return OneKeyboardDriver
