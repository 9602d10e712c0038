"""The second reading against closed forms, and against the batch evaluator: two readings of the same definitions."""

import math
from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Axle, CrossStrut, Mode
from geometry.travel import Travel
from objectives.evaluate import evaluate
from objectives.readings import FigureStatus
from optimiser.report.handoff.axle_tree import axle_tree
from optimiser.report.handoff.second_reading.figures import all_figures
from optimiser.report.handoff.second_reading.plain import (
    PlainAxle,
    PlainTravel,
    UnreadableError,
    plain_axle,
    plain_travel,
)
from optimiser.report.handoff.second_reading.reading import Reading
from optimiser.report.handoff.second_reading.recompute import is_held, judge
from optimiser.report.handoff.second_reading.side import Side
from optimiser.report.handoff.second_reading.states import grid, sweeps, travel_points
from optimiser.report.handoff.second_reading.upright import Upright
from optimiser.study.variables import candidates
from tests.axles import KINDS, arm, front, travel_of
from tests.report.handed_over import shipped

ARM = 100.0
"""Length of every link of the parallelogram axle [mm]."""


def parallelogram(pivot: tuple[float, float], rod_end: tuple[float, float]) -> PlainAxle:
    """Equal, parallel, level links in planes across the car: the upright moves on a circle without turning.

    The rod's outboard eye is at (y, z) = (700, 300); the rocker turns about x; one corner strut on the rod's end.
    """
    ends = {"a": (100, 400), "b": (-100, 400), "c": (100, 200), "d": (-100, 200), "e": (150, 300)}
    shared = {"a": 0, "b": 0, "c": 0, "d": 0, "e": 150}
    tree = {
        "wheel": {"centre": [0, 800, 300], "toe": 0, "camber": 0},
        "links": {
            name: {
                "inboard": [x, 600, z],
                "outboard": [shared[name], 700, z],
            }
            for name, (x, z) in ends.items()
        },
        "rod": {"outboard": [0, 700, 300], "carried_by": "upright"},
        "rocker": {
            "pivot": [0, *pivot],
            "axis": [1, 0, 0],
            "rod": [0, *rod_end],
            "pickups": {"end": [0, *rod_end]},
        },
        "elements": {"corner": {"kind": "strut", "left": "end", "chassis": [0, pivot[0], pivot[1] - 150.0]}},
    }
    return plain_axle(tree)


def eye(z: float) -> tuple[float, float]:
    """The rod's outboard eye (y, z) of the parallelogram axle at wheel travel z: on a circle about (600, 300)."""
    return 600.0 + math.sqrt(ARM**2 - z * z), 300.0 + z


def angle_of(axle: PlainAxle, z: float) -> float:
    """Rocker angle [rad] by the law of cosines in the triangle of pivot, rod's end and outboard eye."""
    pivot, end = axle.pivot[1:], axle.rod_inboard[1:]
    radius, rod = math.dist(pivot, end), math.dist(end, axle.rod_outboard[1:])

    def at(z: float) -> tuple[float, float]:
        y, height = eye(z)
        reach = math.dist((y, height), pivot)
        towards = math.atan2(height - pivot[1], y - pivot[0])
        return towards, math.acos((radius**2 + reach**2 - rod**2) / (2 * radius * reach))

    (start, opening), (towards, now) = at(0.0), at(z)
    arm_angle = math.atan2(end[1] - pivot[1], end[0] - pivot[0])
    side = 1.0 if abs(math.remainder(start + opening - arm_angle, math.tau)) < 1e-9 else -1.0
    return (towards + side * now) - (start + side * opening)


@pytest.mark.parametrize("z", [-80.0, -31.7, 0.0, 12.5, 79.0])
def test_a_parallelogram_carries_the_upright_on_a_circle(z: float) -> None:
    point = Side(parallelogram((400, 500), (420, 560)), 200.0, 1.0).at(z, 0.0)
    assert point is not None
    assert np.allclose(point.eye, [0.0, *eye(z)], rtol=0, atol=1e-10)
    assert np.allclose(point.pose.frame, np.eye(3), rtol=0, atol=1e-12)


