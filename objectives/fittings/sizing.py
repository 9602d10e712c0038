"""What the dimensions of a coil or a bar make of it: rates, room between coils, stress.

| symbol | meaning | unit |
|---|---|---|
| d, D, n | wire, mean diameter and working coils of a coil spring | mm, mm, - |
| w | D / d | - |
| G | shear modulus | N/mm^2 |

Sources: EN 13906-1 for coil springs (from memory; its worked sheet stands beside the tests); torsion of a round bar is
strength of materials, no source needed.
"""

from math import pi

DYNAMIC = 1.5
"""By how much EN 13906-1 has the room between coils grow where the load comes and goes."""


def coil_rate(wire: float, diameter: float, coils: float, modulus: float) -> float:
    """R = G d^4 / (8 D^3 n) [N/mm]."""
    return modulus * wire**4 / (8.0 * diameter**3 * coils)


def coil_room(wire: float, diameter: float, coils: float, dynamic: bool = True) -> float:
    """Least sum of the gaps between coils S_a [mm] that a coil in use should keep: n (0.0015 D^2 / d + 0.1 d)."""
    return coils * (0.0015 * diameter**2 / wire + 0.1 * wire) * (DYNAMIC if dynamic else 1.0)


def wahl_factor(wire: float, diameter: float) -> float:
    """Wahl's factor for the stress at the inside of a coil: (4 w - 1) / (4 w - 4) + 0.615 / w."""
    w = diameter / wire
    return (4.0 * w - 1.0) / (4.0 * w - 4.0) + 0.615 / w


def coil_stress(force: float, wire: float, diameter: float) -> float:
    """Largest shear stress [N/mm^2] of a coil under a force [N]: 8 F D / (pi d^3), by Wahl's factor."""
    return wahl_factor(wire, diameter) * 8.0 * force * diameter / (pi * wire**3)


def polar_moment(outer: float, inner: float = 0.0) -> float:
    """J = pi (d_o^4 - d_i^4) / 32 [mm^4] of a round bar or tube."""
    return pi * (outer**4 - inner**4) / 32.0


def bar_rate(outer: float, inner: float, length: float, modulus: float) -> float:
    """G J / L [N.mm/rad] of a bar between its ends.

    A bar held in the middle is two of half its length, each twice as stiff.
    """
    return modulus * polar_moment(outer, inner) / length
