"""Meters: checked as found and as left, when a check passes, and what a failed one condemns."""
