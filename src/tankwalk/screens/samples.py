"""The screen of samples: Enter asks for the one the mark stands at, and goes on to the next due."""

from __future__ import annotations

from tankwalk.pages import samples as page
from tankwalk.pages import steps
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, blank, wrapped
from tankwalk.practice.dialog import Step, Talk
from tankwalk.practice.samples import bulk, entering, sampling, since
from tankwalk.practice.samples.fish import Look
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen

PAPER = "numbers from paper"
BULK = "weighed together"


class SamplesScreen(AskingScreen):
    """Draws tanks and kinds; arrows move the mark, Enter asks."""

    scope = "samples"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.blind, self._to_sample = False, ""
        self.view = sampling.view(site)
        self.at = (0, 0)

    def arrive(self) -> None:
        super().arrive()
        self.at = self.view.next_due((0, 0))
        self.draw()

    def stand_at(self, tank: str) -> None:
        """Stand at a tank by its code, at what is due there first."""
        for y, row in enumerate(self.view.rows):
            if row.tank.code == tank and self.asking is None:
                due = (x for x, cell in enumerate(row.cells) if cell.due)
                self.at = y, next(due, 0)
                self.draw()

    def look(self) -> None:
        self.view = sampling.view(self.site, blind=self.blind)
        rows, kinds = len(self.view.rows), len(self.view.kinds)
        self.at = min(self.at[0], max(0, rows - 1)), min(self.at[1], max(0, kinds - 1))
        if rows:
            self.at = self.view.next_due(self.at)

    def lines(self, width: int, height: int) -> list[Line]:
        if self.asking is not None:
            below = steps.draw(self.asking, width)
        else:
            said = wrapped(width, self.said, "check", 4) if self.said else []
            below = [*said, footer("samples", width)]
        view, room = self.view, height - len(below)
        if width >= page.GROWTH_WIDE + 2 and room >= len(view.rows) * 2 + 8 and view.rows:
            from tankwalk.practice.samples.growth_table import growth_of_all

            view = view._replace(growth=growth_of_all(self.site))
            table = page.growth(view, width)
            drawn = [*page.draw(view, self.at, width, None), blank(width), *table]
            return [*drawn, *[blank(width)] * (room - len(drawn)), *below]
        return [*page.draw(view, self.at, width, room), *below][-height:]

    def place_here(self) -> str:
        return self.view.rows[self.at[0]].tank.code if self.view.rows else ""

    # ---- keys

    def do_take(self) -> None:
        """Ask how the sample the mark stands at comes in, then for it."""
        if not self.view.rows:
            self.say("The plan asks for no sample here.")
            return
        row = self.view.rows[self.at[0]]
        self.ask(self._taken(row.tank.code, row.cells[self.at[1]]))

    def _taken(self, tank: str, cell: sampling.Cell) -> Talk:
        """Fish by fish, which is a page of its own; or by numbers from paper, or in bulk."""
        fish = since.look_of(cell.sampling.what)
        ways = [PAPER, BULK] if fish is Look.MASS else [PAPER]
        if fish is None:
            return (yield from entering.enter(self.site, self.hand, tank, cell))
        answer = yield Step(f"{tank} {cell.sampling.label}:", tuple(ways), enter="fish by fish")
        if answer.number == 0:
            self._to_sample = tank
            return ""
        if ways[answer.number - 1] == BULK:
            return (yield from bulk.enter(self.site, self.hand, tank, cell))
        return (yield from entering.enter(self.site, self.hand, tank, cell))

    def _went_on(self) -> None:
        super()._went_on()
        tank, self._to_sample = self._to_sample, ""
        if tank:
            self.tankwalk.sample(tank, self.hand.of(self.site.now()), blind=self.blind)

    def do_order(self) -> None:
        """Tanks by lot, with the treatments hidden, or as one walks."""
        self.blind = not self.blind
        self.look()
        self.at = self.view.next_due((0, 0))
        self.say(
            "Order by lot, the same all day; treatments are hidden."
            if self.blind
            else "In walking order again."
        )

    def do_undo(self) -> None:
        """Take back one's own newest sample."""
        self.ask(entering.take_back(self.site, self.hand, self.view))

    def _move(self, rows: int, columns: int) -> None:
        if self.asking is not None:
            return  # what is asked stays what the mark stands at
        self.said = ""
        y, x = self.at
        most = len(self.view.rows) - 1, len(self.view.kinds) - 1
        self.at = max(0, min(y + rows, most[0])), max(0, min(x + columns, most[1]))
        self.draw()

    def do_up(self) -> None:
        self._move(-1, 0)

    def do_down(self) -> None:
        self._move(1, 0)

    def do_left(self) -> None:
        self._move(0, -1)

    def do_right(self) -> None:
        self._move(0, 1)
