"""What is asked around a sitting, by number: what of how many, what is left out, how it ends."""

from __future__ import annotations

from collections.abc import Callable, Generator

from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.ledger.samples import Fate, SittingSeen
from tankwalk.plan.model import Tank
from tankwalk.practice.dialog import Answer, Hand, Step, Talk, writer
from tankwalk.practice.livefeed.asking import number, wanted, whole
from tankwalk.practice.samples import fish, sampling, since
from tankwalk.practice.samples.fish import Enough, Look
from tankwalk.practice.samples.sampling import GO_ON_HOURS, MOST_FISH
from tankwalk.practice.samples.sitting import Ended, FishSitting, begin, going_on, let_go
from tankwalk.practice.site import Site
from tankwalk.science import samples
from tankwalk.science.calculators.cautions import ANESTHETIC

Setup = Generator[Step, Answer, FishSitting]

USUAL_FISH = 20
"""Fish of a sample that weighs none and has no last one. Common practice, no source."""

OUT = ("hurt or bent by handling", "measured wrongly", "lost or dropped", "not of this tank")
"""Why a fish does not count, by number."""

NAMES = {
    Look.LENGTH: "length",
    Look.MASS: "mass",
    Look.BLADDER: "swim bladder",
    Look.GUT: "gut fill",
    Look.DEFORMED: "deformities",
}
"""What is looked at, as a question says it."""

ANOTHER_DAY = "Fish of now are not fish of that day: go on there, and + ends it with them."

READ = "read: the bath is made by our protocol"


def tank_of(site: Site, code: str) -> Tank:
    """A tank by its code, in any case; Refusal where the plan has none."""
    for tank in site.plan.tanks:
        if tank.code.upper() == code.strip().upper():
            return tank
    known = ", ".join(tank.code for tank in site.plan.tanks)
    raise Refusal(f"{code[:12]!r} is no tank of the plan ({known}).")


def setup(site: Site, hand: Hand, tank: str) -> Setup:
    """Go on with the sitting at a tank, or begin one: what is looked at, of how many, held how."""
    before = next((one for one in going_on(site) if one.place == tank), None)
    if before is not None:
        many, now = len({one.nth for one in site.reader.samples.fish(before.n)}), site.now()
        old = now.hours_since(before.at) > GO_ON_HOURS
        answer = yield Step(
            f"{tank}: {many} of {before.planned} fish looked at since {before.at.told(now)} "
            f"({before.who}).",
            ("begin a new sitting", "let it go: no sample"),
            enter="go on there",
            told="Fish of now are not fish of that day: go on there, then + ends it."
            if old
            else "",
        )
        if answer.number == 0:
            who = yield from writer(site, hand, "Who looks at them?")
            return FishSitting(site, who, before)
        if answer.number == 2:
            who = yield from writer(site, hand, "Who lets it go?")
            let_go(site, who, before)
            raise Refusal(f"{tank}: no sample of these {many} fish; they stay in the record.")
    looks, planned, bath = due_looks(site, tank), 0, ""
    planned = proposed(site, tank, looks)
    while True:
        held = f"in bath {bath}" if bath else "no bath"
        answer = yield Step(
            f"{tank}: {named(looks)} of {planned} fish, {held}.",
            ("look at other things", "another number", "hold them in an anesthetic bath"),
            enter="begin",
        )
        if answer.number == 0:
            break
        if answer.number == 1:
            looks = yield from _other_looks(looks)
        elif answer.number == 2:
            planned = round((yield from wanted(number("How many fish", "", 1, MOST_FISH))))
        else:
            bath = yield from _bath()
    who = yield from writer(site, hand, "Who looks at them?")
    sitting = begin(site, who, tank, looks, planned)
    if bath:
        sitting.bath(f"Anesthetic bath {bath}: first fish in at {site.now().hm()}.")
    return sitting


def on_where_it_was(sitting: FishSitting) -> str:
    """What is said where a sitting is gone on with; "" at a new one."""
    many = len(sitting.fish)
    if not many:
        return ""
    said = f"On where it was: {many} fish are on the disk."
    if sitting.of_another_day:
        said += f" + ends it: what it comes to is of {sitting.taken.told(sitting.site.now())}."
    return said


def due_looks(site: Site, tank: str) -> tuple[Look, ...]:
    """What the plan wants looked at in a tank now; length and mass where nothing is due."""
    view = sampling.view(site)
    row = next((row for row in view.rows if row.tank.code == tank), None)
    asked = [] if row is None else [cell for cell in row.cells if cell.late is not None]
    due = [cell for cell in asked if cell.due] or asked
    found = {since.look_of(cell.sampling.what) for cell in due}
    looks = tuple(look for look in Look if look in found)
    return looks or (Look.LENGTH, Look.MASS)


def proposed(site: Site, tank: str, looks: tuple[Look, ...]) -> int:
    """How many fish: as many as last time, else what usually is enough."""
    now = site.now()
    earlier = [
        one
        for one in site.reader.samples.sittings(now.utc - since.BACK_DAYS * 86400)
        if one.place == tank and one.end is not None
    ]
    if earlier:
        return earlier[-1].planned
    before = since.before(site, tank, now).samples
    last = [before[look].looked_at for look in looks if look in before]
    return max(last, default=samples.MASS_FISH if Look.MASS in looks else USUAL_FISH)


