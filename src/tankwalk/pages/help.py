"""The page of help: what is asked here and why, what to do first, and every key."""

from __future__ import annotations

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.pages import glossary
from tankwalk.pages.actions import in_scope
from tankwalk.pages.footer import place
from tankwalk.pages.lines import Line, Span, blank, line, spread, wrapped
from tankwalk.plan import responses
from tankwalk.plan.bands import describe
from tankwalk.plan.model import Plan
from tankwalk.practice.round.agenda import Slot

WORK = {
    "board": (
        "The board is the room at a glance. NEXT holds two hours and what is overdue, what fish "
        "wait for first: Enter does the line marked >, down marks the next one. Then what is "
        "wrong, every tank as it stands with its last readings and its last check, and what is "
        "altered.",
    ),
    "walk": (
        "One stop at a time, clean tanks first. Type the number, look at it large, press Enter: it "
        "is on the disk. Decimal comma and point are the same; a unit may follow (68f).",
        "A value out of band is measured again while the probe is still in the water; both stay. "
        "A zero is typed; an empty Enter keeps nothing. What cannot be taken gets a reason with /.",
        "To mend a value: arrow up to it, type the right one, say why by number. The old one stays "
        "readable in the record. Lost? Everything shown as -- is still open; nothing is hidden.",
    ),
    "judging": (
        "What the last thirty days' flags were worth. A flag was acted on where a step, a call, an "
        "action, a note of that place or feed off was entered in that shift, dismissed where a "
        "person closed it as nothing, by a meter where a meter was wrong, and nothing where nobody "
        "entered anything. More false ones a week than chance may raise teach people to press past "
        "them.",
        "A number of MOST FREQUENT shows that item at that tank: every look against its band, "
        "every flag with what came of it. Nothing is changed here before a lead says so.",
    ),
    "limit": (
        "Enter asks for another lowest and highest in band (Enter alone leaves one as it is) and "
        "says what they would have raised on these very looks, by the judge that the walk has. "
        "Look first at what was acted on: a limit that would hide it is no better limit.",
        "Only a lead writes it into the plan, for this tank alone, with a reason; it holds at "
        "once, the old plan stays in the record, u takes it back. ACT and URGENT are not moved "
        "here, and no WATCH may lie beyond them or beyond where the species' profile acts.",
    ),
    "season": (
        "What a lead asks at the end, since the fish were stocked: what went in (fish, feed, "
        "doses, work), what came out (census, best estimate, unaccounted, mean mass, biomass, feed "
        "for each), what went wrong (flags, incidents with their hours, what was not done), and "
        "what it cost in fish, feed and hours.",
        "Sums are of a lot and treatment; means are over its tanks, never over fish. What cannot "
        "be told honestly is not worked out, and says why. tankwalk season --since DAY --until DAY "
        "prints another stretch of time.",
    ),
    "find": (
        "Words in what people wrote, the newest first: notes, handovers and their own lines, what "
        "was done about flags, calls, follow-ups, reasons of corrections, what was judged, feed "
        "batches, doses. Every word typed has to be there, from its beginning: spr finds spray.",
        "T07 or a person's initials narrow it. What is typed is only words: no sign in them does "
        "anything. What was amended since is struck through, not hidden. Esc takes the words away.",
    ),
    "feed": (
        "What each tank gets at this meal, in walking order, and what of it to make up first. The "
        "meal is the one that is due; right and left show the others of the day. Enter walks it.",
        "/ enters that a meal is not given, or that feed is paused: for all, for a loop or a "
        "tank, why, and for how long. The same key turns feed on again. Given earlier and not "
        "entered? * takes the time it was given.",
    ),
    "feeding": (
        "One tank at a time. What was left over is asked before new feed hides it. + gives every "
        "feed of this tank as listed: one key. Then the number of how they went for it.",
        "Another amount: type it and press Enter. Live feed is typed in mL, as it is measured "
        "out; 120k is 120 thousand. An amount far from the list, a feed the plan does not give "
        "this tank, and the same feed twice are asked about first: + is then the safe way, "
        "nothing given, and a number stands by it.",
        "/ says why a tank is not fed, or that another feed went in. What is kept is on the disk "
        "at once: leave when you like, and the meal goes on at the same tank.",
    ),
    "livefeed": (
        "What hatches, what is in the cold store, the cultures, and what is in stock. Up and down "
        "move; Enter does the next step of what is marked, + lists everything that can be "
        "entered there. A cone is a clock from set to due.",
        "Nauplii are feed for a day after their harvest, in the cold and in light air; after two "
        "days they are thrown out. Culture: fewer than 0.2 eggs per female, or falling, and "
        "nothing is harvested; under 0.13 it is begun again from the other vessel.",
        "Numbers are typed; + takes what is proposed, / leaves out what was not measured. The last "
        "question keeps it: now, or at an earlier time.",
    ),
    "tomorrow": (
        "What the meals to come need, worked backwards: which cones are set, by when and with how "
        "many grams, what is kept cold for the first meals, and the dry feed that is weighed.",
        "Have after: what is left of the nauplii after each meal. Below 0 there is too little; the "
        "headline says from when, how much is missing and what can be done.",
    ),
    "ration": (
        "How much this tank gets and why: every number of the sum with its unit, and when it was "
        "read, counted or sampled. Fish: the last census less what was seen "
        "to go.",
    ),
    "feedweek": (
        "The last seven days of one tank, or the mean of its treatment: what the plan gave beside "
        "what went in, each feed with its bars, and how every meal was eaten.",
        "! marks a day on which a meal was missed, short or not of the plan; the words beside it "
        "say which. Points in a bar are what was planned and not given.",
    ),
    "stock": (
        "How many fish each tank holds. Book: what was stocked and moved in, less all that was "
        "seen to go; a census never restarts it, so it is an upper guess. Best: the newest census "
        "less what was seen to go since; rates and rations use it. +/- is 95 %, as entered with "
        "each count, put together in quadrature.",
        "Unaccounted is what the book held at the census less the census: eaten whole, decayed, "
        "miscounted. It is large in percid larvae and has a band of its own there; of older fish "
        "up to 5 % is fine, to 15 % is explained, above is looked into.",
        "Enter enters a census, fish stocked, sampled, moved, culled, escaped, or many dead at "
        "once (estimated, never put through the count of the dead). * counts the dead by cause. "
        "What cannot be is asked about first.",
    ),
    "stocktank": (
        "The account of one tank, written as a sum, each number with its +/- (95 %). Survival is "
        "three figures that are never mixed: seen dead (an upper figure), by census (of those "
        "stocked and not taken out), and the share that is unaccounted for.",
        "Behind a count by sub-samples stands which error it has: spread, by how the sub-samples "
        "differ (Student's t), or chance, by the fish counted alone (Poisson); the wider is taken.",
        "Enter counts or moves fish; * counts the dead by cause; left and right are the tanks "
        "before and after.",
    ),
    "tank": (
        "One tank, or a loop, on one time axis, so that a cause is read straight down. A row is "
        "named by its top; the dots are the band of that day. Bars are the dead a day from zero; "
        "under each what the book leaves, in percent of what came in. The lane of flags holds the "
        "worst of each day.",
        "Points stand in the upper or the lower half of a row; where one cell holds several looks, "
        "from the lowest to the highest. \u25cf out of band, x a first reading that the second did "
        "not find, ? its meter failed its check, - not taken, \u25b2 \u25bc beyond the rows.",
        "down goes into the story, newest first; Enter there leads to the flag of a line. What was "
        "done the last time stands on top while a flag is open. t gives every look in tables.",
    ),
    "batch": (
        "One batch from its beginning: what was entered, how it balances, and every meal and tank "
        "that got of it. Enter does its next step.",
    ),
    "handover": (
        "Five sections, drafted from the record: Stock, Tasks, Altered, To do, Expect. Give the "
        "room with +: read the page aloud to the one who takes over. They take it with *, by "
        "their initials, and say back what it says, by number; the minute is kept.",
        "A line of your own goes into any section with /; 0 there takes the last one back. Under "
        "Altered and To do it is carried over until somebody closes it. For half an hour after "
        "giving, / also adds to the page you gave.",
        "Nobody there? Give it all the same. Whoever opens next sees that it was not taken, and "
        "for how long.",
    ),
    "open": (
        "Everything that is open, in one list: flags, what is altered, what is to do. Type a "
        "number, then choose what became of it. What is done stays until it is closed; what is "
        "closed in error is taken up again from the end of the list.",
        "A task may be closed by the one who did it. A meter, a safety system or a treatment "
        "needs somebody else, health the lead or the veterinarian, a deviation the study owner. "
        "What is carried three shifts is for the lead to decide.",
    ),
    "clock": (
        "The record's last entry is later than this laptop's clock, or two weeks before it. Look "
        "at another clock. Where this one is right, say so by number, and a mark is kept under "
        "your name; else stop, set it, and start again.",
    ),
    "flag": (
        "One flag: do, look, call. 1 to 9 say which step was done, 0 says it in your own words; "
        "the last number says that somebody was called, reached or not. Each is kept with your "
        "initials and the minute. Enter looks again: only what is out of band is asked.",
        "Two readings in band end a flag; so does a person with a reason (/). Until then it stays "
        "on the board, with the time of its next look. An URGENT says that nobody was called yet.",
    ),
    "meters": (
        "Every meter: when it was checked, how far off it was found, and whether it may be used. "
        "In the row of its drift | are the limits, . what was found before, o the newest (X: out). "
        "OFF is a meter that failed: take another one until it passes. Enter opens a meter.",
    ),
    "meter": (
        "Check it before the round, as found: read first, set afterwards. A value out of its "
        "limits is asked a second time. If it is out again, the meter is out of use, and whatever "
        "it read since it last passed is marked suspect: no value is changed or lost, and the "
        "lead gets an action.",
        "Mended, cleaned or set? Type how it reads now, as left: within its limits the meter is "
        "back in service from that minute. Was the check itself wrong? Somebody else takes the "
        "mark back with -, with a reason, and the readings count again.",
        "An oxygen meter shows 100 % in moist air at any height. Its mg/L there go by temperature "
        "and by the air pressure of this very room: never by a weather report, which is reduced to "
        "sea level.",
    ),
    "workings": (
        "Every sum of the trade with its working: what goes in with its unit, the equation, where "
        "it was published, and how far it holds. Type letters of what you want (bic, salt, "
        "ammonia), arrows and Enter choose.",
        "The place in the head is whose readings and water are used; / goes to the next tank or "
        "loop. What you type stays for the session, also when you go to another calculator.",
    ),
    "working": (
        "Fill the fields from the top; the answer stands below and follows as you type. A unit "
        "may follow the number (68f, 2.5 gal/min), comma and point are the same. A field left "
        "empty takes its default, where it has one.",
        "* takes the newest readings of this place and says how old they are. What is older than "
        "2 h is not taken: a sum of an old pH and a fresh ammonia is of no water there ever was. "
        "Measure it, or type it.",
        "The product comes first: the plan names what the site has, how strong, and what its "
        "label doses. A number chooses one, and each has its own usual at each place.",
        "What can burn, gas or kill is said before the answer: + says that you have read it.",
        "+ keeps the answer: as a note, or as a dose that went in. The first dose of a product at "
        "a place, more than twice its usual, and less than a third of it, are shown with their "
        "whole arithmetic, and kept when you type the amount again: one zero too many is found at "
        "the scale, not in the fish. Above its ceiling a dose needs the name of who decided, and "
        "why. A dose kept by mistake is taken back with +, 3: it is nobody's usual then. After a "
        "dose, look at the water in 15 to 30 min.",
    ),
    "sample": (
        "Type what a fish measures, Enter keeps it: it is on the disk, and the next number is "
        "asked. Where no number is asked, + is as it should be and - is not. The fish so far "
        "stand above, five to a row, as they lie in the tray; below are mean, spread, condition K "
        "and whether so many are enough. + at a number ends: the samples are kept, rations are "
        "worked out anew, and you are asked what became of the fish.",
        "A number far from the others is asked about and stays out until you measured again or "
        "chose. * looks at a fish again, - leaves one out with a reason: everything stays in the "
        "record. The program was closed? Open the tank again, it goes on at that very fish. The "
        "fish of one tank are no trial: they say how sure the mean of this tank is, no more.",
    ),
    "trial": (
        "Treatments compared on one value a tank: the tank is what a treatment was given to, so n "
        "counts tanks and never fish. Each letter is one tank, by its block; the line is the mean "
        "of its treatment. Down goes to the next measure, Enter shows every tank.",
        "The three survivals are never mixed: by census, by the dead that were seen (an upper "
        "figure, as larvae vanish), and what is unaccounted. F and p are of the treatments, with "
        "blocks allowed for; differences have limits for all pairs together. What could have been "
        "found says how small a difference these tanks could show: no difference found is not no "
        "difference. What was not as planned stands below every result.",
    ),
    "samples": (
        "A row a tank, a column a kind of sample: what was found last, and what is due. Enter "
        "looks at the fish of that tank one by one; or takes mean and SD (how many had it) from "
        "paper, or the weight of many at once. * gives an order by lot with the treatments "
        "hidden, for a measurer who should not know.",
        "What was kept is said back with its 95 % limits. A number far from the tank's last one "
        "is asked about first: a mean that fell, one that grew faster than fish grow, an SD that "
        "may be an SE. u takes your newest sample back.",
    ),
    "pages": (
        "Every page by its key, and at the right what waits there. A digit means the same page "
        "wherever it is no number, choice or value.",
    ),
    "guided": (
        "One step after another by your lab's own recipe, scaled to the grams. + says that a step "
        "is done; each one and each temperature is kept at once, so that nothing is lost where "
        "the program ends: open this page again, and it stands where it stood, with its clock.",
        "In the bath type the temperature each minute. Warm: ice. Over the stop of your SOP, or "
        "past the time: pour it onto the screen and rinse in lots of cold water. Nothing goes on "
        "before the kit shows no chlorine. What runs is in the first row of every page.",
    ),
    "count": (
        "Type what is in one drop (square, sample), Enter keeps it at once, and the mean, its "
        "range and its scatter follow. Counted twice by mistake, or a bubble? * counts one again, "
        "/ leaves one out with a reason; both stay in sight. + says that it is enough.",
        "The 95 % range is exact for a count (Poisson) while the drops differ by no more than "
        "chance; else it goes by their scatter (Student's t), and the water was not well mixed. "
        "Fewer than three, a CV over 15 %, or a range wider than 20 % either way: count on.",
    ),
    "who": (
        "Choose yourself by number. Every reading carries these initials, so hand the laptop over "
        "by choosing again: Esc to the board, Enter, your number. - types in a round that was "
        "walked on paper.",
    ),
    "still": (
        "The laptop was left alone for a while, so it asks who goes on before anything is kept: "
        "your number, or Esc to the board. What was kept is kept.",
    ),
    "transcribe": (
        "A round that was walked on paper, from its sheet: which day, whose initials, who types it "
        "in. Then stop by stop the time of its column (+ where it has none: that of the stop "
        "before) and its values. / says why a box is empty.",
        "Oxygen, ammonia, nitrite and morts are typed twice, the first time out of sight. A value "
        "is judged by what was known then; what is out is shown, and calls nobody now. Each value "
        "keeps both times and both people. Left or cut off, it goes on where it was.",
    ),
}


