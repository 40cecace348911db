"""Stock: how many fish a tank holds by the book."""
