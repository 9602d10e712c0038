"""What a search is going to do, told before it does it."""
