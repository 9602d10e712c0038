"""Records of several numbers for `LANES` candidates, and where each number stands in them.

A record is one run of memory, lanes innermost: `turns[at + COS + i]` is the cosine of lane i in the record that begins
at `at`. All distances within a record are known when the loops over lanes are compiled, and that is what lets a
compiler turn them into vector instructions. It has to know as well that no place is counted from the end of an array:
so records are cut out as arrays of their own before their places are named.
"""

from geometry.lanes import LANES

X, Y, Z = 0, LANES, 2 * LANES
"""Places of a vector's coordinates in a record."""
POINT = 3 * LANES
"""Length of a point's record, and of each half of an end's: position, then velocity per radian."""
END = 2 * POINT
"""Length of the record of a strut's end."""
COS, SIN, RATE, ARM, ALONG, TURN = 0, LANES, 2 * LANES, 3 * LANES, 4 * LANES, 5 * LANES
"""Places in a turn's record, and its length."""
RESERVE, BY_TRAVEL, BY_RACK, LOOP = 0, LANES, 2 * LANES, 3 * LANES
"""Places in a loop's record, and its length."""
CENTRE, E0, E1, AXIS = 0, POINT, 2 * POINT, 3 * POINT
RADIUS, COS0, SIN0, ROD2, BRANCH = (4 * POINT + place * LANES for place in range(5))
"""Places in a rod's record: vectors, then numbers."""
U, W = POINT, 2 * POINT
"""Places in a lever's record, after its centre."""
FAR = LANES
"""Place of the far end in the record of a strut's two signed arms at static."""
