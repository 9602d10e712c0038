"""Every row of the adjustment table is an axle solved anew, by a solver of its own."""

from collections.abc import Mapping
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from scipy.optimize import brentq, root
from scipy.spatial.transform import Rotation

from geometry.arrays import MIRROR_Y, Array
from geometry.axle import Axle, CornerStrut, CrossStrut, Link, Rod, Wheel
from geometry.hardpoints import Hardpoints, place
from objectives.adjustment.holes import with_hole
from objectives.adjustment.records import Adjustments, Hole, RodThread
from objectives.adjustment.table import Setting, adjustment_table
from objectives.evaluate import evaluate
from objectives.fittings.fitted import Fittings
from tests.axles import front, front_corner, front_tilted, rear, rear_on_upper_wishbone, travel_of, with_bars
from tests.fitted import fittings_for

THREAD = RodThread(2.5, (-2.0, 2.0))
HOLES: tuple[Hole, ...] = ({"length": 70.0}, {"length": 78.0, "angle": 1.3})
FIGURES = ("heave.motion_ratio", "heave.progressivity", "heave.crosstalk", "roll.motion_ratio", "roll.crosstalk")
AXLES = {"front": front, "rear": rear, "front, tilted rocker": front_tilted, "rear, wishbone": rear_on_upper_wishbone}


def setting(holes: str | None = None, springs: Fittings | None = None) -> Fittings:
    adjust = Adjustments(THREAD, {holes: HOLES} if holes else {})
    return replace(springs or Fittings(), adjust=adjust)


class Bench:
    """An axle put together anew at any heave and rod length, from link lengths alone."""

    def __init__(self, axle: Axle) -> None:
        self.axle, self.points = axle, place(axle)
        outboard = [link.outboard for link in axle.links.values()]
        self.inboard = np.array([link.inboard for link in axle.links.values()])
        self.outboard = np.array([*outboard, self.points.rod_outboard])
        self.lengths = np.linalg.norm(self.outboard[:5] - self.inboard, axis=1)

    def pose(self, heave: float) -> tuple[Array, Rotation]:
        """Wheel centre, and the upright's turn, with the wheel `heave` [mm] nearer to the body."""
        centre = self.axle.wheel.centre

        def miss(u: Array) -> Array:
            here = self._carried(u[:3], Rotation.from_rotvec(u[3:]))[:5]
            gaps = np.linalg.norm(here - self.inboard, axis=1) - self.lengths
            return np.array([*gaps, u[2] - centre[2] - heave])

        found = root(miss, np.array([*centre[:2], centre[2] + heave, 0.0, 0.0, 0.0]), tol=1e-13).x
        return found[:3], Rotation.from_rotvec(found[3:])

    def _carried(self, centre: Array, turn: Rotation) -> Array:
        return np.asarray(centre + turn.apply(self.outboard - self.axle.wheel.centre))

    def eye(self, heave: float) -> Array:
        """The rod's outboard eye."""
        centre, turn = self.pose(heave)
        carriers = self.axle.rod.carried_by
        if not carriers:
            return np.asarray(self._carried(centre, turn)[5])
        links = [self.axle.links[name] for name in carriers]
        ball = self._carried(centre, turn)[list(self.axle.links).index(carriers[0])]
        hinge, line = links[0].inboard, links[1].inboard - links[0].inboard
        line = line / np.linalg.norm(line)

        def square(point: Array) -> Array:
            return np.asarray(point - hinge - (point - hinge) @ line * line)

        before, after = square(links[0].outboard), square(ball)
        angle = np.arctan2(line @ np.cross(before, after), before @ after)
        return np.asarray(hinge + Rotation.from_rotvec(angle * line).apply(self.points.rod_outboard - hinge))

    def angle(self, heave: float, longer: float) -> float:
        """The rocker's angle from as drawn [rad], the nearest that closes the loop."""
        eye = self.eye(heave)

        def gap(angle: float) -> float:
            return float(np.linalg.norm(eye - self.turned(self.points.rod_inboard, angle))) - (
                float(self.points.rod_length) + longer
            )

        return float(brentq(gap, -0.5, 0.5, xtol=1e-14, rtol=1e-14))

    def turned(self, point: Array, angle: float) -> Array:
        return np.asarray(
            self.points.pivot + Rotation.from_rotvec(angle * self.points.axis).apply(point - self.points.pivot)
        )

    def strut(self, name: str, angle: float) -> float:
        """Length of a strut with both rockers at an angle [mm]."""
        element = self.axle.struts[name]
        left = self.turned(self.points.pickups[element.left], angle)
        if isinstance(element, CornerStrut):
            return float(np.linalg.norm(element.chassis - left))
        right = MIRROR_Y * self.turned(self.points.pickups[element.right], angle)
        return float(np.linalg.norm(right - left))

    def built(self, heave: float, longer: float) -> Axle:
        """The axle in that state, written by its points."""
        (centre, turn), angle = self.pose(heave), self.angle(heave, longer)
        ends = self._carried(centre, turn)
        n = turn.apply(self.axle.wheel.spin_axis)
        links = {
            name: Link(link.inboard, end, link.follows_rack)
            for (name, link), end in zip(self.axle.links.items(), ends[:5], strict=True)
        }
        pickups = {name: self.turned(point, angle) for name, point in self.points.pickups.items()}
        rocker = replace(
            self.axle.rocker, axis=self.points.axis, rod=self.turned(self.points.rod_inboard, angle), pickups=pickups
        )
        wheel = Wheel(centre, np.asarray(np.arctan2(n[0], n[1])), np.asarray(-np.arcsin(n[2])))
        return Axle(wheel, links, Rod(self.eye(heave), self.axle.rod.carried_by), rocker, self.axle.elements)


