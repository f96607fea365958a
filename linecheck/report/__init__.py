"""Files out: one file a format."""
