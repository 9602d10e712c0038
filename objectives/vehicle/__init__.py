"""The whole car on its four wheels: vibration, stance, load transfer, and what its targets ask of each axle."""
