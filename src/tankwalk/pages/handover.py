"""The page of the handover: five sections, who gave and took the room, and what is said back."""

from __future__ import annotations

from typing import assert_never

from tankwalk import text
from tankwalk.clock import Instant, ago
from tankwalk.ledger.follow_up_kinds import FollowUpState, FollowUpWhat, MayClose
from tankwalk.ledger.handovers import HandoverWords
from tankwalk.pages import (
    correction_words,
    due_words,
    feed_said,
    flag_story,
    follow_up_words,
    import_words,
    incident_words,
    meter_words,
)
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, Span, blank, filled, flag_tone, line, spread, wrapped
from tankwalk.pages.readings import withdrawn_words
from tankwalk.pages.room_words import untaken, waiting
from tankwalk.pages.when import at_words
from tankwalk.plan.responses import response
from tankwalk.practice.dialog import Asking
from tankwalk.practice.doing.follow_ups import Carried
from tankwalk.practice.due.attendance import GIST, Away
from tankwalk.practice.handover.drafting import GivenPage, HandoverDraft, Section
from tankwalk.practice.handover.handover_notes import ADDED, NeverTaken
from tankwalk.practice.handover.lines import (
    CarriedLine,
    CorrectedLine,
    DealtLine,
    DueLine,
    EmergencyLine,
    FeedGivenLine,
    FeedLine,
    FeedOffLine,
    FlagLine,
    ImportedLine,
    LateLine,
    MeterLine,
    NeverTakenLine,
    NextMealLine,
    NoteLine,
    NotGivenLine,
    NotTakenLine,
    OverLine,
    OwnLine,
    PageLine,
    RepeatedLine,
    ResponseLine,
    ShelvedLine,
    ShortLine,
    SignedLine,
    SteadyLine,
    StockLine,
    TypedInLine,
    UnseenLine,
    WantedLine,
    WithdrawnLine,
)
from tankwalk.practice.judging.verdict import Flag, left_out, value_words
from tankwalk.practice.site import SITE
from tankwalk.practice.tasks import GapAhead
from tankwalk.rows import NamedTuple

MEANING = {
    "STOCK": "tanks that are not steady, worst first",
    "TASKS": "not done, half done, skipped with reason",
    "ALTERED": "anything not as normal, and until when",
    "TO DO": "open actions: who, by when",
    "EXPECT": "what may happen, and what to do",
}

NOTHING = {
    "ALTERED": "nothing altered",
    "TO DO": "no open action",
    "EXPECT": "nothing special expected",
}
"""What a section says that has no line."""

ADDED_AFTER = "ADDED AFTER GIVING"
ON_THE_PAGE_TAKEN = "ON THE PAGE THAT WAS TAKEN"
"""Headings of what stands under a page."""


class Words(NamedTuple):
    """A line of the page in words, and its tone."""

    words: str
    tone: str = "plain"


LABEL = 11
"""Cells of a section's name; its lines stand beside it."""

NARROW = 50
"""On a page that is narrower the name of a section stands above its lines."""


class Row(NamedTuple):
    """A line as the screen shows it: what, at the right who and when, and what makes it stand out.

    `flag` is the level of a line that begins with its mark; `tone` is that of the right words.
    """

    words: str
    right: str = ""
    tone: str = "dim"
    flag: Flag = Flag.OK


def draw(draft: HandoverDraft, width: int) -> list[Line]:
    """The whole page, as many lines as it needs."""
    lines = _head(draft, width) + _summary(draft, width)
    for section in draft.sections:
        lines += [blank(width), *_section(section, draft, width)]
    for heading, added in under(draft):
        if heading == ADDED_AFTER:
            lines += [blank(width), line(width, Span(f" {heading}", "bold"))]
            lines += [row for words in added for row in wrapped(width, words, "plain", 400, "   ")]
    lines.append(blank(width))
    for looked in draft.uncovered:
        words = f"{due_words.what_again(looked)}: nobody is here before {_back(draft)}. Who goes?"
        lines += wrapped(width, words, "watch", 4)
    lines.append(
        line(width, Span(f" Drafted from the record up to entry {draft.last_entry}.", "dim"))
    )
    return lines


