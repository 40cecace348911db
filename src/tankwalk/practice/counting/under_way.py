"""What the note of a count under way is: read by the pad, and by what tells that one was left."""

from __future__ import annotations

from tankwalk.ledger.notes import NoteSeen
from tankwalk.rows import NamedTuple

UNDER_WAY = "count under way"
"""The reason of a note that is a count under way begins with this."""

GO_ON_HOURS = 12
"""For so long a count under way can be gone on with: water changes. Common practice, no source."""

_PARTS = 6


class Left(NamedTuple):
    """The words of such a note: the sort of count, which are left out, what it is of.

    Of fish of a tank also the liters they are counted for and what is counted, a word of
    `stock.What`; None and "" where the note does not say.
    """

    sort: str
    marks: str
    of: str
    liters: float | None = None
    what: str = ""


def reason(left: Left) -> str:
    """The words as the record keeps them."""
    parts = [UNDER_WAY, left.sort, left.marks, left.of]
    if left.what:
        parts += ["" if left.liters is None else f"{left.liters!r}", left.what]
    return "; ".join(parts)


def read(note: NoteSeen) -> Left | None:
    """What a note says of a count under way; None where it is another note."""
    parts = (note.reason or "").split("; ")
    if parts[0] != UNDER_WAY or len(parts) < 4:
        return None
    left = Left(parts[1], parts[2], parts[3])
    if len(parts) < _PARTS:
        return left
    return left._replace(liters=float(parts[4]) if parts[4] else None, what=parts[5])
