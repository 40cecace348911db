"""Paper typed in later: a round from its sheet, as it was then, by somebody at the laptop."""
