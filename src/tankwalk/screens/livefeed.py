"""The Live feed screen: batches and stock, where one key does the next step."""

from __future__ import annotations

from tankwalk.ledger.feeding import BatchKind
from tankwalk.pages import batch as batch_page
from tankwalk.pages import livefeed as page
from tankwalk.pages import livefeed_words, steps
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.live_feed import BatchView, LiveFeedView, batch_view, live_feed
from tankwalk.practice.livefeed import choosing
from tankwalk.practice.livefeed.batches import LiveBatch
from tankwalk.practice.livefeed.choosing import Row
from tankwalk.practice.livefeed.on_hand import OnHand
from tankwalk.practice.livefeed.setting import PlannedCone
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen


class _CountingScreen(AskingScreen):
    """Where a batch is counted on the counting pad, which leads back here."""

    def new_hand(self) -> None:
        """One hand goes on between the list, a batch and the pad: they are one piece of work."""
        self.hand = self.tankwalk.feed_hand

    def _count(self, row: Row | None) -> None:
        from tankwalk.practice.counting.talk import of_batch

        batch = choosing.counted_at(row)
        self.tankwalk.count(of_batch(self.site, batch), self.hand.of(self.site.now()))


class LiveFeedScreen(_CountingScreen):
    """The list: arrows move, Enter does the next step of the row that is marked."""

    scope = "livefeed"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.at = 0
        self.view: LiveFeedView = live_feed(site)
        self.came_from = "board"

    def look(self) -> None:
        stood = self.row
        self.view = live_feed(self.site)
        self.at = max(0, min(self.at, len(self.view.rows) - 1))
        # What is harvested moves down the page, and is to be counted.
        if isinstance(stood, LiveBatch) and stood.kind is BatchKind.CONE:
            self._stand_at(stood.name)

    def _stand_at(self, batch: str) -> bool:
        rows = self.view.rows
        found = (
            k for k, row in enumerate(rows) if isinstance(row, LiveBatch) and row.name == batch
        )
        at = next(found, None)
        self.at = self.at if at is None else at
        return at is not None

    def stand_at_planned(self) -> None:
        """Stand at the first cone that is still to be set, where there is one."""
        rows = enumerate(self.view.rows)
        self.at = next((k for k, row in rows if isinstance(row, PlannedCone)), self.at)
        self.draw()

    def stand_at_stock(self, code: str) -> None:
        """Stand at what is in stock of a feed or a lot, where it is on the page."""
        rows = enumerate(self.view.rows)
        here = (k for k, row in rows if isinstance(row, OnHand) and row.code == code)
        self.at = next(here, self.at)
        self.draw()

    def stand_at(self, batch: str) -> bool:
        """Stand at a batch by its name; False where it is not on the page."""
        found = self._stand_at(batch)
        if found:
            self.draw()
        return found

    @property
    def row(self) -> Row | None:
        """What one stands at."""
        rows = self.view.rows
        return rows[self.at] if rows else None

    def lines(self, width: int, height: int) -> list[Line]:
        if self.asking is not None:
            below = steps.draw(self.asking, width)
        else:
            said = wrapped(width, self.said, "check", 5) if self.said else []
            does = [("Enter", livefeed_words.row_word(self.row, self.view.now))]
            below = [*said, footer(self.scope, width, does)]
        return [*page.draw(self.view, width, height - len(below), self.at), *below][-height:]

    # ---- acts

    def step(self, lines: int) -> None:
        if self.asking is not None:
            return  # what is asked is about the row one stands at
        self.at = max(0, min(self.at + lines, len(self.view.rows) - 1))
        self.said = ""
        self.draw_soon()

    def do_choose(self) -> None:
        if choosing.counts_next(self.row):
            self._count(self.row)
            return
        wanted = page.to_chill(self.view, self.row)
        talk = choosing.next_step(self.site, self.hand, self.row, wanted)
        if talk is None:
            self.do_batch()
        else:
            self.ask(talk)

    def do_more(self) -> None:
        self.ask(choosing.another(self.site, self.hand, self.row))

    def do_count(self) -> None:
        self._count(self.row)

    def do_out(self) -> None:
        self.ask(choosing.throw_out(self.site, self.hand, self.row))

    def do_undo(self) -> None:
        self.ask(choosing.take_back(self.site, self.hand, self.row))

    def do_batch(self) -> None:
        row = self.row
        if isinstance(row, LiveBatch) and row.events:
            self.tankwalk.batch(row.name)
        else:
            self.say("Stand at a batch to read its story.")

    def do_board(self) -> None:
        self.tankwalk.open(self.came_from)


class BatchScreen(_CountingScreen):
    """One batch, opened by its name: its story; Enter does its next step."""

    scope = "batch"

    def __init__(self, site: Site, name: str) -> None:
        super().__init__(site)
        self.name_of = name
        self.view: BatchView | None = None

    def begin(self, name: str) -> None:
        """Take another batch."""
        self.name_of = name

    def look(self) -> None:
        self.view = batch_view(self.site, self.name_of)

    def lines(self, width: int, height: int) -> list[Line]:
        if self.view is None:
            missing = wrapped(width, f"There is no batch {self.name_of}.", "check", 2)
            return self.above(missing, width, height)
        return self.above(batch_page.draw(self.view, width), width, height)

    def keys(self, width: int) -> Line:
        """What Enter does with the batch; where it does nothing it is not offered."""
        one = self.one
        if one is None or choosing.only_read(one, self.site.now()):
            return footer(self.scope, width)
        return footer(self.scope, width, [("Enter", livefeed_words.row_word(one, self.site.now()))])

    @property
    def one(self) -> LiveBatch | None:
        """The batch as it was read last."""
        return None if self.view is None else self.view.batch

    # ---- acts

    def do_choose(self) -> None:
        if choosing.counts_next(self.one):
            self._count(self.one)
            return
        talk = None
        if self.one is not None and self.one.next is not None:
            talk = choosing.next_step(self.site, self.hand, self.one)
        if talk is None:
            self.say("Nothing is to be done with it now. + lists what can be entered.")
        else:
            self.ask(talk)

    def do_more(self) -> None:
        self.ask(choosing.another(self.site, self.hand, self.one))

    def do_count(self) -> None:
        self._count(self.one)

    def do_out(self) -> None:
        self.ask(choosing.throw_out(self.site, self.hand, self.one))

    def do_undo(self) -> None:
        self.ask(choosing.take_back(self.site, self.hand, self.one))

    def do_board(self) -> None:
        self.tankwalk.open("livefeed")
