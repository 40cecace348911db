"""How each tone looks, in three looks: day, night (red on black, for dark rooms), and plain.

Meaning never rests on colour: every flag has its mark and word, and in the plain look (and under
NO_COLOR) bold and inverse video carry the rest. Blue and orange are told apart by colour-blind
eyes (palette of Okabe & Ito).
"""

from __future__ import annotations

from collections.abc import Sequence

from rich.style import Style

LOOKS: dict[str, dict[str, str]] = {
    "day": {
        "plain": "#d6d3ca",
        "dim": "#9a988f",
        "bold": "bold #f4f1e6",
        "head": "bold #10151a on #8fb6c9",
        "now": "bold #f4f1e6",
        "entry": "bold #f0e442",
        "key": "bold #8fb6c9",
        "ok": "#9fc9a8",
        "check": "bold #f0e442",
        "watch": "bold #e69f00",
        "act": "bold #10151a on #e69f00",
        "urgent": "bold #ffffff on #b23a00",
    },
    "night": {
        "plain": "#b5442c",
        "dim": "#8a3a2a",
        "bold": "bold #d9583c",
        "head": "bold #0b0000 on #8a2f1d",
        "now": "bold #d9583c",
        "entry": "bold #e8694c",
        "key": "bold #c24a31",
        "ok": "#a33f2a",
        "check": "bold #d9583c",
        "watch": "bold #e8694c",
        "act": "bold reverse #d9583c",
        "urgent": "bold reverse underline #e8694c",
    },
    "plain": {
        "plain": "default",
        "dim": "default",
        "bold": "bold",
        "head": "reverse",
        "now": "bold",
        "entry": "bold",
        "key": "bold",
        "ok": "default",
        "check": "bold",
        "watch": "bold",
        "act": "bold reverse",
        "urgent": "bold reverse underline",
    },
}

GROUND = {"day": "#10151a", "night": "#0b0000", "plain": "ansi_default"}
"""Background of each look."""


def styles(look: str) -> dict[str, Style]:
    """The style of every tone in a look."""
    return {tone: Style.parse(words) for tone, words in LOOKS[look].items()}


def after(look: str, looks: Sequence[str]) -> str:
    """The look of these that follows when the key is pressed."""
    return looks[(looks.index(look) + 1) % len(looks)]
