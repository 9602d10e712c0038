"""The room that an axle has: the bodies that move, what they must keep clear of, and how near they come to it."""
