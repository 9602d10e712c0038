"""What a built axle does: errors of its points and rods, and how far they carry a figure."""
