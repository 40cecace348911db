"""The story of a place in words: each thing that happened, short for a row and whole for print."""

from __future__ import annotations

from tankwalk import figures
from tankwalk.clock import Instant, ago
from tankwalk.ledger.corrections import Corrected, Late
from tankwalk.ledger.doses import DoseSeen
from tankwalk.ledger.feeding import SampleSeen
from tankwalk.ledger.flags import Done as Decided
from tankwalk.ledger.follow_up_kinds import FollowUpEvent, FollowUpWhat
from tankwalk.ledger.imports import ImportTold
from tankwalk.ledger.incidents import CallSeen, DoneSeen
from tankwalk.ledger.meters import CheckSeen
from tankwalk.ledger.notes import NoteSeen
from tankwalk.ledger.stock import MovedFish
from tankwalk.pages import correction_words, import_words
from tankwalk.pages.incident_words import DECIDED, called
from tankwalk.pages.lines import flag_tone
from tankwalk.pages.when import at_words
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.past.last_time import LastTime
from tankwalk.practice.past.story import (
    Cleared,
    Fed,
    MeterChanged,
    MeterFailed,
    Raised,
    StoryLine,
    Turned,
    TypedIn,
)
from tankwalk.rows import NamedTuple

TURNS = {
    FollowUpEvent.OPEN: "opened",
    FollowUpEvent.DONE: "done",
    FollowUpEvent.CLOSE: "closed",
    FollowUpEvent.DROP: "dropped",
    FollowUpEvent.REOPEN: "opened again",
}


def when(at: Instant, now: Instant) -> str:
    """The moment of a line: today by the clock, this week with its day, else its date and time."""
    said = at_words(at, now)
    return said if ":" in said else f"{said} {at.hm()}"


class ToldLine(NamedTuple):
    """A line in words: the mark of its flag, "" where it has none, and what it says."""

    words: str
    tone: str
    mark: str = ""
    mark_tone: str = "plain"

    @property
    def whole(self) -> str:
        return f"{self.mark} {self.words}" if self.mark else self.words


def told(one: StoryLine, here: str, *, brief: bool = False) -> ToldLine:
    """What a line says. `brief` leaves out what its flag's page says anyway."""
    if isinstance(one.about, Raised):
        return _raised(one, one.about, brief=brief)
    return ToldLine(*_said(one, here, brief=brief))


def _said(one: StoryLine, here: str, *, brief: bool) -> tuple[str, str]:
    """What a line says that is no look out of band, and its tone."""
    label = "" if one.item is None else one.item.label
    where = "" if one.place == here else f"{one.place} "
    match one.about:
        case Cleared(value=value, raised=raised):
            shown = "" if one.item is None else one.item.shown(value)
            since = "" if brief else f", raised {raised.told(one.at)}"
            return f"{label} {shown}: back in band, flag over{since}", "ok"
        case DoneSeen(text=text):
            return f"did: {text}", "plain"
        case CallSeen():
            return f"called {called(one.about)}", "plain"
        case NoteSeen(text=text):
            return f"note: {text}", "plain"
        case Decided(event=event, reason=reason):
            said = f"{label} {DECIDED.get(event, event)}"
            return f"{said}: {reason}" if reason else said, "plain"
        case DoseSeen():
            return where + _dose(one.about), "plain"
        case MeterFailed(mark=mark, looks=looks):
            many = f"{looks} look{'s' * (looks != 1)} here suspect"
            why = f" ({mark.reason})" if mark.reason and not brief else ""
            return f"meter {mark.instrument} FAILED its check{why}: {many}", "bold"
        case MeterChanged(before=before, after=after, items=items):
            return f"{', '.join(items)} read with meter {after}, before with {before}", "plain"
        case CheckSeen():
            return _check(one.about)
        case Fed():
            return _fed(one.about), "dim"
        case MovedFish():
            return _moved(one.about), "plain"
        case SampleSeen():
            return _sample(one.about), "plain"
        case Turned():
            return _turned(one.about), "plain"
        case Corrected():
            return correction_words.amended(one.about, one.item, one.at), "plain"
        case Late():
            return correction_words.late(one.about, one.item, one.at), "plain"
        case TypedIn(typist=typist, looks=looks, first=first, last=last):
            span = first.told(one.at) + (f" to {last.hm()}" if last != first else "")
            return f"round from paper: {looks} looks of {span}, transcribed by {typist}", "plain"
        case ImportTold():
            return import_words.told(one.about, one.at), "plain"
        case _:
            return "", "plain"


