"""An invented month in an invented hatchery lab, made with the program's own parts."""

from __future__ import annotations

from tankwalk_demo.answers import morning_answers
from tankwalk_demo.scenario import make

__all__ = ["make", "morning_answers"]
