"""The board screen: where every shift begins."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.errors import Refusal
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, filled, wrapped
from tankwalk.pages.room_words import title
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import (
    BackupDue,
    BatchDue,
    CallDue,
    CheckDue,
    ConeOut,
    ConeToSet,
    CountLeft,
    DeviationsDrafted,
    Due,
    HarvestDue,
    LookDue,
    MealNext,
    MealsOwed,
    MetersDue,
    OrderDue,
    PoorHatch,
    RoundDue,
    RoundUnsigned,
    Runs,
    SampleLeft,
    SamplesDue,
    TimerDue,
)
from tankwalk.screens import ahead
from tankwalk.screens.base import PageScreen

if TYPE_CHECKING:
    from tankwalk.practice.board import Board

WIDE = 118
"""From this width on tanks may have room for their past; only then it is read."""

ORDERS_AFTER = 2
"""So many times the wait for what loads ahead, until what is to be ordered is read."""

REFRESH_SECONDS = 300.0
"""How often a board left open reads the record anew; an unchanged page sends nothing."""


class BoardScreen(PageScreen):
    """Draws the board and leads on to the walk and the handover.

    As the first page it is read before anything is painted: once, and painted once.
    """

    scope = "board"
    keeps = False

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.board: Board | None = None
        self.at = 0
        """The line of what comes next that Enter does."""
        self._orders: tuple[OrderDue, ...] = ()
        """What is to be ordered, as it was read last."""
        self._left: tuple[Due, ...] = ()
        """Counts that were left under way and old backups, as they were read last."""
        self._days = 0
        """How many days of past the board that stands was read with."""

    def on_mount(self) -> None:
        super().on_mount()
        self.set_interval(REFRESH_SECONDS, self.falls_due)

    def arrive(self) -> None:
        self.said = ""
        self._read()
        self.at = 0
        super().arrive()
        self._ask_later()

    def _ask_later(self) -> None:
        """Read what is to be ordered, and what was left, after the board stands: no start waits."""
        self.call_after_refresh(
            self.set_timer, ORDERS_AFTER * ahead.AFTER_SECONDS, self._read_later
        )

    def _read_later(self) -> None:
        """Show what is to be ordered and was left, where it is not as it was."""
        if self.app.screen is not self or self.board is None:  # a covered page may be "current"
            return
        from tankwalk.practice.due.counts_left import counts_left
        from tankwalk.practice.due.ordering import orders_due
        from tankwalk.practice.keeping.age import backups_due

        try:
            found = tuple(orders_due(self.site))
            now = self.site.now()
            left = (*counts_left(self.site, now), *backups_due(self.site, now))
        except Refusal:
            return  # the board itself tells what cannot be read
        if found != self._orders or [one.facts for one in left] != [
            one.facts for one in self._left
        ]:
            self._orders, self._left = found, left
            self._read()
            self.draw()

    def _show(self, board: Board) -> None:
        """Put a board in place of the one that stood, and the mark on the line it was on."""
        board = board.with_later(self._orders, self._left)
        stood = [] if self.board is None else self.board.next
        marked = stood[self.at].thing if self.at < len(stood) else None
        things = [one.thing for one in board.next]
        if marked in things:
            self.at = things.index(marked)
        self.at = max(0, min(self.at, len(things) - 1))
        self.board = board

    def _read(self) -> None:
        """Read the board; where the record cannot be read just now, say so and keep what stood."""
        from tankwalk.practice.board import board

        try:
            self._show(board(self.site))
        except Refusal as refusal:
            self.said = str(refusal)
        else:
            assert self.board is not None
            looks = [one.facts.at for one in self.board.due if isinstance(one.facts, LookDue)]
            later = [at for at in looks if at.utc > self.board.now.utc]
            self.tankwalk.await_moment("look", min(later, key=lambda at: at.utc, default=None))

    def falls_due(self) -> None:
        """A look came due, or minutes passed: read anew, and leave the person where they stand."""
        self.said = ""
        self._read()
        self.draw()
        self._ask_later()

    def lines(self, width: int, height: int) -> list[Line]:
        said = wrapped(width, self.said, "check", 4) if self.said else []
        room = height - 1 - len(said)
        return [*self._shown(width, room), *said, footer("board", width)]

    def _shown(self, width: int, room: int) -> list[Line]:
        if self.board is None:
            return filled(title(self.site.plan.name, self.site.now(), width), width, room)
        from tankwalk.pages import board as page

        if width >= WIDE:
            self.board = self._with_plots(self.board, width, room)
        if self.top > 0:
            return self.scrolled(page.draw(self.board, width, None), width, room)
        self.top = 0
        return page.draw(self.board, width, room, self.at)

    def _with_plots(self, board: Board, width: int, height: int) -> Board:
        """A board with the past of its tanks where the window has room for it: read once."""
        from tankwalk.pages.board_wide import days_of

        days = days_of(board, width, height)
        if not days or (board.plots is not None and days == self._days):
            return board
        self._days = days
        from tankwalk.practice.tile_plots import with_plots

        try:
            return with_plots(self.site, board, days)
        except Refusal as refusal:
            self.said = str(refusal)
            return board._replace(plots=())

    # ---- what comes next

    def do_down(self) -> None:
        """The next line of what comes next; after the last one the page goes on."""
        if self.board is not None and self.top == 0 and self.at < len(self.board.next) - 1:
            self.at += 1
            self.draw()
        else:
            super().do_down()

    def do_flag(self) -> None:
        """The worst flag: what to do, when to look, whom to call."""
        wrong = () if self.board is None else self.board.wrong
        if wrong:
            self.tankwalk.incident(wrong[0].key)
        else:
            self.say("Nothing is out of band.")

    def do_up(self) -> None:
        if self.top == 0 and self.at > 0:
            self.at -= 1
            self.draw()
        else:
            super().do_up()

    def do_do(self) -> None:
        """Do the line of what comes next; where nothing does, the round that is due."""
        board = self.board
        if board is None or not board.next:
            self.do_walk()
            return
        match board.next[self.at].facts:
            case RoundDue(label=label) | RoundUnsigned(label=label):
                self.tankwalk.begin_round(label)
            case CheckDue(label=label, many=many) if many > 1:
                self.tankwalk.begin_round(label)
            case CheckDue(label=label):
                self.tankwalk.begin_round(self._asked_in(label))
            case MetersDue(meters):
                if len(meters) == 1:
                    self.tankwalk.check_meter(meters[0].code)
                else:
                    self.do_meters()
            case LookDue(key=key) | CallDue(key=key):
                self.tankwalk.incident(key)
            case DeviationsDrafted():
                self.do_open()
            case MealNext(at=at):
                self.tankwalk.feed(at)
            case MealsOwed(since=since):
                self.tankwalk.feed(since[0] if len(since) == 1 else None)
            case SamplesDue():
                self.do_samples()
            case OrderDue(code):
                self.tankwalk.live_feed(stock=code)
            case SampleLeft(place=place):
                self.tankwalk.sample(place)
            case CountLeft(place=place):
                self.tankwalk.count_on(place)
            case BackupDue():
                self._back_up()
            case TimerDue(what=Runs.ENRICH, batch=batch):
                self.tankwalk.live_feed(batch)
            case TimerDue(batch=batch):
                self.tankwalk.guided(batch)
            case (
                HarvestDue(batch=batch)
                | ConeOut(batch=batch)
                | PoorHatch(batch=batch)
                | BatchDue(batch=batch)
            ):
                self.tankwalk.live_feed(batch)
            case ConeToSet():
                self.tankwalk.live_feed(to_set=True)
            case _:
                self.do_handover()

    def _back_up(self) -> None:
        """Make a backup: in a process of its own, or at once where the clock is a rehearsal's."""
        from tankwalk.pages import keeping_words
        from tankwalk.practice.keeping import background, rule

        if background.begin(self.site):
            self.say("A backup is being made, and checked. Go on.")
            return
        try:
            self.say(keeping_words.on_board(rule.keep(self.site)))
            self._read_later()
        except (Refusal, OSError) as fault:
            self.say(str(fault))

    def _asked_in(self, label: str) -> str:
        """The round in which a check of this name is asked: a plan with one none asks is faulty."""
        codes = {item.code for item in self.site.plan.items if item.label == label}
        rounds = self.site.plan.checklists
        found = (one for one in rounds if codes & {*one.site, *one.loop, *one.tank})
        return next(one.label for one in found)

    def do_workings(self) -> None:
        """The list of calculators, whatever is wrong now: a number means one thing here."""
        self.tankwalk.work()

    def do_quit(self) -> None:
        self.leave_program("Esc", None if self.board is None else self.board.unsigned)
