"""A sitting: fish of one tank one by one on the number pad, each number on disk at its Enter."""

from __future__ import annotations

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.pages import sample as page
from tankwalk.pages import sample_words as words
from tankwalk.pages import steps
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, filled, spread
from tankwalk.practice.dialog import Talk
from tankwalk.practice.samples import sitting_talk, sitting_view
from tankwalk.practice.samples.doubts import MOST
from tankwalk.practice.samples.growth_table import Point, points
from tankwalk.practice.samples.sitting import FishSitting
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen
from tankwalk.screens.base import ENTER, NO_CHARACTER, NUM_LOCK, PAD_WITHOUT_NUM_LOCK

LONGEST = 12
"""Characters of a number with its unit: more is no measurement."""


class SampleScreen(AskingScreen):
    """One sitting, opened with its tank."""

    scope = "sample"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.typed, self.good, self.tank, self.blind = "", False, "", False
        self.sitting: FishSitting | None = None
        self.points: tuple[Point, ...] = ()
        self._view: sitting_view.SittingView | None = None
        """What the record and the sitting say; a digit that is typed asks neither."""

    def take(self, tank: str, who: str = "", *, blind: bool = False) -> None:
        """Take up the sitting of a tank."""
        self.tank, self.blind = tank, blind
        self.sitting, self.asking, self.typed, self.said = None, None, "", ""
        if who:
            self.hand.named(self.site.signs(who), self.site.now())
        else:
            self.hand.forget()

    def arrive(self) -> None:
        """As one left it; where no sitting is begun yet, it is asked for first."""
        if self.sitting is None and self.asking is None:
            self.ask(self._setup())
        else:
            self.draw()

    # ---- the page

    def lines(self, width: int, height: int) -> list[Line]:
        below = steps.draw(self.asking, width) if self.asking is not None else None
        if below is None:
            below = [self._footer(width)]
        room = height - len(below)
        if self.sitting is None:
            now = self.site.now()
            head = spread(width, [f" SAMPLE  {self.tank}"], [f"{now.hm()} "], "head")
            return [*filled([head], width, room), *below]
        if self._view is None:
            self._view = sitting_view.view(self.sitting, self.points)
        view = self._view._replace(
            said=self.said, tone="ok" if self.good else "check", blind=self.blind
        )
        return [*page.draw(view, width, room, self.typed), *below]

    def _footer(self, width: int) -> Line:
        sitting = self.sitting
        if sitting is None:
            return footer("sample", width)
        doubt, instead = sitting.doubt, {}
        if doubt is not None and doubt.choices:
            chosen = " ".join(str(nth + 1) for nth in range(len(doubt.choices)))
            return footer(
                "none", width,
                [("*", "measure again"), (f"{chosen} Enter", "choose"), ("-", "left out"),
                 ("Esc", "back")],
            )  # fmt: skip
        if not sitting.asked.look.measured:
            instead = {"plus": "as it should be", "minus": "not", "keep": "end"}
        return footer("sample", width, instead=instead)

    def in_hand(self) -> str:
        return "" if self.sitting is None else self.sitting.who

    def handed_to(self, who: str) -> None:
        """Somebody else looks on; what is typed stays."""
        if self.sitting is not None:
            self.sitting.hand_to(who)
            self.draw()

    # ---- talks

    def _setup(self) -> Talk:
        self.sitting = yield from sitting_talk.setup(self.site, self.hand, self.tank)
        self.points = points(self.site, [self.tank]).get(self.tank, ())
        self.good = True
        return sitting_talk.on_where_it_was(self.sitting)

    def _end(self) -> Talk:
        """End the sitting, then back to where one came from."""
        said = yield from sitting_talk.ending(self._here(), words.ended)
        if said:
            self.sitting = None
        return said

    def _here(self) -> FishSitting:
        if self.sitting is None:
            raise Refusal("No sitting is begun yet.")
        return self.sitting

    def _went_on(self) -> None:
        self._view = None
        super()._went_on()
        if self.asking is None and self.sitting is None:
            self._leave()

    def _leave(self) -> None:
        said = self.said
        self.typed, self.said = "", ""
        self.tankwalk.leave_sample(said)

    # ---- keys

    def pressed(self, key: str, character: str | None) -> None:
        sitting = self.sitting
        if self.asking is not None:
            if key == "escape" and sitting is None:
                self.asking, self.said = None, ""
                self._leave()
                return
            self.good = True
            super().pressed(key, character)
        elif key in PAD_WITHOUT_NUM_LOCK:
            self._check(NUM_LOCK)
        elif key == "backspace":
            self.typed = self.typed[:-1]
            self.draw_soon()
        elif character == "�":
            self._check(NO_CHARACTER)
        elif sitting is not None and self._types(sitting, character):
            self.draw_soon()
        elif self.typed and key not in (*ENTER, "escape"):
            self._check(f"Enter keeps {self.typed} first; backspace mends it.")
        else:
            super().pressed(key, character)

    def _types(self, sitting: FishSitting, character: str | None) -> bool:
        """Take a character into the number, or as a choice; whether it was taken."""
        if character is None:
            return False
        if not sitting.asked.look.measured:
            if character == "0":
                self._out()
                return True
            return False
        starts = character.isdecimal() or character in ".,"
        if starts or (self.typed and character.isalpha()):
            self.said = ""
            self.typed = (self.typed + character)[:LONGEST]
            return True
        return False

    def _check(self, sentence: str) -> None:
        self.good = False
        self.say(sentence)

    def do(self, name: str) -> None:
        self.good = False
        self._view = None
        super().do(name)

    def do_keep(self) -> None:
        """Enter: keep the number; with nothing typed nothing is kept."""
        sitting = self._here()
        if not sitting.asked.look.measured:
            self._ends()
        elif not self.typed:
            self._check("Nothing was typed, so nothing is kept.")
        else:
            self._keep(sitting, self.typed)
            self.typed, self.said = "", ""
            if sitting.doubt is not None:
                self.app.bell()  # the eyes are at the scope
            self.draw()

    def _keep(self, sitting: FishSitting, typed: str) -> None:
        """Keep what is typed; in a doubt a number of its list chooses, any other measures again.

        A choice takes an Enter, so that "14.7" typed once more is not taken for the choice 1.
        """
        doubt = sitting.doubt
        if doubt is not None and doubt.choices:
            if typed in {str(nth + 1) for nth in range(len(doubt.choices))}:
                sitting.choose(int(typed))
                return
            # Refused where it is no number: then it is asked on.
            value = quantity.read(typed, doubt.look.unit, most=MOST[doubt.look]).value
            if value in doubt.choices[1:]:
                sitting.choose(doubt.choices.index(value) + 1)
                return
            sitting.measure_again()
        sitting.enter(typed)

    def do_plus(self) -> None:
        """As it should be; at a number the end."""
        if self._here().asked.look.measured:
            self._ends()
        else:
            self._right(True)

    def do_minus(self) -> None:
        """Not as it should be; at a number the fish is left out."""
        if self._here().asked.look.measured:
            self._out()
        else:
            self._right(False)

    def _right(self, right: bool) -> None:
        self._view = None
        self._here().is_right(right)
        self.said = ""
        self.draw()

    def _ends(self) -> None:
        self._here()
        self.good = True
        self.ask(self._end())

    def _out(self) -> None:
        self.good = True
        self.ask(sitting_talk.leaving_out(self._here()))

    def do_again(self) -> None:
        sitting = self._here()
        if sitting.doubt is not None and sitting.doubt.choices:
            sitting.measure_again()
            self.said = ""
            self.draw()
            return
        self.good = True
        self.ask(sitting_talk.correcting(sitting))

    def do_pass(self) -> None:
        self._here().pass_by()
        self.said = ""
        self.draw()

    def do_undo(self) -> None:
        said = self._here().undo()
        self.good = True
        self.say(said)

    def do_board(self) -> None:
        """Esc: clear what is typed, else back; what was entered is kept and goes on later."""
        if self.typed:
            self.typed = ""
            self.draw()
            return
        many = 0 if self.sitting is None else len(self.sitting.fish)
        self.sitting = None
        self.said = (
            f"{many} fish of {self.tank} are kept: the sitting goes on there." if many else ""
        )
        self._leave()
