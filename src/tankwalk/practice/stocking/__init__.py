"""Stock by number: fish counted in, counted again, moved, taken out, and what died at once."""