NAMES = {
    "open": "Open list", "flag": "Flag", "who": "Who", "working": "Working", "pages": "Pages",
    "feed": "Feed", "feeding": "Feed, at a tank",
    "livefeed": "Live feed", "batch": "Batch", "tomorrow": "Tomorrow", "ration": "Ration",
    "feedweek": "Week of feed", "transcribe": "From paper", "still": "Who is there",
}  # fmt: skip
"""Pages whose name is not that of their scope."""

KEY, NARROW = 14, 40
"""Cells of a key before what it does; on a page that is narrower what it does stands below it."""

MARKS = (
    ("?", "CHECK", "check", "measure or type again"),
    ("!", "WATCH", "watch", "look again within 2 h, or as the plan says"),
    ("!!", "ACT", "act", "first response now"),
    ("!!!", "URGENT", "urgent", "act, and phone"),
)
MARKED = ("board", "walk", "handover", "open", "flag")

BAND = (
    ("[\u00b7\u00b7\u00b7\u25cf\u00b7\u00b7\u00b7\u00b7\u00b7]",
     "where this value lies in its band today"),
    ("\u25c4[\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7]",
     "below it; \u251c \u2524 the action limits; \u25cb the last reading"),
)  # fmt: skip
PAST = (
    ("\u2583\u2584\u2585", "readings in the band, low to high; \u25bc \u25b2 \u25cf out of it"),
    ("\u2584x\u2584", "the first reading was not confirmed by the second"),
    ("\u2584?\u2584", "read with a meter that then failed its check"),
    ("\u2584-\u2584", "not taken, not checked"),
    ("paper, p", "beside a look: typed in later from paper"),
    ("late, l", "entered more than 15 min after it was seen"),
    ("amended, a", "corrected since: its page tells what it was, who and why"),
)

