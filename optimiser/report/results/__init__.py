"""A results folder: what a search saves, and how it is read again."""
