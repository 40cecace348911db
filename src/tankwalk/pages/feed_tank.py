"""The page of a meal at one tank: its lines, what is entered large below, and the end of the meal.

80x24 is the design size: 1 where and when, 2 which tank, 3 to 13 its lines, 15 to 18 what is asked,
20 to 22 what the program says, 23 what was just kept, 24 the keys. From 118 columns on the list of
the whole meal stands beside it. All of it is drawn from one frozen view.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.figures import percent_of
from tankwalk.pages import feed_asks, feed_wide, feed_words
from tankwalk.pages.big import big
from tankwalk.pages.feed_meal import beside, codes, end, listed_words, meal_map
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, Span, blank, filled, flag_tone, line, spread, wrapped
from tankwalk.pages.steps import tail
from tankwalk.pages.walk import NARROW, shared_out
from tankwalk.pages.walk_entry import FIGURES_AT, FIGURES_CELLS, SCALE_AT, ruled, words_of
from tankwalk.pages.walk_list import Canvas
from tankwalk.pages.walk_past import MAIN, WIDE
from tankwalk.pages.walk_said import FIGURES, menu_rows, message_rows
from tankwalk.pages.when import age_words
from tankwalk.practice.feeding.feed_off import FeedOff
from tankwalk.practice.judging.verdict import Flag, left_out, value_words
from tankwalk.practice.meal import amounts
from tankwalk.practice.meal.keeping import amount_words, in_hand, told
from tankwalk.practice.meal.questions import AskDoubt, AskFar, AskInstead, AskOff, AskWords
from tankwalk.practice.meal.stops import Asked, Portion
from tankwalk.practice.meal.view import EndView, FeedView, LineView, StopView
from tankwalk.practice.round.questions import Option

LISTED_AT, GIVEN_AT, PAST_AT = 22, 37, 52
"""Cells at which the columns of a tank begin; on a narrow page the past goes."""

WHOLE, PART = 3, 3
"""Cells of an amount before its decimal mark, and from it on."""

PAST_LOOKS = 5

HIGH = 36
"""From so many rows on, the lines of a tank beside the list stand apart."""


class Page:
    """The page of one view at one size. What a digit does not change is drawn once."""

    def __init__(self, view: FeedView, width: int, height: int) -> None:
        self.view, self.size = view, (width, height)
        main = MAIN if width >= WIDE else width
        self._main = main
        said = _said(view, main)
        menu = isinstance(view.question, feed_asks.LISTED)
        taken = FIGURES if menu else 0
        longest = max((len(row.stop.lines) for row in view.rows), default=1)
        rows = shared_out(height, main, len(said) - taken, longest)
        apart = main < width and height >= HIGH
        listed = rows.list + rows.gap + (longest if apart else 0)
        page = [_head(view, width), *_above(view, main, listed, alone=main == width, apart=apart)]
        self._figures_at = len(page) + 1
        page.append(_title(view, main))
        if menu:
            page += filled(said, main, FIGURES + rows.message)
        else:
            if len(said) < rows.message:
                said = [blank(main), *said]
            page += [*_figures(view, "", main), *filled(said, main, rows.message)]
        page.append(_kept(view, main))
        self._rows = [*filled(page, main, height - 1), _footer(view, width)]
        self._aside = beside(view, height - 2, width - MAIN) if width >= WIDE else []

    def draw(self, typed: str) -> list[Line]:
        """The whole page with what is typed, exactly as high and wide as its size."""
        rows = list(self._rows)
        view, main = self.view, self._main
        room = len(rows) > self._figures_at + FIGURES
        if typed and room and not isinstance(view.question, feed_asks.LISTED):
            figures = _figures(view, typed, main)
            rows[self._figures_at : self._figures_at + FIGURES] = figures
        if self._aside:
            both = zip(rows[1:-1], self._aside, strict=True)
            rows[1:-1] = [(*row, *aside) for row, aside in both]
        return filled(rows, self.size[0], self.size[1] - 1) + rows[-1:]


def draw(view: FeedView, typed: str, width: int, height: int) -> list[Line]:
    """The whole page, exactly `height` lines of `width` cells."""
    return Page(view, width, height).draw(typed)


# ---- above


def _head(view: FeedView, width: int) -> Line:
    when = view.now.short() if width >= NARROW else view.now.hm()
    day, _, clock = when.rpartition(" ")
    at = f"{day}  {clock}" if day else clock
    late = "" if view.given_at is None else f", given {view.given_at.hm()}"
    where = f"tank {view.here.number} of" if isinstance(view.here, StopView) else "all"
    many = f"{view.stops}" if isinstance(view.here, StopView) else f"{view.stops} tanks"
    left = f" FEED  Meal {view.meal.hm()}{late}, {view.who}"
    return spread(width, [left], [f"{where} {many}   {at} "], "head")


def _above(view: FeedView, width: int, rows: int, *, alone: bool, apart: bool) -> list[Line]:
    here = view.here
    if isinstance(here, EndView):
        return [
            _bar(view, "The meal", "", width),
            blank(width),
            *filled(end(view, here, width), width, rows),
        ]
    titles = Canvas(width)
    titles.put(LISTED_AT, Span("listed", "dim"))
    titles.put(GIVEN_AT, Span("given", "dim"))
    if width >= NARROW:
        titles.put(PAST_AT, Span("meals before, newest right", "dim"))
    stop = here.stop
    body = []
    for i, one in enumerate(here.lines):
        body += [blank(width)] if apart else []
        body.append(_line(one, width, present=i == here.at))
    if not here.stop.portions:
        body.append(line(width, Span("   no feed by the plan", "dim")))
    if stop.off is not None:
        off = (
            f"FEED OFF since {stop.off.since.told(view.now)}, {stop.off.who}: {off_words(stop.off)}"
        )
        body += [blank(width), *wrapped(width, off, "watch", 2, "   ")]
    if alone and width >= NARROW:
        around = meal_map(view, width)
        if len(body) + len(around) < rows - 1:
            body = [*filled(body, width, rows - len(around) - 1), *around]
    return [_bar(view, stop.tank.code, facts(here), width), titles.line(),
            *filled(body, width, rows)]  # fmt: skip


def off_words(off: FeedOff) -> str:
    """Why a tank is off feed, without the words that say that it is."""
    return feed_words.no_feed(off.words).removeprefix("feed off, ")


def facts(here: StopView) -> str:
    """What one should know standing before this tank with its cup."""
    tank = here.stop.tank
    age = f"{here.stop.age} dph" if here.stop.age is not None else "no fish of a known age"
    parts = ["QUARANTINE" if tank.quarantine else "", tank.treatment or "",
             f"block {tank.block}" if tank.block else "", age]  # fmt: skip
    return ", ".join(part for part in parts if part)


def _bar(view: FeedView, title: str, words: str, width: int) -> Line:
    done = f"{view.done} of {view.of} done"
    bar = round(8 * view.done / max(1, view.of))
    left = [Span(f" {title}", "bold"), Span(f"   {words}" if words else "")]
    if text.width(title) + text.width(words) + len(done) + 18 <= width:
        done = f"[{'#' * bar}{'-' * (8 - bar)}] {done}"
    return spread(width, left, [Span(f"{done} ", "dim")], "plain")


def _line(one: LineView, width: int, *, present: bool) -> Line:
    row = Canvas(width)
    row.put(0, Span(" >" if present else "  ", "now"))
    tone = "now" if present else "dim" if one.open else "plain"
    item = one.line
    label = item.label if isinstance(item, Portion) else item.slot.item.label
    row.put(3, Span(text.fit(_capital(label), LISTED_AT - 4), tone))
    if isinstance(item, Portion):
        _portion(row, one, item, width)
    else:
        _asked(row, one, item, width)
    return row.line()


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _on_mark(words: str) -> str:
    """An amount on the decimal mark of its column, its unit after it: "321    mL", "  0.42 g"."""
    amount, _, unit = words.partition(" ")
    if not amount[:1].isdecimal():
        return words
    whole, mark, part = amount.partition(".")
    return f"{whole:>{WHOLE}}{mark + part:<{PART}} {unit}"


def _portion(row: Canvas, one: LineView, portion: Portion, width: int) -> None:
    listed = text.fit(_on_mark(listed_words(portion)), GIVEN_AT - LISTED_AT - 1)
    row.put(LISTED_AT, Span(listed, "watch" if portion.short else "plain"))
    if one.gave:
        total = sum(meal.amount for meal in one.gave)
        given = _on_mark(in_hand(portion, total))
        row.put(GIVEN_AT, Span(text.fit(given, PAST_AT - GIVEN_AT - 1), "bold"))
    elif one.none is not None:
        end = width - GIVEN_AT - 1
        row.put(GIVEN_AT, Span(text.fit(feed_words.no_feed(one.none.event or ""), end), "watch"))
        return
    if width >= NARROW and one.past:
        past = "  ".join(told(portion, meal.amount).partition(" ")[0] for meal in one.past)
        unit = " thousand" if portion.live else ""
        row.put(PAST_AT, Span(text.fit(f"{past}{unit}", width - PAST_AT - 1), "dim"))


def _asked(row: Canvas, one: LineView, asked: Asked, width: int) -> None:
    item = asked.slot.item
    row.put(LISTED_AT + WHOLE - 1, Span("-", "dim"))
    if one.seen is not None:
        flag = Flag(one.seen.flag)
        words = value_words(item, one.seen, bare=item.kind.by_words)
        tone = flag_tone(flag) if flag >= Flag.WATCH else "bold"
        row.put(GIVEN_AT, Span(text.fit(f"{flag.short} {words}".strip(), 14), tone))
    elif one.left_out:
        row.put(GIVEN_AT, Span(left_out("")))
    if width < NARROW or not one.looks:
        return
    looks = one.looks[-PAST_LOOKS:]
    if item.kind.by_words:
        signs = " ".join(feed_wide.SIGNS[min(2, int(seen.value or 0))] for seen in looks)
        row.put(PAST_AT, Span(signs, "dim"))
        last = value_words(item, looks[-1], bare=True)
        row.put(row.at + 2, Span(text.fit(f"last {last}", max(0, width - row.at - 3)), "dim"))
    else:
        past = "  ".join(value_words(item, seen, bare=True) for seen in looks[-4:])
        row.put(PAST_AT, Span(text.fit(past, width - PAST_AT - 1), "dim"))


# ---- below


def _title(view: FeedView, width: int) -> Line:
    here = view.here
    if isinstance(here, EndView):
        return ruled(
            "The meal is done" if not here.open else "The meal is not done", (), "dim", width
        )
    asked = view.question
    if isinstance(asked, AskWords):
        return ruled(feed_asks.words(asked).removesuffix(":"), (), "dim", width)
    code = here.stop.tank.code
    if not here.lines:
        return ruled(code, (), "dim", width)
    line = here.lines[here.at].line
    if isinstance(line, Asked):
        item = line.slot.item
        unit = f", {item.unit}" if item.unit else ""
        looks = here.lines[here.at].looks
        last = ""
        if looks:
            since = age_words(view.now.hours_since(looks[-1].at))
            last = f"last {value_words(item, looks[-1], bare=True)}, {since} ago"
        return ruled(f"{code}  {item.label}{unit}", (last,), "dim", width)
    from_ = from_words(line)
    return ruled(f"{code}  {_capital(line.label)}, {amounts.unit_of(line)}", (from_,), "dim", width)


def from_words(portion: Portion) -> str:
    """The batches of a cup: of one its name, of several how much of each; "" of none."""
    pours = [one for one in portion.pours if one.ml > 0]
    if len(pours) < 2:
        return f"from {pours[0].batch}" if pours else ""
    return " and ".join(f"{one.ml:,.0f} mL from {one.batch}" for one in pours)


def _figures(view: FeedView, typed: str, width: int) -> list[Line]:
    here, asked = view.here, view.question
    if isinstance(asked, AskWords):
        rows = text.wrap(typed, width - 5)[-FIGURES:] or [""]
        rows[-1] = tail(rows[-1], width - 5) + "_"
        return filled((line(width, Span(f"   {row}", "entry")) for row in rows), width, FIGURES)
    if isinstance(here, EndView):
        words = "Enter leads back to the list; what was given stays as it is."
        if here.open:
            words = f"Still open: {codes(here.open)}. Left goes back to them."
        return filled(wrapped(width, words, "bold", FIGURES, "   "), width, FIGURES)
    if not here.lines:
        return filled(
            wrapped(
                width,
                "Nothing is asked here. / enters a feed that went in; right goes on.",
                "plain",
                2,
                "   ",
            ),
            width,
            FIGURES,
        )
    at = here.lines[here.at]
    if isinstance(at.line, Asked):
        if at.line.slot.item.kind.by_words:
            return words_of(at.line.slot.item, typed, width)
        return _large(typed, "", [], width)
    return _amount(view, at, at.line, typed, width)


def _amount(view: FeedView, at: LineView, portion: Portion, typed: str, width: int) -> list[Line]:
    """What is typed, entered or listed, large, and beside it what that is in the other unit."""
    asked = view.question
    if isinstance(asked, AskFar | AskOff | AskDoubt | AskInstead):
        order = asked.order
        large = _number(amounts.bare(order.portion, order.amount), order.portion)
        return _large(large, "entry", [(amount_words(order.portion, order.amount), "bold")], width)
    rows: list[tuple[str, str]] = []
    if here_off(view) and not typed:
        rows = [("+ goes on: nothing goes in", "bold"), ("fed all the same? type how much", "dim")]
        return _large("0", "watch", rows, width)
    listed = amounts.as_listed(portion)
    if listed is not None and not at.gave:
        rows.append((f"listed {amount_words(portion, listed)}", "plain"))
        if portion.short and portion.full and portion.listed is not None:
            part = f"{percent_of(portion.listed / portion.full)} %"
            rows.append((f"{part} of its full ration, as every tank", "watch"))
    if at.gave:
        given = sum(meal.amount for meal in at.gave)
        when = f"at {at.gave[-1].at.hm()}, {at.gave[-1].who}"
        rows.append((f"given {in_hand(portion, given)} {when}", "bold"))
    if typed:
        rows.append((_understood(portion, typed), "entry"))
        return _large(typed, "entry", rows, width)
    if at.gave:
        rows.append(("another amount? type it; why is asked", "dim"))
        return _large("", "entry", rows, width)
    if listed is None:
        rows.append((f"type how much went in, {feed_asks.unit_words(portion)}", "dim"))
        return _large("", "entry", rows, width)
    rows += _plus(view, portion, room=FIGURES - len(rows))
    return _large(_number(amounts.bare(portion, listed), portion), "bold", rows, width)


def fed_with(lines: Sequence[LineView], portion: Portion) -> list[str]:
    """The other feeds of a tank that go in as listed with one of them: "dry feed D1 0.10 g"."""
    return [
        f"{one.line.label} {amount_words(one.line, listed)}"
        for one in lines
        if isinstance(one.line, Portion) and one.line.feed != portion.feed and one.open
        if (listed := amounts.as_listed(one.line)) is not None
    ]


def _plus(view: FeedView, portion: Portion, room: int) -> list[tuple[str, str]]:
    """What `+` stands for here: every feed of the tank that is open goes in with this one."""
    with_it = fed_with(view.here.lines, portion) if isinstance(view.here, StopView) else []
    if not with_it:
        return [("+ as listed, or type another amount", "dim")]
    others = " and ".join(with_it)
    rows = [(f"+ as listed, and {others}", "bold"), ("or type another amount", "dim")]
    return rows[:room]


def here_off(view: FeedView) -> bool:
    """Whether the tank one stands at is off feed."""
    return isinstance(view.here, StopView) and view.here.stop.off is not None


def _understood(portion: Portion, typed: str) -> str:
    """What is typed in both units, as far as it is an amount yet."""
    try:
        return f"{typed} = {amount_words(portion, amounts.read(portion, typed))}"
    except Refusal:
        return f"{typed}_"


def _number(value: float, portion: Portion) -> str:
    """A number as large figures show it."""
    if portion.live:
        return f"{value:.0f}" if value >= 10 else f"{value:.1f}"
    return f"{value:.2f}"


def _large(words: str, tone: str, beside: list[tuple[str, str]], width: int) -> list[Line]:
    """Three rows: a number large, and words beside it."""
    rows = [Canvas(width) for _ in range(FIGURES)]
    number = words.rstrip("abcdefghijklmnopqrstuvwxyz ")
    drawn = big(number, FIGURES_CELLS) if number else ("", "", "___")
    if drawn is None:
        rows[1].put(FIGURES_AT, Span(f"{words}_", tone or "entry"))
    else:
        for row, part in zip(rows, drawn, strict=True):
            row.put(FIGURES_AT, Span(part, tone or "entry"))
    for row, (said, how) in zip(rows, beside, strict=False):
        start = max(SCALE_AT, row.at + 2)
        row.put(start, Span(text.fit(said, width - start - 1), how))
    return [row.line() for row in rows]


def _said(view: FeedView, width: int) -> list[Line]:
    """What the program says, or asks."""
    asked, said = view.question, view.said
    if asked is not None and not isinstance(asked, AskWords):
        words, options = feed_asks.words(asked), feed_asks.options(asked)
        if isinstance(asked, feed_asks.LISTED):
            return menu_rows(words, options, width, FIGURES + 3)
        rows = wrapped(width, f"? {words}", "check", 3)
        return rows if _in_footer(options, width) else [*rows, *menu_rows("", options, width, 4)]
    if said.message is not None:
        return message_rows(said.message, said.flag, width, 4)
    if said.flag >= Flag.CHECK:
        return wrapped(width, said.sentence, flag_tone(said.flag), 3)
    return []


BACK_AND_HELP = 20
"""Cells of the way out and of help in the row of keys."""


def _in_footer(options: Sequence[Option], width: int) -> bool:
    """Whether the answers stand in the row of keys, whole."""
    used = sum(text.width(key) + text.width(words) + 3 for key, words in options)
    return used + BACK_AND_HELP <= width


def _kept(view: FeedView, width: int) -> Line:
    said = view.said
    words = said.kept if said.message is not None else said.sentence
    if not words or (said.message is None and said.flag >= Flag.CHECK and view.question is None):
        return blank(width)
    return line(
        width,
        Span(
            f" {text.fit(words, width - 2)}",
            "ok" if not said.flag or said.message else flag_tone(said.flag),
        ),
    )


AT_AN_ITEM = {"none": "not taken", "amount": "choose"}
"""What keys that are for an amount are called where one answers an item."""


def _footer(view: FeedView, width: int) -> Line:
    asked = view.question
    if isinstance(asked, AskWords):
        return footer("none", width, feed_asks.options(asked))
    if isinstance(asked, feed_asks.LISTED):
        return footer("ask", width)
    if asked is not None:
        options = feed_asks.options(asked)
        return footer("sign", width, options if _in_footer(options, width) else options[:1])
    if isinstance(view.here, EndView):
        return footer("sign", width, [("Enter", "the list"), ("left", "back"), ("u", "undo")])
    here = view.here
    at = here.lines[here.at].line if here.lines else None
    if isinstance(at, Asked):
        words = at.slot.item.choices[:1]
        return footer("feeding", width, [("+", words[0])] if words else [], AT_AN_ITEM)
    plus = "" if at is None else _plus_word(here, at)
    return footer("feeding", width, [("+", plus)] if plus else [])


def _plus_word(here: StopView, portion: Portion) -> str:
    """What + does at a feed; "" where the list has no amount that it could stand for."""
    if here.stop.off is not None:
        return "goes on"
    if amounts.as_listed(portion) is not None:
        return "as listed"
    return "none needed" if portion.full == 0 else ""
