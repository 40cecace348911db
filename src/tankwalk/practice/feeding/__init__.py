"""Feeding: the meals that are planned and given, and the live feed in cones."""
