"""One of each screen is kept, by its name, and comes to the front once the clock is right."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING, cast

from tankwalk.practice.site import Site
from tankwalk.screens.base import PageScreen
from tankwalk.screens.by_name import SCREENS
from tankwalk.screens.moments import Moments

if TYPE_CHECKING:
    from tankwalk.clock import Instant
    from tankwalk.screens.openings import Openings


class Screens(Moments):
    """An app that keeps its screens."""

    def __init__(self, site: Site, *, ansi_color: bool | None) -> None:
        super().__init__(site, ansi_color=ansi_color)
        self._screens: dict[str, PageScreen] = {}
        self._last_key: Instant = site.now()
        """When a key came last, on whichever page."""

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
        module, _, screen = SCREENS[name].rpartition(".")
        found: type[PageScreen] = getattr(import_module(f"tankwalk.screens.{module}"), screen)
        return found.made(cast("Openings", self))

    def left_alone(self, front: PageScreen) -> bool:
        """Whether nobody touched a key for so long that who is there is asked first.

        The key that came is let go; what is typed already stays on its line.
        """
        now, before = self.site.now(), self._last_key
        self._last_key = now
        idle = now.hours_since(before) * 60
        if idle < self.site.plan.idle_minutes or not front.in_hand():
            return False
        from tankwalk.screens.still import StillScreen

        screen = self._kept("still")
        if isinstance(screen, StillScreen):
            screen.ask_about(front, front.in_hand(), idle)
            self._to_front(screen)
        return True

    def when_clock_is_right(self, onward: Callable[[], None]) -> None:
        """Go on at once, or after a person has answered for a clock that is in doubt."""
        if self.site.clock_doubt() is None:
            onward()
            return
        from tankwalk.screens.clock import ClockScreen

        screen = self._screens.get("clock") or self._install("clock", ClockScreen(self.site))
        if isinstance(screen, ClockScreen):
            self._to_front(screen)
            screen.before(onward)

    def _show(self, screen: PageScreen) -> None:
        if screen.keeps:
            self.when_clock_is_right(lambda: self._to_front(screen))
        else:
            self._to_front(screen)

    def _to_front(self, screen: PageScreen) -> None:
        screen.arrive()
        if self.screen is screen:
            return
        if screen in self.screen_stack:
            while self.screen is not screen:
                self.pop_screen()
        elif len(self.screen_stack) == 1:  # Textual cannot switch its lowest screen
            self.push_screen(screen)
        else:
            self.switch_screen(screen)
