"""Whether the spring that carries the weight can: the static force that follows makes it neither slack nor solid."""

import numpy as np

from geometry.axle import Axle
from geometry.motion import move
from geometry.travel import heave_states
from objectives.fittings.fitted import Fittings
from objectives.fittings.forces import carries_weight
from objectives.fittings.installed import Installed, install
from optimiser.study.reading import Reading


def check_carrier(reading: Reading, axle: Axle, fittings: Fittings) -> None:
    """Note a fault where the spring that carries the weight cannot, on an axle and with fittings that have no fault."""
    carriers = [name for name, spring in fittings.springs.items() if carries_weight(spring)]
    if not carriers:
        return
    spring = fittings.springs[carriers[0]]
    installed = install(axle, fittings, move(axle, heave_states(np.zeros(1))))[spring.on]
    told = _trouble(installed)
    if told:
        found, hint = told
        expected = "a spring that holds the weight, neither slack nor solid"
        reading.fault(f"springs.{carriers[0]}.static", found, expected, hint)


def _trouble(installed: Installed) -> tuple[str, str] | None:
    """What is wrong with a carrier at static, and what to do about it; None where nothing is."""
    force = float(installed.law.force(np.zeros(1))[0])
    if not np.isfinite(force):
        return "carries_weight on an element that heave does not move", "let another element carry it"
    if installed.slack_at > 0.0:
        hint = "does bump lengthen the element, or do other springs hold more than the weight? Or write pulls: true"
        return f"a weight under which the spring is slack ({force:.5g} N on its element)", hint
    if installed.solid_at <= 0.0:
        hint = "take a stiffer or a longer spring, or one with a shorter solid length"
        return f"a weight of {force:.5g} N on the element, under which the coil is solid", hint
    return None
