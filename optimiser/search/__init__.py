"""How candidates are found: the problem, evolution, the archive."""
