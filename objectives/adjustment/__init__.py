"""What the built axle can be set to: turns of the rods and holes of the rockers, and what each changes."""
