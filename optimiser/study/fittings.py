"""What is fitted to the axle of a file: its springs, dampers and loads, and what can be set."""

from geometry.axle import Axle
from objectives.fittings.fitted import Fittings
from optimiser.study.adjust import read_adjust
from optimiser.study.dampers import read_dampers
from optimiser.study.envelope import read_envelope
from optimiser.study.joints import read_joints
from optimiser.study.loads import read_loads
from optimiser.study.reading import Reading
from optimiser.study.springs import read_springs
from optimiser.study.tolerances import read_build


def read_fittings(reading: Reading, axle: Axle) -> Fittings:
    """The fittings of a file; what has a fault is left out, and its faults noted."""
    return Fittings(
        read_springs(reading, axle),
        read_dampers(reading, axle),
        read_loads(reading),
        build=read_build(reading, axle),
        adjust=read_adjust(reading, axle),
        envelope=read_envelope(reading, axle),
        joints=read_joints(reading, axle),
    )
