"""The moments a page waits for, and what runs by the clock: drawn once when due, with the bell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.app import App

from tankwalk.errors import Refusal
from tankwalk.practice.site import Site
from tankwalk.screens._textual_private import driver
from tankwalk.screens.base import PageScreen

if TYPE_CHECKING:
    from textual.timer import Timer

    from tankwalk.clock import Instant
    from tankwalk.practice.tasks import TimerDue


class Moments(App[str]):
    """An app of one site that waits for moments to come."""

    def __init__(self, site: Site, *, ansi_color: bool | None) -> None:
        super().__init__(driver(), ansi_color=ansi_color)
        self.site = site
        self._moments: dict[str, Instant] = {}
        """What the page in front waits for, by who told it."""
        self._moment_timer: Timer | None = None
        self._next_moment: Instant | None = None
        self.timers: tuple[TimerDue, ...] = ()
        """What runs by the clock, as every page shows it."""

    def await_moment(self, what: str, at: Instant | None) -> None:
        """When something falls due: then the page in front is drawn once, with the bell.

        `what` is who waits for it ("look", "heat", "timer"): each waits for one moment, None for
        none.
        """
        if at is None:
            self._moments.pop(what, None)
        else:
            self._moments[what] = at
        self._wait()

    def _wait(self) -> None:
        """Set the clock for the first moment that is to come."""
        now = self.site.now()
        ahead = [at for at in self._moments.values() if at.utc > now.utc]
        first = min(ahead, key=lambda at: at.utc, default=None)
        if first == self._next_moment:
            return
        self._next_moment = first
        if self._moment_timer is not None:
            self._moment_timer.stop()
            self._moment_timer = None
        if first is not None:
            self._moment_timer = self.set_timer(first.utc - now.utc, self._falls_due)

    def _falls_due(self) -> None:
        at, self._next_moment = self._next_moment, None
        front = self.screen
        if at is None or at.utc > self.site.now().utc:  # a clock that stands still
            return
        if isinstance(front, PageScreen):
            front.falls_due()
        self.bell()
        self._wait()

    def read_timers(self) -> None:
        """Read what runs by the clock anew; the page in front shows it when it is drawn next."""
        from tankwalk.practice.livefeed.timers import running

        try:
            now = self.site.now()
            self.timers = running(self.site, now)
        except Refusal:  # the record could not be read just now: the page says so itself
            return
        ahead = (one.at for one in self.timers if not one.over(now))
        self.await_moment("timer", min(ahead, key=lambda at: at.utc, default=None))