def _raised(one: StoryLine, about: Raised, *, brief: bool) -> ToldLine:
    seen, item = about.seen, one.item
    flag = Flag(seen.flag)
    mark, tone = flag.short if brief else flag.mark, flag_tone(flag)
    if item is None:
        return ToldLine(f"{seen.item} {seen.typed}", "plain", mark, tone)
    said = f"{item.label} {value_words(item, seen, bare=brief)}"
    if about.first is not None:
        bare = value_words(item, seen, bare=True)
        same = bare == value_words(item, about.first, bare=True)
        again = f"second reading {bare}: confirmed"
        if brief:
            again = "confirmed" if same else f"confirmed {bare}"
        said = f"{item.label} {value_words(item, about.first, bare=brief)}, {again}"
    if about.suspect:
        return ToldLine(f"{said}, meter suspect", "plain", "?", "check")
    return ToldLine(said, "plain", mark, tone)


def _check(one: CheckSeen) -> tuple[str, str]:
    unit = f" {one.unit}" if one.unit else ""
    value = one.as_found if one.as_found is not None else one.as_left
    shown = "--" if value is None else f"{figures.number_text(value)}{unit}"
    how = "as found" if one.as_found is not None else "as left"
    said = f"check {one.what}: {shown} {how}, {'passed' if one.passed else 'FAILED'}"
    return said, "plain" if one.passed else "bold"


def _dose(dose: DoseSeen) -> str:
    by = f", transcribed by {dose.typist}" if dose.typist is not None else ""
    said = f"{dose.amount:g} {dose.unit} {dose.chemical} in{by}"
    if dose.expected is None:
        return said
    return f"{said}, meant to add {dose.expected:.3g} {dose.expected_unit or ''}".rstrip()


def _fed(one: Fed) -> str:
    parts = []
    for feed in one.feeds:
        given = _amount(feed.given)
        planned = "" if feed.planned is None else f" of {_amount(feed.planned)}"
        meals = f"{feed.meals} meal{'s' * (feed.meals != 1)}"
        parts.append(f"{feed.label} {given}{planned} {feed.unit} in {meals}")
    parts += one.events
    return "fed: " + ("; ".join(parts) or "nothing")


def _amount(value: float) -> str:
    return f"{value:,.0f}" if value >= 100 else f"{value:.3g}"


def _moved(one: MovedFish) -> str:
    said = f"{one.what} {one.fish:,} fish"
    if one.plus_minus:
        said += f" +/- {one.plus_minus:,.0f}"
    if one.other_place:
        said += f", {one.other_place}"
    if one.method:
        said += f", {one.method}"
    return f"{said}: {one.reason}" if one.reason else said


def _sample(one: SampleSeen) -> str:
    of = f"{one.looked_at} fish"
    if one.mean is not None:
        sd = "" if one.sd is None else f", SD {_as_exact(one.sd, one.mean)}"
        unit = f" {one.unit}" if one.unit else ""
        return f"sample: {one.what} {figures.number_text(round(one.mean, 3))}{unit}{sd}, {of}"
    return f"sample: {one.what} {one.with_it or 0} of {of}"


def _as_exact(sd: float, mean: float) -> str:
    """A spread to as many decimals as its mean has: "SD 7.0" beside 22.4."""
    return f"{sd:.{len(figures.number_text(round(mean, 3)).partition('.')[2])}f}"


def _turned(one: Turned) -> str:
    kind = "altered" if one.of.what is FollowUpWhat.ALTERED else "action"
    event = TURNS.get(one.turn.event, str(one.turn.event.value))
    text = one.turn.text or ""
    same = one.turn.event is FollowUpEvent.OPEN or text == one.of.text or not text
    about = one.of.text if same else f"{one.of.text}: {text}"
    if kind == "altered" and one.turn.event is FollowUpEvent.OPEN:
        return f"altered: {about}"
    return f"{kind} {event}: {about}"


def last_words(one: LastTime, here: str, now: Instant, *, brief: bool = False) -> str:
    """What was done last time: where and when, how bad, what people did, and when it was over."""
    where = "" if one.place == here else f" at {one.place}"
    value = f"{value_words(one.item, one.worst, bare=brief)} {Flag(one.worst.flag).short}"
    day = _date(one.begun, now)
    said = f"{day}{where}, {value}" if brief else f"{one.item.label} {value}{where}, {day}"
    did = [act.text for act in one.did]
    did += [f"called {called(call)}" for call in one.called]
    did += [f"{DECIDED.get(act.event, act.event)}: {act.reason}" for act in one.decided]
    did += [note.text for note in one.notes]
    over = ""
    if one.over is not None and one.over.utc >= one.begun.utc:
        over = f"; in band after {ago(one.over.hours_since(one.begun))}"
    return f"{said}: {'; '.join(did) if did else 'nothing was entered as done'}{over}"


def _date(at: Instant, now: Instant) -> str:
    return at.hm() if at.day == now.day else f"{at.wall.day} {at.wall:%b} {at.hm()}"
