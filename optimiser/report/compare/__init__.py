"""A built car beside the file that it was built from: the sheet to measure it by, its readings, and what they say."""
