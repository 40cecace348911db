"""Flags with a life: raised, standing, shelved, cleared by two looks in band, closed by a person.

A flag is not kept as such. It follows from the readings that stand and from what people did about
it, so that a correction of a reading corrects its flag as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.flags import Done, Flagged
from tankwalk.ledger.readings import Seen, Taken
from tankwalk.plan.bands import band_at
from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import MASS_EVENT, Item, Limits, Plan, Side, Steps
from tankwalk.practice.judging.rules import Rule, Shared, Way, is_shared, recorded
from tankwalk.practice.judging.standing.condemned import DO, Condemned, Raised, Unread
from tankwalk.practice.judging.standing.condemned import words as unread_words
from tankwalk.practice.judging.standing.found import Found, Lasting, beside, lasting
from tankwalk.practice.judging.standing.found import Key as Key
from tankwalk.practice.judging.standing.living import Living, limits_on, living
from tankwalk.practice.judging.verdict import Flag, first_steps, left_out, side_of, value_words
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

STANDING_DAYS = 14
"""An out-of-band value older than this no longer counts as what is wrong now; it is a gap."""
SHIFT_HOURS = 8.0
"""The longest a flag may be shelved by anyone; the lead may for `LEAD_DAYS`."""
LEAD_DAYS = 7
SAME_ROUND_S = 3 * 3600
"""What was not looked at within this time of a flag was left out beside it."""
BY_THEIR_WAY = (Rule.CHANGE, Rule.SLOPE, Rule.AHEAD, Rule.DRIFT)
"""Rules that flag a value in its band for the way it went."""
SHORT_RULES = (Rule.BAND, Rule.SETTING, None)
"""Rules whose flag is told by its value alone."""


class Standing(NamedTuple):
    """A flag as it stands. `seen` is the newest reading behind it, `tanks` whom it stands for."""

    key: Key
    place: str
    flag: Flag
    sentence: str
    raised: Instant
    at: Instant
    seen: Seen
    tanks: tuple[str, ...] = ()
    state: str = "standing"
    until: Instant | None = None
    reason: str = ""
    rule: Rule | None = None
    shared: bool = False
    """Most tanks of its loop were out in this item when it was raised."""
    found: Found | None = None
    """What a whole round found, where that is what stands."""
    do: str = ""
    """What is done first, where that is not the item's own steps."""

    @property
    def places(self) -> tuple[str, ...]:
        """Where it is wrong: the tanks of a loop or meter, else the place itself."""
        return self.tanks or (self.place,)


# ---- what stands now


def standing(
    site: Site,
    newest: dict[tuple[str, str], Seen] | None = None,
    now: Instant | None = None,
    condemned: Condemned | None = None,
) -> tuple[Standing, ...]:
    """Every flag that stands or is shelved, in no order.

    `condemned` is what failed checks took back in `STANDING_DAYS`, where that was asked already.
    """
    now = now or site.now()
    reader, plan = site.reader, site.plan
    if newest is None:
        newest = reader.readings.newest_of_all()
    since = now.utc - STANDING_DAYS * 86400
    every = reader.flags.flagged(since, now.utc)
    condemned = condemned or Condemned(site, since)
    taken_back = condemned.taken_back(since) if every else {}
    rows = [row for row in every if row.n not in taken_back]
    by_pair = {(row.place, row.item): row for row in rows}
    from tankwalk.practice.judging.standing import mass_events

    died = mass_events.standing(site, now)
    turns = reader.flags.turns(since)
    if not every and not turns:
        return tuple(died)
    done = newest_done(reader.flags.done(since))
    items = {item.code: item for item in plan.items}
    places = _places(plan)
    found: list[Standing] = []
    meters: list[tuple[Flagged, Seen]] = []
    # A meter stays named until it was checked, whatever is said of its tanks meanwhile.
    of_meter = {(row.place, row.item): row for row in rows if _names_meter(row)}
    for pair, row in of_meter.items():
        flagged = reader.readings.seen(row.n)
        if flagged is not None and pair in newest and row.item in items:
            meters.append((row, flagged))
    asked = []
    for (place, code), row in by_pair.items():
        item, seen = items.get(code), newest.get((place, code))
        if item is None or seen is None or place not in places or seen.unit != row.unit:
            continue
        if not _names_meter(row):
            asked.append((item, row, seen))
    for lives in living(site, asked, condemned, now):
        one = _standing(site, lives, done, now)
        if one is not None:
            found.append(one._replace(shared=_shared(plan, one, rows)))
    named = {seen.instrument for _, seen in meters if seen.instrument is not None}
    passes = reader.meters.newest_passes(named) if named else {}
    parts = _parts(site, found) if meters else {}
    for row, flagged in meters:
        found = _with_meter(site, found, row, flagged, newest, passes, parts, done, now)
    turns_back = condemned.turns_taken_back(turns, now)
    counting = [turn for turn in turns if turn.n not in turns_back]
    for whole in lasting(counting, plan.judging.calm_rounds).values():
        found = _with_whole(site, found, whole, newest, done, now)
    raised = [Raised(taken_back[row.n], row.n, row.at) for row in every if row.n in taken_back]
    unread = condemned.unread((*raised, *turns_back.values()), newest)
    known = [_unread(site, one, done, now) for one in unread]
    return (*found, *(one for one in known if one is not None), *died)


