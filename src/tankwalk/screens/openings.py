"""What opens each page, and where Esc leads back to."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from tankwalk.ledger.rounds import RoundSeen
from tankwalk.practice.site import Site
from tankwalk.screens.base import PageScreen
from tankwalk.screens.beginnings import CountAt, GuidedAt, LookAt, SampleAt, SheetAt, Start
from tankwalk.screens.kept import Screens

if TYPE_CHECKING:
    from tankwalk.clock import Instant
    from tankwalk.practice.counting.pad import About
    from tankwalk.practice.dialog import Hand
    from tankwalk.practice.judging.standing.flags import Key
    from tankwalk.practice.round.looks import Asked
    from tankwalk.practice.transcribing.sheet_walk import SheetWalk
    from tankwalk.practice.workings.worksheet import Worksheet


COME_FROM = ("board", "walk", "handover", "pages", "meters", "count", "ration")
"""Scopes to which Esc leads back from the Workings."""

FROM_STOCK = ("stock", "stocktank", "look")
"""Scopes of the stock itself, and of what is done from it: Esc does not lead back to them."""


class Openings(Screens):
    """An app that opens pages by name, or with what they are about in hand."""

    def __init__(self, site: Site, *, ansi_color: bool | None) -> None:
        super().__init__(site, ansi_color=ansi_color)
        self._worksheet: Worksheet | None = None
        self._came_from = "board"
        self._counted_from: PageScreen | None = None
        self._sampled_from: PageScreen | None = None
        self._guided_from: PageScreen | None = None
        self._feed_hand: Hand | None = None
        self.straight_to_working = False
        """Whether Esc leads from a calculator to where one was, not to the list."""

    @property
    def feed_hand(self) -> Hand:
        """Who writes in the live feed room: the list, its batches and the pad ask once."""
        from tankwalk.practice.dialog import Hand

        if self._feed_hand is None:
            self._feed_hand = Hand()
        return self._feed_hand

    def _beginning(self, first: Start) -> PageScreen:
        """The page the program begins with: the board where the clock is asked about first."""
        if self.site.clock_doubt() is not None:
            return self._kept("board")
        if isinstance(first, str):
            return self._kept(first)
        if isinstance(first, LookAt):
            return self._looking(first.asked, first.who, None)
        if isinstance(first, CountAt):
            return self._counting(first)
        if isinstance(first, SampleAt):
            return self._sampling(first)
        if isinstance(first, GuidedAt):
            return self._guiding(first.name)
        if isinstance(first, SheetAt):
            return self._from_paper(first)
        return self._walking(*first)

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

    def transcribe(self) -> None:
        """Type in a round that was walked on paper: ask which it is."""
        from tankwalk.screens.transcribe import TranscribeScreen

        screen, front = self._from_paper(SheetAt()), self.screen
        if isinstance(screen, TranscribeScreen) and isinstance(front, PageScreen):
            if front.scope in ("who", "pages"):
                screen.came_from = front.scope
        self._show(screen)

    def _from_paper(self, first: SheetAt) -> PageScreen:
        from tankwalk.screens.transcribe import TranscribeScreen

        screen = self._kept("transcribe")
        if isinstance(screen, TranscribeScreen):
            screen.take(first.checklist, first.who)
        return screen

    def sheet(self, walk: SheetWalk) -> None:
        """Show a paper round that is typed in."""
        from tankwalk.screens.transcribe import SheetScreen

        screen = self._screens.get("sheet")
        if isinstance(screen, SheetScreen):
            screen.begin(walk)
        else:
            screen = self._install("sheet", SheetScreen(self.site, walk))
        self._show(screen)

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
        elif front is self._screens.get("tank") and not self._tank_came_from(screen):
            screen.came_from = "tank"
        elif front is self._screens.get("walk"):
            screen.came_from = "walk"
        self._show(screen)
        screen.came_back(who, looked=looked)

    def tank(self, place: str = "") -> None:
        """Show a tank, a loop or the site with its past; Esc leads back to where one came from.

        Without a place that of the worst flag, or the one that was seen last.
        """
        from tankwalk.screens.incident import IncidentScreen
        from tankwalk.screens.tank import TankScreen

        screen, front = self._kept("tank"), self.screen
        if isinstance(screen, TankScreen):
            screen.take(place)
            from_it = isinstance(front, IncidentScreen) and front.came_from == "tank"
            if isinstance(front, PageScreen) and front is not screen and not from_it:
                screen.came_from = front if front in self._screens.values() else None
        self._show(screen)

    def stock(self, tank: str = "") -> None:
        """Show the stock of all tanks, at one where it is named; Esc leads back."""
        from tankwalk.screens.stock import StockScreen

        screen, front = self._kept("stock"), self.screen
        if isinstance(screen, StockScreen):
            if isinstance(front, PageScreen) and front.scope not in FROM_STOCK:
                screen.came_from = front if front in self._screens.values() else None
            self._show(screen)
            screen.stand_at(tank)

    def stock_of(self, tank: str) -> None:
        """Show the whole account of one tank; Esc leads to the list."""
        from tankwalk.screens.stock import StockTankScreen

        screen = self._screens.get("stocktank")
        if isinstance(screen, StockTankScreen):
            screen.begin(tank)
        else:
            screen = self._install("stocktank", StockTankScreen(self.site, tank))
        self._show(screen)

    def count_on(self, tank: str) -> None:
        """On with fish of a tank that are counted by samples."""
        from tankwalk.screens.stock import StockTankScreen

        self.stock_of(tank)
        screen = self._screens.get("stocktank")
        if isinstance(screen, StockTankScreen):
            screen.do_go_on()

    def _tank_came_from(self, screen: PageScreen) -> bool:
        """Whether the tank's page was opened from a page, which then keeps its own way back."""
        from tankwalk.screens.tank import TankScreen

        tank = self._screens.get("tank")
        return isinstance(tank, TankScreen) and tank.came_from is screen

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

    def looked(self, key: Key | None, who: str, kept: str) -> None:
        """A look is over: back to its flag, and what it found; without one the board says it."""
        if key is None:
            board = self._kept("board")
            self._show(board)
            board.say(kept)
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

    def live_feed(self, batch: str = "", *, to_set: bool = False, stock: str = "") -> None:
        """Show live feed, at a batch, a stock or the next cone to set; Esc leads back."""
        from tankwalk.screens.livefeed import LiveFeedScreen

        screen, front = self._kept("livefeed"), self.screen
        if isinstance(screen, LiveFeedScreen) and isinstance(front, PageScreen):
            if front.scope in ("board", "feed", "pages", "handover"):
                screen.came_from = front.scope
            self._show(screen)
            if to_set:
                screen.stand_at_planned()
            if stock:
                screen.stand_at_stock(stock)
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
        from tankwalk.practice.counting.talk import of_batch
        from tankwalk.screens.count import CountScreen

        screen = self._kept("count")
        if isinstance(screen, CountScreen):
            about = None if first.batch is None else of_batch(self.site, first.batch)
            screen.take(about, first.who or "")
        return screen

    def leave_count(self, said: str) -> None:
        """Back to the page one came from, which says what was kept."""
        from tankwalk.screens.asking import AskingScreen

        back, count = self._counted_from or self._kept("board"), self._screens.get("count")
        self._show(back)
        if said and isinstance(back, AskingScreen) and isinstance(count, AskingScreen):
            # Who counted goes on: what follows a count is done by the same hand.
            now = self.site.now()
            back.hand.named(count.hand.of(now), now)
        if said:
            back.say(said)

    def samples(self, tank: str) -> None:
        """Show the samples of all tanks, at one where it is named."""
        from tankwalk.screens.samples import SamplesScreen

        self.open("samples")
        screen = self._kept("samples")
        if tank and isinstance(screen, SamplesScreen):
            screen.stand_at(tank)

    def sample(self, tank: str, who: str = "", *, blind: bool = False) -> None:
        """Show the sitting of a tank, fish by fish; Esc leads back to where one came from."""
        front = self.screen
        if isinstance(front, PageScreen) and front in self._screens.values():
            self._sampled_from = front
        self._show(self._sampling(SampleAt(tank, who, blind)))

    def _sampling(self, first: SampleAt) -> PageScreen:
        from tankwalk.screens.sample import SampleScreen

        screen = self._kept("sample")
        if isinstance(screen, SampleScreen):
            screen.take(first.tank, first.who, blind=first.blind)
        return screen

    def leave_sample(self, said: str) -> None:
        """Back to the page one came from, which says what was kept."""
        back = self._sampled_from or self._kept("samples")
        self._show(back)
        if said:
            back.say(said)

    def back_to(self, screen: PageScreen | None) -> None:
        """Back to the page one came from."""
        self._show(screen or self._kept("board"))

    def judge(self, place: str, item: str) -> None:
        """Show the flags and looks of an item at a place; Esc leads back to where one came from."""
        from tankwalk.screens.judging import LimitScreen

        screen, front = self._kept("limit"), self.screen
        if isinstance(screen, LimitScreen):
            screen.take(place, item, front if isinstance(front, PageScreen) else None)
        self._show(screen)

    def page_list(self) -> None:
        """Show every page; Esc leads back to where one came from."""
        from tankwalk.screens.page_list import PagesScreen

        screen, front = self._kept("pages"), self.screen
        if isinstance(screen, PagesScreen) and isinstance(front, PageScreen):
            screen.came_from = front.scope
        self._show(screen)

    def guided(self, batch: str = "") -> None:
        """Show the guided procedure that is under way, one by its batch, or begin one."""
        screen, front = self._guiding(batch), self.screen
        if isinstance(front, PageScreen) and front is not screen:
            self._guided_from = front if front in self._screens.values() else None
        self._show(screen)

    def _guiding(self, name: str) -> PageScreen:
        """The page of guided procedures, with one in hand by its name."""
        from tankwalk.screens.guided import GuidedScreen

        screen = self._kept("guided")
        if isinstance(screen, GuidedScreen):
            screen.take(name)
        return screen

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

    # ---- one of each, and which is in front
