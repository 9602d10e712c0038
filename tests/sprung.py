"""The tests' axles with invented springs and dampers, and an invented car on two of them."""

from dataclasses import replace

import numpy as np

from geometry.axle import CornerStrut
from objectives.fittings.dampers import DamperCurve, DampingRatio
from objectives.fittings.fitted import Fittings
from objectives.fittings.loads import Loads
from objectives.fittings.springs import CarriesWeight, CoilSpring, CurveSpring, OpposedSprings, Spring
from objectives.vehicle.aero import Aero
from objectives.vehicle.car import Car, CarAxle, Targets
from tests.axles import FRONT_TRAVEL, REAR_TRAVEL, front, front_corner, rear, vector
from tests.on_springs import bars

DAMPER = DamperCurve(np.array([[-0.25, -2600.0], [-0.05, -900.0], [0.0, 0.0], [0.05, 500.0], [0.25, 1300.0]]))


def struts(heave: float, roll: float, preload: float = 2400.0, rubber: bool = True) -> Fittings:
    """A coil that carries the weight, an opposed pair in roll and, where asked for, a rubber in heave."""
    springs: dict[str, Spring] = {
        "heave": CoilSpring(
            "heave", np.array(heave), CarriesWeight(), free_length=np.array(190.0), solid_length=np.array(110.0)
        ),
        "roll": OpposedSprings("roll", np.array(roll), np.array(preload)),
    }
    if rubber:
        curve = np.array([[0.0, 0.0], [5.0, 400.0], [10.0, 1500.0]])
        springs["heave_rubber"] = CurveSpring("heave", np.array(26.0), curve)
    return Fittings(springs, {"heave": DAMPER, "roll": DampingRatio(np.array(0.65))}, Loads(2240.0))


def front_axle(heave: float = 220.0, roll: float = 90.0, rubber: bool = True) -> CarAxle:
    """The tests' front axle on heave and roll struts."""
    return CarAxle(front(), FRONT_TRAVEL, struts(heave, roll, rubber=rubber), unsprung=38.0, tyre_rate=270.0)


def rear_axle(heave: float = 240.0, roll: float = 80.0, rubber: bool = True) -> CarAxle:
    """The tests' rear axle likewise."""
    return CarAxle(rear(), REAR_TRAVEL, struts(heave, roll, rubber=rubber), unsprung=44.0, tyre_rate=300.0)


def corner_axle() -> CarAxle:
    """A front axle on a corner strut each side, in the heave strut's place with its inner end on the middle plane."""
    elements = {"corner": CornerStrut("heave", vector(44.0, 0.0, 0.0)), "roll": front().elements["roll"]}
    axle = replace(front_corner(), elements=elements)
    springs: dict[str, Spring] = {"corner": CoilSpring("corner", np.array(400.0), CarriesWeight())}
    fitted = Fittings(springs, {"corner": DAMPER}, Loads(2240.0))
    return CarAxle(axle, FRONT_TRAVEL, fitted, unsprung=38.0, tyre_rate=270.0)


def car(front_end: CarAxle | None = None, rear_end: CarAxle | None = None, targets: Targets | None = None) -> Car:
    """An invented two-seat track car."""
    return Car(
        name="Two-seat track car",
        mass=1240.0,
        front_share=0.43,
        wheelbase=2700.0,
        cg_height=430.0,
        roll_inertia=310.0,
        pitch_inertia=1150.0,
        front=front_end or front_axle(),
        rear=rear_end or rear_axle(),
        aero=Aero(lift_area=3.2, front_share=0.44),
        speeds=(30.0, 50.0, 70.0),
        targets=targets or Targets(),
    )


def bar_axle() -> CarAxle:
    """The front axle on torsion bars and an anti-roll bar, its heave strut a damper alone."""
    one = bars()
    return CarAxle(one.axle, FRONT_TRAVEL, one.fittings, unsprung=38.0, tyre_rate=270.0)
