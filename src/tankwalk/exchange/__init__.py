"""In and out: files for and from the world outside."""