TYPED = (
    ("tankwalk check", "is the record sound? --seal checks a printed page"),
    ("tankwalk backup", "record and plan, checked; --rehearse tries the newest"),
    ("tankwalk restore", "a backup put in place; what is there is kept aside"),
    ("tankwalk import", "values of a logger or an old sheet, shown first"),
    ("tankwalk export", "the record as CSV files that say what they hold"),
    ("tankwalk sheet", "a round for a pencil; typed in later by 0, then -"),
    ("tankwalk --help", "every command; each page here can be printed too"),
)
"""What is done with no page of its own: the words typed, and what comes of them."""

CLAIMS_NOTHING = (
    "This program records and reminds. It controls no equipment, replaces no alarm, prescribes "
    "no treatment and certifies nothing."
)


def draw(
    scope: str, slot: Slot | None, width: int, plan: Plan | None = None, now: Instant | None = None
) -> list[Line]:
    """All the help for a scope, as many lines as it needs: keys first, then marks, words, codes.

    `plan` and `now` tell what the codes of the site stand for; None leaves them out.
    """
    name = NAMES.get(scope, scope.capitalize())
    right = [] if now is None else [f"{now.short()} "]
    lines = [spread(width, [f" HELP  {name}"], right, "head"), blank(width)]
    lines.append(line(width, Span(" Keys here", "bold")))
    for action in sorted(in_scope(scope), key=place):
        shown = action.shown
        letters = [k for k in action.keys if len(k) == 1 and k.isalpha() and k != shown]
        if letters:
            shown += f" or {letters[0]}"
        lines += _term(shown, action.does, width, "key")
    lines.append(blank(width))
    lines += _signs(scope, width)
    if slot is not None:
        lines += _item(slot, width)
    for paragraph in WORK.get(scope, WORK["board"]):
        lines += wrapped(width, paragraph, "plain", 40)
        lines.append(blank(width))
    if words := glossary.general(scope):
        lines.append(line(width, Span(" Words", "bold")))
        lines += [row for word in words for row in _term(word.word, word.means, width, "bold")]
        lines.append(blank(width))
    if plan is not None and now is not None:
        for kind, codes in glossary.codes(plan, scope, now):
            lines.append(line(width, Span(f" {kind}", "bold")))
            lines += [row for code in codes for row in _term(code.word, code.means, width, "bold")]
            lines.append(blank(width))
    if scope in ("board", "pages"):
        lines.append(line(width, Span(" At the command line, outside this program", "bold")))
        lines += [row for word, does in TYPED for row in _term(f"{word:<16}", does, width, "key")]
        lines.append(blank(width))
    lines += wrapped(width, CLAIMS_NOTHING, "dim", 40)
    return lines


