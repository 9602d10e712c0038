"""What a damper does: its force against the speed at which its element is squeezed."""

from objectives.fittings.dampers import DamperCurve
from objectives.fittings.law import Law, through


def damper_law(damper: DamperCurve) -> Law:
    """Force [N] against speed [m/s], both positive in compression: straight between the points and beyond the last."""
    return through(damper.points)
