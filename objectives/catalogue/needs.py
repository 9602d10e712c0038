"""What must be fitted for a figure to be there: to the element or joint named, or anywhere on the axle."""

from geometry.arrays import Array
from objectives.fittings.dampers import DamperCurve
from objectives.fittings.fitted import Fittings
from objectives.fittings.springs import CoilSpring, OpposedSprings, SeriesSprings


def spring(fittings: Fittings, element: str) -> bool:
    """A spring on the element."""
    return bool(fittings.on(element))


def any_spring(fittings: Fittings, _subject: str) -> bool:
    """A spring anywhere on the axle."""
    return bool(fittings.springs)


def weight(fittings: Fittings, _subject: str) -> bool:
    """A spring anywhere, and the weight that it should carry."""
    return bool(fittings.springs) and fittings.loads.sprung_per_wheel is not None


def slackening(fittings: Fittings, element: str) -> bool:
    """A coil or series spring on the element that cannot pull."""
    return any(
        isinstance(one, SeriesSprings) or (isinstance(one, CoilSpring) and not one.pulls)
        for one in fittings.on(element)
    )


def opposed_pair(fittings: Fittings, element: str) -> bool:
    """An opposed pair on the element."""
    return any(isinstance(one, OpposedSprings) for one in fittings.on(element))


def coil_with_lengths(fittings: Fittings, element: str) -> bool:
    """A coil on the element whose free and solid lengths are known."""
    return any(
        isinstance(one, CoilSpring) and _known(one.free_length, one.solid_length) for one in fittings.on(element)
    )


def damper_curve(fittings: Fittings, element: str) -> bool:
    """A damper on the element that is given by its curve."""
    return isinstance(fittings.dampers.get(element), DamperCurve)


def cases(fittings: Fittings, _subject: str) -> bool:
    """Load cases."""
    return bool(fittings.loads.cases)


def cases_on_springs(fittings: Fittings, _subject: str) -> bool:
    """Load cases, and a spring anywhere that answers them."""
    return bool(fittings.loads.cases) and bool(fittings.springs)


def cases_and_tube(fittings: Fittings, _subject: str) -> bool:
    """Load cases, and the tube that the rod is made of."""
    return bool(fittings.loads.cases) and fittings.loads.rod_tube is not None


def build(fittings: Fittings, _subject: str) -> bool:
    """How exactly the axle is built."""
    return fittings.build is not None


def envelope(fittings: Fittings, _subject: str) -> bool:
    """An envelope, whatever it says."""
    return fittings.envelope is not None


def bodies(fittings: Fittings, _subject: str) -> bool:
    """Bodies that may foul."""
    return fittings.envelope is not None and fittings.envelope.has_bodies


def margins(fittings: Fittings, subject: str) -> bool:
    """Bodies that may foul, and the margins to be kept between them."""
    return bodies(fittings, subject) and fittings.envelope is not None and fittings.envelope.margins is not None


def bounds(fittings: Fittings, _subject: str) -> bool:
    """Bounds of the inboard points."""
    return fittings.envelope is not None and fittings.envelope.is_bounded


def joint(fittings: Fittings, name: str) -> bool:
    """A joint of this name."""
    return name in fittings.joints


def joint_limit(fittings: Fittings, name: str) -> bool:
    """A joint of this name, and how far it may be out of true."""
    return joint(fittings, name) and fittings.joints[name].limit is not None


def _known(*lengths: Array | None) -> bool:
    return all(length is not None for length in lengths)
