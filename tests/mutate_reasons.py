"""Why a change of a number may go unnoticed, for tests/mutate.py.

Keyed by (module, the line without its indent, the number as written), so that a reason holds while
lines move and falls away when its line is rewritten.
"""

from __future__ import annotations

REASONS: dict[tuple[str, str, str], str] = {}
