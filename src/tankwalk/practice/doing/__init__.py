"""What people do about it: follow-ups, altered states, deviations, and the open list."""
