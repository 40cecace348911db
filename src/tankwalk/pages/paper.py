"""Pages for the printer: one HTML file each, black on white, with nothing outside itself.

`el` builds every element: words become text and never markup, since what is no `Markup` is escaped.
"""

from __future__ import annotations

import html
from collections.abc import Iterable

from tankwalk import __version__, text
from tankwalk.clock import Instant, ago_short
from tankwalk.pages import board as words_of_board
from tankwalk.pages import due_words, follow_up_words, meter_words
from tankwalk.pages import handover as words_of_handover
from tankwalk.pages.handover import MEANING, Words, room
from tankwalk.pages.room_words import with_whom
from tankwalk.practice.board import Board
from tankwalk.practice.handover.drafting import HandoverDraft, Section
from tankwalk.practice.tiles import Tile
from tankwalk.rows import NamedTuple

GENERATOR = '<meta name="generator" content="tankwalk '
"""How a page of this program is known again; nothing else is written over."""

LIMIT = 1_000_000
"""Longest user text in characters; the record keeps far shorter ones."""


class Markup(NamedTuple):
    """HTML that this program made."""

    html: str


Node = str | Markup

_EMPTY = {"meta", "col"}


def el(name: str, /, *inside: Node, **attributes: str) -> Markup:
    """One element. A trailing "_" of an attribute's name is dropped (`class_`)."""
    marks = "".join(
        f' {key.rstrip("_")}="{_escaped(value)}"' for key, value in attributes.items() if value
    )
    if name in _EMPTY:
        return Markup(f"<{name}{marks}>")
    return Markup(f"<{name}{marks}>{joined(inside).html}</{name}>")


def joined(nodes: Iterable[Node]) -> Markup:
    """Nodes one after the other."""
    return Markup("".join(n.html if isinstance(n, Markup) else _escaped(n) for n in nodes))


def _escaped(words: str) -> str:
    """Words as HTML text: no control or bidi character, nothing that is markup."""
    return html.escape(text.clean(words, limit=LIMIT), quote=True)


STYLE = """
* { box-sizing: border-box; }
html { background: #fff; color: #000; }
body { margin: 0 auto; max-width: 195mm; font: 10pt/1.3 Arial, Helvetica, "Liberation Sans",
  system-ui, sans-serif; font-variant-numeric: tabular-nums; }
header { display: flex; justify-content: space-between; align-items: baseline; gap: 6mm;
  border-bottom: 0.7mm solid #000; padding-bottom: 1mm; }
h1 { font-size: 1.5em; margin: 0; }
h2 { font-size: 1.05em; margin: 0.8em 0 0.2em; border-bottom: 0.2mm solid #000;
  break-after: avoid; }
h2 small { font-weight: normal; font-size: 0.85em; margin-left: 0.7em; }
p { margin: 0.3em 0; overflow-wrap: anywhere; }
ul { list-style: none; margin: 0; padding: 0; }
li { padding-left: 1em; text-indent: -0.6em; break-inside: avoid; overflow-wrap: anywhere; }
table { border-collapse: collapse; }
td, th { text-align: left; vertical-align: top; padding: 0.1em 0.8em 0.1em 0; font-weight: inherit;
  overflow-wrap: anywhere; }
.flag, .flag td, .flag th { font-weight: bold; }
.box { display: inline-block; width: 0.75em; height: 0.75em; border: 0.25mm solid #000;
  margin-right: 0.5em; text-indent: 0; }
.last { font-size: 0.85em; margin-top: 1em; }
@media screen { body { padding: 8mm; } }
@media print { body { max-width: none; } }
"""

PORTRAIT = "@page { margin: 12mm 14mm 14mm; %s }"

_NUMBERED = (
    '@bottom-right { content: "page " counter(page) " of " counter(pages); '
    "font: 8pt Arial, Helvetica, sans-serif; } "
    '@bottom-left { content: "tankwalk, %s, seal %s"; '
    "font: 8pt Arial, Helvetica, sans-serif; }"
)


