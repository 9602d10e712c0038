"""A built axle from measurements: what can be off, what a rig reads then, and the deviations that explain it."""