@pytest.mark.parametrize("z", [-60.0, -10.0, 17.3, 33.3])
@pytest.mark.parametrize("rod_end", [(420.0, 560.0), (380.0, 440.0)])
def test_the_rocker_turns_as_the_law_of_cosines_says(z: float, rod_end: tuple[float, float]) -> None:
    axle = parallelogram((400, 500), rod_end)
    point = Side(axle, 200.0, 1.0).at(z, 0.0)
    assert point is not None
    assert point.angle == pytest.approx(angle_of(axle, z), abs=1e-13)


def test_a_motion_ratio_is_the_slope_of_the_closed_form() -> None:
    """Corner strut from the rod's end to a point 150 mm below the pivot: length by the law of cosines once more."""
    axle = parallelogram((400, 500), (420, 560))
    reading = Reading(axle, PlainTravel((-40.0, 40.0), (-40.0, 40.0), (-10.0, 10.0), None, 10.0))
    radius = math.hypot(20, 60)

    def length(z: float) -> float:
        angle = math.atan2(60, 20) + angle_of(axle, z)
        return math.hypot(radius * math.cos(angle), radius * math.sin(angle) + 150.0)

    for z in (-40.0, 0.0, 20.0):
        slope = (length(z - 1e-4) - length(z + 1e-4)) / 2e-4
        assert reading.strut("corner", (z, z, 0.0)).length == pytest.approx(length(z), abs=1e-11)
        assert reading.motion_ratio("corner", (z, z, 0.0), "heave") == pytest.approx(slope, abs=1e-8)


def test_the_links_lock_where_they_stand_upright() -> None:
    side = Side(parallelogram((400, 300), (400, 600)), 200.0, 1.0)
    for direction in (1.0, -1.0):
        end = side.end(direction, 0.0)
        assert end.locks
        assert end.distance == pytest.approx(ARM, abs=1e-7)
    assert side.status(99.999, 0.0) == "ok"
    assert side.status(100.001, 0.0) == "wheel_locked"
    assert side.at(101.0, 0.0) is None


def test_a_pose_beyond_a_lock_is_not_followed() -> None:
    """The links of the parallelogram close with the upright on the inner side of its circle too: another assembly."""
    upright = Upright(parallelogram((400, 300), (400, 600)))
    inner = upright.static.unknowns - np.array([0.0, 2 * math.sqrt(ARM**2 - 99.0**2), *[0.0] * 6])
    inner[1] -= ARM - math.sqrt(ARM**2 - 99.0**2)
    start = replace(upright.static, unknowns=inner)
    assert upright.follow(start, 99.0, 0.0) is None
    assert upright.follow(upright.static, 99.0, 0.0) is not None


def over_the_hump() -> tuple[PlainAxle, float, float]:
    """An axle whose rod is stretched straight and given back as the eye passes the far side of its circle.

    The eye's distance from the pivot is largest where the eye, its circle's centre and the pivot are in line, here at
    20 deg. Rod and arm together reach the distance at 12 deg, hence at 28 deg again. Returns both heights [mm] too.
    """
    apart, top = 300.0, math.radians(20.0)
    pivot = (600.0 - apart * math.cos(top), 300.0 - apart * math.sin(top))

    def distance(angle: float) -> float:
        return math.sqrt(apart**2 + ARM**2 + 2 * apart * ARM * math.cos(angle - top))

    reach, start, radius = distance(math.radians(12.0)), distance(0.0), 80.0
    rod = reach - radius
    towards = math.atan2(300.0 - pivot[1], 700.0 - pivot[0])
    opening = math.acos((radius**2 + start**2 - rod**2) / (2 * radius * start))
    end = (pivot[0] + radius * math.cos(towards + opening), pivot[1] + radius * math.sin(towards + opening))
    return parallelogram(pivot, end), ARM * math.sin(math.radians(12.0)), ARM * math.sin(math.radians(28.0))


def test_a_toggle_is_found_and_what_lies_beyond_it_is_told_apart() -> None:
    axle, opens, closes = over_the_hump()
    side = Side(axle, 200.0, 1.0)
    end = side.end(1.0, 0.0)
    assert not end.locks
    assert end.distance == pytest.approx(opens, abs=1e-7)
    assert side.status(opens - 1e-6, 0.0) == "ok"
    assert side.status((opens + closes) / 2, 0.0) == "unreachable"
    assert side.status(closes + 1.0, 0.0) == "over_centre"
    assert side.status(-50.0, 0.0) == "ok"


