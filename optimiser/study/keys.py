"""The catalogue of keys: what a study and a hand-off file may hold. A new key is a line here.

Lengths in mm, angles in deg. The ranges only keep out slips of unit and of the keyboard.
"""

from optimiser.study.adjust_keys import ADJUSTMENTS, varied
from optimiser.study.build_keys import BUILDS
from optimiser.study.envelope_keys import ENVELOPES
from optimiser.study.fitting_keys import FITTINGS
from optimiser.study.forms import (
    Choice,
    Form,
    Key,
    Listing,
    Loose,
    Named,
    Naming,
    Number,
    OneOf,
    Section,
    Text,
    Variants,
)
from optimiser.study.joint_keys import JOINTS

FORMAT = 1
"""Version of the file format."""

LINK_COUNT = 5
"""Two-point links between chassis and upright: one degree of freedom is left, the wheel's travel."""

MOST_PATHS = 500
"""Most variables, and most goals, of a study: far more than a search can serve."""

COORDINATE = Number("mm", low=-10_000, high=10_000)
LENGTH = Number("mm", above=0, high=10_000)
ANGLE = Number("deg", low=-360, high=360)
TILT = Number("deg", low=-45, high=45)
DIRECTION = Number(low=-1_000_000, high=1_000_000)
ANY = Number(low=-1e9, high=1e9)
POSITIVE = Number(above=0, high=1e9)

XYZ = ("x", "y", "z")
ENDS = ("lowest", "highest")
POINT = Listing(COORDINATE, XYZ)
VECTOR = Listing(DIRECTION, XYZ)
SPAN = Listing(Number("mm", low=-1_000, high=1_000), ENDS)
BOUNDS = Listing(ANY, ENDS)

ARM = Section("an arm", {"length": Key(LENGTH), "angle": Key(ANGLE), "offset": Key(COORDINATE)})
ROCKER_POINT = OneOf((POINT, ARM))
AXIS_ANGLES = Section(
    "an axis by its angles", {"azimuth": Key(ANGLE), "elevation": Key(Number("deg", low=-90, high=90))}
)
AXIS = OneOf((VECTOR, AXIS_ANGLES, Choice(("aligned",))))

WHEEL = Section(
    "the left wheel",
    {"centre": Key(POINT), "toe": Key(TILT), "camber": Key(TILT), "loaded_radius": Key(LENGTH, required=False)},
)
LINK = Section(
    "a link",
    {"inboard": Key(POINT), "outboard": Key(POINT), "inboard_moves_with": Key(Choice(("rack",)), required=False)},
)
ROD = Section(
    "the rod",
    {"outboard": Key(POINT), "carried_by": Key(OneOf((Naming("link"), Listing(Naming("link"), ("link", "link")))))},
)
ROCKER = Section(
    "the left rocker",
    {
        "pivot": Key(POINT),
        "axis": Key(AXIS),
        "reference": Key(VECTOR, required=False),
        "rod": Key(ROCKER_POINT),
        "pickups": Key(Named("pick-up", ROCKER_POINT)),
    },
)
STRUT = Section(
    "a strut",
    {
        "kind": Key(Choice(("strut",))),
        "left": Key(Naming("pick-up")),
        "right": Key(Naming("pick-up"), required=False),
        "chassis": Key(POINT, required=False),
        "serves": Key(Choice(("heave", "roll")), required=False),
    },
)
TORSION_BAR = Section("a torsion bar", {"kind": Key(Choice(("torsion_bar",)))})
BAR = Section(
    "an anti-roll bar",
    {
        "kind": Key(Choice(("bar",))),
        "pickup": Key(Naming("pick-up")),
        "arm": Key(Section("a bar's left arm", {"pivot": Key(POINT), "end": Key(POINT)})),
    },
)
ELEMENT = Variants("kind", {"strut": STRUT, "torsion_bar": TORSION_BAR, "bar": BAR})
OWNERS = frozenset({"rod", "rocker", "axle", "link", "clearance", "envelope", "inboard", "joint"})
"""Words that begin the names of figures which belong to no element."""
AXLE = Section(
    "the axle",
    {
        "wheel": Key(WHEEL),
        "links": Key(Named("link", LINK, least=LINK_COUNT, most=LINK_COUNT, reserved=frozenset({"upright"}))),
        "rod": Key(ROD),
        "rocker": Key(ROCKER),
        "elements": Key(Named("element", ELEMENT, least=1, reserved=OWNERS)),
    },
)
TRAVEL = Section(
    "the travel",
    {
        "wheel": Key(SPAN),
        "heave": Key(SPAN),
        "roll": Key(SPAN),
        "rack": Key(SPAN, required=False),
        "step": Key(Number("mm", above=0, high=1_000)),
    },
)
GOAL_NUMBERS = {
    "aim": Key(ANY, required=False),
    "within": Key(POSITIVE, required=False),
    "scale": Key(POSITIVE, required=False),
    "at_most": Key(ANY, required=False),
    "at_least": Key(ANY, required=False),
}
DIRECTIONS = Choice(("minimise", "maximise"))
GOAL = OneOf((DIRECTIONS, Section("a goal", GOAL_NUMBERS)))
JUDGED_GOAL = OneOf(
    (
        DIRECTIONS,
        Section(
            "a judged goal", {**GOAL_NUMBERS, "met": Key(Loose(), required=False), "left": Key(Loose(), required=False)}
        ),
    )
)
SEARCH = Section(
    "the search",
    {
        "seed": Key(Number(low=0, whole=True), required=False),
        "islands": Key(Number(low=1, high=10_000, whole=True), required=False),
    },
)

