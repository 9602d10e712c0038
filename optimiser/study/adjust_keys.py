"""The catalogue of keys of what can be set on the built car, and of variables that take listed values alone.

Lengths in mm, angles in deg. The ranges only keep out slips of unit and of the keyboard.
"""

from optimiser.study.forms import Form, Key, Listing, Many, Named, Number, OneOf, Section

MOST_HOLES = 50
"""Most holes of a pick-up, and most values of a list."""
MOST_TURNS = 20
"""Most turns of a rod either way."""

_LENGTH = Number("mm", above=0, high=10_000)
_ANGLE = Number("deg", low=-360, high=360)
_COORDINATE = Number("mm", low=-10_000, high=10_000)

ROD_THREAD = Section(
    "the rods' thread",
    {
        "thread": Key(Number("mm", above=0, high=100)),
        "turns": Key(Listing(Number(low=-MOST_TURNS, high=MOST_TURNS), ("lowest", "highest"))),
    },
)
HOLE = OneOf(
    (
        Section(
            "a hole by the numbers that it changes",
            {
                **{name: Key(form, required=False) for name, form in (("length", _LENGTH), ("angle", _ANGLE))},
                **{name: Key(_COORDINATE, required=False) for name in ("offset", "x", "y", "z")},
            },
        ),
        Listing(_COORDINATE, ("x", "y", "z")),
    )
)
HOLES = Section("a pick-up's holes", {"holes": Key(Many(HOLE, "hole", least=2, most=MOST_HOLES))})
ADJUSTMENTS: dict[str, Key] = {
    "adjust": Key(Named("part", HOLES, dotted=True, special={"rod": ROD_THREAD}), required=False)
}
"""The section of a study, and of a hand-off file, that says what can be set on the car."""

HOLE_NUMBERS = Many(Number(low=0, high=MOST_HOLES - 1, whole=True), "hole number", least=2, most=MOST_HOLES)


def varied(bounds: Form, number: Number, most: int) -> Named:
    """What `vary` holds, `most` of it: bounds or listed values of a number; of a path to a `hole`, holes' numbers."""
    listed = Section("listed values", {"among": Key(Many(number, "value", least=2, most=MOST_HOLES))})
    return Named("number", OneOf((bounds, listed)), most=most, dotted=True, special={"*.hole": HOLE_NUMBERS})
