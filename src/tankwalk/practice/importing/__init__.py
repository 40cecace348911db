"""What comes in from files: looked at first, kept or undone as one act, held against looks."""
