"""Counts in sub-samples, in words: what is counted, what it comes to, and whether it is enough."""

from __future__ import annotations

from tankwalk.figures import number_text
from tankwalk.practice.counting.pad import (
    CV_LIMIT,
    FEWEST,
    SQUARE_ML,
    About,
    Count,
    Sort,
    State,
    Worked,
)

WHAT = {
    Sort.NAUPLII: "nauplii",
    Sort.ROTIFERS: "rotifers",
    Sort.CELLS: "cells",
    Sort.HATCH: "test hatch",
    Sort.LARVAE: "larvae",
    Sort.EGGS: "eggs",
    Sort.FISH: "fish",
    Sort.DEAD: "dead fish",
}
"""What is counted, as a title says it."""

COLUMNS = {
    "nauplii": "nauplii",
    "rotifers": "females",
    "eggs": "eggs",
    "cells": "cells",
    "umbrella": "umbrella",
    "embryos": "embryos",
    "larvae": "larvae",
    "fish": "fish",
}
"""A column of the pad by what it counts."""

ONE = {
    Sort.NAUPLII: "drop",
    Sort.CELLS: "square",
}
"""What a sub-sample is called; a sample where nothing else."""

HOW = {
    Sort.NAUPLII: "from a cone that is stirred as you draw. Count moving nauplii only.",
    Sort.ROTIFERS: "stirred as you draw, fixed: females first, then the eggs they carry.",
    Sort.CELLS: "Cells on the upper and left line count, those on the other two do not.",
    Sort.HATCH: "after the hatch: nauplii, then umbrella, then embryos (shells dissolved).",
    Sort.LARVAE: "stirred gently, from top to bottom. Dip, count, put back.",
    Sort.EGGS: "from a batch that is stirred gently as you draw.",
    Sort.FISH: "from all depths of the tank. Count, put back.",
    Sort.DEAD: "of all that was taken out, mixed.",
}

TIMES = {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}


def one_of(sort: Sort) -> str:
    """What a sub-sample is called: drop, square, sample."""
    return ONE.get(sort, "sample")


def title(about: About) -> str:
    """What the count is of: "A0509 nauplii"."""
    return f"{about.of} {WHAT[about.sort]}".strip()


def size(about: About) -> str:
    """How large a sub-sample is: "0.1 mL", a square of a chamber, and its dilution."""
    if about.sort is Sort.CELLS and about.ml == SQUARE_ML:
        shown = "1 mm x 1 mm, 0.1 mm deep"
    else:
        shown = f"{number_text(about.ml)} mL"
    return shown if about.dilution == 1 else f"{shown}, diluted {number_text(about.dilution)} times"


def how(about: About) -> str:
    """What one does, in a line."""
    word = one_of(about.sort).capitalize()
    return f"{word}s of {size(about)}: {HOW[about.sort]}"


def figure(value: float) -> str:
    """A number of animals as one says it: three figures, thousands with a comma."""
    if value >= 1e6:
        return f"{value / 1e6:.3g} million"
    if value >= 100:
        # Three figures: more were never counted.
        digits = len(str(round(value))) - 3
        return f"{round(value / 10**digits) * 10**digits:,}" if digits > 0 else f"{value:.0f}"
    return f"{value:.3g}"


def span(low: float, high: float) -> str:
    """A range: "274 - 409"."""
    return f"{figure(low)} - {figure(high)}"


def which(worked: Worked) -> str:
    """Which range it is: exact Poisson of what was counted, or Student's t."""
    if worked.exact:
        return f"exact, {worked.found:,} counted"
    return f"t, {worked.many} of them"


