"""The catalogue of keys of how exactly an axle is built: tolerances, plus or minus, in mm on each coordinate."""

from objectives.tolerance.build import Spread
from optimiser.study.forms import Choice, Key, Named, Number, Section

MOST_POINTS = 100
"""Most points whose own tolerance is given."""

TOLERANCE = Number("mm", low=0, high=10)
BUILD = Section(
    "the build",
    {
        "pivots": Key(TOLERANCE, required=False),
        "pickups": Key(TOLERANCE, required=False),
        "rod_length": Key(TOLERANCE, required=False),
        "points": Key(Named("point", TOLERANCE, most=MOST_POINTS, dotted=True), required=False),
        "spread": Key(Choice(tuple(Spread))),
    },
)
BUILDS: dict[str, Key] = {"build": Key(BUILD, required=False)}
"""The section of a study, and of a hand-off file, that says how exactly its axle is built."""
