"""The open list: flags, what is altered and what is to do, and the talk about each, by number."""

from __future__ import annotations

from collections.abc import Callable, Generator
from enum import Enum

from tankwalk import text
from tankwalk.clock import Instant, ago
from tankwalk.errors import Refusal
from tankwalk.ledger.follow_up_kinds import FollowUpState, FollowUpWhat, MayClose
from tankwalk.ledger.follow_ups import FollowUpSeen
from tankwalk.ledger.handovers import for_handover
from tankwalk.ledger.notes import NoteSeen
from tankwalk.plan.model import MASS_EVENT
from tankwalk.practice import times
from tankwalk.practice.budget import Noise, often
from tankwalk.practice.dialog import Answer, Hand, Step, Talk, one_of_us, writer
from tankwalk.practice.doing import deviations, follow_ups
from tankwalk.practice.doing.deviations import DraftDeviation
from tankwalk.practice.doing.follow_ups import Carried, Effect
from tankwalk.practice.judging.standing import flags
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.site import Site, placed
from tankwalk.practice.stories import Story, stories
from tankwalk.rows import NamedTuple

MOST_DRAFTS = 20
"""The oldest drafts are listed, so many; the board says how many there are."""


class OpenSection(Enum):
    """The parts of the list in their order, by their headings."""

    FLAGS = "FLAGS"
    ALTERED = "ALTERED"
    DRAFTED = "DEVIATIONS DRAFTED"
    TO_DO = "TO DO"
    OFTEN = "MOST FREQUENT FLAGS"
    ENDED = "ENDED SINCE YESTERDAY"


ENDED_HOURS = 24
"""How long what was closed can be taken up again from the list. Common practice, no source."""

DONE = ("done as written", "done, in another way")
CLOSED = {
    MayClose.TASK: ("done and seen", "done and works"),
    MayClose.METER: ("passed its check", "replaced, and the new one passed"),
    MayClose.SAFETY: ("tested, back in service", "seen, back in service"),
    MayClose.HEALTH: ("decided: watch on", "decided with the veterinarian", "no further sign"),
    MayClose.TREATMENT: ("seen to be given", "made up for later"),
}
DROPPED = ("no longer needed", "stands twice", "cannot be done here", "written in error")
PUT_BACK = ("put back as before", "put back, and it works")
STAYS = ("it stays so from now on", "stands twice", "written in error")
AGAIN = ("closed in error", "it came back", "not done after all")
SHELVED = ("known, and worked on", "the meter, not the fish", "planned work")
MASS_CLOSED = ("over: the cause is mended", "over: no cause found", "decided with the veterinarian")
FLAG_CLOSED = ("looked: all is well", "the reading was wrong", "part of the plan")
"""Reasons by number; 0 writes one."""

NOTES = 3
"""Newest notes that are offered to be made an action."""
NOTE_CELLS = 50

SHELF_HOURS = (1, 2, 4, 8)
SHELF_DAYS = (1, 3, 7)
"""How long a flag is shelved; days are the lead's."""


class OpenRow(NamedTuple):
    """One line of the list: the section it stands in, and what it is about."""

    section: OpenSection
    about: Standing | Carried | DraftDeviation | Noise
    story: Story | None = None
    """What belongs to the worst flag of a place."""


class OpenList(NamedTuple):
    """All that is open at one moment, in the order of its numbers from 1.

    `study_owner` decides about drafts; None where the plan names none.
    """

    name: str
    now: Instant
    rows: tuple[OpenRow, ...]
    study_owner: str | None = None

    def of(self, section: OpenSection) -> list[tuple[int, OpenRow]]:
        """The rows of a section with their numbers."""
        return [(n, row) for n, row in enumerate(self.rows, 1) if row.section == section]


def open_list(site: Site) -> OpenList:
    """The list as it stands: worst flag first, follow-ups in the order of their opening."""
    with site.ledger.reading():
        return _listed(site)


