"""All that is fitted to one axle, as one record."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from objectives.adjustment.records import NO_ADJUSTMENT, Adjustments
from objectives.envelope.envelope import Envelope
from objectives.fittings.dampers import Damper
from objectives.fittings.joints import Joint
from objectives.fittings.loads import Loads
from objectives.fittings.springs import Spring
from objectives.tolerance.build import Build


@dataclass(frozen=True)
class Fittings:
    """Springs by their own names, dampers by the element that they damp, loads, and what can be set on the car."""

    springs: Mapping[str, Spring] = field(default_factory=dict)
    dampers: Mapping[str, Damper] = field(default_factory=dict)
    loads: Loads = field(default_factory=Loads)
    build: Build | None = None
    """How exactly the axle is built; None where nothing is said of it."""
    adjust: Adjustments = NO_ADJUSTMENT
    envelope: Envelope | None = None
    """The room that it has; None where nothing is said of it."""
    joints: Mapping[str, Joint] = field(default_factory=dict)
    """Those of rods and struts that something is said of, by the names of `geometry.joints.joint_places`."""

    def on(self, element: str) -> tuple[Spring, ...]:
        """The springs that act on an element, in the study's order."""
        return tuple(spring for spring in self.springs.values() if spring.on == element)


NOTHING_FITTED = Fittings()