def _back(draft: HandoverDraft) -> str:
    return "" if draft.away is None else at_words(draft.away.end, draft.now)


def draw_said_back(draft: HandoverDraft, asking: Asking, width: int, height: int) -> list[Line]:
    """The page while it is said back: out of sight, but for the section that is read again."""
    step, lines = asking.step, _head(draft, width)
    many = f"{step.nth} of {step.of}"
    told = f"From memory. The page is out of sight until all {step.of} are right."
    if step.of == 1:
        told = "From memory. The page is out of sight until the answer is right."
    lines += wrapped(width, told, "plain", 2)
    if step.shown:  # read again, it needs the room
        lines += [blank(width), *wrapped(width, step.told, "watch", 3)]
        lines += _section(draft.section(step.shown), draft, width)
    elif step.right:
        lines.append(blank(width))
        for ask, answer in step.right:
            right = [Span(f"{answer}   right ")]
            lines.append(spread(width, [Span(f"   {ask}", "dim")], right, "plain"))
    lines.append(blank(width))
    rule = f" \u2500\u2500 {many} \u2500\u2500"
    below = [line(width, Span(rule, "rule")), *wrapped(width, step.ask, "bold", 3, "   ")]
    for nth, choice in enumerate(step.choices, 1):
        first, *rest = wrapped(width - 6, choice, "plain", 2, "")
        below.append(line(width, Span(f"   {nth}", "key"), Span("  "), *first))
        below += [line(width, Span(" " * 6), *more) for more in rest]
    below += wrapped(width, asking.said, "check", 3, "   ") if asking.said else []
    if not step.shown:
        below += [blank(width), *wrapped(width, NOT_SURE, "dim", 3, "   ")]
    foot = footer("none", width, [(f"1-{len(step.choices)}", "answer"), ("Esc", "read again")])
    room = height - 1
    whole = [*lines, *below]
    if len(whole) > room:  # the question and its choices stay; what was read again gives way
        whole = [*lines[: max(0, room - len(below))], *below][-room:]
    return [*filled(whole, width, room), foot][-height:]


NOT_SURE = "Not sure? Esc shows the page again; nothing is lost."


def _head(draft: HandoverDraft, width: int) -> list[Line]:
    title, when = f" HANDOVER  {draft.site}", f"{draft.now.short()} "
    if text.width(title) + text.width(when) + 2 <= width:
        lines = [spread(width, [title], [when], "head")]
    else:
        lines = [spread(width, [each], [], "head") for each in (title, f" {when}")]
    return [*lines, *wrapped(width, room(draft), "watch" if _waiting(draft) else "plain", 4)]


def _summary(draft: HandoverDraft, width: int) -> list[Line]:
    """What is as it should be, in one line; and for how long nobody is there."""
    every = [one for section in draft.sections for one in section.lines]
    meals: list[str] = []
    parts = [
        f"{one.steady} of {one.tanks} tanks steady." for one in every if isinstance(one, SteadyLine)
    ]
    for one in every:
        if isinstance(one, FeedGivenLine) and one.planned:
            meals.append(f"{feed_said.given(one)}.")
    signed = sum(isinstance(one, SignedLine) for one in every)
    if signed:
        paper = sum(isinstance(one, TypedInLine) and one.signed is not None for one in every)
        of_paper = f", {paper} of them from paper" if paper else ""
        parts.append(f"{signed} round{'s' * (signed != 1)} signed{of_paper}.")
    if draft.unsigned is not None:
        label, begun, by = draft.unsigned
        parts.append(f"{label} open, begun {at_words(begun, draft.now)} by {by}.")
    lines = wrapped(width, " ".join([*parts, *meals]), "plain", 3)
    if draft.away is not None:
        lines += wrapped(width, _nobody(draft.away, draft.now), "watch", 4)
    return lines


