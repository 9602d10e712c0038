"""A second reading of the axle's definitions: every figure again, from points alone.

Nothing here is shared with the batch kernel: plain scalar Python and scipy's root finders, written straight from the
definitions, slow and short, so that a mistake in one reading shows as a difference from the other.
"""
