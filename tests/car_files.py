"""A car file and the files of its two axles, written into a folder for a test to break."""

from pathlib import Path

CONFIGS = Path(__file__).parents[1] / "configs"

SPRUNG = """
springs:
  heave: {on: heave, kind: coil, rate: 220, free_length: 190, solid_length: 110, static: carries_weight}
  roll: {on: roll, kind: opposed, rate: 90, preload: 2400}
dampers:
  heave: {points: [[-0.25, -2600], [-0.05, -900], [0, 0], [0.05, 500], [0.25, 1300]]}
  roll: {damping_ratio: 0.65}
loads: {sprung_per_wheel: 2240}
"""

CAR = """format: 1
name: Two-seat track car
mass: 1240
front_share: 0.43
wheelbase: 2700
cg_height: 430
inertia: {roll: 310, pitch: 1150}
front: {axle: axles/front.yaml, unsprung: 38, tyre_rate: 270}
rear: {axle: axles/rear.yaml, unsprung: 44, tyre_rate: 300}
aero: {lift_area: 3.2, front_share: 0.44, speeds: [30, 50, 70], growth: {front: 0.5, rear: 0.25}}
targets: {front_heave_frequency: 3.2, roll_gradient: 1.2, spring_rates: [180, 220]}
kerb: 20
brake_front_share: 0.6
"""


def write_car(folder: Path, text: str = CAR) -> Path:
    """The car file in `folder`, its axles in a folder below it."""
    axles = folder / "axles"
    axles.mkdir(exist_ok=True)
    for name in ("front.yaml", "rear.yaml"):
        (axles / name).write_text((CONFIGS / name).read_text(encoding="utf-8") + SPRUNG, encoding="utf-8")
    path = folder / "car.yaml"
    path.write_text(text, encoding="utf-8")
    return path
