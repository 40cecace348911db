"""The Trial: one value a tank, the tank as the unit, and what is said when there is nothing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from demo_support import until
from tankwalk.cli import main
from tankwalk.pages import trial as page
from tankwalk.pages.lines import plain
from tankwalk.practice.trial.comparing import How, compared
from tankwalk.practice.trial.courses import courses
from tankwalk.practice.trial.gathering import Gathered, gather

SUNDAY = "2026-05-10T07:52"


@pytest.fixture(scope="module")
def sunday() -> Gathered:
    return gather(until(SUNDAY))
