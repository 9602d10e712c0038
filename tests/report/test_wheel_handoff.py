"""A hand-off's figures of the wheel: nothing is no difference, and a real difference is found."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Axle
from optimiser.report.handoff.differences import compare
from optimiser.report.handoff.document import handoff_document
from optimiser.report.handoff.verify import verify
from tests.axles import front, vector
from tests.report.handed_over import ORIGIN, branch, read_back
from tests.report.test_handoff import study_of

LOWER = vector(12, 762, 178)


def leaning(castor: float, inclination: float) -> Axle:
    """The front axle on two wishbones of one outboard joint each, in a line that leans by these angles [deg]."""
    links = dict(front().links)
    upper = LOWER + 312.0 * vector(-np.tan(np.radians(castor)), -np.tan(np.radians(inclination)), 1.0)
    for end in ("front", "rear"):
        links[f"upper_{end}"] = replace(links[f"upper_{end}"], outboard=upper)
        links[f"lower_{end}"] = replace(links[f"lower_{end}"], outboard=LOWER)
    return replace(front(), links=links)


@pytest.mark.parametrize(("castor", "inclination"), [(0.0, 0.0), (0.0, 9.0), (6.0, 0.0), (-3.0, 4.0)])
def test_both_readings_agree_where_an_angle_or_an_offset_is_nothing(castor: float, inclination: float) -> None:
    axle = leaning(castor, inclination)
    document = read_back(handoff_document(study_of(axle), axle, ORIGIN))
    figures = branch(document, "figures")
    assert figures["wheel.castor"] == pytest.approx(castor, abs=1e-9)
    assert figures["wheel.steering_axis_inclination"] == pytest.approx(inclination, abs=1e-9)
    assert verify(document, "x.yaml").differences == ()


def test_what_is_more_than_rounding_is_found() -> None:
    names = ("castor", "castor_offset_at_ground", "steering_axis_offset_at_centre", "roll_centre_height", "jacking")
    for name in names:
        one, other = ({"figures": {f"wheel.{name}": value}} for value in (0.0, 1e-7))
        assert compare(one, other, ()).differences, name
