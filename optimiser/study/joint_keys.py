"""The catalogue of keys of spherical joints. A new key is a line here. Lengths in mm, angles in deg."""

from optimiser.study.forms import Choice, Key, Listing, Named, Number, OneOf, Section, Variants

MOST_JOINTS = 200
"""Most joints that something is said of: two ends of each of a hundred members."""
STEEPEST = 89.0
"""Largest limit: at 90 deg nothing would be asked [deg]."""

_LENGTH = Number("mm", above=0, high=1_000)


def _beside(what: str, about: str, lengths: tuple[str, ...], more: dict[str, Key] | None = None) -> Section:
    sizes = {name: Key(_LENGTH) for name in ("housing_width", *lengths)}
    return Section(about, {"beside": Key(Choice((what,))), **sizes, **(more or {})})


CHAMFER = {"chamfer": Key(Number("mm", low=0, high=1_000), required=False)}
BEARING = Variants(
    "beside",
    {
        "fork": _beside("fork", "a rod end in a fork", ("ball_width", "head_diameter"), CHAMFER),
        "spacer": _beside("spacer", "a bearing between spacers", ("ball_width", "ball_diameter")),
        "bolt": _beside("bolt", "a bearing with nothing beside it but its bolt", ("bore", "ball_diameter")),
    },
)
JOINT = Section(
    "a joint",
    {
        "bolt": Key(Listing(Number(low=-1_000_000, high=1_000_000), ("x", "y", "z")), required=False),
        "limit": Key(OneOf((Number("deg", above=0, high=STEEPEST), BEARING)), required=False),
    },
)
JOINTS: dict[str, Key] = {"joints": Key(Named("joint", JOINT, most=MOST_JOINTS), required=False)}
"""The section of a study, and of a hand-off file, that says how far its joints may be out of true."""
