"""Forces of an axle under its load cases: the state that balances, links, rod, rocker, and the rod's buckling."""