_AS_PRINTED = (
    PORTRAIT
    + """
pre { font: 8pt/1.25 "DejaVu Sans Mono", "Liberation Mono", Menlo, Consolas, monospace;
  white-space: pre; margin: 0.4em 0; }
"""
)


def document(title: str, style: str, now: Instant, seal: str, *inside: Node) -> str:
    """A whole file. `style` is ours and holds one %s, for the foot of each printed page;
    `seal` is that of the record it was made from.
    """
    foot = _NUMBERED % (now.short(), seal)
    head = joined(
        (
            el("meta", charset="utf-8"),
            Markup(f'{GENERATOR}{__version__}">'),
            el("meta", name="viewport", content="width=device-width, initial-scale=1"),
            el("title", title),
            Markup(f"<style>{STYLE}{style.replace('%s', foot)}</style>"),
        )
    )
    body = el("html", el("head", head), Markup("\n"), el("body", *inside), lang="en")
    return f"<!DOCTYPE html>\n{body.html}\n"


# ---- what several pages have


def as_printed(title: str, site: str, now: Instant, seal: str, words: str) -> str:
    """A page as its printed lines are, for the printer."""
    head = header(title, site, now)
    return document(f"{title}, {site}", _AS_PRINTED, now, seal, head, el("pre", words))


def header(left: str, site: str, now: Instant) -> Markup:
    """The head of a page: what it is, where, when."""
    return el(
        "header",
        el("h1", left),
        el("div", el("strong", site)),
        el("div", f"{now.short()} {now.wall.year}"),
    )


def heading(words: str, meaning: str = "") -> Markup:
    return el("h2", words, el("small", meaning)) if meaning else el("h2", words)


def _list(rows: Iterable[Words], boxed: bool = False) -> Markup:
    """Lines with a box to tick where they are something to do; flagged ones bold."""
    box = (el("span", class_="box"),) if boxed else ()
    return el("ul", *(el("li", *box, row.words, class_=_late(row.tone != "plain")) for row in rows))


# ---- the handover


_HANDOVER = (
    PORTRAIT
    + """
body { font-size: SIZE; }
.back td { width: 33%; height: 14mm; border: 0.25mm solid #000; padding: 0.5mm 1.5mm; }
.back, .sign { width: 99.8%; margin-top: 1.2em; break-inside: avoid; }
.sign td { height: 14mm; border-bottom: 0.25mm solid #000; font-size: 0.75em; padding-top: 2.5mm; }
.sign th { width: 11em; vertical-align: bottom; font-weight: bold; }
.sign .time { width: 34mm; }
"""
)

SAID_BACK = ("Which tank is worst?", "What is off or altered?", "What is due next?")
"""What the one who takes the room says in their own words, where the page asks nothing else."""


def handover(draft: HandoverDraft, seal: str) -> str:
    """The handover on one side where its lines allow, with a place for both signatures."""
    sections = [part for section in draft.sections for part in _section(section, draft.now)]
    for words, lines in words_of_handover.under(draft):
        sections += [heading(words), _list(map(Words, lines))]
    asks = [one.ask for one in draft.asks] or SAID_BACK
    asked = el(
        "table", el("tr", *(el("td", f"Said back: {words}") for words in asks)), class_="back"
    )
    signed = el(
        "table",
        *(
            el(
                "tr",
                el("th", who),
                el("td", "name and signature"),
                el("td", "day and time", class_="time"),
            )
            for who in ("The room is given by", "and taken by")
        ),
        class_="sign",
    )
    return document(
        f"Handover, {draft.site}, {draft.now.short()}",
        _HANDOVER.replace("SIZE", _size(draft)),
        draft.now,
        seal,
        header("HANDOVER", draft.site, draft.now),
        el("p", room(draft)),
        *sections,
        asked,
        signed,
        el("p", f"Drafted from the record up to entry {draft.last_entry}.", class_="last"),
    )


def _section(section: Section, now: Instant) -> tuple[Markup, Markup]:
    to_do = section.name == "TO DO" and bool(section.lines)
    lines = words_of_handover.said(section, now)
    return heading(section.name, MEANING[section.name]), _list(lines, boxed=to_do)