def test_a_toggle_between_two_steps_is_not_stepped_over() -> None:
    """A rod 1e-4 mm too short to pass the top: the loop is open over a fraction of a step alone."""
    axle, _, _ = over_the_hump()
    top = ARM * math.sin(math.radians(20.0))
    y, z = eye(top)
    pivot, end = axle.pivot[1:], axle.rod_inboard[1:]
    reach = math.dist((y, z), pivot) - 1e-4
    radius, start = math.dist(end, pivot), math.dist((700.0, 300.0), pivot)
    opening = math.acos((radius**2 + start**2 - (reach - radius) ** 2) / (2 * radius * start))
    towards = math.atan2(300.0 - pivot[1], 700.0 - pivot[0])
    at_static = (pivot[0] + radius * math.cos(towards + opening), pivot[1] + radius * math.sin(towards + opening))
    side = Side(parallelogram((pivot[0], pivot[1]), at_static), 200.0, 1.0)
    assert side.at(34.0, 0.0) is not None
    assert side.status(34.0, 0.0) == "ok"
    assert side.status(36.0, 0.0) == "over_centre"
    assert 33.9 < side.end(1.0, 0.0).distance < top


def test_the_toggle_margin_counts_from_the_end_of_the_travel() -> None:
    axle, opens, _ = over_the_hump()
    travel = PlainTravel((-10.0, 15.0), (-10.0, 15.0), (-5.0, 5.0), None, 5.0)
    margin, status = Reading(axle, travel).toggle_margin()
    assert status == "ok"
    assert margin == pytest.approx(opens - 15.0, abs=1e-7)


def plain(axle: Axle, travel: Travel) -> Reading:
    tree = axle_tree(axle)
    return Reading(plain_axle(tree), PlainTravel(travel.wheel, travel.heave, travel.roll, travel.rack, travel.step))


def differing(axle: Axle, travel: Travel) -> list[str]:
    """Figures in which the batch evaluator and the second reading differ: by status, or by more than 1e-8.

    Relative; a figure that is nearly nothing may differ by 1e-9 of its unit.
    """
    evaluation, second = evaluate(axle, travel), all_figures(plain(axle, travel))
    assert set(evaluation.values) == set(second)
    found = []
    for name, (value, status) in second.items():
        first, word = float(evaluation.values[name]), FigureStatus(int(evaluation.status[name])).word
        alike = math.isclose(first, value, rel_tol=1e-8, abs_tol=1e-9) or (math.isnan(first) and math.isnan(value))
        if word != status or not alike:
            found.append(f"{name}: {first} {word}, {value} {status}")
    return found


def coarse(axle: Axle, step: float = 10.0) -> Travel:
    return replace(travel_of(axle), step=step)


@pytest.mark.parametrize("kind", KINDS)
def test_two_readings_of_an_axle_of_each_kind_agree(kind: str) -> None:
    axle = KINDS[kind]()
    assert differing(axle, coarse(axle)) == []


def test_two_readings_of_an_axle_with_unlike_ends_agree() -> None:
    axle = front()
    pickups = {**axle.rocker.pickups, "heave_right": arm(70.0, 60.0, 20.0), "roll_lower": arm(60.0, -90.0, 10.0)}
    elements = {**axle.elements, "heave": CrossStrut("heave", "heave_right", Mode.HEAVE)}
    unlike = replace(axle, rocker=replace(axle.rocker, pickups=pickups), elements=elements)
    assert differing(unlike, coarse(unlike)) == []


def random_candidates(name: str, count: int, seed: int) -> list[Axle]:
    """Candidates of a shipped study, up to 60 % of each variable's range outside it: many fail somewhere."""
    study, rng = shipped(name), np.random.default_rng(seed)
    low = np.array([variable.low for variable in study.variables])
    span = np.array([variable.high for variable in study.variables]) - low
    return [candidates(study, low + span * (2.2 * rng.random(len(low)) - 0.6)) for _ in range(count)]


@pytest.mark.parametrize("name", ["front", "rear"])
def test_two_readings_of_random_candidates_agree(name: str) -> None:
    travel = shipped(name, 13.0).travel
    for axle in random_candidates(name, 4, seed=5):
        assert differing(axle, travel) == []


