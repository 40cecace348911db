"""Every use of a Textual private, with the reason; looked over at each upgrade of Textual.

Checked against textual 8.2.8.
"""

from __future__ import annotations

import codecs
import functools
import sys
from typing import Any

from textual.await_complete import AwaitComplete
from textual.command import CommandList, CommandPalette, DiscoveryHit


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
