"""Canonical JSON of what entries say: whole by the encoder, or put together from kept pieces.

The check writes it for every entry of the record, and encoding the same names anew for each takes
longer than the digests themselves. So names are encoded once, and the body of a usual entry is put
together around its numbers. What is unusual is left to the encoder, which alone says what holds.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Container, Sequence
from json import encoder
from typing import Any

from tankwalk.figures import number_text
from tankwalk.rows import NamedTuple

Row = tuple[Any, ...]
"""A row as SQLite gives it; a damaged file may hold anything anywhere."""

SPINE = ("n", "station", "local", "observed_at", "late_s", "utc_offset", "who", "kind", "round",
         "place", "item", "amends", "reason", "digest")  # fmt: skip
"""Columns of the spine, in the order of a row."""

READING = ("value", "typed", "typed_unit", "qualifier", "instrument", "band", "flag", "recheck")
"""Columns of its reading, which come after them; each is None where it has none."""

N, STATION, LOCAL, KIND, DIGEST = map(SPINE.index, ("n", "station", "local", "kind", "digest"))
FLAG = (*SPINE, *READING).index("flag")
"""Where some of them stand."""


def _encoder() -> Callable[[object], str]:
    """Canonical JSON of a list, by one encoder that is kept: `json` makes one for every call."""
    # `default` is for what only a damaged file holds, such as bytes in the place of words.
    usual = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), default=repr)
    made = getattr(encoder, "c_make_encoder", None)
    if made is None:  # a Python without the part of json that is written in C
        return usual.encode
    parts = made(None, repr, encoder.encode_basestring, None, ":", ",", False, False, True)
    return lambda said: "".join(parts(said, 0))


encoded = _encoder()
"""Canonical JSON of a list."""

quoted = encoder.encode_basestring
"""Canonical JSON of a text; TypeError for anything else."""


class Names(NamedTuple):
    """The small dictionaries; a number that none of them holds stands for itself."""

    stations: dict[int, tuple[str, str]]  # key and name
    people: dict[int, str]
    kinds: dict[int, str]
    places: dict[int, str]
    items: dict[int, tuple[str, str]]  # code and unit
    instruments: dict[int, str]
    bands: dict[int, str]


class Pieces(NamedTuple):
    """The JSON of each name, by its number; None, where it may stand, is null."""

    stations: dict[int, str]
    people: dict[int, str]
    kinds: dict[int, str]
    places: dict[int | None, str]
    items: dict[int | None, str]  # code and unit
    instruments: dict[int | None, str]
    bands: dict[int | None, str]


def pieces(names: Names) -> Pieces:
    """The names encoded, once for all entries."""

    def inner(*values: object) -> str:
        return encoded(values)[1:-1]

    def each(of: dict[int, str]) -> dict[int | None, str]:
        return {None: "null", **{number: inner(name) for number, name in of.items()}}

    return Pieces(
        {number: inner(key) for number, (key, _) in names.stations.items()},
        {number: inner(name) for number, name in names.people.items()},
        {number: inner(name) for number, name in names.kinds.items()},
        each(names.places),
        {None: "null,null", **{number: inner(*both) for number, both in names.items.items()}},
        each(names.instruments),
        each(names.bands),
    )


def bodies(
    of: Pieces,
    entries: Sequence[Row],
    beside: Sequence[str | None],
    reads: Container[int],
    reference: Callable[[int], object],
) -> list[bytes | None]:
    """What is hashed of each entry: its row, and `beside`, the JSON of its other details.

    `reads` are the kinds whose entries have a reading. None for an entry that holds anything
    unusual. Numbers are written by `repr`: that is the JSON of an int and of a finite float.
    """
    stations, people, kinds, places, items, instruments, bands = of
    made: list[bytes | None] = []
    for (
        _, station, local, observed_at, late_s, offset, who, kind, in_round, place, item, amends,
        reason, _, value, typed, unit, qualifier, meter, band, flag, recheck,
    ), details in zip(entries, beside, strict=True):  # fmt: skip
        try:
            if kind not in reads or flag is None:
                reading = ""
            else:
                number = "null" if value is None else repr(value)
                text = plain_text(value, number) if typed is None else quoted(typed)
                reading = (
                    f',["reading",{number},{text},{"null" if unit is None else quoted(unit)},'
                    f"{'null' if qualifier is None else quoted(qualifier)},"
                    f"{instruments[meter]},{bands[band]},{flag!r},{recheck!r}]"
                )
            why = "null,null"
            if amends is not None or reason is not None:
                said = None if amends is None else reference(amends)
                why = encoded([said, reason])[1:-1]
            body = (
                f"[{stations[station]},{local!r},{observed_at!r},{late_s!r},{offset!r},"
                f"{people[who]},{kinds[kind]},{'null' if in_round is None else repr(in_round)},"
                f"{places[place]},{items[item]},{why}{reading}{details}]"
            )
            made.append(None if details is None else body.encode())
        except (KeyError, TypeError, UnicodeEncodeError):
            made.append(None)
    return made


def plain_text(value: object, number: str) -> str:
    """The JSON of what was typed where only the value was kept, given the JSON of the value.

    Ten digits are all there are of most values, and then `number` says them already.
    """
    if "." in number and len(number) <= 11:
        return f'"{number.removesuffix(".0")}"'
    return f'"{number_text(value)}"' if isinstance(value, float) else "null"
