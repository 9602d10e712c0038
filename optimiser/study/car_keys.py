"""The catalogue of keys of a car file: the whole car on two axles, each a study or a hand-off file of its own.

Lengths in mm, masses in kg, rates in N/mm. The ranges only keep out slips of unit and of the keyboard.
"""

from optimiser.study.fitting_keys import RATE
from optimiser.study.forms import Key, Many, Number, Section, Text
from optimiser.study.keys import FORMAT, LENGTH

MOST_SPEEDS = 30
"""Most speeds, and most spring rates, of a car file."""

MASS = Number("kg", above=0, high=100_000)
INERTIA = Number("kg.m2", above=0, high=1e6)
SHARE = Number(low=0.05, high=0.95)
PART = Number(low=0, high=1)
HERTZ = Number("Hz", low=0.1, high=30)
RATIO = Number(above=0, high=5)
GROWTH = Number("% per mm", low=-100, high=100)

CAR_AXLE = Section(
    "an axle of the car",
    {"axle": Key(Text()), "unsprung": Key(MASS), "tyre_rate": Key(RATE)},
)
AERO = Section(
    "the air",
    {
        "air_density": Key(Number("kg/m3", above=0, high=10), required=False),
        "lift_area": Key(Number("m2", low=0, high=100)),
        "front_share": Key(PART),
        "speeds": Key(Many(Number("m/s", low=0, high=200), "speed", least=1, most=MOST_SPEEDS)),
        "growth": Key(
            Section("growth of downforce as the car sinks", {"front": Key(GROWTH), "rear": Key(GROWTH)}), required=False
        ),
    },
)
TARGETS = Section(
    "the targets",
    {
        "front_heave_frequency": Key(HERTZ, required=False),
        "rear_heave_frequency": Key(HERTZ, required=False),
        "roll_gradient": Key(Number("deg/g", above=0, high=45), required=False),
        "front_roll_share": Key(SHARE, required=False),
        "heave_damping": Key(RATIO, required=False),
        "roll_damping": Key(RATIO, required=False),
        "spring_rates": Key(Many(RATE, "spring rate", least=1, most=MOST_SPEEDS), required=False),
    },
)
CAR = Section(
    "a car",
    {
        "format": Key(Number(low=FORMAT, high=FORMAT, whole=True)),
        "name": Key(Text()),
        "mass": Key(MASS),
        "front_share": Key(SHARE),
        "wheelbase": Key(LENGTH),
        "cg_height": Key(LENGTH),
        "inertia": Key(Section("inertia of the sprung mass", {"roll": Key(INERTIA), "pitch": Key(INERTIA)})),
        "front": Key(CAR_AXLE),
        "rear": Key(CAR_AXLE),
        "aero": Key(AERO, required=False),
        "targets": Key(TARGETS, required=False),
        "kerb": Key(Number("mm", above=0, high=500), required=False),
        "brake_front_share": Key(PART, required=False),
    },
)
