"""Incidents: flags with what was done about them, when one looks again, and who was called."""