def test_two_readings_agree_on_every_way_to_fail() -> None:
    """Travel far beyond what the axles can do: locked links, open loops, toggles passed, struts over centre."""
    rack = (-120.0, 120.0)
    far = Travel((-165.0, 165.0), (-165.0, 165.0), (-30.0, 24.0), rack, 15.0)
    kinds = ["five split links, rocker swinging nearly level", "corner struts"]
    for kind in kinds:
        assert differing(KINDS[kind](), far) == []
    words = {FigureStatus(int(code)).word for kind in kinds for code in evaluate(KINDS[kind](), far).status.values()}
    assert {"unreachable", "wheel_locked", "over_centre", "not_decoupled", "roll_only"} <= words


def test_travel_points_are_both_ends_and_the_multiples_between() -> None:
    assert travel_points(-5.0, 4.0, 2.0) == [-5.0, -4.0, -2.0, 0.0, 2.0, 4.0]
    assert travel_points(0.0, 0.0, 2.0) == [0.0]


def test_the_grid_keeps_both_wheels_inside_their_range() -> None:
    travel = PlainTravel((-10.0, 10.0), (-10.0, 10.0), (-4.0, 4.0), None, 2.0)
    states = grid(travel)
    assert (10.0, 10.0, 0.0) in states
    assert all(-10.0 <= z <= 10.0 for left, right, _ in states for z in (left, right))
    assert len(states) == sum(abs(h) + abs(r) <= 10 for h in range(-10, 11, 2) for r in range(-4, 5, 2))
    assert "rack" not in sweeps(travel)


@pytest.mark.parametrize(
    ("target", "value", "room"),
    [
        ({"aim": 1.1, "within": 0.01}, 1.105, 0.005),
        ({"aim": 1.1, "within": 0.01}, 1.08, -0.01),
        ({"at_most": 3.0}, 2.0, 1.0),
        ({"at_least": 3.0}, 2.0, -1.0),
        ({"at_most": 9.0, "at_least": 3.0}, 4.0, 1.0),
    ],
)
def test_a_held_goal_is_judged_by_what_is_left(target: dict[str, object], value: float, room: float) -> None:
    assert is_held(target)
    assert judge(target, value) == pytest.approx(room, abs=1e-12)


@pytest.mark.parametrize("target", ["minimise", {"aim": 1.0, "scale": 0.1}])
def test_an_objective_is_not_held(target: object) -> None:
    assert not is_held(target)


@pytest.mark.parametrize(
    ("path", "value", "named"),
    [
        (("rocker", "pivot"), {"length": 1}, "axle.rocker.pivot"),
        (("rocker", "axis"), [0, 0, 0], "axle.rocker.axis"),
        (("rocker", "rod"), {"length": 76, "angle": 52, "offset": 0}, "axle.rocker.rod"),
        (("rod", "carried_by"), "nothing", "axle.rod.carried_by"),
        (("rod", "outboard"), [1, 2], "axle.rod.outboard"),
        (("wheel", "toe"), "much", "axle.wheel.toe"),
        (("links",), {}, "axle.links"),
        (("elements",), {"heave": {"left": "gone", "right": "heave", "serves": "heave"}}, "axle.elements.heave"),
        (
            ("elements",),
            {"heave": {"left": "heave", "right": "heave", "serves": "pitch"}},
            "axle.elements.heave.serves",
        ),
    ],
)
def test_what_is_no_axle_of_points_is_named(path: tuple[str, ...], value: object, named: str) -> None:
    tree: dict[str, object] = dict(axle_tree(front()))
    if len(path) == 1:
        tree[path[0]] = value
    else:
        inner = tree[path[0]]
        assert isinstance(inner, dict)
        tree[path[0]] = {**inner, path[1]: value}
    with pytest.raises(UnreadableError, match=named.replace(".", r"\.")):
        plain_axle(tree)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"step": 0}, "travel.step"),
        ({"roll": [5, 10]}, "travel.roll"),
        ({"wheel": [-1e9, 1]}, "travel.wheel"),
        ({"step": 0.01}, "travel.step"),
    ],
)
def test_a_travel_that_cannot_be_walked_is_named(change: dict[str, object], named: str) -> None:
    tree: dict[str, object] = {"wheel": [-9, 9], "heave": [-9, 9], "roll": [-9, 9], "step": 2}
    with pytest.raises(UnreadableError, match=named):
        plain_travel({**tree, **change})
