"""Invented springs and loads that the tests share, for the axles of `tests.axles`."""

from dataclasses import replace

import numpy as np

from geometry.axle import AntiRollBar, Axle, CornerStrut, TorsionBar
from objectives.fittings.fitted import Fittings
from objectives.fittings.loads import LoadCase, Loads, RodTube
from objectives.fittings.springs import BarSpring, CarriesWeight, CoilSpring, OpposedSprings, Spring, TorsionSpring


def case(left: tuple[float, float, float], right: tuple[float, float, float], inboard: bool = False) -> LoadCase:
    """A load case by the ground's force on each tyre [N]."""
    return LoadCase(np.array(left), np.array(right), inboard)


CASES = {
    "kerb": case((0, 0, 7845), (0, 0, 2615)),
    "corner": case((0, -6500, 5200), (0, -1200, 1400)),
    "brake": case((-6000, 0, 5000), (-6000, 0, 5000)),
    "inboard brake": case((-6000, 0, 5000), (-4000, 300, 4400), inboard=True),
    "mixed": case((-2500, -4000, 5600), (-1500, -900, 1900)),
}
"""The first three are the shipped study's."""
TUBE = RodTube(outer=20.0, wall=2.0, modulus=205000.0, yield_stress=700.0)
LOADS = Loads(sprung_per_wheel=2240.0, cases=CASES, rod_tube=TUBE)


def coil(on: str, rate: float, static: float | None = None) -> CoilSpring:
    """A coil that carries the weight, or has a static force [N]."""
    carried = CarriesWeight() if static is None else np.asarray(static)
    return CoilSpring(on, np.asarray(rate), carried, np.asarray(190.0), np.asarray(110.0))


def fittings_for(axle: Axle, stiffer: float = 1.0) -> Fittings:
    """Springs on every element of an axle of `tests.axles`, and all cases: stiff enough for every case.

    The heave strut's coil can pull: on a pullrod's axle bump may lengthen it. `stiffer` multiplies both struts' rates.
    """
    springs: dict[str, Spring] = {}
    for name, element in axle.elements.items():
        match element:
            case CornerStrut():
                springs[name] = coil(name, 150.0)
            case TorsionBar():
                springs[name] = TorsionSpring(name, np.asarray(20.0), np.asarray(0.0))
            case AntiRollBar():
                springs[name] = BarSpring(name, np.asarray(25.0))
            case _ if name == "heave":
                springs[name] = replace(coil(name, 220.0 * stiffer), pulls=True)
            case _:
                springs[name] = OpposedSprings(name, np.asarray(90.0 * stiffer), np.asarray(2400.0))
    return Fittings(springs=springs, loads=LOADS)
