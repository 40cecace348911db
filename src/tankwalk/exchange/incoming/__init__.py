"""CSV that others wrote: its head found, its columns and moments understood, its cells read."""
