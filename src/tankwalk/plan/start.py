"""The plan a new site begins with: a small room, commented, to be replaced line by line."""

from __future__ import annotations

from datetime import date, timedelta
from importlib import resources

from tankwalk import clock

RAMP_DAYS = 20
"""Length of the temperature plan in the example."""


def start_text(today: date, zone: str) -> str:
    """The commented plan for a new site; Refusal for a time zone that is not known here."""
    clock.zone(zone)
    text = (resources.files("tankwalk.plan") / "start.toml").read_text("utf-8")
    # Not str.format: TOML has braces of its own.
    for place, value in (
        ("{zone}", zone),
        ("{today}", today.isoformat()),
        ("{later}", (today + timedelta(days=RAMP_DAYS)).isoformat()),
    ):
        text = text.replace(place, value)
    return text
