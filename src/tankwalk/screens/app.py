"""The app: opens on the board, keeps one of each screen, and ends cleanly whatever happens."""

from __future__ import annotations

import asyncio
import gc
import signal
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from importlib import import_module
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual import events
from textual.app import App, SystemCommand
from textual.screen import ModalScreen, Screen

from tankwalk import paths
from tankwalk.errors import Refusal
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.pages.actions import ACTIONS
from tankwalk.practice.site import Site
from tankwalk.screens._textual_private import driver, forgive_bad_bytes, paint_changed_cells_only
from tankwalk.screens.base import PageScreen
from tankwalk.screens.tones import LOOKS, after

if TYPE_CHECKING:
    from textual.timer import Timer

    from tankwalk.clock import Instant
    from tankwalk.practice.judging.flags import Key
    from tankwalk.practice.livefeed.counting import About
    from tankwalk.practice.round.looks import Asked
    from tankwalk.practice.tasks import TimerDue
    from tankwalk.practice.workings.worksheet import Worksheet


class LookAt(NamedTuple):
    """What to look at first, by place and item code, and who looks."""

    asked: Asked
    who: str


class CountAt(NamedTuple):
    """What is counted first: a batch, or None to be asked; and who counts, where known."""

    batch: str | None
    who: str | None


Start = str | tuple[RoundSeen, str] | LookAt | CountAt
"""A screen by name, a round and who walks it, what to look at, or what to count."""

KEPT = "Everything accepted is kept"

SECONDS_TO_LEAVE = 5
"""How long a program that was told to stop may take until it is gone, whatever hangs."""

SCREENS = {
    "board": "board.BoardScreen",
    "who": "who.WhoScreen",
    "handover": "handover.HandoverScreen",
    "open": "open_list.OpenScreen",
    "meters": "meters.MetersScreen",
    "workings": "workings.WorkingsScreen",
    "working": "workings.WorkingScreen",
    "pages": "page_list.PagesScreen",
    "feed": "feed.FeedScreen",
    "livefeed": "livefeed.LiveFeedScreen",
    "tomorrow": "feed_pages.TomorrowScreen",
    "ration": "feed_pages.RationScreen",
    "feedweek": "feed_pages.FeedWeekScreen",
    "count": "count.CountScreen",
    "guided": "guided.GuidedScreen",
    "samples": "samples.SamplesScreen",
}
"""Screens that are opened by their scope, each with its file and class in this room.

The walk, one meter and the help are opened with what they are about.
"""


COME_FROM = ("board", "walk", "handover", "pages", "meters", "count", "ration")
"""Scopes to which Esc leads back from the Workings."""


