"""Rod force x its arm = strut force x its arm about the rocker's axis, and no virtual work is left over: derived, no
source needed. The arms are those of the angles shown: radius x sin(transmission) x cos(tilt)."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Axle
from geometry.motion import move
from geometry.side_motion import trace_side
from geometry.travel import AxleStates, heave_states
from geometry.upright import trace_upright
from objectives.fittings.installed import install
from objectives.loads.cases import CaseForces, case_states, load_cases
from tests.axles import front, front_on_link, rear, travel_of
from tests.fitted import case, fittings_for
from tests.twin import twin_rocker

RESIDUAL = 1e-9


def on_heave_strut_alone(axle: Axle) -> CaseForces:
    """Both wheels loaded alike, more in one case than in the other; no spring but the heave strut's."""
    fittings = fittings_for(axle)
    cases = {"light": case((0, 0, 3000), (0, 0, 3000)), "braked": case((-4000, 0, 4500), (-4000, 0, 4500))}
    alone = replace(fittings, springs={"heave": fittings.springs["heave"]}, loads=replace(fittings.loads, cases=cases))
    tree = case_states(travel_of(axle))
    guide = trace_side(axle, trace_upright(axle.wheel, axle.links, tree), tree)
    installed = install(axle, alone, move(axle, heave_states(np.zeros(1))))
    return load_cases(guide, installed, cases, travel_of(axle).wheel)


@pytest.mark.parametrize("build", [front, rear, front_on_link])
def test_forces_times_arms(build: Callable[[], Axle]) -> None:
    axle = build()
    loaded = on_heave_strut_alone(axle)
    assert loaded.settled.found.all()
    motion, rocker = loaded.settled.motion, twin_rocker(axle)
    strut, force = motion.strut("heave"), loaded.settled.strain.elements["heave"].force

    def radius(point: Array) -> float:
        return float(np.linalg.norm(np.cross(rocker.axis, point - rocker.pivot)))

    rod_arm = radius(rocker.rod_inboard) * np.sin(motion.rod_transmission) * np.cos(motion.rod_tilt)
    strut_arm = radius(rocker.pickups["heave"]) * np.sin(strut.transmission_left) * np.cos(strut.tilt_left)
    largest = np.abs(loaded.rod).max() * 70
    np.testing.assert_allclose(loaded.rod[:, 0] * rod_arm, force * strut_arm, rtol=0, atol=RESIDUAL * largest)
    assert loaded.rod.min() > 3000


@pytest.mark.parametrize("build", [front, rear, front_on_link])
def test_no_virtual_work_is_left_over(build: Callable[[], Axle]) -> None:
    # In a small heave and a small roll of the axle at rest: the work of the strut on its length, and of the ground on
    # the points of the uprights that are at the contact points, as the wheels are locked to them.
    axle = build()
    loaded = on_heave_strut_alone(axle)
    left, right = loaded.settled.travel[:, 0], loaded.settled.travel[:, 1]
    motion, swapped = (move(axle, AxleStates(*at, np.zeros(2))) for at in ((left, right), (right, left)))
    felt = [
        (side.wrench.force * one.contact.locked).sum(axis=-1)
        for side, one in ((loaded.left, motion), (loaded.right, swapped))
    ]
    step, force = 1e-2, loaded.settled.strain.elements["heave"].force
    for sign in (1.0, -1.0):
        lengths = [
            move(axle, AxleStates(left + n * step, right + sign * n * step, np.zeros(2))).strut("heave").length
            for n in (-2, -1, 1, 2)
        ]
        slope = (lengths[0] - 8 * lengths[1] + 8 * lengths[2] - lengths[3]) / (12 * step)
        work = force * slope + felt[0] + sign * felt[1]
        np.testing.assert_allclose(work, 0.0, rtol=0, atol=RESIDUAL * np.abs(force).max())