def _names_meter(row: Flagged) -> bool:
    rule = recorded(row.rule)
    return rule is not None and rule.shared is Shared.METER


def _standing(site: Site, lives: Living, done: dict[Key, Done], now: Instant) -> Standing | None:
    """The flag of one item at one place, None where a person closed it."""
    item, row, seen, behind, lived = lives
    key = Key("place", row.place, row.item)
    act = done.get(key)
    if lived.raised is None or (act is not None and act.event == "close" and act.n > behind.n):
        return None
    limits = limits_on(site.plan, item, row.place, behind.at)
    words = _words(item, row, behind, seen, lived.in_band, limits) + _not_seen(
        site, item, row.place, behind
    )
    flag = Flag(lived.level)
    state = "in band once" if lived.in_band else "standing"
    raised = Instant(lived.raised, now.offset)
    one = Standing(
        key,
        row.place,
        flag,
        words,
        raised,
        behind.at,
        behind,
        state=state,
        rule=recorded(row.rule),
    )
    return shelved(one, act, behind.n, now)


def _shared(plan: Plan, one: Standing, rows: Sequence[Flagged]) -> bool:
    """Whether most tanks of the loop were flagged about when this flag was raised."""
    tank = plan.find_tank(one.place)
    if tank is None:
        return False
    mates = {t.code for t in plan.tanks if t.loop == tank.loop}
    born = {
        row.place
        for row in rows
        if row.item == one.key.item and abs(row.at.utc - one.raised.utc) <= SAME_ROUND_S
    }
    return is_shared(len(born & mates), len(mates))


def _words(
    item: Item, row: Flagged, behind: Seen, seen: Seen, in_band: int, limits: Limits | None
) -> str:
    if in_band:
        told = value_words(item, behind, limits)
        return f"{item.label} {value_words(item, seen)} in band once, was {told}"
    if recorded(row.rule) in SHORT_RULES or row.sentence is None or row.n != behind.n:
        return f"{item.label} {value_words(item, behind, limits)}"
    return row.sentence


def _not_seen(site: Site, item: Item, place: str, behind: Seen) -> str:
    """What should be looked at when this item is out, and was not, as a clause each."""
    said = ""
    for code in item.see:
        other = site.plan.find_item(code)
        if other is None:
            continue
        newest = site.reader.readings.not_taken(place, code, other.unit)
        if newest is not None and newest[1].utc >= behind.at.utc - SAME_ROUND_S:
            said += f"; {other.label} {left_out(newest[0])} ({newest[1].told(behind.at)})"
    return said


def shelved(one: Standing, act: Done | None, last: int, now: Instant) -> Standing:
    """A flag as its shelving leaves it; what got worse since comes off the shelf by itself."""
    if act is None or act.event != "shelve" or act.until is None:
        return one
    until = Instant(act.until, now.offset)
    if one.flag >= Flag.URGENT or (last > act.n and one.flag > Flag.WATCH):
        return one._replace(sentence=f"{one.sentence}, worse since it was shelved")
    if now.utc >= act.until:
        return one._replace(sentence=f"{one.sentence}, back from the shelf {until.short()}")
    return one._replace(state="shelved", until=until, reason=f"{act.reason or ''} ({act.who})")