def _nobody(away: Away, now: Instant) -> str:
    """For how long nobody is there, and who goes all the same."""
    long = ago(away.end.hours_since(away.start))
    said = f"Nobody here from {away.start.hm()} to {at_words(away.end, now)}, {long}"
    goes = [f"{one.who} at {at_words(one.at, now)} to {one.place}" for one in away.goes]
    return f"{said}, but {', and '.join(goes)}." if goes else f"{said}."


def _section(section: Section, draft: HandoverDraft, width: int) -> list[Line]:
    """A section's name, and its lines beside it: what, and at the right who and when."""
    shown = [
        one
        for one in section.lines
        if not isinstance(one, SteadyLine | SignedLine | FeedGivenLine)
        and not _is_away(one, draft.away)
    ]
    # A person's own words stay in their section when the room is taken.
    own: list[PageLine] = [OwnLine(one) for one in draft.read if one.part == section.name]
    rows = [_row(one, draft.now) for one in (*shown, *own)]
    if not rows:
        rows = [Row(NOTHING.get(section.name, "nothing"))]
    name = Span(f" {section.name}", "bold")
    lines = [] if width >= NARROW else [line(width, name)]
    label = LABEL if width >= NARROW else 3
    for nth, row in enumerate(rows):
        head = Span(text.pad(name.text if nth == 0 and width >= NARROW else "", label), "bold")
        lines += _drawn(row, head, label, width)
    return lines


def _is_away(one: PageLine, away: Away | None) -> bool:
    """Whether a line is the stretch without anybody that the head of the page tells."""
    gap = one.due.facts if isinstance(one, DueLine) else None
    return away is not None and isinstance(gap, GapAhead) and gap.end == away.end


def _drawn(row: Row, head: Span, label: int, width: int) -> list[Line]:
    """One row: its mark in the color of its level, its words hanging, the right words dim."""
    marks = [] if row.flag < Flag.WATCH else [Span(row.flag.mark, flag_tone(row.flag)), Span("  ")]
    taken = sum(text.width(span.text) for span in marks)
    room = max(12, width - label - taken - 1 - (text.width(row.right) + 2 if row.right else 0))
    first, *rest = text.wrap(row.words, room) or [""]
    right = [Span(f"{row.right} ", row.tone)] if row.right else []
    lines = [spread(width, [head, *marks, Span(first)], right, "plain")]
    indent = " " * (label + (2 if not marks else taken))
    narrow = max(12, room - (2 if not marks else 0))
    rest = text.wrap(" ".join(rest), narrow) if rest else []
    return lines + [line(width, Span(indent + more)) for more in rest]


def _row(one: PageLine, now: Instant) -> Row:
    """One line of the page as the screen shows it."""
    match one:
        case FlagLine(flag):
            since = f"since {at_words(flag.raised, now)}"
            told = correction_words.beside(flag.seen, now)
            words = f"{flag.sentence}, {told}" if told else flag.sentence
            return Row(f"{flag.place}  {_with_story(one, words)}", since, flag=flag.flag)
        case NoteLine(note):
            place = "" if note.place in (None, SITE) else f"{note.place} "
            return Row(f"{place}note: {note.text}", f"{note.who} {at_words(note.at, now)}")
        case OwnLine(own):
            return Row(own.text, own.who)
        case DueLine(due):
            words, when = due_words.told(due, now)
            return Row(words, when, "watch" if due.overdue else "dim")
        case CarriedLine(carried, new):
            return _carried(carried, now, new=new)
        case ShelvedLine(flag) if flag.until is not None:
            words = f"{flag.place} flag shelved: {flag.sentence}, {flag.reason}"
            return Row(words, f"until {at_words(flag.until, now)}")
        case NextMealLine(at=at):
            return Row(*feed_said.meal(one, now), "watch" if at.utc <= now.utc else "dim")
        case FeedOffLine():
            return Row(*feed_said.off(one, now), "dim")
        case StockLine() if feed_said.to_order(one, now):
            return Row(line_words(one, now), "order", "watch")
        case NotGivenLine() | ShortLine():
            return Row(line_words(one, now), "", "watch")
        case NeverTakenLine():
            return Row(line_words(one, now), "not accepted", "watch")
        case _:
            return Row(line_words(one, now))


