"""The page of a guided procedure: its steps, what is asked now, the bath by the clock."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.pages.big import big
from tankwalk.pages.lines import Line, Span, blank, filled, line, spread, wrapped
from tankwalk.practice.livefeed.guided import (
    COLORS,
    STEPS,
    Danger,
    Guide,
    Mark,
    Procedure,
    Stage,
)
from tankwalk.practice.livefeed.guided_sitting import GuideView
from tankwalk.science.calculators import cautions

FIGURES_AT, BESIDE = 3, 14
TITLES = {Procedure.SHELL: "DECAPSULATE", Procedure.GEAR: "DISINFECT"}

LABELS: dict[tuple[Procedure, int], str] = {
    (Procedure.SHELL, 1): "hydrate",
    (Procedure.SHELL, 2): "SDS, goggles, second person",
    (Procedure.SHELL, 3): "chill the bath",
    (Procedure.SHELL, 4): "the bath",
    (Procedure.SHELL, 5): "rinse until no smell",
    (Procedure.SHELL, 6): "neutralize, test",
    (Procedure.SHELL, 7): "rinse, where to",
    (Procedure.GEAR, 1): "SDS, goggles",
    (Procedure.GEAR, 2): "the bath",
    (Procedure.GEAR, 3): "rinse until no smell",
    (Procedure.GEAR, 4): "neutralize, test",
    (Procedure.GEAR, 5): "rinse, hang to dry",
}
"""The numbered steps in a few words."""

COLOR_WORDS = {Mark.BROWN: "brown", Mark.GRAY: "gray", Mark.ORANGE: "orange"}

CAUTIONS = {
    Procedure.SHELL: cautions.DECAPSULATION,
    Procedure.GEAR: cautions.BLEACH_BATH,
}
"""Four lines that stand before the first key of each."""

PLUS = {
    Stage.HYDRATE: "round",
    Stage.READ: "read it",
    Stage.READY: "it is in",
    Stage.RINSE: "rinsed",
    Stage.NEUTRALIZE: "neutralized",
    Stage.TEST: "tested",
    Stage.PLACE: "rinsed",
}
"""What + says of the step that is at hand."""

HEATED = (Stage.CHILL, Stage.READY, Stage.BATH)
"""Stages of a decapsulation at which the temperature of the bath is typed."""

BAR = 22


def heated(guide: Guide | None) -> bool:
    """Whether the temperature of the bath is typed as a procedure stands."""
    return guide is not None and guide.procedure is Procedure.SHELL and guide.stage in HEATED


def draw(view: GuideView, width: int, height: int, typed: str = "", said: str = "") -> list[Line]:
    """The page without what is asked by number, exactly `height` rows."""
    guide = view.guide
    top = [_head(view, width)]
    if guide is None:
        return filled([*top, *_caution(view, width), *message(said, width)], width, height)
    sop = f"Your SOP: {view.sop or 'as in the plan, unsigned'}."
    airy = [blank(width)] if height >= 20 else []
    top += [*wrapped(width, sop, "dim", 1), *airy, *_steps(guide, width), *airy]
    body = _now(view, guide, width, typed)
    lines = [*top, *body]
    if said:
        lines += [*airy, *message(said, width)]
    return filled(lines, width, height)


def message(said: str, width: int) -> list[Line]:
    return wrapped(width, said, "check", 3, "   ") if said else []


def _head(view: GuideView, width: int) -> Line:
    guide = view.guide
    title = TITLES[view.procedure]
    when = view.now.hm() if width < 74 else f"{view.now.short()[:-6]}  {view.now.hm()}"
    if guide is None:
        return spread(width, [f" {title}"], [f"{when} "], "head")
    steps = len(STEPS[view.procedure])
    at = f"step {min(guide.number, steps)} of {steps}"
    if guide.procedure is Procedure.SHELL:
        what = f"lot {guide.lot}, {guide.amount:g} g, {guide.who}"
    else:
        what = f"{guide.batch}, {guide.source or 'gear'}, {guide.who}"
    return spread(width, [f" {title}  {what}"], [f"{at}   {when} "], "head")


def _caution(view: GuideView, width: int) -> list[Line]:
    """The four lines that stand before anything is asked."""
    rows = [blank(width), line(width, Span("   Before you begin", "bold"))]
    for one in CAUTIONS[view.procedure]:
        rows += wrapped(width, one, "watch", 2, "   ")
    rows.append(blank(width))
    rows += wrapped(width, "+ says that you have read this; Esc leaves.", "bold", 1, "   ")
    return rows


def _steps(guide: Guide, width: int) -> list[Line]:
    """Every step with its number: done ones dim, the one that is at hand marked."""
    words = []
    for nth in range(1, len(STEPS[guide.procedure]) + 1):
        label = LABELS[guide.procedure, nth]
        here = nth == guide.number
        done = nth < guide.number
        tone = "now" if here else "dim" if done else "plain"
        words.append(Span(f"{'> ' if here else ''}{nth} {label}{' done' if done else ''}", tone))
    rows: list[list[Span]] = [[]]
    used = 0
    for one in words:
        size = text.width(one.text) + 3
        if rows[-1] and used + size > width - 4:
            rows.append([])
            used = 0
        rows[-1] += [Span("   "), one]
        used += size
    return [line(width, *row) for row in rows]


# ---- what is at hand


def _ruled(words: str, width: int) -> Line:
    return line(
        width, Span(" \u2500\u2500 ", "rule"), Span(words, "bold"), Span(" \u2500\u2500", "rule")
    )


def _now(view: GuideView, guide: Guide, width: int, typed: str) -> list[Line]:
    title, told = _asked(view, guide)
    rows = [_ruled(title, width)]
    if heated(guide):
        rows += _figures(view, guide, width, typed)
        rows += _heats(guide, view.now, width)
    elif guide.stage is Stage.BATH:
        rows += _clock(view, guide, width)
    if guide.stage is Stage.BATH and view.bath is not None:
        headline, tone, more = _judged(view, guide)
        if headline:
            rows += wrapped(width, headline, tone, 2, "  ")
        rows += [row for words in more for row in wrapped(width, words, "plain", 2, "     ")]
        return rows
    for words, tone in told:
        rows += wrapped(width, words, tone, 3, "   ")
    return rows


def _asked(view: GuideView, guide: Guide) -> tuple[str, list[tuple[str, str]]]:
    """The title of what is at hand, and what is told of it."""
    shell = view.procedure is Procedure.SHELL
    match guide.stage:
        case Stage.HYDRATE:
            until = "" if guide.due is None else f" until {guide.due.hm()}"
            over = guide.due is not None and view.now.utc >= guide.due.utc
            when = "The time is over: look" if over else "Then look"
            return f"Cysts in aerated fresh water{until}", [
                (f"{when} under the scope: round, no dents. Not longer than 2 h.", "plain"),
                ("+ they are round", "bold"),
            ]
        case Stage.READ:
            lines = [(words, "watch") for words in CAUTIONS[view.procedure]]
            return "Read it, put it on, then +", lines
        case Stage.CHILL:
            return f"Bath of {view.start:g} degC or less", [
                *_mixed(view),
                ("Caustic slowly into the cold water, then the bleach; ice around it.", "plain"),
                ("Type its temperature, then Enter.", "bold"),
            ]
        case Stage.READY if shell:
            return "Ready: cysts into the bath", [
                *_mixed(view),
                ("Thermometer in, ice and cold water at hand, stir hard.", "plain"),
                (f"+ cysts are in: the clock runs {view.longest:g} min from then", "bold"),
            ]
        case Stage.READY:
            return f"Bath of {guide.amount:g} L, {view.chlorine:g} mg/L chlorine", [
                *_mixed(view),
                ("Gear clean first: dirt uses the chlorine up. All of it under water.", "plain"),
                (f"+ gear is in: the clock runs {view.longest:g} min from then", "bold"),
            ]
        case Stage.BATH:
            if shell:
                return "Temperature of the bath, degC, each minute", []
            return f"Gear in the bath, {view.chlorine:g} mg/L", [("+ takes it out", "bold")]
        case Stage.RINSE:
            again = guide.last(Mark.FOUND) is not None
            first = "The kit found chlorine: rinse again, in lots of water." if again else (
                "On the screen, in lots of cold water, until there is no smell."
                if shell else "Out of the bath, in lots of water, until there is no smell."
            )  # fmt: skip
            return "Rinse", [(first, "plain"), ("+ rinsed, no smell", "bold")]
        case Stage.NEUTRALIZE:
            grams = view.neutralizer * 10
            dip = f"{view.neutralizer:g} % thiosulfate: {grams:g} g in 1 L. Dip, then rinse."
            return "Neutralize", [
                (dip, "plain"),
                ("No acid near it.", "watch"),
                ("+ dipped and rinsed", "bold"),
            ]
        case Stage.TEST:
            return "Test the last rinse with the chlorine kit", [
                ("A nose is no test, and a kit at zero can miss a trace: rinse well.", "plain"),
                ("+ the kit has shown its color", "bold"),
            ]
        case Stage.PLACE:
            return "Rinse once more", [("+ rinsed: where it goes is asked", "bold")]
        case Stage.OVER:
            return "Over", [(f"{guide.done[-1].mark.value} {guide.done[-1].at.hm()}", "plain")]


def _mixed(view: GuideView) -> list[tuple[str, str]]:
    """What goes together, with its arithmetic, and how old the test of the bleach is."""
    mix, guide = view.mix, view.guide
    if mix is None or guide is None:
        return []
    strength = mix.product.strength or 0.0
    if view.procedure is Procedure.SHELL:
        made = (
            f"{mix.bleach:.0f} mL {mix.product.label} (1000 x {view.chlorine:g} x "
            f"{guide.amount:g} / {strength:g}), {mix.caustic:.1f} g caustic, "
            f"{mix.water:.0f} mL cold water"
        )
    else:
        made = (
            f"{mix.bleach:.0f} mL {mix.product.label} ({view.chlorine:g} x {guide.amount:g} / "
            f"{strength:g}) to {guide.amount:g} L of water"
        )
    age = f"Tested {view.tested_days} d ago"
    old = view.tested_days > 30
    return [(made, "bold"), (f"{age}: test it again." if old else f"{age}.",
                             "watch" if old else "dim")]  # fmt: skip


def _figures(view: GuideView, guide: Guide, width: int, typed: str) -> list[Line]:
    """The temperature, large, and beside it the clock of the bath."""
    last = f"{guide.heats[-1].value:g}" if guide.heats else ""
    shown = typed or last
    large = big(shown, BESIDE + 4) if shown else ("", "", "___")
    if large is None:
        large = ("", shown, "")
    beside: Sequence[Sequence[Span]] = ((), (), ())
    if guide.stage is Stage.BATH:
        beside = _beside(view, guide, width)
    tone = "entry" if typed else "bold"
    return [
        line(width, Span(" " * FIGURES_AT), Span(figure.ljust(BESIDE), tone), *spans)
        for figure, spans in zip(large, beside, strict=True)
    ]


def _beside(view: GuideView, guide: Guide, width: int) -> Sequence[Sequence[Span]]:
    minutes = guide.minutes(view.now)
    due = guide.due
    stop = "" if due is None else f"stop by {due.hm()}"
    over = due is not None and view.now.utc >= due.utc
    bar = _bar(minutes, view.longest, BAR if width >= 74 else 12)
    color = guide.color
    look = "" if color is None else f"color {COLOR_WORDS[color.mark]} at {color.at.hm()}"
    return (
        (Span(f"{minutes:.0f} min ", "plain"), Span(bar, "dim"),
         Span(f"  {stop}", "act" if over else "bold")),
        (Span(f"{view.longest:g} min in the SOP, {view.warn:g} degC warm, {view.stop:g} stop",
              "dim"),),
        (Span(look, "plain"),),
    )  # fmt: skip


def _bar(value: float, most: float, cells: int) -> str:
    """How far the time has gone, between its ends."""
    at = 0 if most <= 0 else min(cells - 1, round(value / most * (cells - 1)))
    return "\u251c" + "\u2500" * at + "\u25cf" + "\u00b7" * (cells - 1 - at) + "\u2524"


def _clock(view: GuideView, guide: Guide, width: int) -> list[Line]:
    minutes = guide.minutes(view.now)
    due = guide.due
    over = due is not None and view.now.utc >= due.utc
    out = "" if due is None else f"{'over since' if over else 'out at'} {due.hm()}"
    bar = _bar(minutes, view.longest, BAR)
    return [
        line(width, Span(f"   {minutes:.0f} min ", "bold"), Span(bar, "dim"),
             Span(f"  {out}", "watch" if over else "bold"))
    ]  # fmt: skip


def _heats(guide: Guide, now: Instant, width: int) -> list[Line]:
    """The temperatures before, with their minute."""
    del now
    most = (width - 14) // 11
    shown = guide.heats[-most:] if guide.heats else ()
    if not shown:
        return [blank(width)]
    words = "   ".join(f"{one.at.hm()} {one.value:g}" for one in shown)
    return [line(width, Span(f"   before    {words}", "dim"))]


def _judged(view: GuideView, guide: Guide) -> tuple[str, str, list[str]]:
    """What the bath asks for: headline, its tone, and what to do."""
    bath = view.bath
    if bath is None:
        return "", "plain", []
    newest = guide.heats[-1].value if guide.heats else 0.0
    rate = ""
    if bath.rate is not None and bath.rate > 0:
        rate = f"Rose {bath.rate:.1f} degC a minute. "
    wanted = guide.next_heat
    on = ""
    if wanted is not None:
        due = view.now.utc >= wanted.utc
        on = "Type the temperature now" if due else f"Next temperature {wanted.hm()}"
    match bath.danger:
        case Danger.STOP:
            return (
                f"!!! {newest:g} degC: the {view.stop:g} of your SOP. STOP THE BATH NOW.", "urgent",
                ["Pour it onto the screen, rinse in lots of cold water, step back: it can spit.",
                 "Then +."],
            )  # fmt: skip
        case Danger.WARM:
            return (
                f"!! {newest:g} degC is over the {view.warn:g} of your SOP. Ice now, or stop it.",
                "act", [f"{rate}{on}, or + to stop."],
            )  # fmt: skip
        case Danger.LONG:
            return (
                f"!! {view.longest:g} min are over: stop the bath, embryos die from here on.",
                "act", ["Pour it onto the screen, rinse in lots of cold water. Then +."],
            )  # fmt: skip
        case Danger.ORANGE:
            return "Orange: stop now. +", "watch", [f"{rate}{on}."]
        case Danger.RISING:
            warm = bath.warm_at
            to_come = warm is not None and warm.utc > view.now.utc
            when = f"at {warm.hm()}" if warm is not None and to_come else "by now"
            return f"! At this rate {view.warn:g} degC {when}: ice.", "watch", [f"{rate}{on}."]
        case Danger.NONE:
            return "", "plain", [f"{rate}{on}; - color, + stops the bath."]


def spoken(view: GuideView) -> list[str]:
    """The step that stands as sentences, for who reads line by line; nothing is drawn."""
    guide = view.guide
    if guide is None:
        return []
    title, told = _asked(view, guide)
    steps = len(STEPS[view.procedure])
    found = [f"{guide.batch}, step {min(guide.number, steps)} of {steps}. {title}."]
    if guide.stage is not Stage.BATH:
        return [*found, *(words for words, tone in told if not words.startswith("+"))]
    out = "" if guide.due is None else f", {'stop by' if view.bath else 'out at'} {guide.due.hm()}"
    heat = f", {guide.heats[-1].value:g} degC at {guide.heats[-1].at.hm()}" if guide.heats else ""
    found.append(f"{guide.minutes(view.now):.0f} min of {view.longest:g}{out}{heat}.")
    if view.bath is not None:
        headline, _, more = _judged(view, guide)
        found += [words for words in (headline, *more) if words]
    return found


def told(guide: Guide) -> str:
    """What was done, a step a piece, for the foot of the page and for print."""
    return ", ".join(
        f"{one.mark.value} {one.at.hm()}"
        for one in guide.done
        if one.mark is not Mark.TEMPERATURE and one.mark not in COLORS
    )