class TankwalkApp(App[str]):
    """One open site on the screen."""

    ENABLE_COMMAND_PALETTE = True
    INLINE_PADDING = 0
    CSS = "Screen { overflow: hidden; }"
    BINDINGS: ClassVar = []

    def __init__(self, site: Site, first: Start, look: str = "day") -> None:
        bare = bool(paths.environment().get("NO_COLOR"))
        super().__init__(driver(), ansi_color=True if bare or look == "plain" else None)
        self.site = site
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
        self._screens: dict[str, PageScreen] = {}
        self._worksheet: Worksheet | None = None
        self._came_from = "board"
        self._counted_from: PageScreen | None = None
        self._guided_from: PageScreen | None = None
        self._moments: dict[str, Instant] = {}
        """What the page in front waits for, by who told it."""
        self._moment_timer: Timer | None = None
        self._next_moment: Instant | None = None
        self.timers: tuple[TimerDue, ...] = ()
        """What runs by the clock, as every page shows it."""
        self.straight_to_working = False
        """Whether Esc leads from a calculator to where one was, not to the list."""

    def on_mount(self) -> None:
        self._catch_signals()
        self.call_after_refresh(self._first_page_stands)

    def _first_page_stands(self) -> None:
        """In a moment the collector may run again, and what the first keys need is loaded."""
        self.stands = True
        from tankwalk.screens import ahead

        self._loading = ahead.steps()
        self.set_timer(ahead.AFTER_SECONDS, gc.enable)
        self.set_timer(ahead.TIMERS_SECONDS, self._first_timers)
        self.set_timer(ahead.AFTER_SECONDS, lambda: self._load_ahead(ahead.QUIET_SECONDS))

    def _first_timers(self) -> None:
        """What ran when the program ended runs on: read once the first page stands."""
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

    def get_default_screen(self) -> PageScreen:
        """The first page is the lowest screen; an empty one below it would be made for nothing."""
        if self.site.clock_doubt() is not None:
            first = self._kept("board")
        elif isinstance(self.first, str):
            first = self._kept(self.first)
        elif isinstance(self.first, LookAt):
            first = self._looking(self.first.asked, self.first.who, None)
        elif isinstance(self.first, CountAt):
            first = self._counting(self.first)
        else:
            first = self._walking(*self.first)
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
        typed = isinstance(event, events.Key | events.Paste) and not event.is_forwarded
        if not (typed and isinstance(front, PageScreen)):
            await super().on_event(event)
        elif isinstance(event, events.Paste):
            front.on_paste(event)
        elif isinstance(event, events.Key):
            self._typed_at = asyncio.get_running_loop().time()
            if event.key.startswith("ctrl+") and event.key != "ctrl+j":
                await super().on_event(event)
            else:
                front.on_key(event)

    # ---- screens

    def open(self, name: str) -> None:
        """Show a screen by name; each is made once and kept."""
        self._show(self._kept(name))

    def begin_round(self, label: str) -> None:
        """Ask who does a round, by its label."""
        from tankwalk.screens.who import WhoScreen

        screen = self._kept("who")
        self._show(screen)
        if isinstance(screen, WhoScreen):
            screen.take(label)

    def walk(self, found: RoundSeen, who: str) -> None:
        """Show the walk of a round."""
        self._show(self._walking(found, who))

    def work(self, name: str = "", place: str = "", typed: Mapping[str, str] | None = None) -> None:
        """Show the Workings: the list, or one calculator with its fields filled.

        `place` is a tank, a loop or the site. What is worked from a walk is kept under the one who
        walks, in that round; Esc leads back to where one came from. Refusal: no such calculator,
        input or place.
        """
        from tankwalk.screens.walk import WalkScreen

        sheet, front = self.worksheet, self.screen
        if isinstance(front, PageScreen) and front.scope in COME_FROM:
            self._came_from = front.scope
        if isinstance(front, WalkScreen):
            sheet.arrive(front.walk.who, front.walk.round.number)
        else:
            sheet.arrive("", None)
        if place:
            sheet.go_to(place)
        if name:
            sheet.choose(name)
        if typed is not None:
            sheet.fill(typed)
        self.straight_to_working = bool(name)
        self.open("working" if name else "workings")

    def leave_workings(self) -> None:
        """Back to the page one came from, as it was left."""
        self.open(self._came_from)

    def open_list(self) -> None:
        """Show what is open; Esc leads back to where one came from."""
        from tankwalk.screens.open_list import OpenScreen

        screen, front = self._kept("open"), self.screen
        if isinstance(screen, OpenScreen) and isinstance(front, PageScreen):
            screen.came_from = front.scope
        self._show(screen)

    def incident(self, key: Key, who: str = "", *, looked: bool = False) -> None:
        """Show one flag; Esc leads back to where one came from.

        `who` is the person who is at the screen, where known; `looked` says what a look found.
        """
        from tankwalk.screens.incident import IncidentScreen

        screen, front = self._screens.get("flag"), self.screen
        if isinstance(screen, IncidentScreen):
            screen.begin(key)
        else:
            screen = IncidentScreen(self.site, key)
            self._install("flag", screen)
        if isinstance(front, PageScreen) and front.scope in ("board", "open", "handover"):
            screen.came_from = front.scope
        elif front is self._screens.get("walk"):
            screen.came_from = "walk"
        self._show(screen)
        screen.came_back(who, looked=looked)

    def leave_incident(self) -> None:
        """Back to the page one came from."""
        from tankwalk.screens.incident import IncidentScreen

        screen = self._screens.get("flag")
        came_from = screen.came_from if isinstance(screen, IncidentScreen) else "board"
        if came_from == "walk":
            self._show(self._screens["walk"])
        else:
            self.open(came_from)

    def look_at(self, asked: Asked, who: str, key: Key | None) -> None:
        """Look at some items again, as a small round of its own; it leads back to its flag."""
        self._show(self._looking(asked, who, key))

    def _looking(self, asked: Asked, who: str, key: Key | None) -> PageScreen:
        from tankwalk.practice.round.looks import LookWalk
        from tankwalk.screens.look import LookScreen

        walk, screen = LookWalk(self.site, asked, who), self._screens.get("look")
        if isinstance(screen, LookScreen):
            screen.look_at(walk, key)
            return screen
        return self._install("look", LookScreen(self.site, walk, key))

    def looked(self, key: Key | None, who: str) -> None:
        """A look is over: back to its flag, and what it found; without one to the board."""
        if key is None:
            self.open("board")
        else:
            self.incident(key, who, looked=True)

    def feed(self, meal: Instant | None = None) -> None:
        """Show the list of a meal; without one, of the meal to give now."""
        from tankwalk.screens.feed import FeedScreen

        screen = self._kept("feed")
        if isinstance(screen, FeedScreen):
            screen.take(meal)
        self._show(screen)

    def give_meal(self, meal: Instant, who: str, given_at: Instant | None, tank: str) -> None:
        """Walk a meal, from a tank where one is named, else from the first that is open."""
        self._show(self._feeding(meal, who, given_at, tank))

    def _feeding(self, meal: Instant, who: str, given_at: Instant | None, tank: str) -> PageScreen:
        from tankwalk.practice.meal.feed_walk import FeedWalk
        from tankwalk.screens.feed import FeedingScreen

        walk, screen = FeedWalk(self.site, meal, who, given_at), self._screens.get("feeding")
        if tank:
            walk.go_to(tank)
        if isinstance(screen, FeedingScreen):
            screen.begin(walk)
            return screen
        return self._install("feeding", FeedingScreen(self.site, walk))

    def live_feed(self, batch: str = "") -> None:
        """Show live feed, standing at a batch where one is named; Esc leads back."""
        from tankwalk.screens.livefeed import LiveFeedScreen

        screen, front = self._kept("livefeed"), self.screen
        if isinstance(screen, LiveFeedScreen) and isinstance(front, PageScreen):
            if front.scope in ("board", "feed", "pages", "handover"):
                screen.came_from = front.scope
            self._show(screen)
            if batch and not screen.stand_at(batch):
                self.batch(batch)

    def batch(self, name: str) -> None:
        """Show one batch by its name."""
        from tankwalk.screens.livefeed import BatchScreen

        screen = self._screens.get("batch")
        if isinstance(screen, BatchScreen):
            screen.begin(name)
        else:
            screen = self._install("batch", BatchScreen(self.site, name))
        self._show(screen)

    def count(
        self,
        about: About | None = None,
        who: str = "",
        then: Callable[[str], None] | None = None,
    ) -> None:
        """Show the counting pad; what it is of is asked where `about` does not say it.

        `then` is given what was kept in one sentence; without it that is said on the page one came
        from, to which Esc leads back as well.
        """
        from tankwalk.screens.count import CountScreen

        screen, front = self._kept("count"), self.screen
        if isinstance(front, PageScreen) and front in self._screens.values():
            self._counted_from = front if front is not screen else self._counted_from
        if isinstance(screen, CountScreen):
            screen.take(about, who, then)
        self._show(screen)

    def _counting(self, first: CountAt) -> PageScreen:
        from tankwalk.practice.livefeed.count_talk import of_batch
        from tankwalk.screens.count import CountScreen

        screen = self._kept("count")
        if isinstance(screen, CountScreen):
            about = None if first.batch is None else of_batch(self.site, first.batch)
            screen.take(about, first.who or "")
        return screen

    def leave_count(self, said: str) -> None:
        """Back to the page one came from, which says what was kept."""
        back = self._counted_from or self._kept("board")
        self._show(back)
        if said:
            back.say(said)

    def back_to(self, screen: PageScreen | None) -> None:
        """Back to the page one came from."""
        self._show(screen or self._kept("board"))

    def page_list(self) -> None:
        """Show every page; Esc leads back to where one came from."""
        from tankwalk.screens.page_list import PagesScreen

        screen, front = self._kept("pages"), self.screen
        if isinstance(screen, PagesScreen) and isinstance(front, PageScreen):
            screen.came_from = front.scope
        self._show(screen)

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

    def guided(self, batch: str = "") -> None:
        """Show the guided procedure that is under way, one by its batch, or begin one."""
        from tankwalk.screens.guided import GuidedScreen

        screen, front = self._kept("guided"), self.screen
        if isinstance(front, PageScreen) and front is not screen:
            self._guided_from = front if front in self._screens.values() else None
        if isinstance(screen, GuidedScreen):
            screen.take(batch)
        self._show(screen)

    def leave_guided(self) -> None:
        """Back to the page one came from."""
        self._show(self._guided_from or self._kept("board"))

    def check_meter(self, code: str) -> None:
        """Show one meter, to be checked."""
        from tankwalk.screens.meters import MeterScreen

        screen = self._screens.get("meter")
        if isinstance(screen, MeterScreen):
            screen.begin(code)
        else:
            screen = self._install("meter", MeterScreen(self.site, code))
        self._show(screen)

    @property
    def worksheet(self) -> Worksheet:
        """What is typed at the Workings, for as long as the program runs."""
        if self._worksheet is None:
            from tankwalk.practice.workings.worksheet import Worksheet

            self._worksheet = Worksheet(self.site)
        return self._worksheet

    def _walking(self, found: RoundSeen, who: str) -> PageScreen:
        from tankwalk.practice.round.walk import Walk
        from tankwalk.screens.walk import WalkScreen

        screen = self._screens.get("walk")
        if isinstance(screen, WalkScreen):
            screen.begin(Walk(self.site, found, who))
            return screen
        return self._install("walk", WalkScreen(self.site, Walk(self.site, found, who)))

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
        return found.made(self)

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
    paint_changed_cells_only()
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
