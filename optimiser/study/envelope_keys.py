"""The catalogue of keys of the room that an axle has. A new key is a line here. Lengths in mm."""

from optimiser.study.forms import Key, Listing, Named, Number, Section

COORDINATE = Number("mm", low=-10_000, high=10_000)
LENGTH = Number("mm", above=0, high=10_000)
MARGIN = Number("mm", low=0, high=1_000)
XYZ = ("x", "y", "z")
POINT = Listing(COORDINATE, XYZ)
MOST_BODIES = 50

_SPANS = {name: Key(Listing(COORDINATE, ("lowest", "highest")), required=False) for name in XYZ}
_ENDS = {f"{name}_{end}": Key(COORDINATE, required=False) for name in XYZ for end in ("min", "max")}
INSIDE = Section("the bounds of inboard points", {**_SPANS, **_ENDS})
MARGINS = Section("the margins", {"moving_to_fixed": Key(MARGIN), "moving_to_moving": Key(MARGIN)})
BODY = Section("a body", {"diameter": Key(LENGTH)})
BODIES = Named(
    "body",
    BODY,
    most=MOST_BODIES,
    special={
        "rocker": Section("the rocker's arms", {"thickness": Key(LENGTH)}),
        "wheel": Section("the wheel", {"diameter": Key(LENGTH), "width": Key(LENGTH)}),
    },
)
KEEP_OUT = Section(
    "a keep-out",
    {
        "cylinder": Key(
            Section("a cylinder", {"from": Key(POINT), "to": Key(POINT), "diameter": Key(LENGTH)}), required=False
        ),
        "box": Key(Section("a box along the axes", {"min": Key(POINT), "max": Key(POINT)}), required=False),
    },
)
ENVELOPE = Section(
    "the room",
    {
        "margins": Key(MARGINS, required=False),
        "inside": Key(INSIDE, required=False),
        "bodies": Key(BODIES, required=False),
        "keep_out": Key(Named("keep-out", KEEP_OUT, most=MOST_BODIES), required=False),
    },
)
ENVELOPES: dict[str, Key] = {"envelope": Key(ENVELOPE, required=False)}
"""The section of a study, and of a hand-off file, that says what room its axle has."""
