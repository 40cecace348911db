"""Feeding: the meals that are planned and given."""
