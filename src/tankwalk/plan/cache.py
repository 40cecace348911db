"""A checked plan kept ready, so that a start need not check it again.

Checking a plan takes longer than everything else before the first page. A plan that passed is kept
in this laptop's own folder under the digest of its text; any change of the text or of the program
makes another name, and whatever is wrong with a kept file only means that the plan is checked
again. It is a pickle, so it lives in the person's own folder alone, never in a site's.
"""

from __future__ import annotations

import os
import pickle
from pathlib import Path

from tankwalk import __version__
from tankwalk.plan.model import Plan

KEPT = 8
"""Plans kept; the oldest go first."""

SHAPE = 20
"""Raise it when `Plan` or what it holds changes shape."""


def _file(folder: Path, digest: str) -> Path:
    return folder / f"{__version__}-{SHAPE}-{digest}.plan"


def kept(folder: Path, digest: str) -> Plan | None:
    """The plan of this digest, where it was kept and can still be read."""
    try:
        found = pickle.loads(_file(folder, digest).read_bytes())
    except Exception:
        return None
    return found if isinstance(found, Plan) and found.digest == digest else None


def keep(folder: Path, plan: Plan) -> None:
    """Keep a plan that passed its check; not being able to is no fault."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        file = _file(folder, plan.digest)
        part = file.with_suffix(f".{os.getpid()}.partial")  # two programs may keep one plan at once
        part.write_bytes(pickle.dumps(plan))
        part.replace(file)
        old = sorted(folder.glob("*.plan"), key=lambda f: f.stat().st_mtime)[:-KEPT]
        for file in old:
            file.unlink(missing_ok=True)
    except OSError:
        return