def _carried(one: Carried, now: Instant, *, new: bool) -> Row:
    """A follow-up: what, then whose and until when; how long it is open where that is long."""
    terms, seen = one.terms, one.seen
    altered = seen.what is FollowUpWhat.ALTERED
    words = follow_up_words.said(one)
    if terms.lead_decides:
        words += f"; open {terms.shifts} shifts, {terms.lead or 'the lead'} to decide"
    elif terms.shifts > 1:
        words += f"; open {terms.shifts} shifts"
    if seen.state is FollowUpState.DONE:
        words += f"; done by {seen.done_by}, to be closed"
    if seen.rule is not MayClose.TASK:
        words += f"; {seen.rule.value}"
    words += f"; new from {seen.who}" * new
    whose = seen.owner or ("" if altered else "next lead")
    if terms.late:
        return Row(words, f"{whose} overdue {ago(terms.late_hours)}".strip(), "watch")
    if terms.due is None:
        when = "no end set" if altered else ""
    else:
        when = f"{'back by ' if altered else ''}{at_words(terms.due, now)}"
    return Row(words, f"{whose}  {when}".strip())


# ---- the lines in words


def said(section: Section, now: Instant) -> list[Words]:
    """The lines of a section, or that there is nothing to tell."""
    if not section.lines and section.name in NOTHING:
        return [Words(NOTHING[section.name])]
    return [Words(line_words(one, now), _tone(one)) for one in section.lines]


def _tone(one: PageLine) -> str:
    """What makes a line stand out: how serious a flag is, that it is late or was never taken."""
    match one:
        case FlagLine(flag) if flag.flag >= Flag.WATCH:
            return flag_tone(flag.flag)
        case CarriedLine(carried) if carried.terms.late:
            return "watch"
        case NeverTakenLine():
            return "watch"
        case _:
            return "plain"


def line_words(one: PageLine, now: Instant) -> str:
    """One line of the page in words."""
    if isinstance(one, FeedLine):
        return feed_said.line(one, now)
    match one:
        case FlagLine(flag):
            words = f"{flag.place} {flag.flag.mark}  {flag.sentence} at {flag.at.told(now)}"
            told = correction_words.beside(flag.seen, now)
            words += f", {told}" if told else ""
            return _with_story(one, words)
        case DealtLine(dealt):
            return f"{dealt.place} {incident_words.dealt(dealt)}"
        case OverLine(past):
            return f"{past.place} {incident_words.over(past)}"
        case ShelvedLine(flag):
            until = "" if flag.until is None else f" until {flag.until.short()}"
            return f"{flag.place} flag shelved{until}: {flag.sentence}, {flag.reason}"
        case WithdrawnLine(back):
            return withdrawn_words(back, now)
        case NoteLine(note):
            return f"{note.place or SITE} note {note.at.told(now)} {note.who}: {note.text}"
        case OwnLine(own):
            return f"{own.who} adds: {own.text}"
        case UnseenLine(places):
            return f"not looked at for a day or longer: {', '.join(places)}"
        case SteadyLine(steady, tanks):
            return f"{steady} of {tanks} tanks steady"
        case NeverTakenLine(untaken):
            return _never_taken(untaken)
        case DueLine(due):
            return due_words.line(due, now)
        case SignedLine(label, at, by):
            return f"{label} signed {at.told(now)} by {by}"
        case TypedInLine(label, walked, walker, typist, signed):
            how = "not signed yet" if signed is None else f"signed {signed.told(now)}"
            return (
                f"{label} of {walked.told(now)} walked on paper by {walker}, "
                f"transcribed by {typist}, {how}"
            )
        case LateLine():
            return correction_words.entered_late(one, now)
        case ImportedLine(told):
            return import_words.told(told, now)
        case CorrectedLine(corrected, item):
            return correction_words.amended(corrected, item, now, where=True)
        case NotTakenLine(label, second, reason, places):
            what = f"{label} second reading" if second else label
            return f"not taken: {what}, {', '.join(places)} ({left_out(reason)})"
        case WantedLine(owed):
            wanted = ", ".join(f"{place} {label}" for place, label in owed)
            return f"second reading still wanted: {wanted}"
        case RepeatedLine(values):
            same = ", ".join(
                f"{place} {item.label} {value_words(item, seen)}" for place, item, seen in values
            )
            return f"the same to the last digit, not read again since: {same}"
        case CarriedLine(carried, new):
            terms = follow_up_words.terms(carried) + (f", new from {carried.seen.who}" * new)
            return f"{follow_up_words.said(carried)} ({terms})"
        case MeterLine(state):
            return meter_words.altered(state, now)
        case ResponseLine(place, label, first):
            return f"if {place} {label} is still out: {response(first)}"
        case EmergencyLine(words):
            return words
        case never:
            assert_never(never)