def _size(draft: HandoverDraft) -> str:
    """Letters as large as the lines allow on one side of the smaller paper, US Letter."""
    said, under = words_of_handover.said, words_of_handover.under(draft)
    lines = [one.words for section in draft.sections for one in said(section, draft.now)]
    lines += [words for heading, below in under for words in (heading, *below)]
    for points, across, down in ((11.5, 96, 22), (10.5, 104, 27), (9.5, 115, 31), (8.5, 128, 36)):
        if sum(-(-text.width(words) // across) for words in lines) <= down:
            return f"{points}pt"
    return "8pt"


# ---- the board


_BOARD = (
    PORTRAIT
    + """
.tanks { width: 100%; }
.tanks th { border-bottom: 0.2mm solid #000; }
.end { text-align: right; padding-right: 0; }
.wide { width: 100%; }
"""
)


def board(page: Board, seal: str) -> str:
    """The board as it stands, every tank in a row."""
    now = page.now
    wrong = [
        el(
            "tr",
            el("td", one.flag.mark),
            el("td", one.place),
            el("td", one.sentence),
            el("td", one.at.told(now), class_="end"),
            class_="flag",
        )
        for one in page.wrong
    ]
    columns = ("tank", "flag", "treatment", "age", "last check", "what is out of band")
    tanks = el(
        "table",
        el("tr", *(el("th", words) for words in columns)),
        *(_tile_row(tile, now) for tile in page.tiles),
        class_="tanks",
    )
    said, until, whose = follow_up_words.said, follow_up_words.until, follow_up_words.whose
    due, expected = (
        [_ended(due_words.what(one), due_words.said(one, now), late=one.overdue) for one in these]
        for these in (page.owed, page.expected)
    )
    altered = [_ended(said(one), until(one), late=one.terms.late) for one in page.altered]
    meters = [_ended(meter_words.altered(state, now), "") for state in page.meters]
    actions = [
        _ended(said(one), whose(one), boxed=True, late=one.terms.late) for one in page.actions
    ]
    lists = (
        ("DUE", due),
        ("EXPECT", expected),
        ("ALTERED", altered),
        ("METERS", meters),
        ("TO DO", actions),
    )
    return document(
        f"Board, {page.name}, {now.short()}",
        _BOARD,
        now,
        seal,
        header("BOARD", page.name, now),
        el("p", with_whom(page.handover, page.now).text),
        *([el("p", words, class_="flag")] if (words := words_of_board.never_taken(page)) else []),
        heading("WRONG NOW", str(len(wrong)) if wrong else ""),
        el("table", *wrong, class_="wide")
        if wrong
        else el("p", words_of_board.nothing_wrong(page).capitalize()),
        heading("TANKS", "in walking order"),
        tanks,
        *(
            node
            for words, rows in lists
            if rows
            for node in (heading(words), el("table", *rows, class_="wide"))
        ),
        *([el("p", el("strong", f"EMERGENCY: {page.emergency}"))] if page.emergency else []),
        el("p", f"Made from the record up to entry {seal.partition('-')[0]}.", class_="last"),
    )


def _tile_row(tile: Tile, now: Instant) -> Markup:
    tank = tile.tank
    looked = "never" if tile.looked is None else ago_short(now.hours_since(tile.looked))
    age = "" if tile.dph is None else f"{tile.dph} dph"
    mark = tile.flag.mark if tile.looked is not None or tile.flag else "--"
    words = (tank.code, mark, tank.treatment or "", age, looked, "; ".join(tile.items))
    return el("tr", *(el("td", w) for w in words), class_=_late(bool(tile.flag)))


def _late(late: bool) -> str:
    return "flag" if late else ""


def _ended(words: str, end: str, *, boxed: bool = False, late: bool = False) -> Markup:
    """Words at the left, their end at the right."""
    box = (el("span", class_="box"),) if boxed else ()
    return el("tr", el("td", *box, words), el("td", end, class_="end"), class_=_late(late))
