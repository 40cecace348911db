"""The pages of an import: a file as it would be kept, and what was imported."""

from __future__ import annotations

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.ledger.incoming import Laid
from tankwalk.pages.lines import Line, Span, blank, line, spread, wrapped
from tankwalk.practice.importing.view import DryRun, ImportsView

_ENCODINGS = {"utf-8-sig": "utf-8 with a mark", "cp1252": "Windows (western)"}


def dry_run(view: DryRun, width: int) -> list[Line]:
    """A file as it would be imported, line by line."""
    title = f" IMPORT  {view.file}, as {view.source}"
    page = [spread(width, [title], ["dry run, nothing is kept "], "head")]
    words = _ENCODINGS.get(view.encoding, view.encoding)
    head = f"names in line {view.head}" if view.head else "no line of names"
    how = f"{words}, {view.separator} between cells, {head}, values from line {view.first}"
    page += _labeled("Read as", how, width)
    if view.again is not None:
        again = f"import {view.again.n} of {view.again.at.long()}, by {view.again.who}"
        page += _labeled("Like", again, width)
    for note in view.notes:
        page += _say(width, note, "plain", 2)
    page += [blank(width), line(width, Span(" COLUMNS", "bold"))]
    read = [(name, means) for name, means in view.columns if means != "skip"]
    room = min(36, max((text.width(name) for name, _ in read), default=0))
    for name, means in read:
        page.append(line(width, "   ", Span(text.pad(name, room), "dim"), "  ", Span(means)))
    if view.asks:
        page += [blank(width), line(width, Span(" TELL THIS FIRST", "bold"))]
        for ask in view.asks:
            page += _say(width, ask.words, "check", 3)
            page.append(line(width, "     add  ", Span(ask.flag, "key")))
        return page
    page += _values(view, width) + _kept(view, width) + _refused(view, width)
    return [*page, blank(width), *_ending(view, width)]


def _say(width: int, words: str, tone: str, indent: int) -> list[Line]:
    """Words in as many lines as they take."""
    return wrapped(width, words, tone, 99, " " * indent)


def _labeled(label: str, words: str, width: int) -> list[Line]:
    first, *more = text.wrap(words, width - 13) or [""]
    made = [line(width, Span(f" {text.pad(label, 11)}", "bold"), first)]
    return made + [line(width, " " * 12, one) for one in more]


def _values(view: DryRun, width: int) -> list[Line]:
    if not view.values:
        return []
    page = [blank(width), line(width, Span(" THE FIRST VALUES, AS READ", "bold"))]
    cells = min(24, max(len(one.cell) for one in view.values))
    for one in view.values:
        read = Span(f"   line {one.line:<4} {text.pad(one.cell, cells)}  ", "dim")
        means = f"{text.pad(one.place, 5)} {text.pad(one.item, 9)} {text.pad(one.value, 16)} "
        when = _moment(one.at)
        if text.width(read.text) + text.width(means) + text.width(when) <= width:
            page.append(line(width, read, means, when))
        else:  # nothing of what is looked over is cut
            page += [line(width, read, when), line(width, f"     {means}")]
    return page


def _moment(at: Instant) -> str:
    return at.iso().replace("T", " ")


def _kept(view: DryRun, width: int) -> list[Line]:
    values = f"{view.taken:,} value{'s' * (view.taken != 1)}"
    lines = f"{view.lines:,} line{'s' * (view.lines != 1)} read"
    page = [
        blank(width),
        spread(width, [Span(f" TO BE KEPT  {values}", "bold")], [f"{lines} "], "dim"),
    ]
    for one in view.laid:
        page += _laid(one, view, width)
    if view.changed_clock:
        words = (
            f"{view.changed_clock:,} times fall into the hour that the clock passed twice: "
            "read in the order of the lines."
        )
        page += _say(width, words, "check", 3)
    return page


def _laid(one: Laid, view: DryRun, width: int) -> list[Line]:
    place, item, unit = one.channel
    span = f"{one.low:.4g} - {one.high:.4g} {unit}"
    head = f"   {text.pad(place, 5)} {text.pad(item, 9)} {one.values:>9,}  "
    page = [line(width, head, span if one.values else "none new")]
    if one.known:
        words = f"{one.known:,} are in the record already, the same: not kept twice."
        page += _say(width, words, "dim", 9)
    if one.other:
        words = f"{one.other:,} are there with another value: both are kept."
        page += _say(width, words, "check", 9)
    if one.looks:
        words = f"{one.looks:,} fall on a look that a person entered: both are kept."
        page += _say(width, words, "plain", 9)
    return page


def _refused(view: DryRun, width: int) -> list[Line]:
    page: list[Line] = []
    if view.without:
        said = ", ".join(f"{many:,} {word!r}" if word else f"{many:,} empty"
                         for word, many in view.without)  # fmt: skip
        many = sum(count for _, count in view.without)
        page += [
            blank(width),
            line(width, Span(f" NO VALUE  {many:,} cell{'s' * (many != 1)}", "bold")),
        ]
        page += _say(width, said, "plain", 3)
    if not view.reasons:
        return page
    page += [blank(width), line(width, Span(f" NOT TAKEN  {view.turned_down:,}", "bold"))]
    for reason, many in view.reasons[:12]:
        page += _say(width, f"{many:,}  {reason}", "check", 3)
    if len(view.reasons) > 12:
        page.append(line(width, f"   and {len(view.reasons) - 12} more reasons"))
    for one in view.refused:
        words = f"line {one.line}  {one.name}  {one.cell!r}: {one.reason}"
        page += _say(width, words, "dim", 5)
    return page


def _ending(view: DryRun, width: int) -> list[Line]:
    if view.twice is not None:
        was = f"import {view.twice.n}, {view.twice.at.long()}, by {view.twice.who}"
        return _say(width, f"This file was imported already: {was}.", "check", 1)
    if not view.taken:
        return _say(width, "There is nothing new to keep.", "check", 1)
    page = _say(width, "To keep it, add: --keep --who INITIALS", "plain", 1)
    if view.turned_down:
        words = "To get the cells not taken in a file, add: --refused FILE.csv"
        page += _say(width, words, "plain", 1)
    return page


def listed(view: ImportsView, width: int) -> list[Line]:
    """What was imported, newest first."""
    page = [spread(width, [" IMPORTED"], [f"{view.now.short()} "], "head")]
    if not view.kept:
        return page + _say(
            width, "Nothing was imported yet. To look at a file: tankwalk import FILE", "plain", 1
        )
    for one in view.kept:
        file = one.file
        head = f" {file.n}  {file.source}  {file.file}"
        page += [
            blank(width),
            spread(width, [Span(head, "bold")], [f"{file.who} {file.at.long()} "], "dim"),
        ]
        said = f"{file.kept:,} values"
        if file.refused:
            said += f", {file.refused:,} not taken"
        places = ", ".join(f"{s.place} {s.item} {s.kept:,}" for s in one.series[:12])
        page += _say(width, f"{said}: {places}", "plain", 3)
    if view.more:
        page += [blank(width), line(width, " Older ones are not shown.")]
    words = "To take all of one back: tankwalk import --undo N --who INITIALS"
    return [*page, blank(width), *_say(width, words, "dim", 1)]
