"""Every measured figure of an axle, and the goals that make objectives and constraints of figures."""
