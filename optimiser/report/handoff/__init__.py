"""A geometry handed over as one file, and verified by a second reading."""
