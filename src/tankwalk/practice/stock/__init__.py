"""Stock: how many fish a tank holds, by book, census and best estimate, and what came and went."""
