"""What all screens share: one sheet, keys looked up in the one list of actions, the look."""

from __future__ import annotations

from abc import abstractmethod
from typing import TYPE_CHECKING, Self, cast

from textual import events
from textual.app import ComposeResult

from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.ledger.readings import Seen
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.pages.actions import by_key
from tankwalk.pages.lines import Line, filled, window, wrapped
from tankwalk.practice.site import Site
from tankwalk.screens._textual_private import SheetScreen
from tankwalk.screens.sheet import Sheet
from tankwalk.screens.tones import GROUND

if TYPE_CHECKING:
    from tankwalk.screens.app import TankwalkApp
    from tankwalk.screens.openings import Openings

PAD_NAMES = {"decimal": ".", "separator": ",", "add": "+", "subtract": "-", "multiply": "*",
             "divide": "/"}  # fmt: skip
"""Number-pad keys as terminals that tell the pad apart name them."""

ENTER = ("enter", "ctrl+j")
"""Enter, and what a terminal sends for it while a program starts."""

PAD_WITHOUT_NUM_LOCK = {"home", "end", "pageup", "pagedown", "insert", "delete", "kp_begin"}
"""What the digits of the pad send while Num Lock is off."""

NUM_LOCK = "Num Lock? The number pad sends arrows: press Num Lock, then type again."
NO_CHARACTER = "That key sent a byte that is no character (not UTF-8): nothing was typed."


LEAVES = ": leave all the same."
"""How a page ends that asks before it leaves."""


