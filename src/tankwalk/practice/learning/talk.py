"""The talk that tries another limit on the days gone by, and writes it into the plan."""

from __future__ import annotations

from collections.abc import Callable, Generator

from tankwalk.errors import Refusal
from tankwalk.plan.bands import describe, limit_words
from tankwalk.practice.dialog import Answer, Step, Talk
from tankwalk.practice.learning import changing, trying
from tankwalk.practice.learning.met import Followed, Met
from tankwalk.practice.learning.trying import Case, Form, Tried, tried
from tankwalk.practice.past.view import find_place
from tankwalk.practice.site import Site

WHYS = (
    "this tank is always so, its fish are well",
    "good water lies beyond it",
    "agreed with the veterinarian",
)
"""Why a limit is set anew, by number; 0 writes another reason."""
AS_IT_IS = "as it is"


def limits(site: Site, known: Case, show: Callable[[Tried | None], None]) -> Talk:
    """Ask for other limits, say what they would have done, and write them if a lead wants it.

    `show` is given what is tried, so that the page draws it.
    """
    told = ""
    while True:
        show(None)
        try:
            numbers = yield from _numbers(known, told)
            found = tried(site, known, *numbers)
        except Refusal as refusal:
            told = str(refusal)
            continue
        show(found)
        answer = yield Step(
            foretold(found),
            ("write it into the plan, as the lead",),
            enter="another limit",
        )
        if answer.number == 1:
            break
        told = ""
    who = yield from _lead(site, "Which lead writes it into the plan, for this place alone?")
    why = yield Step("Why?", WHYS, "write it", writes=True)
    changing.write(site, known, dict(found.moved), who, why.words)
    show(None)
    return (
        f"In the plan and in force: {known.place} {known.item.label} "
        f"{describe(found.band, known.item)} ({who}). The old plan is in the record; u undoes it."
    )


def another(site: Site, chosen: Callable[[str, str], None]) -> Talk:
    """Ask for a place and an item of it, flagged or not; `chosen` is given both."""
    told, place = "", None
    while place is None:
        answer = yield Step(
            "Which tank or loop? Its number, or its code:", writes=True, figure=True, told=told
        )
        place = find_place(site.plan, answer.words)
        told = f"{answer.words.strip()[:20]} is no tank and no loop here."
    items = trying.movable(site, place)
    if not items:
        return f"No band of {place} has a limit that could be moved."
    answer = yield Step(f"What of {place}?", tuple(item.label for item in items))
    chosen(place, items[answer.number - 1].code)
    return ""


def take_back(site: Site) -> Talk:
    """Ask who takes the newest change of the plan back, and do it."""
    last = changing.newest(site)
    if last is None:
        return "The plan was not changed from this page, or by hand since: nothing to undo."
    told = f"The newest change is of {last[0]}: {last[1]}."
    who = yield from _lead(site, "Which lead takes it back?", told)
    changing.take_back(site, who)
    return f"The plan is as it was before that change ({who}); the record holds both."


def _lead(site: Site, ask: str, told: str = "") -> Generator[Step, Answer, str]:
    """Ask which lead it is. Refusal where the plan names none."""
    leads = changing.leads(site.plan)
    if not leads:
        raise Refusal(changing.NO_LEAD)
    answer = yield Step(ask, leads, told=told)
    return answer.words


_Numbers = tuple[float | None, float | None, float | None]
"""Lowest, highest, and distance from the target; None as it is."""


def _numbers(known: Case, told: str) -> Generator[Step, Answer, _Numbers]:
    ask = known.ask
    if ask.form is Form.ENDS:
        low = yield from _number(known, "Lowest in band", ask.low, told)
        high = yield from _number(known, "Highest in band", ask.high)
        return low, high, None
    unit = "percent of the target" if ask.form is Form.PERCENT else known.item.unit
    words = f"In band so far from its target, {unit}".rstrip(", ")
    return None, None, (yield from _number(known, words, ask.within, told))


def _number(
    known: Case, words: str, now: float | None, told: str = ""
) -> Generator[Step, Answer, float | None]:
    """A number of the item as one types it; None for Enter alone."""
    from tankwalk import quantity

    stands = "none" if now is None else limit_words(now, known.item)
    unit = "" if known.ask.form is Form.PERCENT else known.item.unit
    while True:
        answer = yield Step(
            f"{words}, now {stands}. Another:", writes=True, figure=True, enter=AS_IT_IS, told=told
        )
        if not answer.words.strip():
            return None
        try:
            return quantity.read(answer.words, unit).value
        except Refusal as refusal:
            told = str(refusal)


def foretold(found: Tried) -> str:
    """What another limit would have done in the days gone by, in one or two sentences."""
    known = found.case
    band = describe(found.band, known.item)
    many = f"{found.flags} flag{'s' * (found.flags != 1)}"
    acts = f", {found.act} of them ACT" if found.act else ""
    said = f"With {band}: {many}{acts} in place of {known.again}"
    if known.again != len(known.flags):
        said += f" ({len(known.flags)} were raised, by the bands of their days)"
    if found.out > found.flags and found.out > known.out:  # few, as they would hardly end
        said += f", standing on {found.out} of {len(known.series.taken)} looks ({known.out} now)"
    acted = [one for one in found.told if one.followed is Followed.ACTED]
    lost = [one for one in found.lost if one.followed is Followed.ACTED]
    if lost:
        many = f"{len(lost)} of the {len(acted) + len(lost)} acted on"
        said += f"; NOT told: {many}, {_named(lost[0])}"
    elif acted:
        are = "is" if len(acted) == 1 else "are"
        said += f"; the {len(acted)} acted on {are} still told"
    else:
        said += "; none was acted on"
    stands = next((one for one in found.lost if one.followed is Followed.STANDS), None)
    if stands is not None:
        said += f". NOT told: what stands now, {_named(stands)}"
    return f"{said}."


def _named(one: Met) -> str:
    """When a flag was raised, and by what."""
    return f"{one.since.short()}, {one.said.split(',')[0]}"
