"""The plan's file: read as text, and from there as a checked plan."""

from __future__ import annotations

import stat
from pathlib import Path

from tankwalk.errors import Refusal
from tankwalk.plan.model import Plan
from tankwalk.sums import sha256

LARGEST = 300_000
"""Bytes. A plan of a hundred tanks is a tenth of it."""

TOO_LARGE = "The plan is larger than 300 kB, which no plan is; nothing was read."


def load(path: Path, kept: Path | None = None) -> Plan:
    """The plan in a file. Refusal for a file that cannot be read, PlanFaults for its faults.

    `kept` is the folder where checked plans are kept ready (see `cache`); None checks it anew.
    """
    text = _text(path)
    if kept is not None:
        from tankwalk.plan import cache

        found = cache.kept(kept, sha256(text.encode("utf-8")).hexdigest())
        if found is not None:
            return found
    from tankwalk.plan.load import read_plan

    plan = read_plan(text)
    if kept is not None:
        cache.keep(kept, plan)
    return plan


def _text(path: Path) -> str:
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            raise Refusal(
                f"{path} is no ordinary file; nothing was read. Put the plan there as a text file."
            )
        if found.st_size > LARGEST:
            raise Refusal(TOO_LARGE)
        raw = path.read_bytes()
    except FileNotFoundError:
        raise Refusal(
            f"There is no {path.name} in {path.parent}; tankwalk start writes one to begin with."
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name is not one of a file"
        raise Refusal(f"{path.name} could not be read ({reason}); nothing was changed.") from None
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise Refusal(
            f"{path.name} is not UTF-8 text at line {line}; save it as UTF-8 and try again."
        ) from None
    return text