def named(looks: tuple[Look, ...]) -> str:
    """What is looked at, in words."""
    words = [NAMES[look] for look in looks]
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]


def _other_looks(looks: tuple[Look, ...]) -> Generator[Step, Answer, tuple[Look, ...]]:
    """Each number takes one in or out; Enter is the list as it stands."""
    chosen, told = set(looks), ""
    while True:
        words = tuple(f"{NAMES[look]}{'' if look in chosen else ' (not)'}" for look in Look)
        answer = yield Step("What is looked at?", words, enter="these", told=told)
        if answer.number == 0:
            if chosen:
                return tuple(look for look in Look if look in chosen)
            told = "Nothing is looked at: take one in by its number."
            continue
        chosen ^= {tuple(Look)[answer.number - 1]}
        told = ""


def _bath() -> Generator[Step, Answer, str]:
    """The caution first, then which bath it is."""
    yield Step(" ".join(ANESTHETIC[2:]), (READ,), told=" ".join(ANESTHETIC[:2]))
    answer = yield Step("Which bath? Its number or name:", writes=True)
    return text.clean(answer.words).strip()[:20]


def leaving_out(sitting: FishSitting) -> Talk:
    """Leave the fish one is at out, with a reason by number."""
    at = sitting.asked
    nth = at.nth if sitting.of(at.nth) is not None else at.nth - 1
    if sitting.of(nth) is None:
        raise Refusal("No fish is entered yet.")
    answer = yield Step(
        f"Why does fish {nth} not count? It stays in the record.", OUT, zero="another reason",
        writes=True,
    )  # fmt: skip
    why = text.clean(answer.words).strip()[:80]
    sitting.leave_out(nth, why)
    return f"Fish {nth} is left out: {why}."


def correcting(sitting: FishSitting) -> Talk:
    """Look at one fish again, the last one or any by its number; both numbers stay."""
    if not sitting.fish:
        raise Refusal("No fish is entered yet.")
    last = sitting.fish[-1].nth
    told = ""
    while True:
        answer = yield Step(
            "Look again at which fish? Its number:", writes=True, told=told,
            quick=(("*", f"fish {last}, the last"),),
        )  # fmt: skip
        try:
            nth = last if answer.words == "*" else int(answer.words)
            sitting.again(nth)
        except ValueError:
            told = f"{answer.words[:12]!r} is no number of a fish."
        except Refusal as refusal:
            told = str(refusal)
        else:
            return f"Fish {nth} again: what was found stays in the record. / leaves it as it is."


def ending(sitting: FishSitting, tell: Callable[[FishSitting, Ended], str]) -> Talk:
    """End a sitting; asked first where it is short. "" where one looks on.

    `tell` says what was kept.
    """
    many = len(sitting.fish)
    if not sitting.samples():
        raise Refusal("No fish counts yet. Esc leaves: the sitting goes on there.")
    short = many < sitting.seen.planned
    wide = [
        look
        for look in sitting.looks
        if look.measured
        and (found := sitting.worked.sizes(look)) is not None
        and found.enough is not Enough.ENOUGH
    ]
    if sitting.doubt is not None:
        answer = yield Step(
            f"Fish {sitting.doubt.nth} is in doubt and would stay out. End it?",
            ("look on", "end it"),
        )
        if answer.number == 1:
            return ""
    elif short:
        not_yet = f", and {named(tuple(wide))} not sure enough yet" if wide else ""
        answer = yield Step(
            f"{many} of {sitting.seen.planned} fish{not_yet}. End it?", ("look on", "end it")
        )
        if answer.number == 1:
            return ""
    answer = yield Step(
        f"What became of the {many} fish of {sitting.seen.place}?",
        ("all put back", "all kept: they leave the number of the tank", "put back, some died",
         "some kept, the others put back"),
    )  # fmt: skip
    fate = Fate.KEPT if answer.number == 2 else Fate.RETURNED
    died = some_kept = 0
    if answer.number == 3:
        died = yield from whole(f"How many of the {many} died", many)
    elif answer.number == 4:
        some_kept = yield from whole(f"How many of the {many} were kept", many)
    if sitting.bath_note is not None:
        yield from _out_of_bath(sitting, fate, died)
    ended = sitting.end(fate, many, died, some_kept)
    return tell(sitting, ended)


def _out_of_bath(sitting: FishSitting, fate: Fate, died: int) -> Generator[Step, Answer, None]:
    """When they were out and swam again, kept with the bath."""
    notes = sitting.site.reader.notes.since(sitting.seen.at.utc)
    [begun] = [one.text for one in notes if one.n == sitting.bath_note]
    longest = yield from wanted(number("Longest time of a fish in the bath", "min", 0, 120))
    parts = [f"{begun.rstrip('.')}; longest {longest:g} min, last out by {sitting.site.now().hm()}"]
    if fate is Fate.RETURNED:
        again = yield from wanted(number("Until the last swam again", "min", 0, 240))
        parts.append(f"all that lived swam again within {again:g} min")
    sitting.bath(f"{'; '.join(parts)}; {died} died.")


def words_of(seen: SittingSeen) -> str:
    """A sitting in words."""
    return named(fish.looks_of(seen.what))