def agree(told: Mapping[str, float | None], axle: Axle, names: tuple[str, ...] = FIGURES) -> None:
    values = evaluate(axle, travel_of(axle), names).values
    for name in names:
        assert told[name] == pytest.approx(float(values[name]), rel=1e-7, abs=1e-7), name


@pytest.mark.parametrize("kind", AXLES)
def test_a_turn_without_springs_is_the_axle_solved_anew(kind: str) -> None:
    """The heave strut keeps its length, and so the rocker stands as drawn: the wheel is where the rod leads it."""
    axle = AXLES[kind]()
    bench, table = Bench(axle), adjustment_table(axle, travel_of(axle), setting())
    assert [row.turns for row in table.rod] == [-2.0, -1.0, 0.0, 1.0, 2.0]
    assert not table.sprung
    for row in table.rod[::3]:
        heave = brentq(partial(bench.angle, longer=row.rod), -14.0, 14.0, xtol=1e-12)
        assert row.ride_height == pytest.approx(-heave, abs=1e-8)
        assert row.across is None
        assert row.rod_reset == -row.rod
        built = bench.built(heave, row.rod)
        agree(row.settled, built)
        assert row.camber == pytest.approx(np.degrees(built.wheel.camber - axle.wheel.camber), abs=1e-9)
        assert row.toe == pytest.approx(np.degrees(built.wheel.toe - axle.wheel.toe), abs=1e-9)
        agree(row.held, bench.built(0.0, row.rod))
        angle = bench.angle(0.0, row.rod)
        for name in axle.struts:
            assert row.lengths[name] == pytest.approx(bench.strut(name, angle) - bench.strut(name, 0.0), abs=1e-9)
    drawn = table.rod[2]
    assert drawn.ride_height == pytest.approx(0.0, abs=1e-9)
    assert drawn.settled == pytest.approx(dict(table.drawn))
    assert (table.rod[3].ride_height or 0.0) * (table.rod[1].ride_height or 0.0) < 0.0


@pytest.mark.parametrize("kind", ["front", "rear"])
def test_a_hole_without_springs_is_the_axle_solved_anew(kind: str) -> None:
    axle = AXLES[kind]()
    rows = adjustment_table(axle, travel_of(axle), setting("heave")).holes["heave"]
    before = Bench(axle).strut("heave", 0.0)
    for at, row in enumerate(rows):
        bored = with_hole(axle, "heave", HOLES, np.asarray(at))
        bench = Bench(bored)
        agree(row.held, bored)
        kept = brentq(lambda angle, bench=bench: bench.strut("heave", angle) - before, -0.4, 0.4, xtol=1e-14)
        heave = brentq(lambda h, bench=bench, kept=kept: bench.angle(h, 0.0) - kept, -30.0, 30.0, xtol=1e-12)
        assert (row.hole, row.rod) == (at, 0.0)
        assert row.ride_height == pytest.approx(-heave, abs=1e-8)
        agree(row.settled, bench.built(heave, 0.0))
        eye, end = bench.eye(0.0), bench.turned(bench.points.rod_inboard, kept)
        assert row.rod_reset == pytest.approx(np.linalg.norm(eye - end) - bench.points.rod_length, abs=1e-8)
        assert row.lengths["heave"] == pytest.approx(bench.strut("heave", 0.0) - before, abs=1e-9)


def heave_force(bench: Bench, heave: float, longer: float, rate: float, force: float, free: float) -> float:
    """dU/dh [N] of one coil on the heave strut, by central differences of lengths solved anew."""

    def energy(h: float) -> float:
        c = free - bench.strut("heave", bench.angle(h, longer))
        return force * c + 0.5 * rate * c * c

    step = 1e-3
    return (energy(heave + step) - energy(heave - step)) / (2.0 * step)


