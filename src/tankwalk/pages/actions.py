"""Every key of the program, declared once: for the keyboard, the footer, the palette and help."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from tankwalk import text
from tankwalk.pages.lines import Line, Span, line
from tankwalk.rows import NamedTuple


class Action(NamedTuple):
    """One act: where it works, the keys for it, its word in the footer, and what it does.

    `keys` are what the keyboard sends; `shown` is how the key is written; `rank` says who gives
    way when the footer is narrow (low stays); `narrow` is a shorter word for that footer.
    """

    name: str
    scopes: tuple[str, ...]
    keys: tuple[str, ...]
    shown: str
    word: str
    does: str
    rank: int = 5
    in_footer: bool = True
    narrow: str = ""


EVERYWHERE = (
    "board", "walk", "ask", "sign", "handover", "open", "help", "who", "workings", "working",
    "meters", "meter", "flag", "clock", "pages", "feed", "feeding", "count", "samples",
    "livefeed", "batch", "tomorrow", "ration", "feedweek", "guided", "tank", "find",
    "sample",
    "season",
    "stock", "stocktank", "trial",
)  # fmt: skip

ACTIONS: tuple[Action, ...] = (
    Action("keep", ("walk",), ("enter", "ctrl+j"), "Enter", "keep",
           "keep what is typed and go on", 0),
    Action("right", ("walk",), ("plus", "add"), "+", "OK",
           "all right: a tick or a setting is as it should be", 1),
    Action("problem", ("walk",), ("minus", "subtract"), "-", "problem",
           "something is wrong here, or a note", 4),
    Action("again", ("walk",), ("asterisk", "multiply"), "*", "again",
           "measure again; both values are kept", 5),
    Action("skip", ("walk",), ("slash", "divide"), "/", "not taken",
           "not taken, with a reason by number", 2, narrow="none"),
    Action("undo", ("walk",), ("u",), "u", "undo",
           "take back your newest entry (the record keeps both)", 6),
    Action("meter", ("walk",), ("m",), "m", "meter",
           "take the next meter of this kind for the readings that follow", 9, in_footer=False),
    Action("note", ("walk",), ("n",), "n", "note",
           "a note in your own words", 9, in_footer=False),
    Action("start", ("feed",), ("enter", "ctrl+j"), "Enter", "start",
           "walk the tanks with their cups, from the one that is marked", 0),
    Action("none", ("feed",), ("slash", "divide"), "/", "not fed",
           "a meal that is not given, or a pause: all tanks, a loop or a tank; feed on again", 1),
    Action("given_at", ("feed",), ("asterisk", "multiply"), "*", "earlier",
           "enter a meal that was given earlier, with its time", 4, in_footer=False),
    Action("working", ("feed",), ("minus", "subtract", "w"), "-", "working",
           "how the rations of the marked tank were worked out", 3),
    Action("tomorrow", ("feed",), ("plus", "add", "t"), "+", "tomorrow",
           "what tomorrow's meals need: cones to set, what is chilled and weighed", 2),
    Action("undo", ("feed",), ("u",), "u", "undo",
           "take back the newest missed meal or pause (the record keeps both)", 9,
           in_footer=False),
    Action("next_meal", ("feed",), ("right",), "right", "next meal", "the next meal of the day", 9,
           in_footer=False),
    Action("meal_before", ("feed",), ("left",), "left", "meal before",
           "the meal before", 9, in_footer=False),
    Action("up", ("feed",), ("up",), "up", "tank before", "the tank before", 9, in_footer=False),
    Action("down", ("feed",), ("down",), "down", "next tank", "the next tank", 9,
           in_footer=False),
    Action("keep", ("feeding",), ("enter", "ctrl+j"), "Enter", "keep",
           "keep the amount that is typed and go on", 9, in_footer=False),
    Action("listed", ("feeding",), ("plus", "add"), "+", "as listed",
           "every feed of this tank as listed; at a question the safe way", 0, in_footer=False),
    Action("amount", ("feeding",), (), "0-9", "amount",
           "another amount of this feed, or the number of a word", 1),
    Action("none", ("feeding",), ("slash", "divide"), "/", "not fed",
           "not fed and why, by number; or another feed went in", 2),
    Action("notes", ("feeding",), ("minus", "subtract"), "-", "note", "a note about this tank", 5),
    Action("again", ("feeding",), ("asterisk", "multiply"), "*", "again",
           "another amount than was kept: why is asked, both stay", 4),
    Action("undo", ("feeding",), ("u",), "u", "undo",
           "take back your newest entry of the meal (the record keeps both)", 6),
    Action("note", ("feeding",), ("n",), "n", "note", "a note in your own words", 9,
           in_footer=False),
    Action("up", ("feeding",), ("up",), "up", "line before", "a line back", 9,
           in_footer=False),
    Action("down", ("feeding",), ("down",), "down", "next line", "a line on", 9, in_footer=False),
    Action("left", ("feeding",), ("left",), "left", "tank before", "the tank before", 9,
           in_footer=False),
    Action("right", ("feeding",), ("right",), "right", "next tank", "the next tank", 9,
           in_footer=False),
    Action("working", ("feeding",), ("w",), "w", "working",
           "how the rations of this tank are worked out", 9, in_footer=False),
    Action("week", ("feed",), ("full_stop", "decimal"), ".", "week",
           "the week of the marked tank: planned beside given, and how it was eaten", 9,
           in_footer=False),
    Action("treatment", ("feedweek",), ("plus", "add"), "+", "treatment",
           "the mean of its treatment, or the tank alone again", 1),
    Action("left", ("feedweek",), ("left",), "left", "tank before", "the tank before", 4),
    Action("right", ("feedweek",), ("right",), "right", "next tank", "the next tank", 4),
    Action("up", ("feedweek",), ("up",), "up", "line before", "a line back", 9, in_footer=False),
    Action("down", ("feedweek",), ("down",), "down", "next line", "a line on", 9,
           in_footer=False),
    Action("page", ("feedweek",), ("space", "pagedown"), "space", "page on", "a page on", 9,
           in_footer=False),
    Action("page_back", ("feedweek",), ("pageup",), "page up", "page back", "a page back", 9,
           in_footer=False),
    Action("board", ("feedweek",), ("escape",), "Esc", "back",
           "back to the list of the meal", 3),
    Action("tomorrow", ("board", "livefeed"), ("t",), "t", "tomorrow",
           "what tomorrow's meals need: cones to set, what is chilled and weighed", 9,
           in_footer=False),
    Action("feed", ("tomorrow",), ("2",), "2", "feed",
           "the list of the meal to give now", 3),
    Action("livefeed", ("tomorrow",), ("7",), "7", "live feed",
           "cones, cold store, cultures and stock; set a cone there", 3),
    Action("up", ("tomorrow", "ration"), ("up",), "up", "line before", "a line back", 9,
           in_footer=False),
    Action("down", ("tomorrow", "ration"), ("down",), "down", "next line", "a line on", 9,
           in_footer=False),
    Action("workings", ("ration",), ("4",), "4", "workings",
           "the calculator that it is worked by, filled with these numbers", 4),
    Action("page", ("tomorrow", "ration"), ("right", "space", "pagedown"), "right", "page on",
           "a page on", 5),
    Action("page_back", ("tomorrow", "ration"), ("left", "pageup"), "left", "page back",
           "a page back", 9, in_footer=False),
    Action("board", ("tomorrow", "ration"), ("escape",), "Esc", "back",
           "back to the page one came from", 3),
    Action("board", ("feed", "feeding"), ("escape",), "Esc", "back",
           "back one step; what was given stays kept", 3),
    Action("keep", ("count",), ("enter", "ctrl+j"), "Enter", "keep",
           "keep the number that is typed, and on to the next one", 0),
    Action("enough", ("count",), ("plus", "add"), "+", "enough",
           "it is enough: keep the count", 1),
    Action("again", ("count",), ("asterisk", "multiply"), "*", "again",
           "count the newest one again, or the one the arrows stand at; both stay", 4),
    Action("out", ("count",), ("slash", "divide"), "/", "leave out",
           "leave the newest one out, or the one the arrows stand at, with a reason", 5),
    Action("undo", ("count",), ("u",), "u", "undo", "take the newest number back", 9,
           in_footer=False),
    Action("up", ("count",), ("up",), "up", "the one before", "to the one before", 9,
           in_footer=False),
    Action("down", ("count",), ("down",), "down", "the next one", "to the next one", 9,
           in_footer=False),
    Action("workings", ("count",), ("w",), "w", "working",
           "the same sum in the Workings, with its equation and source", 6),
    Action("count", ("workings",), ("plus", "add"), "+", "count by pad",
           "count sub-samples one after another", 5),
    Action("count", ("pages", "board"), ("c",), "c", "count",
           "count drops, cells or larvae, and see whether it is enough", 9, in_footer=False),
    Action("stock", ("board", "pages", "handover", "feed", "tank", "samples"), ("8",), "8", "stock",
           "how many fish there are: book, census, unaccounted; count or move them", 9,
           in_footer=False),
    Action("take", ("stock", "stocktank"), ("enter", "ctrl+j"), "Enter", "count or move",
           "a census, fish stocked, sampled, moved, culled, escaped, or many dead at once", 0,
           narrow="count"),
    Action("dead", ("stock", "stocktank"), ("asterisk", "multiply"), "*", "dead",
           "count the dead of this tank now, by cause: a look of its own", 2),
    Action("samples", ("stock", "stocktank"), ("minus", "subtract", "s"), "-", "samples",
           "samples of fish: lengths, masses, guts, swim bladders", 4),
    Action("undo", ("stock", "stocktank"), ("u",), "u", "undo",
           "take back your newest movement (the record keeps both)", 9, in_footer=False),
    Action("account", ("stock",), ("right",), "right", "account",
           "the whole account of the tank that is marked", 1),
    Action("up", ("stock",), ("up",), "up", "tank before", "the tank before", 9,
           in_footer=False),
    Action("down", ("stock",), ("down",), "down", "next tank", "the next tank", 9,
           in_footer=False),
    Action("left", ("stocktank",), ("left",), "left", "before", "the tank before", 9,
           in_footer=False),
    Action("right", ("stocktank",), ("right",), "right", "after", "the next tank", 9,
           in_footer=False),
    Action("up", ("stocktank",), ("up",), "up", "line before", "a line back", 9,
           in_footer=False),
    Action("down", ("stocktank",), ("down",), "down", "next line", "a line on", 9,
           in_footer=False),
    Action("tank", ("stock", "stocktank"), ("1", "i"), "1", "tank",
           "this tank with its past: dead by day, water, growth, what was done", 9,
           in_footer=False),
    Action("board", ("stock", "stocktank"), ("escape",), "Esc", "back",
           "back one step; what was kept stays kept", 3),
    Action("keep", ("guided",), ("enter", "ctrl+j"), "Enter", "keep",
           "keep the temperature that is typed; once it is over, back", 1, in_footer=False),
    Action("on", ("guided",), ("plus", "add"), "+", "done",
           "the caution was read, or the step is done; in the bath: stop it", 0, in_footer=False),
    Action("color", ("guided",), ("minus", "subtract"), "-", "color",
           "how the cysts look in the bath, by number", 4, in_footer=False),
    Action("give_up", ("guided",), ("slash", "divide"), "/", "give up",
           "end it without a product, with a reason", 6, in_footer=False),
    Action("undo", ("guided",), ("u",), "u", "undo",
           "take the newest step back (the record keeps both)", 9, in_footer=False),
    Action("guided", ("pages", "board", "livefeed"), ("slash", "divide"), "/", "guided",
           "take shells off cysts, or disinfect gear, step by step", 9, in_footer=False),
    Action("find", ("board", "pages"), ("f",), "f", "find",
           "words in notes, handovers, what was done, calls, follow-ups, flags and reasons", 9,
           in_footer=False),
    Action("choose", ("find",), ("enter", "ctrl+j"), "Enter", "go there",
           "to the tank they are about, the handover, or what is open", 0),
    Action("type", ("find",), (), "a-z 0-9", "words",
           "letters and digits are the words that are sought: all of them, each from its "
           "beginning", 1),
    Action("up", ("find",), ("up",), "up", "newer", "to the one before", 9, in_footer=False),
    Action("down", ("find",), ("down",), "down", "older", "to the next one", 2),
    Action("page", ("find",), ("pagedown",), "PgDn", "page on", "a page on", 9, in_footer=False),
    Action("page_back", ("find",), ("pageup",), "PgUp", "page back", "a page back", 9,
           in_footer=False),
    Action("season", ("pages", "board"), ("e",), "e", "season",
           "what went in, what came out, what went wrong and what it cost", 9, in_footer=False),
    Action("down", ("season",), ("down",), "down", "on", "a line on", 4),
    Action("up", ("season",), ("up",), "up", "line before", "a line back", 9, in_footer=False),
    Action("page", ("season",), ("right", "space", "pagedown"), "right", "page on", "a page on",
           1),
    Action("page_back", ("season",), ("left", "pageup"), "left", "page back", "a page back", 9,
           in_footer=False),
    Action("board", ("season",), ("escape",), "Esc", "back", "back to where one came from", 3),
    Action("find", ("workings",), (), "a-z", "find",
           "letters find a calculator by its name", 2),
    Action("choose", ("workings",), ("enter", "ctrl+j"), "Enter", "open",
           "open the calculator the list stands at", 0),
    Action("on", ("working",), ("enter", "ctrl+j", "down"), "Enter", "next",
           "on to the next field, and from the last one to the answer", 0),
    Action("readings", ("working",), ("asterisk", "multiply"), "*", "take readings",
           "fill the fields from the newest readings here and from the plan", 1),
    Action("place", ("working", "workings"), ("slash", "divide"), "/", "place",
           "the next tank, loop or site (in an empty field)", 4),
    Action("record", ("working",), ("plus", "add"), "+", "record",
           "keep the answer in the record, as a note or as a dose", 1),
    Action("word_on", ("working",), ("right",), "right", "next word",
           "the next word of a choice; in an empty field the next place", 9, in_footer=False),
    Action("word_back", ("working",), ("left",), "left", "word before",
           "the word before; in an empty field the place before", 9, in_footer=False),
    Action("down", ("board",), ("down",), "down", "next", "one line on", 9, in_footer=False),
    Action("up", ("walk", "board", "handover", "open", "help", "workings", "working"), ("up",),
           "up", "back an item", "one line or item back", 9, in_footer=False),
    Action("down", ("walk", "handover", "open", "help", "workings"), ("down",), "down",
           "on an item", "one line or item on", 9, in_footer=False),
    Action("page", ("workings", "working"), ("pagedown",), "PgDn", "page on",
           "a page on, in the list or in what was worked out", 9, in_footer=False),
    Action("page_back", ("workings", "working"), ("pageup",), "PgUp", "page back",
           "a page back", 9, in_footer=False),
    Action("page", ("help",), ("right", "space", "pagedown"), "right", "page on",
           "a page on", 6),
    Action("page", ("handover", "open"), ("right", "space", "pagedown"), "right", "page on",
           "a page on", 9, in_footer=False),
    Action("page_back", ("handover", "open", "help"), ("left", "pageup"), "left", "page back",
           "a page back", 9, in_footer=False),
    Action("left", ("walk",), ("left",), "left", "tank before", "the stop before", 9,
           in_footer=False),
    Action("next", ("walk",), ("right",), "right", "next tank", "the next stop", 9,
           in_footer=False),
    Action("do", ("board",), ("enter", "ctrl+j"), "Enter", "do it",
           "do the line that is marked: begin the round, check the meter", 0),
    Action("feed", ("board",), ("2",), "2", "feed",
           "the next meal: what each tank gets, and giving it", 1),
    Action("tank", ("board", "pages"), ("1", "i"), "1", "tank",
           "one tank with its past: of the worst flag, else the one seen last", 9,
           in_footer=False),
    Action("tank", ("handover", "meters", "feed"), ("1", "i"), "1", "tank",
           "the tank one stands at, else that of the worst flag, with its past", 9,
           in_footer=False),
    Action("tank", ("flag", "open"), ("full_stop", "decimal", "i"), ".", "tank",
           "its tank or loop with its past: since when, what else moved, what was done", 6,
           in_footer=False),
    Action("tank", ("walk", "feeding", "feedweek", "samples"), ("i",), "i", "tank",
           "this tank with its past: since when, what else moved, what was done", 9,
           in_footer=False),
    Action("flag", ("tank",), ("enter", "ctrl+j"), "Enter", "its flag",
           "the worst flag here, or that of the line one stands at; without one the story", 0,
           narrow="flag"),
    Action("jump", ("tank",), ("asterisk", "multiply"), "*", "another",
           "another tank or loop by its number", 7, in_footer=False),
    Action("item", ("tank",), ("slash", "divide"), "/", "item",
           "another item is drawn first, by number", 6),
    Action("more", ("tank",), ("plus", "add"), "+", "more days", "more days", 8,
           in_footer=False),
    Action("fewer", ("tank",), ("minus", "subtract"), "-", "fewer days", "fewer days", 8,
           in_footer=False),
    Action("page_back", ("tank",), ("pageup",), "PgUp", "days before", "the days before these", 9,
           in_footer=False),
    Action("page", ("tank",), ("pagedown", "space"), "PgDn", "days after", "the days after these",
           9, in_footer=False),
    Action("left", ("tank",), ("left",), "left", "before", "the tank before", 4),
    Action("right", ("tank",), ("right",), "right", "after", "the next tank", 4),
    Action("down", ("tank",), ("down",), "down", "story", "into its story, and on in it", 9,
           in_footer=False),
    Action("up", ("tank",), ("up",), "up", "story back",
           "back in its story, and to the plots", 9, in_footer=False),
    Action("week", ("tank",), ("2",), "2", "meals",
           "what it was fed by day: planned beside given, and how it was eaten", 9,
           in_footer=False),
    Action("table", ("tank",), ("t",), "t", "table",
           "every look in tables, and the plots again", 9, in_footer=False),
    Action("board", ("tank",), ("escape",), "Esc", "back",
           "back one step, to where one came from", 3),
    Action("feed", ("handover", "meters", "pages"), ("2",), "2", "feed",
           "the next meal: what each tank gets, and giving it", 1, in_footer=False),
    Action("walk", ("board",), ("plus", "add"), "+", "round",
           "begin the round that is due, or go on with it", 1),
    Action("walk", ("meters", "pages"), ("plus", "add"), "+", "round",
           "begin the round that is due, or go on with it", 4, in_footer=False),
    Action("livefeed", ("board", "handover", "meters", "pages", "feed"), ("7",), "7", "live feed",
           "cones, cold store, cultures, what is in stock: the next step of each", 2,
           in_footer=False),
    Action("choose", ("livefeed",), ("enter", "ctrl+j"), "Enter", "next step",
           "do the next step of what is marked: set, check, harvest, count, chill", 0,
           in_footer=False),
    Action("choose", ("batch",), ("enter", "ctrl+j"), "Enter", "next step",
           "do its next step: check, harvest, count, chill", 0),
    Action("more", ("livefeed", "batch"), ("plus", "add"), "+", "more",
           "everything that can be entered here, by number; or a cone is set", 1),
    Action("count", ("livefeed", "batch"), ("asterisk", "multiply"), "*", "count",
           "count it: nauplii, or a culture with its eggs", 4),
    Action("out", ("livefeed", "batch"), ("minus", "subtract"), "-", "throw out",
           "throw it out, all or a part, and why", 5, narrow="out"),
    Action("batch", ("livefeed",), ("right",), "right", "story",
           "the batch with its story, its balance and where it went", 6),
    Action("undo", ("livefeed", "batch"), ("u",), "u", "undo",
           "take back your newest entry of it (the record keeps both)", 9, in_footer=False),
    Action("up", ("livefeed", "batch"), ("up",), "up", "line before", "a line back", 9,
           in_footer=False),
    Action("down", ("livefeed", "batch"), ("down",), "down", "next line", "a line on", 9,
           in_footer=False),
    Action("page", ("batch",), ("right", "space", "pagedown"), "right", "page on", "a page on", 9,
           in_footer=False),
    Action("page_back", ("batch",), ("left", "pageup"), "left", "page back", "a page back", 9,
           in_footer=False),
    Action("feed", ("livefeed",), ("2",), "2", "feed",
           "the next meal: what each tank gets, and giving it", 5, in_footer=False),
    Action("board", ("livefeed", "batch"), ("escape",), "Esc", "back",
           "back one step; what was kept stays kept", 3),
    Action("home", ("pages",), ("enter", "ctrl+j"), "Enter", "board",
           "what is wrong, what is next, every tank", 0),
    Action("handover", ("board",), ("3", "h"), "3", "handover",
           "read, give or take the handover", 1),
    Action("handover", ("meters", "pages", "feed"), ("3", "h"), "3", "handover",
           "read, give or take the handover", 9, in_footer=False),
    Action("workings", ("board", "handover", "meters", "pages"), ("4", "w"), "4", "workings",
           "every calculator, with its working", 9, in_footer=False),
    Action("workings", ("walk",), ("w",), "w", "workings",
           "every calculator, with its working, for this tank", 9, in_footer=False),
    Action("flag", ("board",), ("asterisk", "multiply"), "*", "worst flag",
           "the worst flag: what to do, when to look again, whom to call", 9, in_footer=False),
    Action("look", ("flag",), ("enter", "ctrl+j"), "Enter", "look now",
           "look again now: a small round of its own, of what is out of band; once the flag is "
           "over, back", 0,
           in_footer=False),
    Action("done", ("flag",), (), "1-9", "done",
           "say by number which step was done, or that somebody was called; 0 in other words", 1,
           in_footer=False),
    Action("note", ("flag",), ("minus", "subtract", "n"), "-", "note", "a note about it", 4),
    Action("close", ("flag",), ("slash", "divide"), "/", "shelve, close",
           "shelve it, close it, or make it an action", 5),
    Action("undo", ("flag",), ("u",), "u", "undo",
           "take back your newest step or call (the record keeps both)", 9, in_footer=False),
    Action("up", ("flag",), ("up",), "up", "story", "back in its story", 6),
    Action("down", ("flag",), ("down",), "down", "on", "on in its story", 9, in_footer=False),
    Action("open", ("board",), ("5", "o"), "5", "open list",
           "what is open: flags, what is altered, what is to do", 4),
    Action("open", ("walk",), ("o",), "o", "open list",
           "what is open: flags, what is altered, what is to do", 9, in_footer=False),
    Action("choose", ("open",), ("enter", "ctrl+j"), "Enter", "choose",
           "choose a row by its number: done, closed, put back, given to, later", 0),
    Action("new_action", ("open",), ("plus", "add"), "+", "new action",
           "write something to be done", 1),
    Action("new_altered", ("open",), ("minus", "subtract"), "-", "new altered",
           "write down what is not as normal, and until when", 1),
    Action("open", ("meters", "pages", "feed"), ("5", "o"), "5", "open list",
           "what is open: flags, what is altered, what is to do", 9, in_footer=False),
    Action("meters", ("board", "handover", "pages", "feed"), ("6",), "6", "meters",
           "every meter with its checks and its drift; check one", 9, in_footer=False),
    Action("samples", ("board",), ("s",), "s", "samples",
           "samples of fish: what is due, what was found last; enter one", 9, in_footer=False),
    Action("take", ("samples",), ("enter", "ctrl+j"), "Enter", "sample",
           "look at the fish of the tank the mark stands at, or enter what was found", 0),
    Action("samples", ("pages",), ("asterisk", "multiply", "s"), "*", "samples",
           "samples of fish: what is due, what was found last; enter one", 9, in_footer=False),
    Action("trial", ("board", "pages", "tank", "stock", "stocktank", "samples"), ("9",), "9",
           "trial", "treatments compared on the values of tanks: survival, growth, feed, water", 9,
           in_footer=False),
    Action("tanks", ("trial",), ("enter", "ctrl+j"), "Enter", "tank by tank",
           "every tank with its value, what the test says, what it takes for granted; again: back",
           0, narrow="tanks"),
    Action("down", ("trial",), ("down",), "down", "next measure",
           "the next measure; among the tanks a line on", 1),
    Action("up", ("trial",), ("up",), "up", "measure before",
           "the measure before; among the tanks a line back", 9, in_footer=False),
    Action("right", ("trial",), ("right",), "right", "next measure", "the next measure", 9,
           in_footer=False),
    Action("left", ("trial",), ("left",), "left", "measure before", "the measure before", 9,
           in_footer=False),
    Action("page", ("trial",), ("pagedown", "space"), "PgDn", "page on",
           "a page on, among the tanks", 9, in_footer=False),
    Action("page_back", ("trial",), ("pageup",), "PgUp", "page back",
           "a page back, among the tanks", 9, in_footer=False),
    Action("board", ("trial",), ("escape",), "Esc", "back", "back one step", 3),
    Action("up", ("samples",), ("up",), "up", "tank before", "the tank before", 9,
           in_footer=False),
    Action("down", ("samples",), ("down",), "down", "next tank", "the next tank", 2),
    Action("right", ("samples",), ("right",), "right", "next kind", "the next kind of sample", 9,
           in_footer=False),
    Action("left", ("samples",), ("left",), "left", "kind before", "the kind before", 9,
           in_footer=False),
    Action("undo", ("samples",), ("u",), "u", "undo",
           "take back your newest sample (the record keeps both)", 6),
    Action("order", ("samples",), ("asterisk", "multiply"), "*", "order",
           "tanks in an order by lot, treatments hidden, so that nobody knows; or as one walks", 4),
    Action("keep", ("sample",), ("enter", "ctrl+j"), "Enter", "keep",
           "keep the number that is typed, and on; where + and - answer: end", 0),
    Action("plus", ("sample",), ("plus", "add"), "+", "end",
           "end the sitting; where no number is asked: it is as it should be", 1),
    Action("minus", ("sample",), ("minus", "subtract"), "-", "out",
           "leave this fish out, with a reason; where no number is asked: it is not as it should "
           "be, and 0 leaves the fish out", 2),
    Action("again", ("sample",), ("asterisk", "multiply"), "*", "again",
           "look at the last fish again, or any by its number; both stay", 4),
    Action("pass", ("sample",), ("slash", "divide"), "/", "not taken",
           "this is not taken of this fish; the next is asked", 6, narrow="none"),
    Action("undo", ("sample",), ("u",), "u", "undo",
           "take the newest number back (the record keeps both)", 7),
    Action("pages",
           ("board", "handover", "open", "meters", "feed", "samples", "livefeed", "tank", "stock",
            "stocktank", "trial"), ("0",),
           "0",
           "pages", "every page, and what waits there", 3),
    Action("choose", ("meters",), ("enter", "ctrl+j"), "Enter", "check it",
           "open the meter the list stands at, and check it", 0),
    Action("up", ("meters",), ("up",), "up", "meter before", "the meter before", 9,
           in_footer=False),
    Action("down", ("meters",), ("down",), "down", "next meter", "the next meter", 2),
    Action("keep", ("meter",), ("enter", "ctrl+j"), "Enter", "keep",
           "keep what is typed and go on", 0),
    Action("lift", ("meter",), ("minus", "subtract"), "-", "take a mark back",
           "take the newest mark back, so that its readings count again; by somebody else", 2),
    Action("board", ("meters", "meter"), ("escape",), "Esc", "back",
           "back one step; what was kept stays kept", 3),
    Action("board1", ("meters",), ("b",), "b", "board", "to the board", 8, in_footer=False),
    Action("palette", ("meters",), ("p",), "p", "palette", "every act by name", 8,
           in_footer=False),
    Action("give", ("handover",), ("plus", "add", "g"), "+", "give",
           "give the room with this page", 1),
    Action("take", ("handover",), ("asterisk", "multiply", "t"), "*", "take over",
           "take the room: say that you have read it", 1),
    Action("todo", ("handover",), ("minus", "subtract", "a"), "-", "add an action",
           "write down something to be done by the next shift", 4),
    Action("line", ("handover",), ("slash", "divide", "l"), "/", "line",
           "a line of your own in a section, or under a page just given; 0 takes it back", 5),
    Action("open", ("handover",), ("5", "o"), "5", "open list",
           "what is open: flags, what is altered, what is to do", 6, in_footer=False),
    Action("undo", ("handover",), ("u",), "u", "undo",
           "take the last line of your own back", 9, in_footer=False),
    Action("note", ("handover",), ("full_stop", "decimal", "n"), ".", "note",
           "the lead notes a handover that nobody took", 9, in_footer=False),
    Action("other", ("who",), ("slash", "divide"), "/", "another round",
           "choose another round than the one that is due", 2),
    Action("go", ("who",), ("enter", "ctrl+j"), "Enter", "go on",
           "go on with the round as the person named", 0, in_footer=False),
    Action("choose", ("who", "ask"), (), "0-9", "choose", "choose by number", 1),
    Action("board",
           ("walk", "handover", "open", "help", "who", "ask", "sign", "workings", "working",
            "flag", "clock", "pages", "count", "guided", "samples", "sample",
            "find"),
           ("escape",), "Esc", "back",
           "back one step; nothing is lost", 3),
    Action("board1", ("walk", "handover", "open", "flag"), ("b",), "b", "board", "to the board", 8,
           in_footer=False),
    Action("help", EVERYWHERE, ("question_mark",), "?", "help",
           "what this is for, and every key", 2),
    Action("night",
           ("board", "handover", "open", "walk", "meters", "flag", "pages", "feed", "feeding",
            "samples", "livefeed", "batch", "tomorrow", "ration", "feedweek", "count", "guided",
            "tank", "sample", "season", "stock", "stocktank", "trial"),
           ("d",), "d", "look",
           "day, night (red on black) or plain look", 9, in_footer=False),
    Action("palette", ("board", "walk", "handover", "open", "flag"), ("p",), "p", "palette",
           "every act by name", 8, in_footer=False),
    Action("quit", ("board",), ("q", "escape"), "q", "leave",
           "leave; everything is kept, and an open round is asked about", 9, in_footer=False),
    Action("quit", ("pages",), ("q",), "q", "leave",
           "leave; everything is kept, and an open round is asked about", 9, in_footer=False),
)  # fmt: skip


def in_scope(scope: str) -> list[Action]:
    """The actions that work in a scope, in the order declared."""
    return [a for a in ACTIONS if scope in a.scopes]


def by_key(scope: str, key: str) -> Action | None:
    """The action a key stands for in a scope."""
    return next((a for a in ACTIONS if scope in a.scopes and key in a.keys), None)


RIGHT = ("0", "Esc", "?")
"""Keys that stand at the right edge, where one looks for the way out."""

ORDER = ("Enter", "+", "-", "*", "/", "up", "down", "left", "right")
"""Keys of the pad and arrows come first, in this order; then digits, then letters."""

GAPS = (3, 2, 1)

WIDE, CLOSE = 80, 3
"""On a page so wide keys stand so far apart: words shorten and those of high rank give way."""


def footer(
    scope: str,
    width: int,
    extra: Sequence[tuple[str, str]] = (),
    instead: Mapping[str, str] = MappingProxyType({}),
) -> Line:
    """The keys that work now, in one line: `extra` first, the way out and help at the right edge.

    `instead` gives the acts that are called otherwise just here their words.

    A narrow line sets them closer; where that is not enough, those of high rank give way.
    """
    acts = [
        a._replace(word=instead.get(a.name, a.word), narrow=instead.get(a.name, a.narrow))
        for a in in_scope(scope)
        if a.in_footer
    ]
    left, right = _sides(acts, extra)
    least, room = (CLOSE, width - 1) if width >= WIDE else (1, width)
    if _length([*left, *right], least) > room:
        left, right = _sides([a._replace(word=a.narrow or a.word) for a in acts], extra)
    while len(left) + len(right) > 1 and _length([*left, *right], least) > room:
        worst = max([*left, *right][::-1], key=lambda one: one[2])
        (left if worst in left else right).remove(worst)
    gap = next((n for n in GAPS if _length([*left, *right], n) <= width), 1)
    spans = _spans(left, gap)
    used = _length(left, gap) if left else 0
    rest = _length(right, gap) if right else 0
    between = max(gap if left and right else 0, width - used - rest - (1 if right else 0))
    if right:
        spans += [Span(" " * between), *_spans(right, gap)[1:]]
    return line(width, *spans)


def _sides(
    acts: Sequence[Action], extra: Sequence[tuple[str, str]]
) -> tuple[list[tuple[str, str, int]], list[tuple[str, str, int]]]:
    """Keys, their words and ranks, of the left side and of the right edge."""
    shown = [(a.shown, a.word, a.rank) for a in sorted(acts, key=place)]
    left = [one for one in shown if one[0] not in RIGHT]
    right = [one for one in shown if one[0] in RIGHT]
    return [*((key, word, 0) for key, word in extra), *left], right


def place(action: Action) -> tuple[int, int]:
    """Where a key stands in the footer and in help."""
    shown = action.shown
    if shown in ORDER:
        return 0, ORDER.index(shown)
    if shown in RIGHT:
        return 3, RIGHT.index(shown)
    return (1, 0) if shown[:1].isdigit() or shown == "." else (2, 0)


def _spans(shown: Sequence[tuple[str, str, int]], gap: int) -> list[Span]:
    spans: list[Span] = []
    for key, word, _ in shown:
        before = " " * (gap if spans else 1)
        spans += [Span(before), Span(key, "key"), Span(f" {word}", "dim")]
    return spans


def _length(shown: Sequence[tuple[str, str, int]], gap: int) -> int:
    words = sum(text.width(key) + 1 + text.width(word) for key, word, _ in shown)
    return 1 + words + gap * (len(shown) - 1)
