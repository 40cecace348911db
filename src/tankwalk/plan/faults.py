"""What is wrong with a plan: one fault a line, each with the line and what would mend it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tankwalk.errors import Refusal
from tankwalk.text import clean


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One thing wrong with a plan: where it stands, what it is, and what would mend it."""

    line: int
    where: str
    what: str
    mend: str

    def __post_init__(self) -> None:
        # Faults quote what is wrong, and what is wrong may hold anything.
        for name in ("where", "what", "mend"):
            object.__setattr__(self, name, clean(getattr(self, name)[:1000]))

    def __str__(self) -> str:
        place = f", {self.where}" if self.where else ""
        mend = f" Mend: {self.mend}." if self.mend else ""
        return f"line {self.line}{place}: {self.what}.{mend}"


class PlanFaults(Refusal):
    """A plan that cannot be used; `faults` holds everything wrong with it, by line."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(sorted(set(faults)))
        super().__init__(str(self))

    def __str__(self) -> str:
        count = len(self.faults)
        head = "The plan has 1 fault" if count == 1 else f"The plan has {count} faults"
        return "\n".join([f"{head}, so it was not taken into use:", *map(str, self.faults)])
