"""Sums with their working: calculators filled and worked, derived readings, doses."""
