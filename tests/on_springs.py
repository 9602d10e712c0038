"""Invented axles with springs on them that the tests share: between them, every kind of spring and of element."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array
from geometry.axle import AntiRollBar, Axle, TorsionBar
from objectives.fittings.dampers import Damper, DamperCurve, DampingRatio
from objectives.fittings.fitted import Fittings
from objectives.fittings.loads import LoadCase, Loads, RodTube
from objectives.fittings.springs import (
    BarSpring,
    CarriesWeight,
    CoilSpring,
    CurveSpring,
    OpposedSprings,
    SeriesSprings,
    Spring,
    TorsionSpring,
)
from tests.axles import arm, front, front_corner, front_on_link, rear, vector

WEIGHT = 2240.0
"""Sprung weight on each front wheel of the invented car [N]."""
RUBBER = np.array([[0.0, 0.0], [5.0, 400.0], [10.0, 1500.0]])
CURVE = DamperCurve(np.array([[-0.25, -2600.0], [-0.05, -900.0], [0.0, 0.0], [0.05, 500.0], [0.25, 1300.0]]))


@dataclass(frozen=True)
class FittedAxle:
    """An axle and what is fitted to it."""

    axle: Axle
    fittings: Fittings


def number(value: float) -> Array:
    """A number as an array ()."""
    return np.asarray(value, dtype=np.float64)


def plain() -> FittedAxle:
    """The invented car's front axle: 220 N/mm carry the weight, 180 N/mm both ways in roll, both straight."""
    springs: dict[str, Spring] = {
        "heave": CoilSpring("heave", number(220.0), CarriesWeight()),
        "roll": CoilSpring("roll", number(180.0), number(0.0), pulls=True),
    }
    return FittedAxle(front(), Fittings(springs, {"heave": CURVE, "roll": CURVE}, Loads(WEIGHT)))


def knees() -> FittedAxle:
    """The same axle with a coil that goes slack and solid, a rubber behind a gap, and an opposed pair."""
    springs: dict[str, Spring] = {
        "heave": CoilSpring("heave", number(220.0), CarriesWeight(), number(190.0), number(136.0)),
        "rubber": CurveSpring("heave", number(12.0), RUBBER),
        "roll": OpposedSprings("roll", number(90.0), number(900.0)),
    }
    dampers: dict[str, Damper] = {"heave": CURVE, "roll": DampingRatio(number(0.65))}
    return FittedAxle(front(), Fittings(springs, dampers, Loads(WEIGHT)))


def corners() -> FittedAxle:
    """Corner struts with a tender in series carry the weight; a roll strut, loose by a little, sits between."""
    springs: dict[str, Spring] = {
        "corner": SeriesSprings("corner", (number(25.0), number(140.0)), number(40.0), CarriesWeight()),
        "helper": CoilSpring("corner", number(30.0), number(150.0)),
        "roll": OpposedSprings("roll", number(120.0), number(-300.0)),
    }
    return FittedAxle(front_corner(), Fittings(springs, {"corner": CURVE}, Loads(WEIGHT)))


def bars() -> FittedAxle:
    """Torsion bars carry the weight, an anti-roll bar stands against roll; no strut has a spring."""
    base = front()
    pickups = {**base.rocker.pickups, "arb": arm(60, 180, 20)}
    elements = {
        **base.elements,
        "torsion": TorsionBar(),
        "anti_roll": AntiRollBar("arb", vector(130, 140, 305), vector(30, 140, 300)),
    }
    axle = replace(base, rocker=replace(base.rocker, pickups=pickups), elements=elements)
    springs: dict[str, Spring] = {
        "torsion": TorsionSpring("torsion", number(60.0), CarriesWeight()),
        "anti_roll": BarSpring("anti_roll", number(25.0)),
    }
    return FittedAxle(axle, Fittings(springs, {"heave": CURVE}, Loads(WEIGHT)))


def unbalanced() -> FittedAxle:
    """The rear axle, its rod on a wishbone, with static forces written down that do not carry its weight."""
    springs: dict[str, Spring] = {
        "heave": CoilSpring("heave", number(240.0), number(4000.0), pulls=True),
        "roll": CoilSpring("roll", number(150.0), number(200.0), pulls=True),
    }
    return FittedAxle(rear(), Fittings(springs, {}, Loads(2600.0)))


def under_cases() -> FittedAxle:
    """The plain axle with its rod on one lower link, under two load cases and with a tube for its rod."""
    base = plain()
    cases = {
        "kerb": LoadCase(np.array([0.0, 0.0, 4200.0]), np.array([0.0, 0.0, 2600.0])),
        "brake": LoadCase(np.array([-3000.0, 0.0, 2900.0]), np.array([-3000.0, 0.0, 2900.0]), brake_inboard=True),
    }
    tube = RodTube(20.0, 2.0, 205_000.0, 700.0)
    return FittedAxle(front_on_link(), replace(base.fittings, loads=Loads(WEIGHT, cases, tube)))


FITTED: Mapping[str, Callable[[], FittedAxle]] = {
    "straight springs": plain,
    "coil, rubber and opposed pair": knees,
    "corner struts with a tender": corners,
    "torsion bars and an anti-roll bar": bars,
    "forces written down": unbalanced,
}
"""An axle of each kind; together they have every kind of spring."""
