"""A kind of item is this one place: how it is read, judged, shown and printed.

Nobody else asks which kind an item is: they ask what its kind says, `item.kind.whole`. A new kind
is one more `Kind` here and its name in `KINDS`. Nothing has a default, so that one that forgets an
answer does not type-check.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from tankwalk import figures
from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:  # an item has a kind, so the model stands on this
    from tankwalk.plan.model import Item
    from tankwalk.quantity import Quantity

KeyWord = tuple[str, str]
"""A key of the pad and the word it answers."""


class Kind(NamedTuple):
    """All that differs from one kind of item to another.

    `read` gives what was typed as a value in the item's unit, or raises Refusal; `show` puts a
    value in words with the unit handed to it ("" for none) and falls back on what was typed;
    `answers` are the keys that stand for a word.
    """

    word: str
    """What the plan calls it."""

    # ---- read

    read: Callable[[Item, str], Quantity]
    by_words: bool
    """Answered by one of the item's words, the first of them with +; kept as its place, from 0."""
    whole: bool
    """Whole numbers alone; what has a decimal mark is refused, never rounded."""
    negative: bool
    """May be below 0."""
    below: bool
    """May be below what the kit can see ("<0.05")."""
    takes_unit: bool
    """A unit may follow the digits ("68f"): letters then belong to the entry."""
    read_twice: bool
    """Read a second time where it is out; both stay."""
    verb: str
    """What a person does for that second reading."""

    # ---- judged

    by_band: bool
    """Judged by its band; else by its word (`watch_on`, `act_on` of the item)."""
    trends: bool
    """Held against its own past, its sisters, its loop and its meter: slope, drift, odd one out."""
    repeats_asked: bool
    """The same to the last digit again and again is asked about."""
    deadband: bool
    """Has to be well inside its band before a flag clears."""
    looks_to_clear: int
    """Looks in band that clear a flag."""
    told_by_loop: bool
    """Tanks of a loop that are out together are one message."""
    of_animals: bool
    """Counts animals: what it calls for is a matter of health, not of water."""

    # ---- shown and printed

    show: Callable[[Item, float, str, str], str]
    """Item, value, what was typed, unit to write."""
    answers: Callable[[Item], tuple[KeyWord, ...]]
    charted: bool
    """Its newest values stand in a row beside the page."""
    unit_word: str
    """What the paper sheet says for a unit where the item has none."""

    # ---- in the plan

    keys: tuple[str, ...]
    """Of `OWN_KEYS`, what an item of this kind may say."""
    needs: tuple[str, ...]
    """Of those, what it has to say."""

    def __reduce__(self) -> tuple[Callable[[str], Kind], tuple[str]]:
        """Kept by its word: a plan kept ready holds no copy of what the program says of a kind."""
        return kind_of, (self.word,)


OWN_KEYS = (
    *("choices", "watch_on", "act_on", "act_dph", "when"),
    *("unit", "decimals", "plausible", "deadband", "when_low", "when_high", "twice"),
)
"""Keys of an [[item]] that mean something for some kinds alone."""

_MEASURED = ("unit", "decimals", "plausible", "deadband", "when_low", "when_high", "twice")


# ---- numbers

SUBSTANCES = {"tan": "ammonia", "no2n": "nitrite", "no3n": "nitrate", "do": "oxygen"}
"""What the items that the program knows by code are an amount of, for the units they take."""


def _read_number(item: Item, typed: str) -> Quantity:
    # A page that only shows values need not load what reads them and all the units.
    from tankwalk import quantity

    kind = item.kind
    read = quantity.read(
        typed,
        item.unit,
        whole=kind.whole,
        allow_below=kind.below,
        most=item.plausible[1] if item.plausible else None,
        of=SUBSTANCES.get(item.code, ""),
    )
    if read.value < 0 and not kind.negative:
        raise Refusal(f"{item.label} cannot be less than 0: type it again.")
    return read


_TYPED = r"[<\s]*([-+\u2212]?[0-9]*[.,]([0-9]+))(?![0-9.,])"
"""The number of what was typed, and the digits after its mark; compiled where first used."""


