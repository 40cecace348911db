"""What a run of the tests makes once: by whichever process comes first, for all of them to copy."""

from __future__ import annotations

import atexit
import pickle
import shutil
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar, cast

_SECONDS = 300
"""So long another process may take before it is thought dead."""

_folder: Path | None = None

Made = TypeVar("Made")


def share_in(folder: Path) -> None:
    """Keep what is shared in `folder`, which all processes of this run are given."""
    global _folder
    folder.mkdir(parents=True, exist_ok=True)
    _folder = folder


def once(name: str, make: Callable[[Path], None]) -> Path:
    """The folder of a name, to be read only; `make` fills it where no process has yet."""
    folder = _shared()
    there, claim, part = (folder / f"{name}{end}" for end in ("", ".claim", ".partial"))
    tries = 0
    while not there.exists():
        try:
            claim.mkdir()
        except FileExistsError:
            tries += 1
            if tries > _SECONDS * 20:
                raise TimeoutError(f"{claim} is held by a process that does not end") from None
            time.sleep(0.05)
            continue
        try:
            if not there.exists():
                shutil.rmtree(part, ignore_errors=True)
                part.mkdir()
                make(part)
                part.rename(there)
        finally:
            claim.rmdir()
    return there


def kept(name: str, make: Callable[[Path], Made]) -> Made:
    """What `make` gives, worked by the first process of this run that asks and read by the others.

    `make` may use the folder it is given; what it gives has to be a plain value.
    """

    def keep(folder: Path) -> None:
        (folder / "value").write_bytes(pickle.dumps(make(folder)))

    return cast(Made, pickle.loads((once(name, keep) / "value").read_bytes()))


def _shared() -> Path:
    """The folder of this run; one of this process where no run of tests gave any."""
    if _folder is None:
        own = Path(tempfile.mkdtemp(prefix="tankwalk-test-"))
        atexit.register(shutil.rmtree, own, ignore_errors=True)
        share_in(own)
        return own
    return _folder