def whole(count: Count, worked: Worked) -> str:
    """What all of it holds: "in 7.5 L  2.52 million, hatch 80 %"; "" where liters are not known."""
    about, parts = count.about, []
    if worked.total is not None and about.liters is not None:
        parts.append(f"in {number_text(about.liters)} L  {figure(worked.total)}")
    if worked.hatch_percent is not None:
        over = ", over 100 %: look at grams, liters and count" * (worked.hatch_percent > 100)
        parts.append(f"hatch {worked.hatch_percent:.0f} %{over}")
    if worked.egg_ratio is not None:
        parts.append(f"{worked.egg_ratio:.2f} eggs a female")
    return ", ".join(parts)


def plus_minus(worked: Worked) -> str:
    """Half of the range of all of it: "+/- 500,000"; "" where liters are not known."""
    if worked.low is None or worked.high is None:
        return ""
    return f"+/- {figure((worked.high - worked.low) / 2)}"


def verdict(count: Count, worked: Worked | None) -> str:
    """Whether it is enough yet, and what to do where it is not."""
    sort = count.about.sort
    word = one_of(sort)
    if worked is None:
        return f"Type what is in the first {word}, then Enter."
    many = TIMES.get(worked.many, str(worked.many)).capitalize()
    plural = "s" * (worked.many != 1)
    cv = worked.aliquots.cv
    match worked.state:
        case State.UNEVEN:
            odd = (
                ""
                if worked.odd is None
                else f" {word.capitalize()} {worked.odd + 1} is the odd one."
            )
            return (
                f"Not well mixed: the {word}s differ by more than chance.{odd} "
                "Stir, and count more; * counts one again."
            )
        case State.FEW:
            return f"{many} {word}{plural} {'are' if plural else 'is'} few.{_narrower(worked)}"
        case State.SCATTERED:
            mean = worked.found / worked.many
            return (
                f"CV {cv:.0f} % is over {CV_LIMIT:.0f}, but no more than chance where a {word} "
                f"holds {mean:.0f}: take larger ones, or more.{_narrower(worked)}"
            )
        case State.WIDE:
            few = f"{many} {word}s are few:" if worked.many <= FEWEST else "The range is wide:"
            return f"{few}{_narrower(worked)}"
        case State.ENOUGH:
            return f"Enough: {worked.found:,} counted, the range is narrow. + keeps it."
        case State.NONE:
            return ""


def _narrower(worked: Worked) -> str:
    """What more of them would do, with the sum it goes by."""
    more = worked.narrower
    if more is None or worked.found == 0:
        return ""
    by = f"{more.of:,} counted" if more.of is not None else f"t of {worked.many + more.more}"
    said = f" {more.more} more like these would narrow it to {span(more.low, more.high)} ({by})"
    if more.wanted and more.wanted > more.more:
        said += f", {more.wanted} more to 20 % either way"
    return f"{said}."


def left_out(count: Count) -> str:
    """What was left out and why, for the record: "29 counted again; 12 clump or dirt"."""
    return "; ".join(
        f"{'/'.join(map(str, one.counts))} {one.out.value}"
        for one in count.samples
        if one.out is not None
    )


def kept(count: Count, worked: Worked) -> str:
    """A count in one line, for the record and the page one goes back to."""
    parts = [
        f"{figure(worked.per_ml)} per mL (95 % {span(worked.low_ml, worked.high_ml)}, "
        f"{which(worked)})"
    ]
    if worked.aliquots.cv is not None:
        parts.append(f"CV {worked.aliquots.cv:.0f} %")
    if rest := whole(count, worked):
        parts.append(rest.replace("  ", " "))
    if out := left_out(count):
        parts.append(f"left out: {out}")
    return ", ".join(parts)


def as_typed(count: Count) -> dict[str, str]:
    """The same sum as one types it in the Workings."""
    about = count.about
    liters = about.liters or max(1.0, about.ml / 1000)
    return {
        "counts": " ".join(str(one.counts[0]) for one in count.taken),
        "subsample": f"{about.ml:.10g}",
        "dilution": number_text(about.dilution),
        "volume": number_text(liters),
        "more": "2",
    }