def _show_number(item: Item, value: float, typed: str, unit: str) -> str:
    """With the item's decimals, and with as many as were typed where the value is what was typed.

    What was worked out, or turned from another unit, was not typed so.
    """
    decimals = item.decimals
    if typed and not item.derived:
        number, digits = _decimals_of(typed)
        if digits and abs(number - value) < 1e-9:
            decimals = max(decimals, digits)
    return figures.show(value, unit, decimals)


def _decimals_of(typed: str) -> tuple[float, int]:
    """The number of what was typed, and how many digits follow its mark; 0 where none do."""
    whole, mark, after = typed.partition(".")
    if mark and typed.isascii() and whole.isdecimal() and after.isdecimal():
        return float(typed), len(after)  # nearly all are so, and a start compiles no expression
    found = re.match(_TYPED, typed)
    if found is None:
        return 0.0, 0
    return float(found[1].replace(",", ".").replace("\u2212", "-")), len(found[2])


def _no_answers(item: Item) -> tuple[KeyWord, ...]:
    return ()


# ---- words


def _read_word(item: Item, typed: str) -> Quantity:
    """The word of a key or of its own letters; its value is its place among the choices."""
    from tankwalk.quantity import Quantity

    keys = [str(i) for i in range(1, len(item.choices) + 1)]
    words = [word.casefold() for word in item.choices]
    if typed == "+":
        index = 0
    elif typed in keys:
        index = keys.index(typed)
    elif typed.casefold() in words:
        index = words.index(typed.casefold())
    else:
        listed = ", ".join(f"{key} {word}" for key, word in zip(keys, item.choices, strict=True))
        raise Refusal(f"{item.label} takes one of: {listed}; + is 1.")
    return Quantity(float(index), item.unit, item.choices[index])


def _show_word(item: Item, value: float, typed: str, unit: str) -> str:
    """The word; what was typed, where the plan has fewer words now than it had."""
    index = int(value)
    return item.choices[index] if 0 <= index < len(item.choices) else typed


def _word_keys(item: Item) -> tuple[KeyWord, ...]:
    return tuple((str(key), word) for key, word in enumerate(item.choices, 1))


# ---- the kinds

NUMBER = Kind(
    word="number",
    read=_read_number,
    by_words=False,
    whole=False,
    negative=True,
    below=True,
    takes_unit=True,
    read_twice=True,
    verb="Measure",
    by_band=True,
    trends=True,
    repeats_asked=True,
    deadband=True,
    looks_to_clear=2,
    told_by_loop=True,
    of_animals=False,
    show=_show_number,
    answers=_no_answers,
    charted=True,
    unit_word="",
    keys=_MEASURED,
    needs=(),
)
"""A measured number."""

COUNT = Kind(
    word="count",
    read=_read_number,
    by_words=False,
    whole=True,
    negative=False,
    below=True,
    takes_unit=False,
    read_twice=True,
    verb="Count",
    by_band=True,
    trends=False,
    repeats_asked=False,
    deadband=False,
    looks_to_clear=2,
    told_by_loop=True,
    of_animals=True,
    show=_show_number,
    answers=_no_answers,
    charted=True,
    unit_word="count",
    keys=_MEASURED,
    needs=(),
)
"""A whole number of animals."""

CHOICE = Kind(
    word="choice",
    read=_read_word,
    by_words=True,
    whole=True,
    negative=False,
    below=False,
    takes_unit=False,
    read_twice=False,
    verb="Look",
    by_band=False,
    trends=False,
    repeats_asked=False,
    deadband=False,
    looks_to_clear=1,
    told_by_loop=False,
    of_animals=False,
    show=_show_word,
    answers=_word_keys,
    charted=False,
    unit_word="",
    keys=("choices", "watch_on", "act_on", "act_dph", "when"),
    needs=("choices",),
)
"""One of a few words, the first of which is all right: a tick, or a setting."""

KINDS: dict[str, Kind] = {kind.word: kind for kind in (NUMBER, COUNT, CHOICE)}
"""Every kind by the plan's word; the first one to take a key is named where another does not."""


def kind_of(word: str) -> Kind:
    """The kind the plan calls by this word."""
    return KINDS[word]
