"""What people do about it: follow-ups, altered states and deviations."""
