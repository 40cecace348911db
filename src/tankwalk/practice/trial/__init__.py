"""The trial: treatments compared on the values of tanks, never of fish."""
