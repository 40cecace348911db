"""What judging does here: its flags, what people did with them, what a limit would do."""