def _term(term: str, means: str, width: int, tone: str) -> list[Line]:
    """A key, word or code and what it means, hanging beside it; below it on a narrow page."""
    if width < NARROW:
        return [
            *wrapped(width, term, tone, 4, "  "),
            *wrapped(width, means, "plain", 40, "    " if width > 16 else " "),
        ]
    cells = max(KEY, text.width(term) + 5)
    first, *rest = text.wrap(means, width - cells - 1) or [""]
    lines = [line(width, Span(text.pad(f"   {term}", cells), tone), Span(first))]
    return lines + [line(width, Span(" " * cells + more)) for more in rest]


def _signs(scope: str, width: int) -> list[Line]:
    """The marks, the band and the past, on pages that show them."""
    lines: list[Line] = []
    if scope in MARKED:
        lines.append(line(width, Span(" Marks", "bold")))
        for mark, word, tone, means in MARKS:
            rows = _term(f"{mark:<3} {word}", means, width, tone)
            if width >= NARROW:
                head = Span(f"   {mark:<3} ", "bold"), Span(word, tone)
                gap = " " * (16 - 7 - len(word))
                rows = [line(width, *head, Span(gap + means))]
            lines += rows
        lines.append(blank(width))
    signs = [*(BAND if scope == "walk" else ()), *(PAST if scope in ("board", "walk") else ())]
    if signs:
        lines.append(line(width, Span(" Band and past", "bold")))
        lines += [row for sign, means in signs for row in _term(sign, means, width, "past")]
        lines.append(blank(width))
    return lines


def _item(slot: Slot, width: int) -> list[Line]:
    """What is asked now: its band, where the band comes from, and the first response."""
    item = slot.item
    lines = [line(width, Span(f" {slot.place}  {item.label}", "bold"))]
    if item.answers:
        words = ", ".join(word for _, word in item.answers)
        lines += wrapped(width, f"Answers: {words}.", "plain", 3)
    if slot.band is not None:
        unit = f" {item.unit}" if item.unit else ""
        band = f"Band today {describe(slot.band, item)}{unit}"
        lines += wrapped(width, f"{band}. Source: {slot.band.source}.", "plain", 4)
    for first in responses.every(item):
        when = first.when if item.kind.by_words else first.when and f"too {first.when}"
        words = f"When {when or 'out of band'}, first: {responses.response(first.steps)}"
        lines += wrapped(width, words, "plain", 4)
    lines.append(blank(width))
    return lines
