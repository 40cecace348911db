"""Outside values of this topic."""

from __future__ import annotations

from outside import Differs, Source

SOURCES: tuple[Source, ...] = ()
DIFFERS: tuple[Differs, ...] = ()