def place_of(row: OpenRow) -> str:
    """The tank or loop that a row is about, "" where it is of none."""
    one = row.about
    if isinstance(one, Standing):
        return one.places[0]
    if isinstance(one, Noise):
        return one.place
    return (one.seen.place if isinstance(one, Carried) else one.place) or ""


def _listed(site: Site) -> OpenList:
    now, reader, plan = site.now(), site.reader, site.plan
    seen = wrong_now(site, reader.readings.newest_of_all(), now)
    carried = [follow_ups.carried(one, plan, now) for one in reader.follow_ups.open()]
    altered = [one for one in carried if one.seen.what is FollowUpWhat.ALTERED]
    to_do = [one for one in carried if one.seen.what is FollowUpWhat.ACTION]
    ended = reader.follow_ups.ended(now.utc - ENDED_HOURS * 3600)
    rows: list[OpenRow] = []
    for told in stories(site, seen.wrong, altered, now):
        rows.append(OpenRow(OpenSection.FLAGS, told.worst, told))
        rows += [OpenRow(OpenSection.FLAGS, flag) for flag in told.also]
    rows += [OpenRow(OpenSection.FLAGS, flag) for flag in seen.shelved]
    rows += [OpenRow(OpenSection.ALTERED, one) for one in altered]
    drafts = deviations.recent(site, now)[:MOST_DRAFTS]
    rows += [OpenRow(OpenSection.DRAFTED, draft) for draft in drafts]
    rows += [OpenRow(OpenSection.TO_DO, one) for one in to_do]
    rows += [OpenRow(OpenSection.OFTEN, one) for one in often(site, now)]
    rows += [OpenRow(OpenSection.ENDED, follow_ups.carried(one, plan, now)) for one in ended]
    return OpenList(plan.name, now, tuple(rows), deviations.owner_of(plan))


# ---- what to do with one


def about(site: Site, hand: Hand, row: OpenRow, words: str) -> Talk:
    """Ask what to do with a row, of which the page says `words`; do it, and say so."""
    if isinstance(row.about, Standing):
        return (yield from _flag(site, hand, row.about, words))
    if isinstance(row.about, DraftDeviation):
        return (yield from _drafted(site, hand, row.about, words))
    if isinstance(row.about, Noise):
        raise Refusal("What its flags were worth is on the page of judging, with its looks.")
    one = row.about.seen
    if not one.stands:
        return (yield from _ended(site, one))
    acts = _acts(one)
    told = follow_ups.closed_by(site, one)
    which = yield Step(words, tuple(act for act, _ in acts), told=told)
    return (yield from acts[which.number - 1][1](site, hand, one))


Act = Callable[[Site, Hand, FollowUpSeen], Talk]


def _acts(one: FollowUpSeen) -> tuple[tuple[str, Act], ...]:
    """What can be done with a follow-up, by number."""
    later = ("another time", _later)
    claimed = one.state is FollowUpState.DONE
    if one.what is FollowUpWhat.ALTERED:
        if claimed:
            return (("it is back: close it", _close), later, ("not put back after all", _again))
        return (("put back", _put_back), later, ("it stays so, why", _drop), ("give to", _give))
    first = ("not done after all", _again) if claimed else ("done", _done)
    return (first, ("close", _close), ("drop, why", _drop), ("give to", _give), later)


def _reason(ask: str, listed: tuple[str, ...], told: str = "") -> Generator[Step, Answer, str]:
    answer = yield Step(ask, listed, "write it", writes=True, told=told)
    return answer.words


def _done(site: Site, hand: Hand, one: FollowUpSeen) -> Talk:
    del hand
    who = yield from one_of_us(site, "Who did it?")
    words = yield from _reason("How?", DONE)
    follow_ups.done(site, who, one.opened, words)
    return f"Done, says {who}. It stays until it is closed."


def _close(site: Site, hand: Hand, one: FollowUpSeen) -> Talk:
    del hand
    who = yield from one_of_us(site, "Who closes it?", follow_ups.closed_by(site, one))
    if barred := follow_ups.barred(site, one, who):
        raise Refusal(barred)
    if one.rule is MayClose.DEVIATION:
        effect, words = yield from _effect()
        return f"Closed by {who}: {follow_ups.close(site, who, one.opened, words, effect)}."
    words = yield from _reason("Closed, with which words?", CLOSED[one.rule])
    return f"Closed by {who}: {follow_ups.close(site, who, one.opened, words)}."


