"""The tones of each look can be read: their contrast, computed, on the ground and on the band.

Formula: WCAG 2.2, relative luminance and contrast ratio (w3.org/TR/WCAG22, 1.4.3 and 1.4.11):
text at least 4.5, rules and other drawn shapes at least 3.0.
"""

from __future__ import annotations

import pytest
from rich.style import Style

from tankwalk.pages.lines import TONES
from tankwalk.screens.tones import BAND, GROUND, LOOKS, styles

TEXT, SHAPE = 4.5, 3.0


def luminance(color: str) -> float:
    """Relative luminance of "#rrggbb", 0 (black) to 1 (white)."""
    linear = []
    for at in (1, 3, 5):
        part = int(color[at : at + 2], 16) / 255
        linear.append(part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4)
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def colors(style: Style, ground: str) -> tuple[str, str]:
    """What is written and what it is written on, for a tone that stands on `ground`."""
    assert style.color is not None, "a tone of a colored look names its color"
    on = ground if style.bgcolor is None else style.bgcolor.name
    return style.color.name, on


def test_the_formula_gives_what_the_standard_says_and_what_others_compute() -> None:
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # from memory: webaim
    assert contrast("#aaaaaa", "#000000") == pytest.approx(9.04, abs=0.005)  # look of a console


@pytest.mark.parametrize("look", ["day", "night"])
def test_every_tone_can_be_read_on_the_ground_and_on_the_band_of_a_plot(look: str) -> None:
    for tone, words in LOOKS[look].items():
        style = Style.parse(words)
        least = SHAPE if tone == "rule" else TEXT
        for ground in (GROUND[look], BAND[look]):
            written, on = colors(style, ground)
            assert contrast(written, on) >= least, (look, tone, ground)


def test_the_worst_flag_is_the_brightest_block_and_the_typed_value_the_brightest_word() -> None:
    for look in ("day", "night"):
        of, ground = styles(look), GROUND[look]
        act, urgent = (of[tone].bgcolor for tone in ("act", "urgent"))
        assert act is not None
        assert urgent is not None
        # The worst may not recede: its block stands out from the ground more than that of ACT.
        assert contrast(urgent.name, ground) > contrast(act.name, ground)
        read = {tone: contrast(*colors(style, ground)) for tone, style in of.items()}
        words = [read[t] for t in ("plain", "dim", "bold", "key", "ok", "check", "watch", "head")]
        assert read["entry"] > max(words)
        assert read["bold"] > read["plain"] > read["dim"]


def test_the_plain_look_has_the_colors_of_the_terminal_alone_and_nothing_faint() -> None:
    of = styles("plain")
    assert set(LOOKS["plain"]) == set(TONES)
    for tone, style in of.items():
        assert style.color is None or style.color.is_default, tone
        assert style.bgcolor is None, tone
        assert not style.dim, tone
    assert of["head"].underline
    assert [bool(of[tone].reverse) for tone in ("watch", "act", "urgent")] == [False, True, True]
    assert [bool(of[tone].bold) for tone in ("act", "urgent")] == [False, True]


@pytest.mark.parametrize("look", ["day", "night"])
def test_the_program_paints_its_own_ground_so_that_a_white_terminal_hides_nothing(
    look: str,
) -> None:
    of = styles(look)
    assert all(style.bgcolor is not None for style in of.values())
    assert of["plain"].bgcolor == Style.parse(f"on {GROUND[look]}").bgcolor
