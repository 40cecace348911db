"""How the tests run: property tests draw the same examples every time, so that red means changed.

To look for what nobody thought of: python -m pytest --hypothesis-profile=roaming
"""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.register_profile("roaming", max_examples=2_000, deadline=None)
settings.load_profile("repeatable")
