"""A backup: a folder with record, plan, seal and a few words, checked before it has its name."""

from __future__ import annotations

import os
import re
import shutil
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from tankwalk import paths
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.store import FILE
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable

    from tankwalk.practice.site import Site

FOLDER = "backups"
"""Beside the record: where backups are kept by the rule."""

SEAL = "seal.txt"
README = "README.txt"

_NAME = re.compile(r"(\d{4})-(\d\d)-(\d\d)-(\d\d)(\d\d)-entry-(\d+)(-\d+)?")

_WORDS = """A backup of the tankwalk site "{name}", made {when}.

{file}   the record up to entry {number} (version {version}); any SQLite tool reads it
{plan}       the plan that was in force
{seal}        what the record was sealed with when this was made

It was checked whole before it got its name. To work with it on a laptop that has tankwalk:

    tankwalk restore THIS-FOLDER --to DIR

puts record and plan into DIR, keeps what lies there, and opens the site from then on.
"""


class NotSound(Refusal):
    """A record that is not sound gives no backup; `first` is what the check says first."""

    def __init__(self, folder: Path, first: str) -> None:
        super().__init__(
            f"The record is not sound, so it was not copied as a backup: {first} "
            f"Run tankwalk check --site {folder}: it names what is wrong, and the way back."
        )
        self.first = first


class Backup(NamedTuple):
    """A backup on a disk: its folder, when it was made and up to which entry."""

    folder: Path
    made: Instant
    number: int

    @property
    def record(self) -> Path:
        return self.folder / FILE


def name_of(made: Instant, number: int) -> str:
    """The name of a backup's folder: wall clock and newest entry, so that names sort by time."""
    return f"{made.wall:%Y-%m-%d-%H%M}-entry-{number}"


def listed(folder: Path) -> list[Backup]:
    """The backups in a folder, oldest first; what has another name is none of ours."""
    found = []
    with suppress(OSError):
        for one in folder.iterdir():
            backup = _of_name(one)
            if backup is not None and backup.record.is_file():
                found.append(backup)
    return sorted(found, key=lambda one: (one.made.utc, one.number))


def _of_name(folder: Path) -> Backup | None:
    """What a folder's name says of it. Its wall clock is taken as it stands, without a zone."""
    from datetime import UTC, datetime

    parts = _NAME.fullmatch(folder.name)
    if parts is None:
        return None
    try:
        year, month, day, hour, minute = (int(parts[n]) for n in range(1, 6))
        wall = datetime(year, month, day, hour, minute, tzinfo=UTC)
    except ValueError:
        return None
    return Backup(folder, Instant(int(wall.timestamp()), 0), int(parts[6]))


def aside(folder: Path, name: str, now: Instant, word: str = "aside") -> Path:
    """A name that is free for what is kept beside: `ledger-aside-2026-05-10-0652.sqlite`."""
    stem, _, end = name.partition(".")
    tries, found = 1, folder / f"{stem}-{word}-{now.wall:%Y-%m-%d-%H%M}.{end}"
    while found.exists():
        tries += 1
        found = folder / f"{stem}-{word}-{now.wall:%Y-%m-%d-%H%M}-{tries}.{end}"
    return found


def make(site: Site, folder: Path, progress: Callable[[float], None] | None = None) -> Backup:
    """Make a backup as `folder`, whole and checked or not at all; Refusal with the reason.

    `progress` is told the share that was checked, 0 to 1.
    """
    part = folder.with_name(f"{folder.name}.{os.getpid()}.partial")  # two may be at it at once
    try:
        if folder.exists():
            raise Refusal(f"{folder} is there already: nothing was written. Give another name.")
        shutil.rmtree(part, ignore_errors=True)
        paths.make_folder(folder.parent)
        part.mkdir()
        made = _filled(site, part, folder, progress)
        paths.sync_folder(part)
        part.replace(folder)
        paths.sync_folder(folder.parent)
    except OSError as fault:
        shutil.rmtree(part, ignore_errors=True)
        raise Refusal(
            f"{folder} cannot be written ({fault.strerror}): the record itself is unchanged. "
            "Give another name, or make room there."
        ) from fault
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        raise
    from tankwalk.ledger import backup

    backup.remember(site.folder / FILE, folder / FILE)
    return made


def _filled(
    site: Site, part: Path, folder: Path, progress: Callable[[float], None] | None
) -> Backup:
    """Record, plan, seal and words put into a folder, and the record there checked whole."""
    from tankwalk.ledger import backup, inspect, swap

    now = site.now()
    backup.copy(site.ledger.db, part / FILE)
    found = inspect.inspect(part / FILE, progress, seals=site.seals)
    if not found.sound:
        raise NotSound(site.folder, found.sentences[0])
    seal = swap.seal_of(part / FILE)
    paths.put_whole(part / paths.PLAN, (site.folder / paths.PLAN).read_bytes())
    paths.put_whole(part / SEAL, f"{seal.words}\n".encode())
    words = _WORDS.format(
        name=site.plan.name,
        when=f"{now.long()} ({now.iso()})",
        file=FILE,
        plan=paths.PLAN,
        seal=SEAL,
        number=seal.number,
        version=site.ledger.version,
    )
    paths.put_whole(part / README, words.encode())
    return Backup(folder, now, seal.number)
