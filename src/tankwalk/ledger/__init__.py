"""What happened: the append-only record, one SQLite file."""
