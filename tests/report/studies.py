"""Studies that the report's tests share, built without a file from the axles of `tests.axles`."""

from dataclasses import replace

from geometry.axle import Axle, Mode
from geometry.axle import CrossStrut as Cross
from geometry.travel import Travel
from objectives.goals import Band, Best, Goal, Limit, Miss
from optimiser.study.study import Study
from tests.axles import arm, front, front_corner, rear, travel_of

HELD: tuple[Goal, ...] = (
    Band("heave.motion_ratio", 1.10, 0.01),
    Band("roll.motion_ratio", 1.00, 0.01),
    Limit("roll.crosstalk", at_most=1.0),
    Limit("heave.length_static", at_most=450.0, at_least=380.0),
)
"""Goals that the front axle meets."""
WISHED: tuple[Goal, ...] = (Best("heave.crosstalk", "minimise"), Miss("roll.ratio_drift", 0.0, 1.0))
"""Objectives of the front axle."""
EXCLUSIVE: tuple[Goal, ...] = (
    Limit("heave.progressivity", at_least=20.0),
    Limit("heave.crosstalk", at_most=2.0),
)
"""Two goals that no cross-car heave strut meets together."""


def study(axle: Axle, travel: Travel | None = None, goals: tuple[Goal, ...] = ()) -> Study:
    """A study of one axle that varies nothing."""
    return Study("An invented axle", axle, travel or travel_of(axle), (), goals, 1, "")


def front_study(*goals: Goal) -> Study:
    """The front axle, asked for these goals, or for goals that it meets and two objectives."""
    return study(front(), goals=goals or HELD + WISHED)


def rear_study() -> Study:
    """The rear axle: no rack."""
    return study(rear())


def corner_study() -> Study:
    """The front axle with corner struts and a roll strut."""
    return study(front_corner(), goals=(Band("corner.motion_ratio", 0.3, 0.02), Limit("corner.crosstalk", at_most=1.0)))


def locked_study() -> Study:
    """The front axle asked to travel so far that the rod cannot reach, the roll strut toggles and the links lock."""
    travel = Travel(wheel=(-165.0, 165.0), heave=(-165.0, 165.0), roll=(-30.0, 24.0), rack=(-120.0, 120.0), step=5.0)
    return study(front(), travel, (Limit("roll.crosstalk", at_most=1.0), Best("heave.length_max", "minimise")))


def crowded_study() -> Study:
    """The front axle with five struts, one of them with a long name: more than one table is wide."""
    axle = front()
    third = Cross("heave", "heave", Mode.HEAVE)
    long_name = "third_strut_with_the_longest_name_that_anyone_would_write"
    elements = {**axle.elements, "third": third, "fourth": third, long_name: third}
    return study(replace(axle, elements=elements), goals=(Limit(f"{long_name}.length_static", at_most=1.0),))


def swapped_study() -> Study:
    """The front axle whose roll strut is named as the one that serves heave."""
    axle = front()
    return study(replace(axle, elements={"wrong": Cross("roll_upper", "roll_lower", Mode.HEAVE)}))


def uneven_study() -> Study:
    """The front axle whose roll strut's lower arm is not its upper one reflected."""
    axle = front()
    pickups = {**axle.rocker.pickups, "roll_lower": arm(65.78, -60.0, -34)}
    return study(replace(axle, rocker=replace(axle.rocker, pickups=pickups)))
