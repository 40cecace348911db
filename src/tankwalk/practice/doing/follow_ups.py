"""Follow-ups: open actions and what is altered, carried over until the right person closes them.

New, then somebody's own, then done (a claim), then closed (checked), or dropped with a why. Nothing
is deleted: what was closed in error is reopened, and both stamps stay.
"""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.follow_up_kinds import FollowUpEvent, FollowUpState, FollowUpWhat, MayClose
from tankwalk.ledger.follow_ups import FollowUpSeen
from tankwalk.ledger.notes import NoteSeen
from tankwalk.plan.feed_model import FeedKind
from tankwalk.plan.model import Level, Plan
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from collections.abc import Generator

    from tankwalk.practice.dialog import Answer, Step
    from tankwalk.practice.judging.standing.flags import Key, Standing

SHIFT_HOURS = 8.0
"""Length of a shift, for the age of what is carried over. Common practice, no source."""

LEAD_SHIFTS = 3
"""Carried this many shifts, a follow-up is for the lead to decide. Common practice, no source."""


class Effect(Enum):
    """What a deviation did to the trial. Its words are how the closing begins in the record."""

    NONE_SEEN = "no effect seen"
    SMALL = "small effect: the tank stays in"
    LEAVES = "an effect: the tank leaves the trial"

    def kept(self, words: str) -> str:
        """The closing as the record keeps it: the effect, then what somebody says more of it."""
        more = text.clean(words)
        return f"{self.value}; {more}" if more else self.value


ORDER_MORE = "order more"

TO_DO = (
    "look again in two hours",
    "clean the screen",
    "check the meter",
    "count again",
    "phone the lead",
    ORDER_MORE,
)
ALTERED = (
    "valve throttled",
    "alarm shelved",
    "standby pump on duty",
    "spray off",
    "lid off",
    "lights changed",
    "feeder off",
    "meter put away",
)
"""What is most often to do, and most often altered, to be chosen by number."""


def worded(site: Site, words: str) -> Generator[Step, Answer, str]:
    """Words for what is to do; what is to be ordered more of is asked."""
    if words != ORDER_MORE:
        return words
    from tankwalk.practice.dialog import Step

    plan = site.plan
    dry = (one.code for one in plan.feeds if one.kind is not FeedKind.LIVE)
    known = dict.fromkeys([*(one.code for one in plan.cysts), *dry])
    answer = yield Step("Order more of what?", tuple(known), "write it", writes=True)
    return f"{ORDER_MORE} {text.clean(answer.words, limit=60)}"


# ---- opening


def open_action(
    site: Site,
    who: str,
    words: str,
    place: str | None = None,
    owner: str | None = None,
    due_at: int | None = None,
    rule: MayClose = MayClose.TASK,
    about: str | None = None,
    number: int | None = None,
) -> int:
    """Open an action; without an owner it is the next shift lead's. Returns its entry number.

    `due_at` is a UTC second, `rule` who may close it, `about` what it was drafted from, `number`
    that of a round. Refusal for no words, for people the plan does not name, and for a place it
    does not have.
    """
    return _open(site, who, FollowUpWhat.ACTION, words, place, owner, due_at, rule, about, number)


def open_altered(
    site: Site,
    who: str,
    words: str,
    place: str | None = None,
    undo_by: int | None = None,
    owner: str | None = None,
    rule: MayClose = MayClose.TASK,
    about: str | None = None,
) -> int:
    """Note that something is not as normal, to be put back by a UTC second. Returns its number."""
    return _open(site, who, FollowUpWhat.ALTERED, words, place, owner, undo_by, rule, about, None)


def from_note(
    site: Site,
    who: str,
    note: NoteSeen,
    owner: str | None = None,
    due_at: int | None = None,
    rule: MayClose = MayClose.TASK,
) -> int:
    """Open an action with the words of a note, where the note was made."""
    place = note.place if note.place in places(site.plan) else SITE
    return open_action(site, who, note.text, place, owner, due_at, rule, f"note {note.n}")


def from_flag(
    site: Site, who: str, flag: Standing, owner: str | None = None, due_at: int | None = None
) -> int:
    """Open an action with the words of a flag, where it stands; the flag says who may close it."""
    place = flag.place if flag.place in places(site.plan) else SITE
    words = flag.sentence if place != SITE else f"{flag.place} {flag.sentence}"
    about = f"flag {' '.join(flag.key)}"
    return open_action(site, who, words, place, owner, due_at, rule_of(site.plan, flag.key), about)


