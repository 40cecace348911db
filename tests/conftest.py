"""How the tests run: property tests draw the same examples every time, so that red means changed.

To look for what nobody thought of: python -m pytest --hypothesis-profile=roaming
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from hypothesis import settings

import shared_support

# The bench's modules after all others: tests of the bench import what it runs.
sys.path.append(str(Path(__file__).parent / "bench"))

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.register_profile("roaming", max_examples=2_000, deadline=None)
settings.load_profile("repeatable")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests marked long come first, so that none begins when the other process has nothing left.

    Only tests that have not begun can be taken over by a process that has run out of them.
    """
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


@pytest.fixture(scope="session", autouse=True)
def _shared_by_all(tmp_path_factory: pytest.TempPathFactory) -> None:
    """What is made once a run, and the byte code of the programs it starts, in one folder."""
    base = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        base = base.parent
    shared_support.share_in(base / "shared")
    # Byte code is what a program starts with at a hatchery: without it a start is four times
    # slower. Where it must not be written beside the sources, it is written here.
    if os.environ.pop("PYTHONDONTWRITEBYTECODE", ""):
        os.environ["PYTHONPYCACHEPREFIX"] = str(base / "shared" / "bytecode")
