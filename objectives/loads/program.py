"""Goals on rates and load cases compiled into a program, as `objectives.program` does for goals on geometry.

It gives what `objectives.parts.goal_parts` gives, which is its slow twin, for the goals whose figures it knows.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array
from geometry.axle import Axle, CornerStrut
from geometry.hardpoints import batch_shape, place
from geometry.lanes import LANES
from geometry.placing import place_in_lanes
from geometry.pose_path import PosePath, upright_of
from geometry.rod import carry_rod_eye
from geometry.side import untied_states
from geometry.travel import Travel
from objectives.fittings.fitted import Fittings
from objectives.goals import Goal
from objectives.loads.cases import SideForces, case_states
from objectives.loads.compiled import settle_all
from objectives.loads.numbers import Numbers, is_known, needs_cases, needs_links, read_figure
from objectives.loads.pose import pose_of
from objectives.loads.records import Tables
from objectives.loads.settle import Ground, ground_of
from objectives.loads.tables import Laws, trace_paths, write_laws
from objectives.loads.upright import wheel_wrench
from objectives.parts import goal_rows
from objectives.strain import Curvature


class LoadProgram:
    """The goals on rates and load cases that can be compiled, for axles made like `axle`, batch axes (blocks, LANES).

    `known` are the positions among `goals` of those goals, in order; `sizes` the number of parts of each. None is known
    where wheel or links have batch axes of their own, or where a spring or a bar is of a kind that the pass has not.
    """

    def __init__(self, goals: Sequence[Goal], axle: Axle, travel: Travel, fittings: Fittings) -> None:
        levers: list[str | None] = [*axle.rocker.pickups, None]
        laws = None if _outboard_varies(axle) else write_laws(axle, fittings, levers)
        known = [] if laws is None else [n for n, goal in enumerate(goals) if is_known(goal.figure, fittings)]
        self.known = tuple(known)
        self.sizes: tuple[int, ...] = ()
        self._goals = [goals[place] for place in known]
        if laws is not None and known:
            names = [goal.figure for goal in self._goals]
            loaded = replace(fittings.loads, cases=fittings.loads.cases if any(map(needs_cases, names)) else {})
            with_links = any(map(needs_links, names))
            self._pass = _Pass(axle, travel, replace(fittings, loads=loaded), laws, levers, with_links=with_links)
            self.sizes = tuple(rows.shape[-1] for rows in self._rows(axle))

    def run(self, axle: Axle) -> Array:
        """The parts (blocks * LANES, R) of a batch laid out in lanes; NaN where a figure is null; some are known."""
        return np.concatenate(self._rows(axle), axis=-1)

    def _rows(self, axle: Axle) -> list[Array]:
        numbers = self._pass.measure(axle)
        return [goal_rows(goal, *read_figure(goal.figure, numbers)) for goal in self._goals]


class _Pass:
    """What a pass over candidates needs, worked out once."""

    def __init__(
        self,
        axle: Axle,
        travel: Travel,
        fittings: Fittings,
        laws: Laws,
        levers: list[str | None],
        *,
        with_links: bool,
    ) -> None:
        self._wheel, self._fittings, self._levers, self._with_links = travel.wheel, fittings, levers, with_links
        self._ground = ground_of(tuple(fittings.loads.cases.values()))
        self._base = axle.rod.outboard.reshape(-1, 3)[0]
        plain = replace(axle, rod=replace(axle.rod, outboard=self._base))
        varies = axle.rod.outboard.ndim > 1
        paths = trace_paths(plain, case_states(travel), self._ground, eye_varies=varies)
        self._pose, bump = paths.pose, travel.heave[1]
        self._tables = Tables(
            travel=paths.travel,
            eye=paths.eye,
            work=paths.work,
            largest=self._ground.largest,
            kinds=laws.kinds,
            laws=laws.rows,
            rest=laws.rest,
            carrier=laws.carrier,
            weight=2.0 * (fittings.loads.sprung_per_wheel or 0.0),
            states=np.array([[0.0, 0.0], [bump, bump]]),
            start=np.zeros((len(self._ground.largest), 2)),
        )
        first = self.measure(axle).travel[0].reshape(-1, 2)
        self._tables = self._tables._replace(start=np.where(np.isnan(first), 0.0, first))

    def measure(self, axle: Axle) -> Numbers:
        """The numbers behind the goals for a batch laid out in lanes."""
        blocks = next(iter(batch_shape(axle)), 1)
        placed = place_in_lanes(axle, self._levers, blocks)
        carried, chassis = np.empty((blocks, 3, LANES)), _chassis(axle, blocks)
        carried[...] = np.moveaxis(np.broadcast_to(axle.rod.outboard - self._base, (blocks, LANES, 3)), -1, 1)
        rates, found = settle_all(self._tables, carried, placed.rod, placed.levers, chassis)
        rates, found = np.moveaxis(rates, -1, 1), np.moveaxis(found, -1, 1)
        rod_length = np.sqrt(placed.rod[:, 15])
        links = _links(axle, self._pose, self._ground, found, rod_length) if self._with_links else None

        def flat(values: Array) -> Array:
            return values.reshape(blocks * LANES, *values.shape[2:])

        def of_cases(first: int) -> Array:
            return flat(found[..., first : first + 2].reshape(blocks, LANES, -1))

        return Numbers(
            spring=Curvature(*np.moveaxis(flat(rates)[..., :3], -1, 0)),
            geometric=Curvature(*np.moveaxis(flat(rates)[..., 3:], -1, 0)),
            travel=of_cases(0),
            rod=of_cases(2),
            pivot=of_cases(4),
            tension=flat(links.tension) if links else None,
            bending=flat(links.bending) if links else None,
            rod_length=flat(rod_length),
            track=2.0 * axle.wheel.centre[..., 1],
            wheel=self._wheel,
            tube=self._fittings.loads.rod_tube,
            links=tuple(axle.links),
        )


@dataclass(frozen=True)
class _Links:
    """`tension` (blocks, LANES, 2 M, 5, 2) [N], `bending` (blocks, LANES, 2 M, 5) [N.mm]."""

    tension: Array
    bending: Array


def _links(axle: Axle, path: PosePath, ground: Ground, found: Array, rod_length: Array) -> _Links:
    """The links at rest, from travels and directions of the rods, `found` (blocks, LANES, M, FOUND)."""
    points, inboard, tensions, bendings = place(axle), ground.brake_inboard.astype(np.float64), [], []
    for half, force in enumerate((ground.left, ground.right)):
        z, along = found[..., half], found[..., 6 + 3 * half :][..., :3]
        upright = upright_of(axle.wheel.centre, *path.at(z))
        eye = carry_rod_eye(axle, upright, untied_states(z.shape[-1]))[0]
        pose = pose_of(axle, points, upright, eye, eye - rod_length[..., None, None] * along)
        side = SideForces(pose, wheel_wrench(pose, force, inboard), {})
        tensions.append(np.stack([side.upright.outer, side.upright.tension], axis=-1))
        bendings.append(np.broadcast_to(side.bending, side.upright.tension.shape))
    tension, bending = np.stack(tensions, axis=3), np.stack(bendings, axis=3)
    shape = (*z.shape[:2], 2 * z.shape[2])
    return _Links(tension.reshape(*shape, *tension.shape[-2:]), bending.reshape(*shape, bending.shape[-1]))


def _outboard_varies(axle: Axle) -> bool:
    ends = [end for link in axle.links.values() for end in (link.inboard, link.outboard)]
    angles = (axle.wheel.toe, axle.wheel.camber)
    return any(point.ndim > 1 for point in (axle.wheel.centre, *ends)) or any(np.ndim(angle) for angle in angles)


def _chassis(axle: Axle, blocks: int) -> Array:
    """Chassis points of the corner struts (C, blocks, 3, LANES)."""
    points = [element.chassis for element in axle.struts.values() if isinstance(element, CornerStrut)]
    columns = [np.swapaxes(np.broadcast_to(point, (blocks, LANES, 3)), 1, 2) for point in points]
    return np.ascontiguousarray(np.stack(columns)) if columns else np.zeros((0, blocks, 3, LANES))
