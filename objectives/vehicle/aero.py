"""Downforce: how much at a speed, on which axle, and when it pulls the car down without end.

Source: Katz, Race Car Aerodynamics (from memory); standard air density 1.225 kg/m3 at 15 C and 101 325 Pa (ISA, ISO
2533, from memory).
"""

from dataclasses import dataclass

from objectives.vehicle.rates import Value

STANDARD_DENSITY = 1.225
"""Density of air [kg/m3]."""


@dataclass(frozen=True)
class Aero:
    """`lift_area` C_L A [m2], downforce positive, and its `front_share` at static height; `density` of the air [kg/m3].

    `growth`: by which share the downforce on the front and on the rear axle grows per mm that the car sinks there.
    """

    lift_area: float
    front_share: float
    density: float = STANDARD_DENSITY
    growth: tuple[float, float] = (0.0, 0.0)


def dynamic_force(density: float, speed: Value, area: float) -> Value:
    """Force 0.5 rho V^2 C A [N] of air [kg/m3] at a speed [m/s] on an area C A [m2]."""
    return 0.5 * density * speed**2 * area


def downforce(aero: Aero, speed: Value) -> tuple[Value, Value]:
    """Downforce on the front and on the rear axle [N] at a speed [m/s], the car at static height."""
    whole = dynamic_force(aero.density, speed, aero.lift_area)
    return whole * aero.front_share, whole * (1.0 - aero.front_share)


def effective_rate(ride_rate: Value, gain: Value) -> Value:
    """Rate in heave that is left [N/mm] of a ride rate where downforce grows by `gain` [N/mm] as the car sinks.

    None is left, and the car sinks until something stops it, where the gain reaches the ride rate (statics; no source).
    """
    return ride_rate - gain
