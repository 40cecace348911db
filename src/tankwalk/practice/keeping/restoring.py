"""A backup put back: checked before and after, and what lies there is kept under another name."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from tankwalk import paths
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.store import FILE, Ledger
from tankwalk.practice.keeping import packing
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.ledger.swap import Ahead, Other

DEEP = 3
"""So many folders deep a stick is searched for backups."""


class Source(NamedTuple):
    """What is put back: a record, the plan beside it if there is one, and the seal it was given."""

    record: Path
    plan: Path | None
    seal: str
    """As it was written when the backup was made; "" of a record alone."""


class PlanFrom(NamedTuple):
    """Which plan is in force after it, and where another one lies that is not."""

    kept: bool
    """The plan that was there stays: a restored record does not undo a change of the plan."""
    other: Path | None = None
    made_from_record: bool = False


class Restored(NamedTuple):
    """What was put where, what of the record is not in it, and under which name that is kept."""

    folder: Path
    source: Path
    entries: int
    seal: str
    aside: Path | None
    gone: Ahead | Other | None
    seen: int
    """Entries that this laptop had seen and are in neither; 0 where it knows of none."""
    plan: PlanFrom
    same: bool = False
    """The record was in its place already: this laptop now takes it as it is."""


def restore(source: Path, folder: Path, now: Instant, seals: Path) -> Restored:
    """Put a backup in place of the record in `folder`; Refusal, and nothing changed, if unsound.

    `seals` is the file with what this laptop knows of the record there.
    """
    try:
        found = find(source)
        if found.record.resolve() == (folder / FILE).resolve():
            return _as_it_is(found, folder, now, seals)
        return _put(found, folder, now, seals)
    except OSError as fault:
        raise Refusal(
            f"{fault.filename or source} could not be used ({fault.strerror}): the record in "
            f"{folder} is as it was. Try it again, or name another folder with --to."
        ) from fault


# ---- what is put back


def find(source: Path) -> Source:
    """The record that a path means: a file, a backup, or the newest backup of a disk or folder."""
    if source.is_file():
        return _of(source)
    if (source / FILE).is_file():
        return _of(source / FILE)
    every = [packing.listed(place) for place in _places(source)]
    every = [one for one in every if one]
    if len(every) > 1:
        names = ", ".join(str(one[0].folder.parent) for one in every[:4])
        raise Refusal(
            f"{source} holds backups of {len(every)} sites ({names}): nothing was changed. Name "
            "one of these."
        )
    if not every:
        raise Refusal(
            f"There is no backup at {source}: nothing was changed. Name the folder of one, the "
            "disk it lies on, or the file of a record."
        )
    newest = max(every[0], key=lambda one: (one.number, one.made.utc))
    return _of(newest.record)


def _places(folder: Path, deep: int = DEEP) -> Iterator[Path]:
    """Folders that may hold backups, from the top down."""
    yield folder
    if deep == 0:
        return
    with suppress(OSError):
        for one in sorted(folder.iterdir()):
            if one.is_dir() and not one.is_symlink() and not one.name.startswith("."):
                yield from _places(one, deep - 1)


def _of(record: Path) -> Source:
    plan, seal = record.with_name(paths.PLAN), record.with_name(packing.SEAL)
    beside = record.name == FILE
    words = ""
    if beside:
        with suppress(OSError, UnicodeDecodeError):
            words = seal.read_text("utf-8").strip()
    return Source(record, plan if beside and plan.is_file() else None, words)


# ---- put back


def _put(found: Source, folder: Path, now: Instant, seals: Path) -> Restored:
    from tankwalk.ledger import backup, proof, swap

    paths.make_folder(folder)
    record, part = folder / FILE, folder / f"{FILE}.restoring"
    if record.exists():
        backup.free(record)
    _sound_copy(found, part)
    gone = swap.ahead(record, part) if record.exists() else None
    seal = swap.seal_of(part)
    known = [one.number for one in proof.kept(seals)]
    seen = max([0, *known]) - seal.number if gone is None else 0
    plan = _plan(found, folder, part, now)
    aside = packing.aside(folder, FILE, now)
    was_there = swap.put(part, record, aside)
    _checked_again(record, aside if was_there else None)
    lost = gone.many if isinstance(gone, swap.Ahead) else max(0, seen)
    proof.keep(seals, seal, now, restored=True, lost=lost)
    backup.remember(record, found.record)
    return Restored(
        folder, found.record, seal.number, seal.words, aside if was_there else None, gone,
        max(0, seen), plan,
    )  # fmt: skip


def _sound_copy(found: Source, part: Path) -> None:
    """The record copied beside the place it goes to, and checked there; Refusal if unsound."""
    from tankwalk.ledger import swap
    from tankwalk.ledger.inspect import inspect

    part.unlink(missing_ok=True)
    journal = found.record.with_name(found.record.name + "-journal")
    beside = part.with_name(part.name + "-journal")
    beside.unlink(missing_ok=True)
    shutil.copyfile(found.record, part)
    if journal.exists():
        shutil.copyfile(journal, beside)
    try:
        checked = inspect(part)
        if checked.sound and found.seal and not swap.holds(part, found.seal):
            raise Refusal(
                f"{found.record} is not what was sealed with {found.seal} when the backup was made:"
                " nothing was changed. Name an older backup."
            )
    except Refusal:
        part.unlink(missing_ok=True)
        raise
    if not checked.sound:
        part.unlink(missing_ok=True)
        raise Refusal(
            f"{found.record} is not sound, so it was not put back: {checked.sentences[0]} Nothing "
            "was changed. Name an older backup."
        )
    with part.open("rb+") as handle:
        os.fsync(handle.fileno())


def _checked_again(record: Path, aside: Path | None) -> None:
    """The record in its place, read anew; a disk that did not take it is told, with the old one."""
    from tankwalk.ledger.inspect import inspect

    if not inspect(record).sound:
        old = f" What was there before is {aside}." if aside is not None else ""
        raise Refusal(
            f"{record} was put in place and is not sound there: the disk did not take it. Use "
            f"another disk, with --to.{old}"
        )


def _as_it_is(found: Source, folder: Path, now: Instant, seals: Path) -> Restored:
    """The record that lies in its place is taken as it is: somebody put it there on purpose."""
    from tankwalk.ledger import proof, swap
    from tankwalk.ledger.inspect import inspect

    checked = inspect(found.record)
    if not checked.sound:
        raise Refusal(f"{found.record} is not sound: {checked.sentences[0]} Nothing was changed.")
    seal = swap.seal_of(found.record)
    known = [one.number for one in proof.kept(seals)]
    seen = max(0, max([0, *known]) - seal.number)
    proof.keep(seals, seal, now, restored=True, lost=seen)
    return Restored(
        folder, found.record, seal.number, seal.words, None, None, seen, PlanFrom(True), same=True
    )


# ---- the plan


def _plan(found: Source, folder: Path, part: Path, now: Instant) -> PlanFrom:
    """See that a sound plan is there: the one that is, else the backup's, else the record's own."""
    from tankwalk.plan.file import load

    there = folder / paths.PLAN
    text = None if found.plan is None else found.plan.read_bytes()
    sound = False
    if there.exists():
        with suppress(Refusal):  # a plan with faults, or no plan at all, gives way
            load(there)
            sound = True
    if sound:
        if text is None or text == there.read_bytes():
            return PlanFrom(True)
        other = packing.aside(folder, paths.PLAN, now, "of-backup")
        paths.put_whole(other, text)
        return PlanFrom(True, other)
    from_record = text is None
    if text is None:
        last = Ledger.plan_held(part)
        text = None if last is None else last[0].encode("utf-8", "surrogatepass")
    if text is None:
        return PlanFrom(there.exists())
    faulty = packing.aside(folder, paths.PLAN, now) if there.exists() else None
    if faulty is not None:
        there.replace(faulty)
    paths.put_whole(there, text)
    return PlanFrom(False, faulty, from_record)