def _with_meter(
    site: Site,
    found: list[Standing],
    row: Flagged,
    flagged: Seen,
    newest: dict[tuple[str, str], Seen],
    passes: dict[str, int],
    parts: dict[int, list[Taken]],
    done: dict[Key, Done],
    now: Instant,
) -> list[Standing]:
    """Flags with that of a meter in place of the tanks' own that it explains."""
    code = flagged.instrument
    if code is None:
        return found
    rule = recorded(row.rule)
    up = rule is not None and rule.way is Way.UP
    found = [one for one in found if not _told_of_tank(one, row, code, up=up)]
    if passes.get(code, 0) > row.at.utc:
        # It passed, so what it read was so; but what is in band again is no news any more.
        return [
            one
            for one in found
            if one.state == "standing"
            or one.at.utc > passes[code]
            or not (
                _explained(site.plan, one, row, code, now, up=up)
                or _worked_from(parts, one, row.item, code)
            )
        ]
    key = Key("meter", code, row.item)
    act = done.get(key)
    if act is not None and act.event == "close" and act.n > row.n:
        return found
    read = [s for (_, item), s in newest.items() if item == row.item and s.instrument == code]
    tanks = [t.code for t in site.plan.tanks if any(s.place == t.code for s in read)]
    told = max((s for s in read if s.flag), key=lambda s: s.n, default=flagged)
    why = site.reader.flags.why(told.n)
    told_rule = recorded(None if why is None else why[0])
    by_meter = told_rule is not None and told_rule.shared is Shared.METER
    words = why[1] if why is not None and by_meter else row.sentence or ""
    kept = [
        one
        for one in found
        if not _explained(site.plan, one, row, code, now, up=up)
        and not _worked_from(parts, one, row.item, code)
    ]
    checked = next(iter(site.reader.meters.newest_checks([code])[code]), None)
    if checked is not None and checked.at.utc > row.at.utc:
        return kept  # it failed its check: the meter is out of use, and the board says so
    one = Standing(
        key, f"meter {code}", Flag(row.flag), words, row.at, told.at, flagged, tuple(tanks)
    )
    return [*[k for k in kept if k.key != key], shelved(one, act, row.n, now)]


def _unread(site: Site, one: Unread, done: dict[Key, Done], now: Instant) -> Standing | None:
    """The line of a meter that failed its check, until the tanks it flagged are read again."""
    key = Key("meter", one.mark.instrument, one.mark.item)
    act = done.get(key)
    if act is not None and act.event == "close" and act.n > one.mark.n:
        return None
    line = Standing(
        key,
        f"meter {one.mark.instrument}",
        Flag.WATCH,
        unread_words(site, one, now),
        one.first,
        one.mark.at,
        one.behind,
        one.tanks,
        do=DO,
    )
    return shelved(line, act, one.mark.n, now)


def _with_whole(
    site: Site,
    found: list[Standing],
    whole: Lasting,
    newest: dict[tuple[str, str], Seen],
    done: dict[Key, Done],
    now: Instant,
) -> list[Standing]:
    """Flags with one that a whole round found; of two about the same the worse one speaks.

    One that names a meter is over when that meter was checked, whatever the check said.
    """
    key, item = whole.found.key, site.plan.find_item(whole.found.item)
    act = done.get(key)
    if item is None or (act is not None and act.event == "close" and act.n > whole.n):
        return found
    seen = [s for place in whole.found.places if (s := newest.get((place, key.item))) is not None]
    if not seen:
        return found
    if key.kind == "meter":
        checked = next(iter(site.reader.meters.newest_checks([key.code])[key.code]), None)
        if checked is not None and checked.at.utc > whole.raised.utc:
            return found
    one = Standing(
        key,
        key.code if key.names_place else f"{key.kind} {key.code}",
        whole.found.flag,
        whole.found.sentence,
        whole.raised,
        whole.at,
        max(seen, key=lambda s: s.n),
        () if key.kind == "place" else whole.found.places,
        rule=whole.found.rule,
        found=whole.found,
        do=whole.found.do,
    )
    twin = next((other for other in found if other.key == key), None)
    if twin is not None and twin.flag >= one.flag:
        return found
    return [*(other for other in found if other is not twin), shelved(one, act, whole.n, now)]


def _told_of_tank(one: Standing, row: Flagged, meter: str, *, up: bool) -> bool:
    """Whether a tank was told to have moved before its meter had read another one."""
    way = Rule.TANK_UP if up else Rule.TANK_DOWN
    return (one.rule, one.key.item, one.seen.instrument) == (way, row.item, meter)


def _explained(
    plan: Plan, one: Standing, row: Flagged, meter: str, now: Instant, *, up: bool
) -> bool:
    """Whether a tank's flag is no more than what its meter adds or takes away."""
    if one.key.item != row.item or one.seen.instrument != meter or one.seen.value is None:
        return False
    item = plan.item(row.item)
    limits = limits_on(plan, item, one.place, now)
    if limits is None:
        return False
    edge = limits.watch_above if up else limits.watch_below
    return edge is not None and (one.seen.value > edge if up else one.seen.value < edge)


