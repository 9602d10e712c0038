"""Invented axles that the tests share, each built straight from the records of `geometry.axle`, without a file.

Numbers are those of the shipped studies, in mm and deg; variants change what carries the rod, or how the rocker lies.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from geometry.arrays import Array
from geometry.axle import (
    AntiRollBar,
    Arm,
    AxisAligned,
    AxisAngles,
    Axle,
    CornerStrut,
    CrossStrut,
    Element,
    Link,
    Mode,
    Rocker,
    RockerAxis,
    Rod,
    TorsionBar,
    Wheel,
)
from geometry.hardpoints import place
from geometry.travel import Travel

FRONT_TRAVEL = Travel(wheel=(-45.0, 48.0), heave=(-30.0, 38.0), roll=(-26.0, 26.0), rack=(-30.0, 30.0), step=2.0)
REAR_TRAVEL = Travel(wheel=(-50.0, 50.0), heave=(-36.0, 38.0), roll=(-26.0, 26.0), rack=None, step=2.0)


def vector(x: float, y: float, z: float) -> Array:
    """A point or direction as an array (3,)."""
    return np.array([x, y, z], dtype=np.float64)


def arm(length: float | Array, angle: float | Array, offset: float) -> Arm:
    """An arm from mm and degrees."""
    return Arm(np.asarray(length), np.radians(np.asarray(angle)), np.asarray(offset))


def axis_angles(azimuth: float, elevation: float) -> AxisAngles:
    """A rocker axis from degrees."""
    return AxisAngles(np.radians(np.asarray(azimuth)), np.radians(np.asarray(elevation)))


def wheel(centre: Array, toe: float, camber: float) -> Wheel:
    """A wheel from mm and degrees."""
    return Wheel(centre, np.radians(np.asarray(toe)), np.radians(np.asarray(camber)))


CROSS: Mapping[str, Element] = {
    "heave": CrossStrut("heave", "heave", Mode.HEAVE),
    "roll": CrossStrut("roll_upper", "roll_lower", Mode.ROLL),
}


def front() -> Axle:
    """Five split links, rod on the upright, heave and roll struts: the shipped front study's axle."""
    return Axle(
        wheel=wheel(vector(0, 830, 335), 0.05, -2.2),
        links={
            "upper_front": Link(vector(140, 395, 443), vector(-11, 711, 492)),
            "upper_rear": Link(vector(-175, 405, 434), vector(-38, 732, 488)),
            "lower_front": Link(vector(165, 318, 168), vector(20, 761, 176)),
            "lower_rear": Link(vector(-205, 330, 153), vector(-9, 773, 180)),
            "steering": Link(vector(118, 326, 185), vector(132, 745, 205), follows_rack=True),
        },
        rod=Rod(vector(10, 742, 206)),
        rocker=Rocker(
            pivot=vector(10, 205, 475),
            axis=vector(1, 0, 0),
            rod=arm(76, 52, 0),
            pickups={
                "heave": arm(74.43, 76.42, 34),
                "roll_upper": arm(65.79, 107.17, -34),
                "roll_lower": arm(65.78, -109.77, -34),
            },
        ),
        elements=CROSS,
    )


def rear() -> Axle:
    """Two wishbones and a toe link, rod on the lower wishbone, no rack: the shipped rear study's axle."""
    return Axle(
        wheel=wheel(vector(0, 815, 345), 0.15, -1.6),
        links={
            "upper_front": Link(vector(150, 400, 451), vector(0, 712, 505)),
            "upper_rear": Link(vector(-140, 410, 454), vector(0, 712, 505)),
            "lower_front": Link(vector(190, 290, 175), vector(5, 768, 190)),
            "lower_rear": Link(vector(-150, 285, 185), vector(5, 768, 190)),
            "toe_link": Link(vector(-185, 298, 220), vector(-130, 745, 235)),
        },
        rod=Rod(vector(5, 726, 214), ("lower_front", "lower_rear")),
        rocker=Rocker(
            pivot=vector(5, 215, 575),
            axis=vector(1, 0, 0),
            rod=arm(78, 52, 0),
            pickups={
                "heave": arm(68.98, 83.36, 34),
                "roll_upper": arm(59.59, 105.13, -34),
                "roll_lower": arm(59.58, -106.45, -34),
            },
        ),
        elements=CROSS,
    )


