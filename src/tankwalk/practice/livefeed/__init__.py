"""Live feed: cones, cold store, cultures, and the tins and jars they come from."""