def rule_of(plan: Plan, key: Key) -> MayClose:
    """Who may close what a flag asks for: a meter, the dead, what the whole site leans on."""
    item = plan.find_item(key.item)
    if key.kind == "meter":
        return MayClose.METER
    if item is not None and item.kind.of_animals:
        return MayClose.HEALTH
    return MayClose.SAFETY if item is not None and item.level is Level.SITE else MayClose.TASK


def _open(
    site: Site,
    who: str,
    what: FollowUpWhat,
    words: str,
    place: str | None,
    owner: str | None,
    due_at: int | None,
    rule: MayClose,
    about: str | None,
    number: int | None,
) -> int:
    kind = "action" if what is FollowUpWhat.ACTION else "change"
    words = text.clean(words)
    if not words:
        raise Refusal(f"Nothing was typed, so no {kind} is kept.")
    if place is not None and place not in places(site.plan):
        raise Refusal(f"{place[:12]!r} is no place of the plan: nothing was kept.")
    who, owner = site.signs(who), None if owner is None else site.signs(owner)
    from tankwalk.ledger.entries import Closing, Entry, FollowUp

    now = site.now()
    entry = Entry("follow-up", who, now, now, place or SITE, round=number)
    beside = [] if rule is MayClose.TASK and about is None else [Closing(rule.value, about)]
    kept = FollowUp(what.value, FollowUpEvent.OPEN.value, words, owner, due_at)
    return site.record(entry, kept, *beside)


def places(plan: Plan) -> tuple[str, ...]:
    """Where something may be to do: the site, its loops, its tanks."""
    return (SITE, *(loop.code for loop in plan.loops), *(tank.code for tank in plan.tanks))


# ---- what becomes of one


def done(site: Site, who: str, opened: int, words: str) -> None:
    """Say that it is done. It stays until it is closed. Refusal where it is said already."""
    with site.ledger.writing():
        one = _standing(site, opened)
        if one.state is FollowUpState.DONE:
            raise Refusal(f"{one.done_by} said that this is done already: it waits to be closed.")
        _turn(site, one, who, FollowUpEvent.DONE, words)


def close(site: Site, who: str, opened: int, words: str, effect: Effect | None = None) -> str:
    """Close it, checked; gives the words that are kept.

    A deviation is closed with its effect on the trial; `words` of one's own may say more of it.
    Refusal says who may, where this person may not (see `barred`).
    """
    with site.ledger.writing():
        one = _standing(site, opened)
        _refuse(barred(site, one, site.signs(who)))
        if one.rule is MayClose.DEVIATION:
            if effect is None:
                raise Refusal(
                    "A deviation is closed with its effect: say what the effect was, or that no "
                    "effect was seen. It stays open."
                )
            words = effect.kept(words)
        return _turn(site, one, who, FollowUpEvent.CLOSE, words)


def drop(site: Site, who: str, opened: int, why: str) -> None:
    """Let it go undone, and say why. It takes the same people as closing it."""
    with site.ledger.writing():
        one = _standing(site, opened)
        _refuse(barred(site, one, site.signs(who)))
        _turn(site, one, who, FollowUpEvent.DROP, why)


def reopen(site: Site, who: str, opened: int, why: str) -> None:
    """Take up again what was closed, dropped, or said to be done. It keeps its age."""
    with site.ledger.writing():
        one = _known(site, opened)
        if one.state in (FollowUpState.NEW, FollowUpState.OWNED):
            raise Refusal("This is open as it is: nothing was changed.")
        _turn(site, one, who, FollowUpEvent.REOPEN, why)


def give_to(site: Site, who: str, opened: int, owner: str) -> None:
    """Make it somebody's own, or pass it on."""
    with site.ledger.writing():
        one, owner = _standing(site, opened), site.signs(owner)
        _turn(site, one, who, FollowUpEvent.OPEN, f"given to {owner}", owner=owner)


def new_time(site: Site, who: str, opened: int, due_at: int) -> None:
    """Set another time (UTC second) to do it by, or to put it back by. Refusal for one past."""
    with site.ledger.writing():
        one, by = _standing(site, opened), Instant(due_at, site.now().offset)
        if due_at <= site.now().utc:
            raise Refusal(f"{by.short()} is past: nothing was changed. Give a time to come.")
        _turn(site, one, who, FollowUpEvent.OPEN, f"by {by.short()}", due_at=due_at)


