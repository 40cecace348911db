"""Declared in this room as they are built."""

from __future__ import annotations

from tankwalk.science.calculators.declare import Calculator

CALCULATORS: tuple[Calculator, ...] = ()