class PageScreen(SheetScreen):
    """A screen that draws one page. Subclasses give `lines` and the acts `do_NAME`."""

    scope = "board"
    keeps = True
    """Whether something can be kept here, so that a clock in doubt is asked about before."""
    takes_units = False
    """Whether values with a unit are usual here."""
    AUTO_FOCUS = "Sheet"

    def __init__(self, site: Site) -> None:
        super().__init__()
        self.site = site
        self.sheet = Sheet()
        self.said = ""
        self.top = 0
        """First line shown, on a page that scrolls."""
        self._drawing = False

    @classmethod
    def made(cls, app: Openings) -> Self:
        """The screen as the app opens it by name."""
        return cls(app.site)

    @property
    def tankwalk(self) -> TankwalkApp:
        """The app, as what it is."""
        return cast("TankwalkApp", self.app)

    def compose(self) -> ComposeResult:
        yield self.sheet

    def on_mount(self) -> None:
        self.sheet.ascii = self.tankwalk.ascii
        self.set_look(self.tankwalk.look)
        if self.takes_units:
            from tankwalk.screens import ahead

            self.set_timer(ahead.UNITS_SECONDS, ahead.load_units)

    def set_look(self, look: str) -> None:
        """Change the look: the sheet's tones, and the ground in inline style.

        A Textual theme would do the ground too, but costs a second pass over all styles at start.
        """
        self.styles.background = GROUND[look]
        self.sheet.set_look(look)

    def on_screen_resume(self) -> None:
        self.draw()

    def on_resize(self, _: events.Resize) -> None:
        if self.drawn != self.size:
            self.draw()

    def arrive(self) -> None:
        """The screen is about to come to the front: read the record anew; it is drawn there."""
        if self.is_current:
            self.draw()

    def falls_due(self) -> None:
        """Something waited for came due while this page is in front: drawn once."""
        self.draw()

    def draw_soon(self) -> None:
        """Draw once the keys that are already waiting have been taken: a burst paints once."""
        if not self._drawing:
            self._drawing = True
            self.call_later(self.draw)

    def draw(self) -> None:
        """Draw the page at the present size."""
        self._drawing = False
        self.drawn = width, height = self.size
        if width and height:
            try:
                lines = self.lines(width, height)
            except Refusal as refusal:
                # The record could not be read just now: say so, and keep what was drawn before.
                lines = [*wrapped(width, str(refusal), "check", 4), *self.sheet.lines()[4:]]
                lines = filled(lines, width, height)
            if self.tankwalk.timers and lines:
                from tankwalk.pages.timer_words import in_head

                lines = [in_head(lines[0], self.tankwalk.timers, self.site.now()), *lines[1:]]
            self.sheet.show(lines)

    @abstractmethod
    def lines(self, width: int, height: int) -> list[Line]:
        """The page, exactly `height` lines."""

    # ---- pages longer than the screen

    def scrolled(self, whole: list[Line], width: int, room: int) -> list[Line]:
        """What of a long page is in sight: `room` lines, the last saying how many are below.

        The first row, with the page's name and what runs by the clock, stays where it is.
        """
        self.top = max(0, min(self.top, len(whole) - room))
        shown = window(whole[1:], width, room - 1, self.top, "down")
        return [*filled(whole, width, 1), *shown][:room]

    def _scroll(self, lines: int) -> None:
        self.top += lines
        self.draw()

    def step(self, lines: int) -> None:
        """Down by so many lines, or up; where a row is marked, it is the mark that moves."""
        self._scroll(lines)

    def do_down(self) -> None:
        self.step(1)

    def do_up(self) -> None:
        self.step(-1)

    def do_page(self) -> None:
        self._scroll(max(1, self.size.height - 6))

    def do_page_back(self) -> None:
        self._scroll(-max(1, self.size.height - 6))

    # ---- keys

    def on_key(self, event: events.Key) -> None:
        event.stop()
        if self.tankwalk.left_alone(self):
            return
        if event.key in PAD_WITHOUT_NUM_LOCK and self.scope == "walk":
            self.say(NUM_LOCK)
            return
        self.pressed(event.key, _character(event))

    def on_paste(self, event: events.Paste) -> None:
        """Pasted text; a page without an entry lets it go."""
        event.stop()

    def pasted(self, event: events.Paste) -> str:
        """Pasted text made safe; "" where it is refused (too long), and said so."""
        try:
            return text.clean(event.text)
        except Refusal as refusal:
            self.say(str(refusal))
            return ""

    def pressed(self, key: str, character: str | None) -> None:
        """One key; `character` is what it types, None for a key that types nothing."""
        del character
        action = by_key(self.scope, key)
        if action is not None:
            self.do(action.name)

    def do(self, name: str) -> None:
        """Do an act by name; a refusal becomes a sentence on the page."""
        try:
            getattr(self, f"do_{name}")()
        except Refusal as refusal:
            self.say(str(refusal))

    def say(self, sentence: str) -> None:
        """Show one sentence on the page."""
        self.said = sentence
        self.draw()

    def do_help(self) -> None:
        from tankwalk.screens.help import HelpScreen

        self.tankwalk.push_screen(HelpScreen(self.site, self.scope, self.help_slot()))

    def in_hand(self) -> str:
        """Whose initials go on what is typed here without being asked; "" where they are asked."""
        return ""

    def handed_to(self, who: str) -> None:
        """Somebody else goes on here: on the board they begin what they do."""
        self.tankwalk.open("board")
        self.tankwalk.screen.say(f"{who} goes on from here: begin there what you do.")  # type: ignore[attr-defined]

    def help_slot(self) -> object:
        """The slot that help explains, where there is one."""
        return None

    def do_board(self) -> None:
        self.tankwalk.open("board")

    def do_open(self) -> None:
        self.tankwalk.open_list()

    def do_walk(self) -> None:
        self.tankwalk.open("who")

    def do_feed(self) -> None:
        self.tankwalk.feed()

    def do_tomorrow(self) -> None:
        self.tankwalk.open("tomorrow")

    def do_livefeed(self) -> None:
        self.tankwalk.live_feed()

    def do_handover(self) -> None:
        self.tankwalk.open("handover")

    def do_meters(self) -> None:
        self.tankwalk.open("meters")

    def do_tank(self) -> None:
        """The page of the place one stands at; without one, of the worst flag."""
        self.tankwalk.tank(self.place_here())

    def do_stock(self) -> None:
        """The stock of all tanks, at the one that one stands at."""
        self.tankwalk.stock(self.place_here())

    def do_samples(self) -> None:
        """The samples of all tanks, at the one that one stands at."""
        self.tankwalk.samples(self.place_here())

    def do_season(self) -> None:
        self.tankwalk.open("season")

    def do_judging(self) -> None:
        self.tankwalk.open("judging")

    def do_trial(self) -> None:
        self.tankwalk.open("trial")

    def do_find(self) -> None:
        self.tankwalk.open("find")

    def do_pages(self) -> None:
        self.tankwalk.page_list()

    def leave_program(self, key: str, unsigned: RoundSeen | None) -> None:
        """Leave the program; while a round is open the first press says so, the second leaves."""
        if unsigned is None or self.said.endswith(LEAVES):
            self.app.exit()
            return
        label = self.site.plan.checklist(unsigned.checklist).label
        self.say(
            f"{label} is open, begun {unsigned.opened.hm()} by {unsigned.who} and not signed. "
            f"What was entered is kept. {key} again{LEAVES}"
        )

    def do_board1(self) -> None:
        self.tankwalk.open("board")

    def work_behind(self, seen: Seen | None, place: str) -> None:
        """Show how a derived reading was worked out; without one, all workings at the place."""
        from tankwalk.practice.workings import derived

        found = None if seen is None else derived.inputs_of(self.site, seen)
        if seen is None or found is None:
            self.tankwalk.work(place=place)
        else:
            self.tankwalk.work(found[0], seen.place, found[1])

    def do_workings(self) -> None:
        self.tankwalk.work(place=self.place_here())

    def place_here(self) -> str:
        """The tank, loop or site one stands at; "" where a page is of no one place."""
        return ""

    def do_count(self) -> None:
        """The counting pad, which asks what is counted."""
        self.tankwalk.count()

    def do_guided(self) -> None:
        """The procedure that is under way, else which one is begun is asked."""
        self.tankwalk.guided()

    def do_night(self) -> None:
        self.tankwalk.change_look()

    def do_palette(self) -> None:
        self.app.action_command_palette()


def _character(event: events.Key) -> str | None:
    """What a key types: pad keys by name, else a printable character, else None."""
    if event.key in PAD_NAMES:
        return PAD_NAMES[event.key]
    found = event.character
    if found is None or not event.is_printable:
        return None
    return found
