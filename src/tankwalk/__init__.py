"""tankwalk: the record a larval-fish hatchery carries through its daily rounds."""

__version__ = "0.1.0"