def _parts(site: Site, found: Iterable[Standing]) -> dict[int, list[Taken]]:
    """What the values behind flags were worked out from, where they are worked out."""
    worked = [one.seen.n for one in found if one.key.item in BY_CODE]
    return site.reader.readings.parts_of(worked) if worked else {}


def _worked_from(parts: dict[int, list[Taken]], one: Standing, item: str, meter: str) -> bool:
    """Whether a flag is of a value that was worked out from what a suspect meter read."""
    return any((p.item, p.instrument) == (item, meter) for p in parts.get(one.seen.n, ()))


def _places(plan: Plan) -> set[str]:
    return {SITE, *(t.code for t in plan.tanks), *(loop.code for loop in plan.loops)}


def newest_done(every: Iterable[Done]) -> dict[Key, Done]:
    """The newest thing done about each flag."""
    found: dict[Key, Done] = {}
    for one in every:
        about = ("meter", one.instrument) if one.instrument else ("place", one.place)
        found[Key(*(one.about or about), one.item)] = one
    return found


def steps(site: Site, one: Standing) -> Steps:
    """What the plan says is done first about a flag, for the side its value lies on."""
    item, value = site.plan.find_item(one.key.item), one.seen.value
    if one.do:
        return (one.do,)
    if item is None or value is None or one.key.kind == "meter":
        return ()
    if item is MASS_EVENT:
        return item.when_high
    band = band_at(site.plan, item, one.seen.place, one.seen.at.day)
    if one.seen.qualifier == "<" and side_of(value, band) is Side.HIGH:
        return ()  # not detected, by a kit that sees too little: not known to be high
    moved = 0.0
    if one.rule in BY_THEIR_WAY:
        seen = one.seen
        last = site.reader.readings.looks(seen.place, item.code, item.unit, 1, seen.n, seen.at.utc)
        moved = value - last[0].value if last else 0.0
    return first_steps(item, value, band, one.rule, moved)


# ---- what a person does about one


def shelve(site: Site, one: Standing, who: str, until: Instant, reason: str) -> None:
    """Take a flag out of sight until a moment; it comes back by itself, or when it gets worse."""
    person = site.signs(who)
    now = site.now()
    if one.flag >= Flag.URGENT:
        raise Refusal(f"{one.flag.mark} cannot be shelved: it is seen to first. Nothing was kept.")
    hours = until.hours_since(now)
    if hours <= 0:
        raise Refusal(f"{until.short()} is past: a flag is shelved until a time to come.")
    lead = duty_of(site.plan, person) == "lead"
    most = 24 * LEAD_DAYS if lead else SHIFT_HOURS
    if hours > most:
        long = f"{LEAD_DAYS} days" if lead else f"{SHIFT_HOURS:g} h, the lead for {LEAD_DAYS} days"
        raise Refusal(f"A flag may be shelved for {long} at most: nothing was kept.")
    _do(site, one, person, "shelve", reason, until.utc)


def close(site: Site, one: Standing, who: str, reason: str) -> None:
    """End a flag by a person's word; a new reading out of band raises it anew."""
    _do(site, one, site.signs(who), "close", reason, None)


def take_back(site: Site, one: Standing, who: str) -> None:
    """Bring a shelved flag back before its time."""
    if one.state != "shelved":
        raise Refusal(f"{one.place} {one.sentence}: this flag is on no shelf.")
    _do(site, one, site.signs(who), "return", "taken back", None)


def _do(site: Site, one: Standing, who: str, event: str, reason: str, until: int | None) -> None:
    from tankwalk.ledger.entries import Entry, FlagEvent

    said = text.clean(reason)
    if not said:
        raise Refusal("A reason is needed: nothing was kept.")
    now = site.now()
    meter = one.key.code if one.key.kind == "meter" else None
    unit = site.plan.item(one.key.item).unit
    several = one.key.kind in ("loop", "batch")
    about = () if one.found is None else (beside(one.found),)
    places = one.places if several else () if about else (one.seen.place,)
    with site.ledger.writing():
        for place in places:
            entry = Entry("flag", who, now, now, place, one.key.item, unit, reason=said)
            site.record(entry, FlagEvent(event, meter, until))
        if about:
            place = one.key.code if one.key.names_place else one.places[0]
            entry = Entry("flag", who, now, now, place, one.key.item, unit, reason=said)
            site.record(entry, FlagEvent(event, meter, until), *about)


def duty_of(plan: Plan, initials: str) -> str:
    """The duty of a person of the plan."""
    return next((p.duty for p in plan.people if p.initials == initials), "technician")
