"""Plain text tables: numbers, blocks, the screen."""
