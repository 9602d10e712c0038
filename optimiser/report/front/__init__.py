"""The Pareto set in the terminal: one line a member, conditions, comparisons, the closest candidate."""
