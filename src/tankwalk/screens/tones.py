"""How each tone looks, in three looks: day, night (red on black, for dark rooms), and plain.

Meaning never rests on color: every flag has its mark and word, and in the plain look (and under
NO_COLOR) bold, underline and inverse video carry the rest. Blue and orange are told apart by
color-blind eyes (palette of Okabe & Ito). `tests/test_tones.py` computes the contrast of each:
at least 4.5 for text and 3.0 for rules, on the ground and on the band of a plot.
"""

from __future__ import annotations

from collections.abc import Sequence

from rich.style import Style

GROUND = {"day": "#10151a", "night": "#0b0000", "plain": "ansi_default"}
"""Background of each look."""

BAND = {"day": "#1f2c33", "night": "#220805"}
"""Background of a plot inside its band; in the night look hardly seen, so its dots stay."""

LOOKS: dict[str, dict[str, str]] = {
    "day": {
        "plain": "#d6d3ca",
        "dim": "#a3a198",
        "struck": "strike #a3a198",
        "bold": "bold #f4f1e6",
        "head": "#dfe9ee on #24323b",
        "now": "bold #f4f1e6",
        "entry": "bold #ffffff",
        "key": "bold #8fc1da",
        "ok": "#9fc9a8",
        "check": "bold #f0e442",
        "watch": "bold #f0a61a",
        "act": "bold #10151a on #e69f00",
        "urgent": "bold #10151a on #ff9a80",
        "past": "#a3a198",
        "trend": f"#a3a198 on {BAND['day']}",
        "rule": "#7a8a94",
        "band": f"#a3a198 on {BAND['day']}",
        "point": f"bold #ffffff on {BAND['day']}",
        "inside": f"#d6d3ca on {BAND['day']}",
    },
    "night": {
        "plain": "#e0664a",
        "dim": "#d4593f",
        "struck": "strike #d4593f",
        "bold": "bold #ff9878",
        "head": "#f08a6c on #2c0b06",
        "now": "bold #ff9878",
        "entry": "bold #ffb59b",
        "key": "bold #f07f61",
        "ok": "#d45c42",
        "check": "bold #ff9878",
        "watch": "bold #ff9878",
        "act": "bold #0b0000 on #d2553a",
        "urgent": "bold #0b0000 on #ff9878",
        "past": "#d4593f",
        "trend": f"#d4593f on {BAND['night']}",
        "rule": "#a04630",
        "band": f"#d4593f on {BAND['night']}",
        "point": f"bold #ffb59b on {BAND['night']}",
        "inside": f"#e0664a on {BAND['night']}",
    },
    "plain": {
        "plain": "default",
        "dim": "default",
        "struck": "strike",
        "bold": "bold",
        "head": "underline",
        "now": "bold",
        "entry": "bold",
        "key": "bold",
        "ok": "default",
        "check": "bold",
        "watch": "bold",
        "act": "reverse",
        "urgent": "bold reverse",
        "past": "default",
        "trend": "default",
        "rule": "default",
        "band": "default",
        "point": "bold",
        "inside": "default",
    },
}
"""Each tone of each look. Nothing is ever faint; the plain look has the terminal's two colors."""


def styles(look: str) -> dict[str, Style]:
    """The style of every tone in a look, each on a ground that the program paints itself.

    Left to the terminal's own ground, day would be light words on a white one.
    """
    ground = Style() if look == "plain" else Style(bgcolor=GROUND[look])
    return {tone: ground + Style.parse(words) for tone, words in LOOKS[look].items()}


def after(look: str, looks: Sequence[str]) -> str:
    """The look of these that follows when the key is pressed."""
    return looks[(looks.index(look) + 1) % len(looks)]
