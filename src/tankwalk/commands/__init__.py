"""What each command does; `cli` parses the words and calls one of these."""
