"""The demo's plan, as shipped and as read."""

from __future__ import annotations

from functools import cache
from importlib import resources

from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Plan

SEED = 8
"""The season that is shown; any other seed makes another one of the same kind."""


def plan_bytes() -> bytes:
    """plan.toml, byte for byte."""
    return (resources.files("tankwalk_demo") / "plan.toml").read_bytes()


@cache
def plan() -> Plan:
    """The plan it states."""
    return read_plan(plan_bytes().decode("utf-8"))
