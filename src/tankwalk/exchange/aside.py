"""A folder of files that is written aside and put in its place whole, or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import BinaryIO

from tankwalk.errors import Refusal
from tankwalk.paths import sync_folder
from tankwalk.rows import NamedTuple

MADE = ".made-by-tankwalk"
"""How a folder that was left half written is known again; it goes when the folder is whole."""


class Written(NamedTuple):
    """A file of the folder: its name there, its bytes and their SHA-256 in hex."""

    name: str
    size: int
    digest: str


class Sink:
    """A file that is being written: what goes in is counted and summed."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._sum = sha256()
        self.size = 0

    def write(self, words: str) -> None:
        content = words.encode("utf-8", "surrogatepass")
        self._file.write(content)
        self._sum.update(content)
        self.size += len(content)

    @property
    def digest(self) -> str:
        return self._sum.hexdigest()


class Aside:
    """The folder while it is being written."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.written: list[Written] = []

    @contextmanager
    def file(self, name: str) -> Iterator[Sink]:
        """A new file in it, on the disk when it is left."""
        path = self.folder / name
        path.parent.mkdir(exist_ok=True)
        with path.open("xb") as file:
            sink = Sink(file)
            yield sink
            file.flush()
            os.fsync(file.fileno())
        self.written.append(Written(name, sink.size, sink.digest))

    def put(self, name: str, words: str) -> None:
        """A short file."""
        with self.file(name) as sink:
            sink.write(words)

    def made(self, name: str) -> None:
        """A file that another library wrote there."""
        path = self.folder / name
        summed, size = sha256(), 0
        with path.open("rb+") as file:
            while content := file.read(1 << 20):
                summed.update(content)
                size += len(content)
            os.fsync(file.fileno())
        self.written.append(Written(name, size, summed.hexdigest()))


@contextmanager
def written_aside(target: Path) -> Iterator[Aside]:
    """A folder written under another name; in its place when this is left without a fault.

    Refusal where something lies in its place, or the disk does not take it: then nothing is left.
    """
    target = Path(os.path.abspath(target))
    part = target.with_name(f"{target.name}.partial")
    try:
        if target.exists() and (not target.is_dir() or any(target.iterdir())):
            raise Refusal(f"{target} is there already: nothing was written. Name another folder.")
        if part.exists():
            if not (part / MADE).exists():
                raise Refusal(f"{part} is in the way: nothing was written. Rename it first.")
            shutil.rmtree(part)  # left when the power went
        part.mkdir(parents=True)
        try:
            (part / MADE).touch()
            yield Aside(part)
            for folder in {path.parent for path in part.rglob("*")}:
                sync_folder(folder)
            part.replace(target)
        except BaseException:
            shutil.rmtree(part, ignore_errors=True)
            raise
        (target / MADE).unlink()
        sync_folder(target)
        sync_folder(target.parent)
    except OSError as fault:
        raise Refusal(
            f"{target} cannot be written ({fault.strerror or fault}): nothing of it is left. Free "
            "some space, or name another folder."
        ) from fault
