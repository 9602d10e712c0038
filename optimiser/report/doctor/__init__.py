"""Whether a results folder is whole, and how to go on where it is not."""
