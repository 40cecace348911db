"""Samples of fish: which are owed, what was found last, and one entered by number."""
