"""The Stock screens: all tanks in a list, and one tank; Enter counts or moves fish there."""

from __future__ import annotations

from tankwalk.pages import steps, stock_tank
from tankwalk.pages import stock as page
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.dialog import Talk, writer
from tankwalk.practice.site import Site
from tankwalk.practice.stock.dead import MORTS
from tankwalk.practice.stock_view import StockView, view
from tankwalk.practice.stocking import entering, samples
from tankwalk.screens.asking import AskingScreen
from tankwalk.screens.base import PageScreen


class _StockScreen(AskingScreen):
    """What both share: the view, and the talks about the tank of `place_here`."""

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.view: StockView = view(site)
        self._counts = ""
        """Who goes on to count the dead; "" for nobody."""

    def look(self) -> None:
        self.view = view(self.site)

    def do_take(self) -> None:
        """Count or move fish of the tank."""
        if not self.place_here():
            self.say("The plan has no tank.")
            return
        self.ask(entering.enter(self.site, self.hand, self.place_here()))

    def do_go_on(self) -> None:
        """On with volume samples that were left under way."""
        self.ask(samples.go_on(self.site, self.hand, self.place_here()))

    def do_undo(self) -> None:
        """Take back one's own newest movement."""
        self.ask(entering.take_back(self.site, self.hand, self.place_here()))

    def do_dead(self) -> None:
        """Count the dead of the tank: a look of its own, judged and with causes as in a round."""
        if self.place_here() and self.site.plan.find_item(MORTS) is not None:
            self.ask(self._who_counts(), keeps=False)
        else:
            self.say("The plan asks for no count of the dead.")

    def _who_counts(self) -> Talk:
        self._counts = yield from writer(self.site, self.hand, "Who counts the dead?")
        return ""

    def _went_on(self) -> None:
        super()._went_on()
        if self.asking is None and self._counts:
            who, self._counts = self._counts, ""
            self.tankwalk.look_at(((self.place_here(), MORTS),), who, None)


class StockScreen(_StockScreen):
    """The list: arrows move, right shows the tank that is marked."""

    scope = "stock"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.at = 0
        self.came_from: PageScreen | None = None

    def look(self) -> None:
        super().look()
        self.at = max(0, min(self.at, len(self.view.rows) - 1))

    def stand_at(self, tank: str) -> None:
        """Stand at a tank by its code, where it is on the page."""
        codes = [row.tank.code for row in self.view.rows]
        if tank in codes:
            self.at = codes.index(tank)
            self.draw()

    def place_here(self) -> str:
        return self.view.rows[self.at].tank.code if self.view.rows else ""

    def lines(self, width: int, height: int) -> list[Line]:
        if self.asking is not None:
            below = steps.draw(self.asking, width)
        else:
            said = wrapped(width, self.said, "check", 4) if self.said else []
            below = [*said, footer(self.scope, width)]
        room = height - len(below)
        return [*page.draw(self.view, width, room, self.at), *below][-height:]

    def step(self, lines: int) -> None:
        if self.asking is not None:
            return  # what is asked stays what the mark stands at
        self.at = max(0, min(self.at + lines, len(self.view.rows) - 1))
        self.said = ""
        self.draw_soon()

    def do_account(self) -> None:
        """The whole account of the tank that is marked."""
        if self.asking is None and self.place_here():
            self.tankwalk.stock_of(self.place_here())

    def do_board(self) -> None:
        self.tankwalk.back_to(self.came_from)


class StockTankScreen(_StockScreen):
    """One tank, opened by its code: its account, as long as it is."""

    scope = "stocktank"

    def __init__(self, site: Site, tank: str) -> None:
        super().__init__(site)
        self.code = tank

    def begin(self, tank: str) -> None:
        """Take another tank."""
        self.code = tank

    def place_here(self) -> str:
        return self.code

    def lines(self, width: int, height: int) -> list[Line]:
        return self.above(stock_tank.draw(self.view, self.code, width), width, height)

    def _next(self, way: int) -> None:
        codes = [row.tank.code for row in self.view.rows]
        if self.asking is None and self.code in codes:
            self.code = codes[(codes.index(self.code) + way) % len(codes)]
            self.top, self.said = 0, ""
            self.draw()

    def do_left(self) -> None:
        self._next(-1)

    def do_right(self) -> None:
        self._next(1)

    def do_board(self) -> None:
        self.tankwalk.stock(self.code)
