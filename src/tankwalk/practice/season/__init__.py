"""The season: what went in, what came out, what went wrong, and what it cost."""
