"""An anti-roll bar's left arm: a drop link from the rocker's pick-up turns it about the bar, which lies along y.

The loop of pick-up, drop link and arm is that of `geometry.rocker` once more, with the arm as the rocker, the link as
the rod and the moving pick-up as its outboard eye. The right arm is the mirror: turned about y, it turns alike.
"""

from dataclasses import dataclass

from geometry.arrays import Array, Codes
from geometry.axle import AntiRollBar
from geometry.hardpoints import Hardpoints, bar_linkage
from geometry.kernel import Closing, Kernel


@dataclass(frozen=True)
class BarMotion:
    """The left arm of an anti-roll bar at K side states.

    `linkage`: arm and drop link at static. `closing` (*B, K): their loop, its turn positive about +y; its turn and
    rates are NaN where `status` (*B, K) is not OK. `sense` (*B): +1 where bump turns the arm about +y at static, -1
    where about -y, 0 where it does not turn it.
    """

    linkage: Hardpoints
    closing: Closing
    status: Codes
    sense: Array


def close_bar(
    bar: AntiRollBar, points: Hardpoints, pickup: tuple[Array, Array], rate: Array, kernel: Kernel
) -> tuple[Hardpoints, Closing]:
    """Close the loop of a bar's arm for its pick-up's positions (*B, K, 3) [mm] and velocities per radian.

    `rate` (*B, K, 2) [rad/mm]: the rocker's, per mm of wheel travel and of rack. Returns the linkage and its closing,
    on static's branch.
    """
    linkage = bar_linkage(bar, points)
    end, swing = pickup
    return linkage, kernel.close(end, swing[..., None] * rate[..., None, :], linkage)