def rear_on_upper_wishbone() -> Axle:
    """The rear axle with its rod on the upper wishbone, pulling: a pullrod with a low rocker."""
    base = rear()
    pickups = {"heave": arm(68, -80, 34), "roll_upper": arm(60, -105, -34), "roll_lower": arm(60, 105, -34)}
    rocker = Rocker(vector(0, 235, 170), vector(1, 0, 0), arm(70, -55, 0), pickups)
    return replace(base, rod=Rod(vector(0, 690, 498), ("upper_front", "upper_rear")), rocker=rocker)


def front_on_link() -> Axle:
    """The front axle with its rod on one lower link, the eye exactly on that link's line."""
    base = front()
    link = base.links["lower_front"]
    eye = link.inboard + 0.93 * (link.outboard - link.inboard)
    return replace(base, rod=Rod(eye, ("lower_front",)))


def with_axis(axle: Axle, axis: RockerAxis) -> Axle:
    """The same axle with its rocker about another axis; the arms ride with it."""
    return replace(axle, rocker=replace(axle.rocker, axis=axis))


def front_tilted() -> Axle:
    """The front axle with its rocker's axis turned 25 deg in plan and raised 14 deg."""
    return with_axis(front(), axis_angles(25, 14))


def rear_tilted() -> Axle:
    """The rear axle with its rocker's axis turned -18 deg in plan and lowered 10 deg."""
    return with_axis(rear(), axis_angles(-18, -10))


def front_aligned() -> Axle:
    """The front axle with its rocker in the plane of the rod, its pivot 40 mm further back."""
    base = front()
    rocker = replace(base.rocker, pivot=base.rocker.pivot - vector(40, 0, 0), axis=AxisAligned())
    return replace(base, rocker=rocker)


def front_upright_axis() -> Axle:
    """The front axle with its rocker about an axis 70 deg up: a rocker that swings nearly level."""
    base = front()
    pickups = {"heave": arm(72, 60, 20), "roll_upper": arm(64, 95, -20), "roll_lower": arm(64, -95, -20)}
    rocker = Rocker(vector(60, 230, 420), axis_angles(90, 70), arm(74, -60, 0), pickups)
    return replace(base, rocker=rocker)


def front_corner() -> Axle:
    """The front axle with a corner strut on each rocker and a cross-car roll strut."""
    elements: dict[str, Element] = {
        "corner": CornerStrut("heave", vector(44, 60, 395)),
        "roll": CROSS["roll"],
    }
    return replace(front(), elements=elements)


def with_bars(axle: Axle) -> Axle:
    """The same axle with a torsion bar and an anti-roll bar too, the latter's arm 90 mm below a new pick-up."""
    rocker = replace(axle.rocker, pickups={**axle.rocker.pickups, "arb": arm(50, 10, -20)})
    pickup = place(replace(axle, rocker=rocker)).pickups["arb"]
    end = pickup + vector(-5, 2, -90)
    bars: dict[str, Element] = {
        "torsion": TorsionBar(),
        "anti_roll": AntiRollBar("arb", pivot=end + vector(-105, 0, -10), end=end),
    }
    return replace(axle, rocker=rocker, elements={**axle.elements, **bars})


KINDS: Mapping[str, Callable[[], Axle]] = {
    "five split links, rod on the upright": front,
    "two wishbones, rod on the lower": rear,
    "two wishbones, rod on the upper, pulling": rear_on_upper_wishbone,
    "five split links, rod on one link": front_on_link,
    "five split links, tilted rocker": front_tilted,
    "two wishbones, tilted rocker": rear_tilted,
    "five split links, aligned rocker": front_aligned,
    "five split links, rocker swinging nearly level": front_upright_axis,
    "corner struts": front_corner,
}
"""An axle of each kind: what carries the rod, how the rocker lies, which elements there are."""


def travel_of(axle: Axle) -> Travel:
    """The travel of the shipped study that this axle comes from."""
    return FRONT_TRAVEL if axle.has_rack else REAR_TRAVEL