def _effect() -> Generator[Step, Answer, tuple[Effect, str]]:
    """The effect of a deviation by number; in words of one's own after saying which it was."""
    effects = tuple(Effect)
    listed = tuple(effect.value for effect in effects)
    answer = yield Step("Closed, with which effect on the trial?", listed, "in words of your own")
    if answer.number:
        return effects[answer.number - 1], ""
    answer = yield Step("Which of them is it, before your own words?", listed)
    effect = effects[answer.number - 1]
    more = yield Step(f"{effect.value}; in your own words:", writes=True)
    return effect, more.words


def _put_back(site: Site, hand: Hand, one: FollowUpSeen) -> Talk:
    """Closed at once, where the one who put it back may; else said to be done."""
    del hand
    who = yield from one_of_us(site, "Who put it back?", follow_ups.closed_by(site, one))
    words = yield from _reason("How?", PUT_BACK)
    if one.rule.by_another or follow_ups.barred(site, one, who):
        follow_ups.done(site, who, one.opened, words)
        left = follow_ups.closed_by(site, one._replace(done_by=who))
        return f"Put back, says {who}. It stays until it is closed; {left}."
    follow_ups.close(site, who, one.opened, words)
    return f"Put back and closed by {who}."


def _drop(site: Site, hand: Hand, one: FollowUpSeen) -> Talk:
    del hand
    who = yield from one_of_us(site, "Who lets it go?", follow_ups.closed_by(site, one))
    if barred := follow_ups.barred(site, one, who):
        raise Refusal(barred)
    why = yield from _reason("Why?", DROPPED if one.what is FollowUpWhat.ACTION else STAYS)
    follow_ups.drop(site, who, one.opened, why)
    return f"Dropped by {who}: {why}."


def _give(site: Site, hand: Hand, one: FollowUpSeen) -> Talk:
    who = yield from writer(site, hand, "Who gives it away?")
    owner = yield from one_of_us(site, "To whom?")
    follow_ups.give_to(site, who, one.opened, owner)
    return f"It is {owner}'s now."


def _later(site: Site, hand: Hand, one: FollowUpSeen) -> Talk:
    who = yield from writer(site, hand, "Who sets another time?")
    when = yield from times.ask(site, "By when?")
    if when is None:
        return "Back: nothing was kept."
    follow_ups.new_time(site, who, one.opened, when)
    return f"By {Instant(when, site.now().offset).short()}, set by {who}."


def _again(site: Site, hand: Hand, one: FollowUpSeen) -> Talk:
    del hand
    return (yield from _ended(site, one))


def _ended(site: Site, one: FollowUpSeen) -> Talk:
    who = yield from one_of_us(site, f"Who takes it up again? {placed(one.place, one.text)}")
    why = yield from _reason("Why?", AGAIN)
    follow_ups.reopen(site, who, one.opened, why)
    return f"Open again ({who}): {why}."


def _drafted(site: Site, hand: Hand, one: DraftDeviation, words: str) -> Talk:
    yield Step(words, ("keep it as an open action",), told="Only a draft, nothing is kept:")
    who = yield from writer(site, hand, "Who keeps it?")
    deviations.keep(site, one, words, who)
    return f"Kept under TO DO. {who} wrote it; {deviations.owner_of(site.plan)} closes it."


# ---- flags