def _turn(
    site: Site,
    one: FollowUpSeen,
    who: str,
    event: FollowUpEvent,
    words: str,
    owner: str | None = None,
    due_at: int | None = None,
) -> str:
    """Record what happened to a follow-up; gives the words as they are kept."""
    words = text.clean(words)
    if not words:
        raise Refusal("Nothing was typed, so nothing is kept: a word says what was done, or why.")
    from tankwalk.ledger.entries import Entry, FollowUp

    now = site.now()
    entry = Entry("follow-up", site.signs(who), now, now, one.place)
    site.record(entry, FollowUp(one.what.value, event.value, words, owner, due_at, one.opened))
    return words


def _known(site: Site, opened: int) -> FollowUpSeen:
    one = site.reader.follow_ups.opened_by(opened)
    if one is None:
        raise Refusal(f"Entry {opened} opens no action and nothing altered: nothing was kept.")
    return one


def _standing(site: Site, opened: int) -> FollowUpSeen:
    one = _known(site, opened)
    if not one.stands and (last := one.end) is not None:
        raise Refusal(
            f"{last.who} {one.state.value} this at {last.at.short()}: nothing was kept. "
            "Reopen it, if that was an error."
        )
    return one


def _refuse(sentence: str) -> None:
    if sentence:
        raise Refusal(sentence)


# ---- who may close


def barred(site: Site, one: FollowUpSeen, who: str) -> str:
    """Why this person may not close it, naming who may; "" where they may.

    A task is closed by the one who did it, or by anyone who looked. What concerns a meter, a
    safety system or a treatment is closed by somebody else than the one who did it (who said so,
    else who opened it); health by the lead or the veterinarian; a deviation by the study owner.
    """
    plan = site.plan
    if may_close(plan, one, who):
        return ""
    others = [p.initials for p in site.people if may_close(plan, one, p.initials)]
    if one.rule.duties:
        duties = " or ".join(f"the {duty}" for duty in one.rule.duties)
        named = f" ({', '.join(others)})" if others else ", and the plan names nobody"
        subject = "Health" if one.rule is MayClose.HEALTH else "A deviation"
        return f"{subject} is closed by {duties}{named}: {who} may not. It stays open."
    did = f"{who} said that it is done" if one.done_by else f"{who} opened it"
    named = f": {', '.join(others)}" if others else ", and the plan names nobody"
    return f"{did}, and a {one.rule.value} matter is closed by somebody else{named}. It stays open."


def closed_by(site: Site, one: FollowUpSeen) -> str:
    """Who may close it, in words; "" for a task."""
    if one.rule.duties:
        named = [p.initials for p in site.people if may_close(site.plan, one, p.initials)]
        duties = " or ".join(f"the {duty}" for duty in one.rule.duties)
        return f"{one.rule.value}: {duties} closes it ({', '.join(named) or 'nobody in the plan'})"
    if one.rule.by_another:
        return f"{one.rule.value}: somebody else than {one.done_by or one.who} closes it"
    return ""


def may_close(plan: Plan, one: FollowUpSeen, who: str) -> bool:
    """Whether this person may close it (or drop it)."""
    if one.rule.by_another:
        return who != (one.done_by or one.who)
    duties = one.rule.duties
    return not duties or any(p.initials == who and p.duty in duties for p in plan.people)


def leads(plan: Plan) -> tuple[str, ...]:
    """Whose duty is to lead."""
    return tuple(p.initials for p in plan.people if p.duty == "lead")


# ---- how it stands


class Terms(NamedTuple):
    """How a follow-up stands at one moment.

    `due` is when it is to be done or put back, `late_hours` how long that is past (0 in time),
    `open_hours` and `shifts` how long it is open. From some shifts on the `lead` decides about it,
    whose initials are None where the plan names none.
    """

    due: Instant | None
    late_hours: float
    open_hours: float
    shifts: int
    lead_decides: bool
    lead: str | None

    @property
    def late(self) -> bool:
        return self.late_hours > 0


class Carried(NamedTuple):
    """A follow-up and how it stands."""

    seen: FollowUpSeen
    terms: Terms


def carried(one: FollowUpSeen, plan: Plan, now: Instant) -> Carried:
    """A follow-up as it stands now."""
    due = None if one.due_at is None else Instant(one.due_at, now.offset)
    late = 0.0 if due is None else max(0.0, now.hours_since(due))
    age = shifts(one, now)
    lead = next(iter(leads(plan)), None)
    terms = Terms(due, late, now.hours_since(one.at), age, age >= LEAD_SHIFTS, lead)
    return Carried(one, terms)


def shifts(one: FollowUpSeen, now: Instant) -> int:
    """How many whole shifts it has been open, from its opening on: a reopening keeps its age."""
    return max(0, int(now.hours_since(one.at) // SHIFT_HOURS))
