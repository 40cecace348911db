"""The screen of a guided procedure: caution first, then a step a key, the bath by the clock."""

from __future__ import annotations

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.pages import guided as page
from tankwalk.pages import steps
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, filled, spread
from tankwalk.practice.dialog import Talk
from tankwalk.practice.livefeed.guided import Danger, Procedure, Stage
from tankwalk.practice.livefeed.guided_sitting import GuidedSitting, taken_up, which
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen
from tankwalk.screens.base import NO_CHARACTER, NUM_LOCK, PAD_WITHOUT_NUM_LOCK

LONGEST = 8
"""Characters of a temperature: more is none."""


class GuidedScreen(AskingScreen):
    """One procedure; what is under way is taken up where it stands."""

    scope = "guided"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.typed = ""
        self.sitting: GuidedSitting | None = None
        self.wanted = ""

    def take(self, batch: str) -> None:
        """Take up a procedure by its batch; "" for the one that is under way."""
        self.wanted = batch
        self.sitting = None

    def look(self) -> None:
        if self.sitting is not None:
            self.sitting.reload()

    def arrive(self) -> None:
        self.typed = ""
        super().arrive()
        if self.sitting is None or self.sitting.guide is None:
            self._take_up()
        self._clocks()

    def _take_up(self) -> None:
        try:
            self.sitting = taken_up(self.site, self.wanted)
        except Refusal as refusal:
            self.said = str(refusal)
        if self.sitting is not None:
            self.draw()
        else:
            self.ask(self._which())

    def _which(self) -> Talk:
        self.sitting = yield from which(self.site)
        return ""

    # ---- the page

    def lines(self, width: int, height: int) -> list[Line]:
        below = [self._footer(width)] if self.asking is None else steps.draw(self.asking, width)
        room = height - len(below)
        if self.sitting is None:
            head = spread(width, [" GUIDED"], [f"{self.site.now().hm()} "], "head")
            said = page.message(self.said, width)
            return [*filled([head, *said], width, room), *below]
        view = self.sitting.view()
        return [*page.draw(view, width, room, self.typed, self.said), *below][-height:]

    def _footer(self, width: int) -> Line:
        sitting = self.sitting
        guide = None if sitting is None else sitting.guide
        if guide is None:
            return footer("guided", width, [("+", "read, begin")] if sitting is not None else [])
        keys = []
        if guide.stage is Stage.OVER:
            return footer("guided", width, [("Enter", "back")])
        if page.heated(guide):
            keys += (
                [("0-9", "temperature"), ("Enter", "keep")]
                if self.typed
                else [("0-9", "temperature")]
            )
        if guide.stage is Stage.BATH:
            gear = guide.procedure is Procedure.GEAR
            keys.append(("+", "take it out" if gear else "stop the bath"))
            keys += [] if gear else [("-", "color")]
        elif guide.stage in page.PLUS:
            keys.append(("+", page.PLUS[guide.stage]))
        return footer("guided", width, keys)

    # ---- the clock

    def _clocks(self) -> None:
        """Tell the app what is waited for: the end of the bath, and the next temperature."""
        self.tankwalk.read_timers()
        guide = None if self.sitting is None else self.sitting.guide
        self.tankwalk.await_moment("heat", None if guide is None else guide.next_heat)

    def falls_due(self) -> None:
        self.draw()

    def _went_on(self) -> None:
        super()._went_on()
        if self.asking is None:
            self._clocks()

    # ---- keys

    def pressed(self, key: str, character: str | None) -> None:
        if self.asking is not None:
            if key == "escape" and self.sitting is None:
                self.asking = None  # nothing was chosen: there is no page to stand on
                self.do_board()
                return
            super().pressed(key, character)
        elif key in PAD_WITHOUT_NUM_LOCK:
            self.say(NUM_LOCK)
        elif key == "backspace":
            self.typed = self.typed[:-1]
            self.draw_soon()
        elif character is not None and (character.isdecimal() or character in ".,"):
            if not page.heated(None if self.sitting is None else self.sitting.guide):
                self.say(f"{character} does nothing here: no temperature is asked.")
                return
            self.said = ""
            self.typed = (self.typed + character)[:LONGEST]
            self.draw_soon()
        elif self.typed and character is not None and character in "fFcC":
            self.typed = (self.typed + character)[:LONGEST]
            self.draw_soon()
        elif character == "\ufffd":
            self.say(NO_CHARACTER)
        else:
            super().pressed(key, character)

    def _here(self) -> GuidedSitting:
        if self.sitting is None:
            raise Refusal("Nothing is begun yet.")
        return self.sitting

    def do_keep(self) -> None:
        """Enter: keep the temperature that is typed; nothing typed, nothing kept."""
        sitting = self._here()
        guide = sitting.guide
        if guide is not None and guide.stage is Stage.OVER:
            self.do_board()
            return
        if not self.typed:
            self.say("Nothing was typed, so nothing is kept.")
            return
        typed, self.typed = self.typed, ""
        sitting.heat(quantity.read(typed, "degC").value)
        self.said = ""
        bath = sitting.view().bath
        if bath is not None and bath.danger in (Danger.STOP, Danger.WARM):
            self.app.bell()
        self._clocks()
        self.draw()

    def do_on(self) -> None:
        """+: the caution was read, or the step that stands is done."""
        if self.typed:
            self.say(f"Enter keeps {self.typed} first; backspace mends it.")
            return
        sitting = self._here()
        if sitting.guide is None:
            self.ask(sitting.begin(self.hand))
        else:
            self.ask(sitting.on())

    def do_color(self) -> None:
        sitting = self._here()
        if sitting.must_stop:
            self.say("Stop the bath first: +.")
        else:
            self.ask(sitting.color())

    def do_give_up(self) -> None:
        self.ask(self._here().give_up())

    def do_undo(self) -> None:
        said = self._here().undo()
        self._clocks()
        self.say(said)

    def do_board(self) -> None:
        """Esc: clear what is typed, else back; what runs runs on, and shows on every page."""
        if self.typed:
            self.typed = ""
            self.draw()
            return
        self.sitting, self.wanted = None, ""
        self.tankwalk.await_moment("heat", None)
        self.tankwalk.leave_guided()
