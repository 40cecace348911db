"""The page of what was found: typed words marked in what people wrote, the newest first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.ledger.words import WordsIn
from tankwalk.pages import story_words
from tankwalk.pages.lines import Line, Span, blank, filled, line, spread, wrapped
from tankwalk.pages.when import at_words
from tankwalk.practice.site import SITE

if TYPE_CHECKING:  # what finds loads an index, which a page has no use for
    from tankwalk.clock import Instant
    from tankwalk.practice.finding.finding import Found, Hit
    from tankwalk.practice.past.story import StoryLine

KINDS = {
    WordsIn.NOTE: "note",
    WordsIn.LINE: "own line",
    WordsIn.HANDOVER: "handover",
    WordsIn.DONE: "done",
    WordsIn.CALL: "call",
    WordsIn.FOLLOW_UP: "to do",
    WordsIn.FLAG: "flag",
    WordsIn.REASON: "reason",
    WordsIn.BATCH: "feed batch",
    WordsIn.DOSE: "dose",
    WordsIn.MOVEMENT: "fish",
    WordsIn.IMPORT: "import",
}
"""What words stand in, as the page says it."""

WIDE = 76
"""Cells from which a row says what the words stand in."""

BELOW = 7
"""Rows at the foot for the words that are marked, whole."""

SIDED, SIDE = 110, 54
"""From so many cells on what happened around it stands beside the list, in so many."""

BEFORE = 12
"""Cells of a cut text that stand before its first mark."""

NOTHING_TYPED = (
    "Type words: notes, lines of handovers, what was done, calls, follow-ups, flags, reasons. All "
    "of them have to be there, each from its beginning. A tank's code or initials narrow it."
)

IN_MEMORY = "The list of words can't be kept on this laptop: it is made anew each time."
NO_INDEX = "SQLite has no FTS5 here: every text is looked through, which takes longer."


def kind_of(hit: Hit) -> str:
    """What the words stand in, in a word or two."""
    if hit.stands_in is WordsIn.FOLLOW_UP and hit.of.startswith("altered"):
        return "altered"
    return KINDS[hit.stands_in]


def _amended(hit: Hit) -> str:
    """What became of an entry that no longer stands."""
    return "undone" if hit.stands_in is WordsIn.IMPORT else "amended"


def _place(hit: Hit) -> str:
    """The place; what belongs to the whole site has none."""
    return "" if hit.place in (None, SITE) else hit.place


def draw(
    found: Found,
    at: int,
    top: int,
    width: int,
    height: int,
    around: tuple[StoryLine, ...] | None = None,
) -> list[Line]:
    """The page, exactly `height` rows; `at` is the row Enter goes by, `top` the first one shown.

    What is typed is the page's own first row. Where it is wide, what happened `around` the one
    that is marked stands beside the list.
    """
    if width < SIDED or around is None or not found.hits:
        return _listed(found, at, top, width, height)
    _, _, *rows = _listed(found, at, top, width - SIDE, height - BELOW, alone=False)
    hit = found.hits[at]
    side = filled(_beside(hit, around, found.now), SIDE, len(rows))
    return [
        _head(found, width),
        _typed(found, width),
        *(line(width, *row, *other) for row, other in zip(rows, side, strict=True)),
        *_whole(hit, found.now, width),
    ]


def _beside(hit: Hit, around: tuple[StoryLine, ...], now: Instant) -> list[Line]:
    """What happened at its place in the days around it; what was found is marked."""
    place = hit.place or SITE
    rows = [line(SIDE, Span(f" AROUND IT  {place}", "bold"), Span("  newest first", "dim"))]
    if not around:
        rows.append(line(SIDE, Span("  Nothing else is told of these days.", "dim")))
    for one in around:
        told = story_words.told(one, place, brief=True)
        lead = [Span(" > " if one.n == hit.n else "   ", "now"),
                Span(text.pad(story_words.when(one.at, now), 13), "dim"),
                Span(text.pad(one.who, 4), "dim")]  # fmt: skip
        words = f"{told.mark} {told.words}".strip() if told.mark else told.words
        first, *rest = text.wrap(words, SIDE - 21) or [""]
        said = [Span(first, told.tone)]
        if told.mark and first.startswith(told.mark):
            said = [Span(told.mark, told.mark_tone), Span(first[len(told.mark) :], told.tone)]
        rows.append(line(SIDE, *lead, *said))
        rows += [line(SIDE, Span(" " * 20), Span(more, told.tone)) for more in rest[:2]]
    return rows


def _listed(
    found: Found, at: int, top: int, width: int, height: int, *, alone: bool = True
) -> list[Line]:
    """What was found in a list, and under it the one that is marked, whole, where it is alone."""
    lines = [_head(found, width), _typed(found, width), blank(width)]
    if not found.typed:
        lines += [*wrapped(width, NOTHING_TYPED, "dim", 5, "   ")]
    elif not found.hits:
        lines.append(line(width, Span("   Nothing holds these words.")))
        lines.append(line(width, Span("   Fewer letters find more.", "dim")))
    below = _remarks(found, width) if not found.hits else []
    if found.hits and alone:
        below = _whole(found.hits[at], found.now, width)
    room = height - len(lines) - len(below)
    shown = found.hits[top : top + room]
    for nth, hit in enumerate(shown, top):
        lines.append(_row(hit, found.now, width, here=nth == at))
    return [*filled(lines, width, height - len(below)), *below]


def rows_shown(height: int) -> int:
    """How many rows of what was found a page of this height shows at the least."""
    return max(1, height - 3 - BELOW)


def print_out(found: Found, width: int) -> list[Line]:
    """The page for print: every text whole, the words between stars."""
    lines = [_head(found, width), _typed(found, width, cursor="")]
    if not found.hits:
        lines.append(line(width, Span("   Nothing holds these words.")))
    for hit in found.hits:
        lines += [blank(width), _said_of(hit, found.now, width)]
        marked = starred(hit)
        parts = hit.whole if hit.stands_in is not WordsIn.HANDOVER else (hit.text,)
        for part in parts:
            words = marked if part == hit.text else part
            lines += wrapped(width, words, "plain", 40, "   ")
    return [*lines, *_remarks(found, width)]


def _head(found: Found, width: int) -> Line:
    return spread(width, [f" FIND  {found.site}"], [f"{found.now.short()} "], "head")


def _typed(found: Found, width: int, cursor: str = "_") -> Line:
    """What is sought, and how much there is."""
    many = len(found.hits)
    count = f"{many} found" if found.typed else ""
    if found.more:
        count = f"the newest {many}"
    if found.since is not None:
        count += f" since {found.since.short()}"
    tail = f"{count}, newest first " if many > 1 else f"{count} "
    room = max(2, width - 4 - text.width(tail) - len(cursor))
    typed = found.typed
    if text.width(typed) > room:  # its end is what is being typed
        typed = typed[-room:]
        while typed and text.width(typed) > room - 2:
            typed = typed[1:]
        typed = ".." + typed
    left = [Span("   "), Span(typed, "entry"), Span(cursor, "dim")]
    return spread(width, left, [Span(tail, "dim")], "plain")


def _remarks(found: Found, width: int) -> list[Line]:
    """What there is to say of how it was sought."""
    said = [*([] if found.kept else [IN_MEMORY]), *([] if found.fast else [NO_INDEX])]
    if found.more:
        said.append("There is more, older than this: one more word narrows it.")
    return [blank(width), *(row for one in said for row in wrapped(width, one, "dim", 3))] * bool(
        said
    )


def _row(hit: Hit, now: Instant, width: int, *, here: bool) -> Line:
    """One that was found: place, when, who, and the words about the first mark."""
    left = [
        Span(" > " if here else "   ", "now"),
        Span(text.pad(_place(hit), 6), "now" if here else "bold"),
        Span(text.pad(at_words(hit.at, now), 10), "dim"),
        Span(text.pad(hit.who, 5), "dim"),
    ]
    if width >= WIDE:
        left.append(Span(text.pad(kind_of(hit), 11), "dim"))
    room = width - 1 - sum(text.width(one.text) for one in left)
    return line(width, *left, *_marked(hit, room))


def _marked(hit: Hit, room: int) -> list[Span]:
    """The words, those sought set off; cut so that the first of them is in sight."""
    words, marks, tone = hit.text, hit.marks, "plain"
    cells = room
    spans: list[Span] = []
    if hit.amended:
        spans.append(Span(f"{_amended(hit)} ", "dim"))
        cells, tone = cells - 8, "struck"
    start = 0
    if marks and text.width(words) > cells and text.width(words[: marks[0][1]]) > cells - 4:
        start = max(0, marks[0][0] - BEFORE)
        while start and not words[start - 1].isspace() and start < marks[0][0]:
            start += 1
        spans.append(Span("..", "dim"))
        cells -= 2
    for begin, end in marks:
        if begin >= start:
            spans += [Span(words[start:begin], tone), Span(words[begin:end], "key")]
            start = end
    spans.append(Span(words[start:], tone))
    return _cut(spans, room)


def _cut(spans: list[Span], room: int) -> list[Span]:
    """Spans cut to so many cells, ending in ".." where something was cut."""
    made, left = [], room
    for nth, one in enumerate(spans):
        rest = "".join(each.text for each in spans[nth + 1 :])
        if text.width(one.text) + (2 if rest else 0) > left:
            made.append(one._replace(text=text.fit(one.text + rest, left)))
            break
        made.append(one)
        left -= text.width(one.text)
    return made


def _said_of(hit: Hit, now: Instant, width: int) -> Line:
    """Where, when, who and in what, and how often."""
    where = " ".join(one for one in (_place(hit), hit.item) if one)
    parts = [hit.at.short() if hit.at.day != now.day else f"today {hit.at.hm()}", hit.who]
    said = f"{kind_of(hit)}{f', {hit.of}' if hit.of and _tells(hit) else ''}"
    if hit.times > 1 and hit.since is not None:
        said += f", on {hit.times} pages since {hit.since.short()}"
    if hit.reading is not None and hit.reading.was is not None:
        was, stands = hit.reading.was, hit.reading
        said += f": was {was.typed or was.qualifier}, now {stands.typed or stands.qualifier}"
    if hit.amended:
        said += f", {_amended(hit)} since"
    where = f"{where}  " if where else ""
    return line(width, Span(f" {where}", "bold"), Span(f"{'  '.join(parts)}  {said}", "dim"))


def _tells(hit: Hit) -> bool:
    """Whether what it is of says more than what it stands in."""
    return hit.stands_in in (WordsIn.FOLLOW_UP, WordsIn.LINE, WordsIn.BATCH)


def starred(hit: Hit) -> str:
    """The line with each mark between stars, for where there are no tones."""
    words, start = "", 0
    for begin, end in hit.marks:
        words += f"{hit.text[start:begin]}*{hit.text[begin:end]}*"
        start = end
    return words + hit.text[start:]


def _whole(hit: Hit, now: Instant, width: int) -> list[Line]:
    """The one that is marked, whole as far as there is room."""
    rule = line(width, Span(" " + "─" * (width - 2) + " ", "rule"))
    words = " ".join(hit.whole) if hit.stands_in is not WordsIn.HANDOVER else hit.text
    said = wrapped(width, words, "struck" if hit.amended else "plain", BELOW - 2)
    return filled([rule, _said_of(hit, now, width), *said], width, BELOW)
