"""The Feed screens: the list of a meal, and the meal walked tank by tank with the number pad."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.pages import feed as page
from tankwalk.pages import feed_tank
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.dialog import Talk
from tankwalk.practice.meal import list_view, room
from tankwalk.practice.meal.feed_walk import FeedWalk
from tankwalk.practice.meal.list_view import ListView
from tankwalk.practice.meal.questions import AskWords, menu
from tankwalk.practice.meal.stops import Asked
from tankwalk.practice.meal.view import EndView
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen
from tankwalk.screens.base import ENTER, NUM_LOCK, PAD_WITHOUT_NUM_LOCK
from tankwalk.screens.typing_in import TypingScreen

NO_MEAL = "The plan has no meal to give: write [[meal]] and [[feed]] into plan.toml."


class FeedScreen(AskingScreen):
    """The list of one meal; Enter walks it."""

    scope = "feed"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.at = 0
        self.meal: Instant | None = None
        """The meal that a person chose; None for the one to give now."""
        self.view: ListView | None = None
        self._begin: tuple[Instant, str, Instant | None] | None = None
        """Which meal is given, by whom, and when, once a talk has asked."""

    def take(self, meal: Instant | None) -> None:
        """Show a meal, or without one the one to give now; from its first tank."""
        self.meal, self.at = meal, 0

    def look(self) -> None:
        self.view = list_view.made(self.site, self.meal)
        many = 0 if self.view is None else len(self.view.rows)
        self.at = max(0, min(self.at, many - 1))

    def lines(self, width: int, height: int) -> list[Line]:
        if self.view is None:
            return self.above(wrapped(width, NO_MEAL, "plain", 3), width, height)
        below = self.above([], width, height)
        kept = [one for one in below if "".join(span.text for span in one).strip()]
        shown = page.draw(self.view, width, height - len(kept), self.at)
        return [*shown, *kept][-height:]

    def keys(self, width: int) -> Line:
        """Enter starts the meal, goes on with it, or leads to a tank that is done."""
        does = [] if self.view is None else [("Enter", page.does(self.view))]
        return footer(self.scope, width, does)

    def _went_on(self) -> None:
        super()._went_on()
        begin, self._begin = self._begin, None
        if begin is not None and self.asking is None and self.view is not None:
            code = self._tank() if self.at else ""
            self.tankwalk.give_meal(*begin, code)

    # ---- acts

    def do_start(self) -> None:
        """Walk the meal: from the tank that is marked, else from the first that is open."""
        if self.view is not None:
            self.ask(self._who(self.view, None))

    def do_given_at(self) -> None:
        if self.view is not None:
            self.ask(self._earlier(self.view))

    def _who(self, view: ListView, given_at: Instant | None) -> Talk:
        now = given_at or self.site.now()
        chosen = self.meal is not None
        meal = yield from room.which_meal(view.meal, view.meals, now, chosen=chosen)
        who = yield from room.who_feeds(self.site, self.hand, view.began)
        self._begin = meal, who, given_at
        return ""

    def _earlier(self, view: ListView) -> Talk:
        given_at = yield from room.given_earlier(self.site)
        return (yield from self._who(view, given_at))

    def do_none(self) -> None:
        """A meal that is not given, a pause, or feed on again."""
        view = self.view
        if view is not None:
            marked = self.place_here()
            self.ask(room.not_given(self.site, self.hand, view.meal, view.stops, view.held, marked))

    def do_undo(self) -> None:
        """Take back the newest entry of this list: a missed meal, a pause."""
        if self.view is not None:
            self.ask(room.take_back(self.site, self.hand, self.view.meal))

    def _other(self, way: int) -> None:
        view = self.view
        if view is None:
            return
        moments = [one.at for one in view.meals]
        if view.meal in moments:
            index = max(0, min(moments.index(view.meal) + way, len(moments) - 1))
            self.take(moments[index])
            self.said = ""
            self.look()
            self.draw()

    def do_next_meal(self) -> None:
        self._other(1)

    def do_meal_before(self) -> None:
        self._other(-1)

    def step(self, lines: int) -> None:
        many = 0 if self.view is None else len(self.view.rows)
        self.at = max(0, min(self.at + lines, many - 1))
        self.draw_soon()

    def place_here(self) -> str:
        return "" if self.view is None or not self.view.rows else self._tank()

    @property
    def meal_here(self) -> Instant | None:
        """The meal that is shown."""
        return None if self.view is None else self.view.meal

    def do_working(self) -> None:
        """How the rations of the tank that is marked are worked out."""
        if self.place_here():
            self.tankwalk.open("ration")

    def do_week(self) -> None:
        """The week of the tank that is marked: planned beside given."""
        if self.place_here():
            self.tankwalk.open("feedweek")

    def _tank(self) -> str:
        return "" if self.view is None else self.view.rows[self.at].stop.tank.code


class FeedingScreen(TypingScreen):
    """Holds what is being typed and nothing else: the feed walk knows the rest."""

    scope = "feeding"
    longest = 12

    def __init__(self, site: Site, walk: FeedWalk) -> None:
        super().__init__(site)
        self.begin(walk)

    def begin(self, walk: FeedWalk) -> None:
        """Take another meal, or the same one as another person."""
        self.walk = walk
        self.typed = ""
        self.fresh = True
        self._page: feed_tank.Page | None = None

    def arrive(self) -> None:
        if not self.fresh:
            self.walk.reload()
        self.fresh = False
        super().arrive()

    def lines(self, width: int, height: int) -> list[Line]:
        view, drawn = self.walk.view(), self._page
        if drawn is None or drawn.view is not view or drawn.size != (width, height):
            drawn = self._page = feed_tank.Page(view, width, height)
        return drawn.draw(self.typed)

    def in_hand(self) -> str:
        return self.walk.who

    def handed_to(self, who: str) -> None:
        """Somebody else goes on with the meal, at the same tank."""
        self.tankwalk.give_meal(self.walk.meal, who, self.walk.given_at, self.place_here())

    def place_here(self) -> str:
        return "" if self.walk.at_end else self.walk.stop.tank.code

    @property
    def meal_here(self) -> Instant:
        """The meal that is walked."""
        return self.walk.meal

    def do_working(self) -> None:
        """How the rations of this tank are worked out."""
        if self.place_here():
            self.tankwalk.open("ration")

    @property
    def walked(self) -> FeedWalk:
        return self.walk

    @property
    def writing(self) -> bool:
        return isinstance(self.walk.question, AskWords)

    # ---- keys

    def pressed(self, key: str, character: str | None) -> None:
        asked = self.walk.question
        if key in PAD_WITHOUT_NUM_LOCK:
            self.say(NUM_LOCK)
        elif isinstance(asked, AskWords):
            self._write(key, character)
        elif menu(asked) and self._answers(key, character):
            pass
        elif self._by_word() and character is not None and character.isdecimal():
            self._answer(character)
        else:
            super().pressed(key, character)

    def _answers(self, key: str, character: str | None) -> bool:
        """Whether a key answers what is asked: a number, + or Enter (the safe way), /."""
        if key in ENTER:
            self._answer("")
        elif character is not None and (character.isdecimal() or character in "+/"):
            self._answer(character)
        else:
            return False
        return True

    def _by_word(self) -> bool:
        """Whether a digit alone answers: one of a few words is asked."""
        line = self.walk.line
        return isinstance(line, Asked) and 0 < len(line.slot.item.answers) <= 9

    def belongs(self, character: str) -> bool:
        """Whether a character is part of the amount: digits and a point, then perhaps a unit."""
        if self.walk.at_end or self.walk.line is None or self._by_word():
            return False
        if character.isdecimal() or character in ".,":
            return True
        return bool(self.typed) and (character.isalpha() or character == " ")

    # ---- acts

    def do_keep(self) -> None:
        """Enter: keep what is typed; at the end of the meal back to the list."""
        if isinstance(self.walk.view().here, EndView):
            self.tankwalk.feed(self.walk.meal)
        else:
            self._answer(self.typed)

    def do_listed(self) -> None:
        self._sign("+")

    def do_none(self) -> None:
        self._sign("/")

    def do_notes(self) -> None:
        self._sign("-")

    def do_right(self) -> None:
        self._move("right")

    def do_board(self) -> None:
        """Esc: clear the entry, else leave the question, else back to the list."""
        if self.typed:
            self.typed = ""
            self.walk.back()
            self.draw()
        elif self.walk.back():
            self.draw()
        else:
            self.tankwalk.feed(self.walk.meal)
