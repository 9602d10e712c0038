"""The catalogue of keys of what is fitted to an axle: springs, dampers and loads. A new key is a line here.

Lengths in mm, forces in N, rates in N/mm; a bar's moments in N.m, its rates in N.m/deg; speeds in m/s. The ranges only
keep out slips of unit and of the keyboard.
"""

from optimiser.study.forms import Choice, Flag, Key, Listing, Many, Named, Naming, Number, OneOf, Section, Variants

CARRIES_WEIGHT = "carries_weight"
"""What `static` says of the spring whose static force follows from the weight."""
MOST_FITTED = 50
"""Most springs, and most dampers, of an axle."""
MOST_CASES = 30
"""Most load cases of an axle."""

FORCE = Number("N", low=-1e6, high=1e6)
MOMENT = Number("N.m", low=-1e6, high=1e6)
RATE = Number("N/mm", above=0, high=1e6)
TWIST_RATE = Number("N.m/deg", above=0, high=1e6)
LENGTH = Number("mm", above=0, high=10_000)
DISTANCE = Number("mm", low=0, high=10_000)
SPEED = Number("m/s", low=-100, high=100)

_ON = {"on": Key(Naming("element"))}


def _spring(kind: str, about: str, keys: dict[str, Key]) -> Section:
    return Section(about, {"kind": Key(Choice((kind,))), **_ON, **keys})


def _static(number: Number) -> OneOf:
    return OneOf((number, Choice((CARRIES_WEIGHT,))))


SPRING = Variants(
    "kind",
    {
        "coil": _spring(
            "coil",
            "a coil spring",
            {
                "rate": Key(RATE),
                "static": Key(_static(FORCE)),
                "free_length": Key(LENGTH, required=False),
                "solid_length": Key(LENGTH, required=False),
                "pulls": Key(Flag(), required=False),
            },
        ),
        "opposed": _spring("opposed", "a pair of opposed springs", {"rate": Key(RATE), "preload": Key(FORCE)}),
        "curve": _spring(
            "curve",
            "a spring by its curve",
            {
                "gap": Key(DISTANCE),
                "points": Key(Many(Listing(Number(low=0, high=1e6), ("mm", "N")), "point", least=2)),
            },
        ),
        "series": _spring(
            "series",
            "two springs in series",
            {
                "rates": Key(Listing(RATE, ("first", "second"))),
                "solid_at": Key(LENGTH),
                "static": Key(_static(FORCE)),
            },
        ),
        "torsion": _spring(
            "torsion", "a torsion bar's rate", {"rate": Key(TWIST_RATE), "static": Key(_static(MOMENT))}
        ),
        "bar": _spring("bar", "an anti-roll bar's rate", {"rate": Key(TWIST_RATE)}),
    },
)
DAMPER = Section(
    "a damper",
    {
        "points": Key(Many(Listing(Number(low=-1e6, high=1e6), ("m/s", "N")), "point", least=2), required=False),
        "damping_ratio": Key(Number(above=0, high=5), required=False),
    },
)
FORCES = Listing(FORCE, ("x", "y", "z"))
CASE = Section(
    "a load case",
    {
        "left": Key(FORCES, required=False),
        "right": Key(FORCES, required=False),
        "both": Key(FORCES, required=False),
        "torque_on": Key(Choice(("upright", "chassis")), required=False),
    },
)
ROD_TUBE = Section(
    "the rod's tube",
    {
        "outer": Key(LENGTH),
        "wall": Key(LENGTH),
        "modulus": Key(Number("N/mm^2", low=1_000, high=1e6)),
        "yield": Key(Number("N/mm^2", low=1, high=10_000)),
    },
)
LOADS = Section(
    "the loads",
    {
        "sprung_per_wheel": Key(Number("N", above=0, high=1e6), required=False),
        "cases": Key(Named("case", CASE, most=MOST_CASES), required=False),
        "rod_tube": Key(ROD_TUBE, required=False),
    },
)
FITTINGS: dict[str, Key] = {
    "springs": Key(Named("spring", SPRING, most=MOST_FITTED), required=False),
    "dampers": Key(Named("damped element", DAMPER, most=MOST_FITTED), required=False),
    "loads": Key(LOADS, required=False),
}
"""The sections of a study, and of a hand-off file, that say what is fitted to its axle."""
