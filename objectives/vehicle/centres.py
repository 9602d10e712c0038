"""Roll centre and anti-effects from the links alone: the work that the ground's forces do at the contact points.

| symbol | meaning | unit |
|---|---|---|
| y, v | the contact point's place across the car; its velocity per mm of wheel travel | mm, mm/mm |
| Fx, Fy, Fz | force of the ground on the wheel | N |
| h, L | height of the centre of mass, wheelbase | mm |

The links do no work, so the springs take what the ground's force gives: dU/dz = Fx v_x + Fy v_y + Fz v_z. A lateral
force thus acts on the springs like a vertical one of Fy v_y / v_z: it jacks. Two opposite wheels with the same lateral
force press nothing but a moment into the springs, that of the force about the height y v_y / v_z: the roll centre
(SAE J670e; Milliken and Milliken, Race Car Vehicle Dynamics, chapter 17, from memory). The same of a longitudinal force
is the anti-effect: with the load that it shifts along the car, m a h / L, the springs of an axle stay as they are where
Fx v_x / v_z is equal and opposite to it: 100 % (the same, chapter 17, from memory). A brake on the upright, or an
engine there, moves the contact point with the wheel locked to the upright (`locked`); a brake or drive in the chassis,
by a shaft, with the wheel free about its axis (`rolling`).
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from geometry.contact import Contact


def roll_centre(contact: Contact) -> Array:
    """Height of the roll centre above the ground [mm] (*W, S), both wheels of the axle alike."""
    return np.asarray(contact.point[..., 1] * lateral_lift(contact))


def lateral_lift(contact: Contact) -> Array:
    """Vertical force to which a lateral one of 1 N towards the left is equal at the left wheel [N/N] (*W, S).

    Positive where a force that pushes the left wheel outward presses it up into the body. At the right wheel it is the
    mirrored wheel's, of a force towards the right.
    """
    return np.asarray(contact.locked[..., 1] / contact.locked[..., 2])


def side_slope(contact: Contact, inboard: bool) -> Array:
    """Vertical force to which a forward one of 1 N is equal [N/N] (*W, S), see `lateral_lift`.

    `inboard`: its moment about the spin axis goes to the chassis by a shaft.
    """
    velocity = contact.rolling if inboard else contact.locked
    return np.asarray(velocity[..., 0] / velocity[..., 2])


@dataclass(frozen=True)
class AntiEffects:
    """How much of the load shifted along the car by braking or driving the links take from the springs [%].

    `dive`: front axle in braking; `lift`: rear axle in braking; `squat`, `front_lift`: rear and front axle in driving,
    each as if it alone drove.
    """

    dive: float
    lift: float
    squat: float
    front_lift: float


def anti_effects(
    braking: tuple[float, float],
    driving: tuple[float, float],
    brake_front_share: float,
    height: float,
    wheelbase: float,
) -> AntiEffects:
    """From the side slopes of the front and the rear axle, in braking and in driving.

    In braking the front springs have Fx = -p m a and take -Fx v_x / v_z from m a h / L: anti-dive p (L / h) v_x / v_z,
    and behind, where the load goes, anti-lift -(1 - p) (L / h) v_x / v_z. In driving the signs turn.
    """
    arm = 100.0 * wheelbase / height
    return AntiEffects(
        dive=arm * brake_front_share * braking[0],
        lift=-arm * (1.0 - brake_front_share) * braking[1],
        squat=-arm * driving[1],
        front_lift=arm * driving[0],
    )