def _with_story(one: FlagLine, words: str) -> str:
    """A flag with the others of its place; notes and what is altered have lines of their own."""
    return words if one.story is None else ". ".join((words, *flag_story.others(one.story)))


def _never_taken(one: NeverTaken) -> str:
    words = f"{untaken(one)} was never taken"
    if one.noted is None:
        return words
    return f"{words}; noted {one.noted.at.short()} by {one.noted.who}: {one.noted.text}"


def under(draft: HandoverDraft) -> list[tuple[str, list[str]]]:
    """What stands under the page, by heading: what was added, and what was read by its taker."""
    both = (
        (ADDED_AFTER, [_dated(one) for one in draft.added]),
        (
            ON_THE_PAGE_TAKEN,
            [
                _dated(one) if one.part == ADDED else f"{one.part}: {one.who} adds: {one.text}"
                for one in draft.read
            ],
        ),
    )
    return [(heading, lines) for heading, lines in both if lines]


def _dated(one: HandoverWords) -> str:
    return f"{one.at.short()} {one.who}: {one.text}"


# ---- the page as it is kept


def text_of(draft: HandoverDraft) -> str:
    """The page as plain text, as it is kept when given or taken."""
    body = [f"HANDOVER {draft.site}, {draft.now.iso()}, since {draft.since.short()}"]
    for section in draft.sections:
        body += [section.name, *(f"  {one.words}" for one in said(section, draft.now))]
    for heading, lines in under(draft):
        body += [heading, *(f"  {words}" for words in lines)]
    return "\n".join(body)


def given(draft: HandoverDraft) -> GivenPage:
    """The page as it is kept when the room is given, with what is told of it after days."""
    first = [(name, said(draft.section(name), draft.now)) for name in GIST]
    gist = ((name, " ".join(lines[0].words.split())) for name, lines in first if lines)
    return GivenPage(text_of(draft), tuple(gist))


# ---- who has the room


def _waiting(draft: HandoverDraft) -> bool:
    return draft.last is not None and draft.last.taken is None


def room(draft: HandoverDraft) -> str:
    """Who gave the room, who took it when and how, and how well it was said back."""
    last = draft.last
    if last is None:
        return "No handover has been given yet."
    if last.taken is None:
        return f"Given {last.at.short()} by {last.who}, {waiting(last.at, draft.now)}."
    how = f", {last.how}" if last.how else ""
    passed = f"Responsibility passed {last.taken.short()}, {last.who} to {last.taken_by}{how}."
    if not last.said:
        return passed
    again = sum(one.tries > 1 for one in last.said)
    first = f"{again} not at the first try" if again else "right at the first try"
    return f"{passed} Said back: {len(last.said)} answers, {first}."
