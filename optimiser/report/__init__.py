"""How results are shown and handed over: results folder, tables, hand-off, verification."""
