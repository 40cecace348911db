"""The seal of a record, short enough to print and to type, and what this laptop knows of records.

A seal is the number of the newest entry and forty bits of its chain digest. The chain shows what
was altered inside a file; it cannot show that the newest entries were cut off, or that another file
lies in its place. What was known outside shows that: a printed seal, or those kept on the laptop.
"""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import suppress
from enum import Enum
from pathlib import Path

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple

LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Base 32 without I, L, O and U, which look like others; whoever types them means 1, 1, 0 and V."""

_MEANT = str.maketrans("ILOU", "110V")
_TYPED = re.compile(r"\s*(\d{1,15})[\s-]*([0-9A-Za-z]{4})[\s-]*([0-9A-Za-z]{4})\s*")

MOST_BYTES = 64_000
"""A file of kept seals that is larger is thinned: the newest stay, and one a day of older ones."""

NEWEST = 200
"""So many of the newest seals stay when the file is thinned."""


class Seal(NamedTuple):
    """The newest entry of a record at some moment: its number (0: none yet) and its digest."""

    number: int
    digest: bytes

    @property
    def words(self) -> str:
        """As it is printed: `9228-ABCD-EFGH`."""
        return f"{self.number}-{short(self.digest)}"


def short(digest: bytes) -> str:
    """The first forty bits of a digest in eight letters; of none, all 0."""
    bits = int.from_bytes(digest[:5].ljust(5, b"\0"), "big")
    letters = "".join(LETTERS[bits >> 5 * k & 31] for k in range(7, -1, -1))
    return f"{letters[:4]}-{letters[4:]}"


def seal(db: sqlite3.Connection) -> Seal:
    """The seal of an open record as it stands."""
    row = db.execute("SELECT n, digest FROM entry WHERE n = (SELECT max(n) FROM entry)").fetchone()
    return Seal(0, b"") if row is None else Seal(row[0], bytes(row[1]))


def typed(words: str) -> tuple[int, str]:
    """Number and letters of a seal as a person types it; Refusal for what is none."""
    found = _TYPED.fullmatch(words)
    letters = "" if found is None else f"{found[2]}-{found[3]}".upper().translate(_MEANT)
    if found is None or set(letters) - set(LETTERS) - {"-"}:
        raise Refusal(
            f"{words[:40]!r} is not a seal: nothing was checked. Type it as it is printed, such "
            "as 9228-ABCD-EFGH."
        )
    return int(found[1]), letters


class Held(Enum):
    """How a record stands to a seal of before."""

    HOLDS = "holds"
    ENDS_BEFORE = "ends before"
    OTHER = "holds another entry there"


def held(db: sqlite3.Connection, number: int, letters: str) -> Held:
    """Whether the record holds the entry that a seal names."""
    if number == 0:
        return Held.HOLDS
    row = db.execute("SELECT digest FROM entry WHERE n = ?", (number,)).fetchone()
    if row is not None and isinstance(row[0], bytes):
        return Held.HOLDS if short(row[0]) == letters else Held.OTHER
    last = db.execute("SELECT max(n) FROM entry").fetchone()[0] or 0
    return Held.ENDS_BEFORE if last < number else Held.OTHER


def of_printed(db: sqlite3.Connection, words: str) -> tuple[bool, str]:
    """What a printed seal says of the record: whether it holds, and a sentence."""
    number, letters = typed(words)
    as_printed = f"{number}-{letters}"
    match held(db, number, letters):
        case Held.HOLDS:
            last = seal(db).number
            return True, (
                f"the seal {as_printed} holds: entries 1 to {number} are those it was printed "
                f"with; {last - number} came after."
            )
        case Held.ENDS_BEFORE:
            return False, (
                f"the seal {as_printed} does not match: it was printed with entry {number}, and "
                f"the record ends at entry {seal(db).number}. Its newest entries were cut off, or "
                "an older copy or another record lies in its place."
            )
    return False, (
        f"the seal {as_printed} does not match: entry {number} is not the one it was printed with. "
        "Compare the letters once more; if they are right, the record was rewritten, or this is "
        "another record."
    )


# ---- what this laptop keeps


class Kept(NamedTuple):
    """A seal this laptop kept, and when; `restored` where a backup was put in the place then."""

    number: int
    letters: str
    when: str
    restored: bool = False
    lost: int = 0
    """Of a restored one: so many entries that this laptop had seen were not in it."""


def keep(file: Path, one: Seal, when: Instant, *, restored: bool = False, lost: int = 0) -> None:
    """Add a seal to those kept in `file`; not being able to is no fault of the record.

    What is known already is not written again. Seals of before a restored one no longer count.
    """
    try:
        before = kept(file)
        if one.number == 0 and not restored:
            return
        if before and not restored and before[-1].number == one.number:
            if before[-1].letters == short(one.digest):
                return
        file.parent.mkdir(parents=True, exist_ok=True)
        what = f"restored {lost}" if restored else "seal"
        with file.open("a", encoding="utf-8") as out:
            out.write(f"{one.words} {when.iso()} {what}\n")
            if restored:  # else a power cut would have the check speak of a file put back unasked
                out.flush()
                os.fsync(out.fileno())
        if file.stat().st_size > MOST_BYTES:
            _thin(file)
    except OSError:
        pass


def kept(file: Path) -> tuple[Kept, ...]:
    """The seals kept in a file that count, oldest first; what cannot be read is left out."""
    try:
        lines = file.read_text("utf-8", errors="replace").splitlines()
    except OSError:
        return ()
    found: list[Kept] = []
    for line in lines:
        one = _read(line)
        if one is not None and one.restored:
            found.clear()
        if one is not None:
            found.append(one)
    return tuple(found)


def forget(file: Path) -> None:
    """A record is begun anew in its place: what was known of the one before no longer counts."""
    with suppress(OSError):
        file.unlink(missing_ok=True)


def _read(line: str) -> Kept | None:
    words = line.split()
    try:
        number, letters = typed(words[0])
        restored = words[2] == "restored"
        return Kept(number, letters, words[1], restored, int(words[3]) if restored else 0)
    except (Refusal, IndexError, ValueError):
        return None


def _thin(file: Path) -> None:
    """Keep the newest seals of a file, one a day of the older ones, and every restored one."""
    import tempfile

    lines = file.read_text("utf-8", errors="replace").splitlines()
    old, new = lines[:-NEWEST], lines[-NEWEST:]
    last_of_day = {line.split(" ")[1][:10]: line for line in old if line.count(" ") > 1}
    stay = [line for line in old if line in last_of_day.values() or " restored " in line]
    handle, name = tempfile.mkstemp(dir=file.parent, prefix=f"{file.stem}-", suffix=".partial")
    with os.fdopen(handle, "w", encoding="utf-8") as out:
        out.write("".join(f"{line}\n" for line in stay + new))
    Path(name).replace(file)


def against(db: sqlite3.Connection, seals: Sequence[Kept]) -> str:
    """What this laptop's seals say against a record, in one sentence; "" where all hold."""
    how = [(one, held(db, one.number, one.letters)) for one in seals]
    holding = [one for one, found in how if found is Held.HOLDS]
    if len(holding) == len(how):
        return ""
    last = seal(db).number
    failing = [one for one, found in how if found is not Held.HOLDS]
    newest = max(failing, key=lambda one: one.number)
    if any(found is Held.OTHER for _, found in how):
        if not holding:
            return (
                f"another record lies in its place: entry {failing[0].number} is not the one that "
                f"this laptop saw on {_day(failing[0].when)}."
            )
        first = min(one.number for one, found in how if found is Held.OTHER)
        back = max((one.number for one in holding if one.number < first), default=0)
        return (
            f"entries {back + 1} to {first} are not those that this laptop saw: they were written "
            "anew, with digests that hold."
        )
    return (
        f"this laptop saw entry {newest.number} on {_day(newest.when)}, and the record ends at "
        f"entry {last}: its newest entries were cut off, or an older copy was put in its place."
    )


def of_laptop(db: sqlite3.Connection, file: Path, path: Path) -> tuple[str, ...]:
    """What is told where this laptop's seals do not hold: what it is, and what to do if meant."""
    found = against(db, kept(file))
    if not found:
        return ()
    return (found, f"If you put that file there on purpose, say so: tankwalk restore {path}.")


def put_back(seals: Iterable[Kept]) -> str:
    """That a backup was put in the place of the record, where it was; else ""."""
    one = next((one for one in seals if one.restored), None)
    if one is None:
        return ""
    gone = f"; this laptop had seen {one.lost} more, which are not in it" if one.lost else ""
    return f"a backup was restored on {_day(one.when)}, up to entry {one.number}{gone}."


def _day(when: str) -> str:
    """A kept moment as people say it; as it stands where it is none."""
    from datetime import datetime

    try:
        at = datetime.fromisoformat(when)
    except ValueError:
        return when[:16]
    return Instant(
        int(at.timestamp()), int((at.utcoffset() or at - at).total_seconds()) // 60
    ).long()
