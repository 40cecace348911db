"""What can be answered, by number, to what a file does not say."""

from __future__ import annotations

from tankwalk.exchange.incoming.columns import Means, Question
from tankwalk.exchange.incoming.moments import Order
from tankwalk.exchange.incoming.understanding import Told, Understood
from tankwalk.plan.model import Plan
from tankwalk.rows import NamedTuple


class Choice(NamedTuple):
    """One answer: in words, and what it tells."""

    words: str
    told: Told


def choices(plan: Plan, how: Understood, question: Question) -> list[Choice]:
    """The answers to a question, in the order of their numbers."""
    about = question.about
    if about == "dates":
        return [Choice(order.value, Told(dates=order)) for order in Order]
    if about == "place":
        codes = [tank.code for tank in plan.tanks] + [loop.code for loop in plan.loops] + ["site"]
        return [Choice(code, Told(place=code)) for code in codes]
    if about == "time":
        return [Choice(name, Told(columns={name: Means.TIME})) for name in how.head.names]
    if about == "column":
        skipped = [one.name for one in how.columns if one.means is Means.SKIP]
        return [Choice(name, Told(columns={name: Means.VALUE})) for name in skipped]
    made = [
        Choice(
            f"{item.label}{f', {item.unit}' if item.unit else ''}",
            Told(columns={about: _with_unit(how, about, item.code)}),
        )
        for item in plan.items
        if not item.kind.by_words
    ]
    return [*made, Choice("nothing, leave it out", Told(columns={about: Means.SKIP}))]


def _with_unit(how: Understood, name: str, item: str) -> str:
    """What is told of a column: its item, and the place and unit that its head says already."""
    one = next(column for column in how.columns if column.name == name)
    return " ".join(word for word in (one.place, item, one.unit) if word)
