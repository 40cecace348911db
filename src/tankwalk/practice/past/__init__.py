"""The past of a place: its looks in their bands, its dead and its growth, and what was done."""