def _flag(site: Site, hand: Hand, one: Standing, words: str) -> Talk:
    first = ("back from the shelf",) if one.state == "shelved" else ("shelve",)
    which = yield Step(words, (*first, "close", "make it an action"))
    if which.number == 3:
        who = yield from writer(site, hand, "Who writes it?")
        owner = yield from _owner(site)
        due_at = yield from times.ask(site, "By when?", "no time set")
        follow_ups.from_flag(site, who, one, owner, due_at)
        return f"Kept under TO DO. {who} wrote it; the flag stands on."
    if which.number == 2:
        who = yield from one_of_us(site, "Who closes it?")
        mass = one.key.item == MASS_EVENT.code
        reason = yield from _reason("Why?", MASS_CLOSED if mass else FLAG_CLOSED)
        flags.close(site, one, who, reason)
        again = "What died more" if mass else "A new reading out of band"
        return f"Closed by {who}: {reason}. {again} raises it again."
    act = "takes it back" if one.state == "shelved" else "shelves it"
    who = yield from one_of_us(site, f"Who {act}?")
    if one.state == "shelved":
        flags.take_back(site, one, who)
        return f"Back from the shelf ({who})."
    until = yield from _until(site, who)
    reason = yield from _reason("Why?", SHELVED)
    flags.shelve(site, one, who, until, reason)
    return f"Shelved until {until.short()} by {who}; it comes back by itself."


def _until(site: Site, who: str) -> Generator[Step, Answer, Instant]:
    hours = list(SHELF_HOURS)
    if flags.duty_of(site.plan, who) == "lead":
        hours += [24 * days for days in SHELF_DAYS]
    answer = yield Step("For how long?", tuple(ago(h) for h in hours))
    now = site.now()
    return Instant(now.utc + hours[answer.number - 1] * 3600, now.offset)


# ---- new ones


def new_action(site: Site, hand: Hand) -> Talk:
    """Write a new action, or make one of a note: what, where, whose, by when, who may close it."""
    who = yield from writer(site, hand, "Who writes it?")
    notes = _newest_notes(site)
    listed = [
        *follow_ups.TO_DO,
        *(text.fit(f"note: {placed(n.place, n.text)}", NOTE_CELLS) for n in notes),
    ]
    what = yield Step("To do:", tuple(listed), "write it", writes=True)
    after = what.number - len(follow_ups.TO_DO)
    note = notes[after - 1] if after > 0 else None
    words = what.words if note is not None else (yield from follow_ups.worded(site, what.words))
    place = (yield from _place(site)) if note is None else None
    owner = yield from _owner(site)
    due_at = yield from times.ask(site, "By when?", "no time set")
    rules = tuple(rule.value for rule in MayClose)
    about = yield Step("What is it about?", rules, enter="a task")
    rule = MayClose(about.words) if about.words else MayClose.TASK
    if note is None:
        follow_ups.open_action(site, who, words, place, owner, due_at, rule)
    else:
        follow_ups.from_note(site, who, note, owner, due_at, rule)
    return f"Kept under TO DO. {who} wrote it."


def _newest_notes(site: Site) -> list[NoteSeen]:
    """The newest notes of the last day; the lines of a handover are none."""
    since = site.now().utc - ENDED_HOURS * 3600
    found = site.reader.notes.since(since)
    return [note for note in found if not for_handover(note)][:NOTES]


def new_altered(site: Site, hand: Hand) -> Talk:
    """Write down that something is not as normal: what, where, until when."""
    who = yield from writer(site, hand, "Who writes it?")
    words = yield from _reason("Not as normal:", follow_ups.ALTERED)
    place = yield from _place(site)
    undo_by = yield from times.ask(site, "To be put back by when?", "no end set")
    safe = yield Step(
        "Does the safety of fish or people lean on it?",
        ("yes: somebody else checks that it is back",),
        enter="no",
    )
    rule = MayClose.SAFETY if safe.number else MayClose.TASK
    follow_ups.open_altered(site, who, words, place, undo_by, rule=rule)
    return f"Kept under ALTERED. {who} wrote it."


def _place(site: Site) -> Generator[Step, Answer, str | None]:
    tanks = tuple(tank.code for tank in site.plan.tanks)
    loops = tuple(loop.code for loop in site.plan.loops)
    answer = yield Step("Where?", tanks + loops, enter="the whole site")
    return answer.words or None


def _owner(site: Site) -> Generator[Step, Answer, str | None]:
    people = tuple(p.initials for p in site.people)
    answer = yield Step("Who does it?", people, enter="next shift lead")
    return answer.words or None