@pytest.mark.parametrize("part", ["rod", "hole"])
def test_on_springs_the_body_rests_where_they_hold_what_they_hold_as_drawn(part: str) -> None:
    """2240 N on each wheel; the coil's force at static is 2 W over the motion ratio, and it keeps its perches."""
    axle = front()
    table = adjustment_table(axle, travel_of(axle), setting("heave", fittings_for(axle)))
    drawn, rate = Bench(axle), 220.0
    free, ratio = drawn.strut("heave", 0.0), table.drawn["heave.motion_ratio"]
    assert table.sprung
    assert ratio is not None
    rows: tuple[Setting, ...] = table.rod[:2] if part == "rod" else table.holes["heave"]
    for row in rows:
        bored = axle if row.hole is None else with_hole(axle, "heave", HOLES, np.asarray(row.hole))
        bench = Bench(bored)
        assert row.ride_height is not None
        force = 2.0 * 2240.0 / ratio
        held = heave_force(bench, -row.ride_height, row.rod, rate, force, free)
        assert held == pytest.approx(2.0 * 2240.0, rel=1e-6)
        agree(row.settled, bench.built(-row.ride_height, row.rod))
        assert row.rod_reset is not None
        held = heave_force(bench, 0.0, row.rod + row.rod_reset, rate, force, free)
        assert held == pytest.approx(2.0 * 2240.0, rel=1e-6)


def test_one_rod_alone_moves_load_across() -> None:
    """By an energy of both sides, each rocker at its own angle, and central differences of it."""
    axle = front()
    springs = fittings_for(axle)
    table = adjustment_table(axle, travel_of(axle), setting(None, springs))
    bench, ratio = Bench(axle), table.drawn["heave.motion_ratio"] or 0.0
    drawn = {name: bench.strut(name, 0.0) for name in axle.struts}

    def energy(left: float, right: float, longer: float) -> float:
        """Of the heave strut's coil and the opposed pair, inside its preload, on the roll strut: 2 k c."""
        ends = bench.angle(left, longer), bench.angle(right, 0.0)
        c = {name: length - _between(bench.points, axle, name, *ends, bench) for name, length in drawn.items()}
        heave = 2.0 * 2240.0 / ratio * c["heave"] + 0.5 * 220.0 * c["heave"] ** 2
        return heave + 0.5 * 2.0 * 90.0 * c["roll"] ** 2

    step = 1e-3
    row = table.rod[3]

    def by_heave(h: float) -> float:
        return (energy(h + step, h + step, row.rod) - energy(h - step, h - step, row.rod)) / (2.0 * step)

    h = brentq(lambda at: by_heave(at) - 2.0 * 2240.0, -10.0, 5.0, xtol=1e-10)
    by_roll = (energy(h + step, h - step, row.rod) - energy(h - step, h + step, row.rod)) / (2.0 * step)
    assert row.across == pytest.approx(0.5 * by_roll, rel=1e-6)
    assert row.across is not None
    assert row.across > 100.0
    assert [(one.across or 0.0) > 0.0 for one in table.rod] == [False, False, False, True, True]


def _between(points: Hardpoints, axle: Axle, name: str, left: float, right: float, bench: Bench) -> float:
    element = axle.elements[name]
    assert isinstance(element, CrossStrut)
    end = bench.turned(points.pickups[element.left], left)
    return float(np.linalg.norm(MIRROR_Y * bench.turned(points.pickups[element.right], right) - end))


@pytest.mark.parametrize("axle", [front_corner(), with_bars(front())], ids=["corner struts", "bars"])
def test_axles_of_every_element_have_rows(axle: Axle) -> None:
    table = adjustment_table(axle, travel_of(axle), setting("heave" if "heave" in axle.rocker.pickups else None))
    sprung = adjustment_table(axle, travel_of(axle), setting(None, fittings_for(axle)))
    assert sprung.sprung
    for row in (table.rod[3], sprung.rod[3]):
        assert row.ride_height is not None
        assert 0.5 < row.ride_height / row.rod < 3.0
        assert all(value is not None for value in row.settled.values())
    assert sprung.rod[3].across is not None
    assert sprung.rod[2].across == pytest.approx(0.0, abs=1e-6)


def test_a_rod_that_cannot_reach_leaves_nothing() -> None:
    axle = front()
    adjust = Adjustments(RodThread(90.0, (-2.0, 2.0)))
    table = adjustment_table(axle, travel_of(axle), Fittings(adjust=adjust))
    last = table.rod[-1]
    assert last.ride_height is None
    assert set(last.settled.values()) == {None}
    assert table.rod[2].ride_height == pytest.approx(0.0, abs=1e-9)


def test_nothing_to_set_gives_an_empty_table() -> None:
    axle = front()
    table = adjustment_table(axle, travel_of(axle), Fittings())
    assert (table.rod, dict(table.holes)) == ((), {})