GEOMETRY = {
    "format": Key(Number(low=FORMAT, high=FORMAT, whole=True)),
    "name": Key(Text()),
    "axle": Key(AXLE),
    "travel": Key(TRAVEL),
    **FITTINGS,
    **BUILDS,
    **ADJUSTMENTS,
    **ENVELOPES,
    **JOINTS,
}
STUDY = Section(
    "a study",
    {
        **GEOMETRY,
        "vary": Key(varied(BOUNDS, ANY, MOST_PATHS), required=False),
        "goals": Key(Named("figure", GOAL, most=MOST_PATHS, dotted=True), required=False),
        "search": Key(SEARCH, required=False),
    },
)
HAND_OFF = "hand_off"
"""The value of `kind` that tells a hand-off file from a study, which has no such key."""

_LOOSE_SECTIONS = ("figure_status", "tables", "eye_lengths", "adjustment", "right_side", "origin", "seals", "caution")
HANDED_OVER = Section(
    "a hand-off file",
    {
        "kind": Key(Choice((HAND_OFF,))),
        **GEOMETRY,
        "goals": Key(Named("figure", JUDGED_GOAL, most=MOST_PATHS, dotted=True)),
        "figures": Key(Loose()),
        "units": Key(Loose()),
        **{name: Key(Loose(), required=False) for name in _LOOSE_SECTIONS},
    },
)


def number_at(path: str) -> Number | None:
    """The form of the number at a path below `axle` (`rocker.pickups.heave.angle`), or None where none can be."""
    return _descend(AXLE, path.split("."))


def _descend(form: Form, parts: list[str]) -> Number | None:
    if not parts:
        return form if isinstance(form, Number) else None
    head, rest = parts[0], parts[1:]
    found: Number | None = None
    match form:
        case Section() if head in form.keys:
            found = _descend(form.keys[head].form, rest)
        case Named():
            found = _descend(form.item, rest)
        case Listing() if head in form.names:
            found = _descend(form.item, rest)
        case OneOf(forms=forms):
            found = next((one for one in (_descend(each, parts) for each in forms) if one), None)
        case Variants(sections=sections):
            found = next((one for one in (_descend(each, parts) for each in sections.values()) if one), None)
    return found
