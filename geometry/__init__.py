"""How one axle is built and how it moves. Arrays in, arrays out; knows no goal, no file, no search."""
