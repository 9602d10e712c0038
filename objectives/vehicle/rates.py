"""Rates of a wheel and of an axle, and what they mean: springs in series, frequency, damping, roll and warp.

Rates per wheel [N/mm], masses per wheel [kg], frequencies [Hz], damping coefficients [N.s/mm], roll stiffness
[N.m/rad], tracks [mm]. Sources: Milliken and Milliken, Race Car Vehicle Dynamics, chapter
16; Gillespie, Fundamentals of Vehicle Dynamics, chapter 5 (from memory).
"""

from math import pi, sqrt
from typing import TypeVar

import numpy as np

from geometry.arrays import Array

MM = 1e-3
"""A millimetre [m]."""

Value = TypeVar("Value", float, Array)
"""A number, or an array of them."""


def in_series(wheel_rate: Value, tyre_rate: Value) -> Value:
    """Ride rate: the rate of wheel and tyre together, K K_t / (K + K_t)."""
    return wheel_rate * tyre_rate / (wheel_rate + tyre_rate)


def without_tyre(ride_rate: float, tyre_rate: float) -> float:
    """Wheel rate that makes a ride rate with this tyre, K_R K_t / (K_t - K_R).

    Infinite where the tyre alone is no stiffer than what is asked: no wheel rate makes it.
    """
    return ride_rate * tyre_rate / (tyre_rate - ride_rate) if ride_rate < tyre_rate else np.inf


def frequency(rate: float, mass: float) -> float:
    """Natural frequency [Hz] of a mass [kg] on a rate [N/mm]."""
    return sqrt(rate / MM / mass) / (2.0 * pi)


def rate_for(hertz: float, mass: float) -> float:
    """Rate [N/mm] on which a mass [kg] has this natural frequency [Hz]."""
    return mass * (2.0 * pi * hertz) ** 2 * MM


def critical_damping(rate: float, mass: float) -> float:
    """Critical damping coefficient 2 sqrt(K m) [N.s/mm] of a mass [kg] on a rate [N/mm]."""
    return 2.0 * sqrt(rate / MM * mass) * MM


def roll_stiffness(wheel_rate: Value, track: Value) -> Value:
    """Roll stiffness of an axle [N.m/rad] from its rate in roll per wheel [N/mm]: K t^2 / 2, track t [mm]."""
    return wheel_rate / MM * (track * MM) ** 2 / 2.0


def wheel_rate_for(stiffness: Value, track: Value) -> Value:
    """Rate in roll per wheel [N/mm] that makes a roll stiffness [N.m/rad] on a track [mm]."""
    return 2.0 * stiffness / (track * MM) ** 2 * MM


def warp_stiffness(front: Value, rear: Value) -> Value:
    """What an axle's roll against the other's meets [N.m/rad]: their roll stiffnesses in series.

    It follows from the two; no heave or roll strut, at either axle, sets it alone.
    """
    return front * rear / (front + rear)
