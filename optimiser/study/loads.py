"""The loads of a file: the weight, the load cases and the rod's tube."""

from geometry.arrays import Array
from objectives.fittings.loads import LoadCase, Loads, RodTube
from optimiser.study.reading import Reading

PAIR = ("left", "right")


def read_loads(reading: Reading) -> Loads:
    """The loads of a file; cases with a fault are left out, and the fault noted."""
    path = "loads.sprung_per_wheel"
    weight = reading.number(path) if reading.has(path) else None
    found = {name: _case(reading, f"loads.cases.{name}") for name in reading.names("loads.cases")}
    return Loads(weight, {name: case for name, case in found.items() if case is not None}, _tube(reading))


def _case(reading: Reading, path: str) -> LoadCase | None:
    before = len(reading.faults)
    written = [key for key in PAIR if reading.has(f"{path}.{key}")]
    both = reading.has(f"{path}.both")
    expected = "left and right, or both for two wheels loaded alike"
    if both and written:
        reading.fault(f"{path}.both", f"both beside {' and '.join(written)}", expected, "delete one or the other")
    elif not both and len(written) < len(PAIR):
        missing = [key for key in PAIR if key not in written]
        hint = f"add {' and '.join(missing)}: [x, y, z] in N, [0, 0, 0] for a wheel in the air"
        reading.fault(path, f"no key {' and no key '.join(missing)}", expected, hint)
    forces = {key: _force(reading, f"{path}.{key}") for key in ("both", *PAIR) if reading.has(f"{path}.{key}")}
    if len(reading.faults) > before:
        return None
    left, right = (forces["both"],) * 2 if both else (forces[key] for key in PAIR)
    return LoadCase(left, right, reading.text(f"{path}.torque_on") == "chassis")


def _force(reading: Reading, path: str) -> Array:
    force = reading.point(path)
    if force[2] < 0.0:
        hint = "write the force of the ground on the tyre, z up; 0 for a wheel in the air"
        reading.fault(path, f"{force[2]:g} N upwards", "a z of at least 0: the ground cannot pull", hint)
    return force


def _tube(reading: Reading) -> RodTube | None:
    path = "loads.rod_tube"
    if reading.record(path) is None:
        return None
    outer, wall, modulus, strength = (reading.number(f"{path}.{key}") for key in ("outer", "wall", "modulus", "yield"))
    if wall > outer / 2.0:
        expected = f"at most half of the outer diameter, {outer / 2.0:g} mm: then the rod is solid"
        reading.fault(f"{path}.wall", f"{wall:g}", expected, "correct the wall or the outer diameter")
    return RodTube(outer, wall, modulus, strength)
