"""Is this value right? Judged by its band, its past, its sisters, its loop and its meter."""
