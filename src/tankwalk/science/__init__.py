"""Pure functions on floats: the sums of the trade, each with its source."""
