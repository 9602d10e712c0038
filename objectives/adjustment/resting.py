"""Where the body comes to rest once something is set: what held it up before holds it up again.

Springs that resist heave carry what they carry as drawn: U_h(h) = U_h of the axle as drawn at static. Without them the
first element written that works in heave stays as long, or as twisted, as it is drawn. The body moves in heave alone:
it is level in roll as drawn, and both sides are set alike.

| symbol | meaning | shape | unit |
|---|---|---|---|
| h | heave at which it rests: both wheels by so much nearer the body | (*B) | mm |
| U | energy in the springs | (*B) | N.mm |
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from geometry.anywhere import side_at
from geometry.arrays import Array, norm
from geometry.axle import Axle, CornerStrut, CrossStrut, Mode, TorsionBar
from geometry.motion import Motion, move
from geometry.side import Pairs
from geometry.side_motion import SideMotion
from geometry.strut import strut_line
from geometry.travel import heave_states
from objectives.fittings.fitted import Fittings
from objectives.fittings.installed import Installed, install
from objectives.fittings.law import Law
from objectives.loads.newton import balance
from objectives.strain import Strain, strain_of

NEAR = 1e-9
"""It rests when what holds it misses by no more than this share of what it holds, or of a strut's mm."""
HOLDS = 1e-6
"""Springs of which K_h is above this [N/mm] hold the body."""

FIRST_TURN, LONGEST, MOST_STEPS = 0.1, 20.0, 40
"""Of the search for a rod's length: its first step and its longest one [mm], and how many it may take."""


@dataclass(frozen=True)
class Hold:
    """What holds the body up: `springs` by element, their compression counted from the axle as drawn.

    `load`: U_h at which it rests [N]. `lean`: how much more the left wheel carries than the mean of both, as drawn [N].
    `lengths`: the struts' lengths as drawn [mm]. `keeps`: where no springs hold it, the element that stays as it is.
    """

    springs: Mapping[str, Installed]
    load: Array
    lean: Array
    lengths: Mapping[str, Array]
    keeps: str | None = None

    @property
    def sprung(self) -> bool:
        """Whether springs hold the body."""
        return self.keeps is None


def hold_of(axle: Axle, fittings: Fittings) -> Hold | None:
    """What holds an axle (no batch axes) up as drawn; None where nothing works in heave."""
    static = move(axle, heave_states(np.zeros(1)))
    lengths = {name: norm(strut_line(static.side, name)) for name in axle.struts}
    springs = install(axle, fittings, static)
    strain = strain_of(axle, springs, static)
    if springs and (strain.curvature.heave > HOLDS).all():
        return Hold(springs, (strain.by_left + strain.by_right)[..., 0], lean_of(strain), lengths)
    name, none = _works_in_heave(axle), np.asarray(0.0)
    return None if name is None else Hold({}, none, none, lengths, keeps=name)


def rest(guide: SideMotion, hold: Hold) -> Array:
    """Heave h (*B) [mm] at which the body rests, NaN where it does not. `guide`: the left side as set, at rack 0."""
    return level(lambda h: _missed(Motion(side_at(guide, h[..., None]), _ALIKE), hold), guide.batch, hold)


def level(missed: Callable[[Array], tuple[Array, Array]], batch: tuple[int, ...], hold: Hold) -> Array:
    """The heave (*B) [mm] at which the body is held, NaN where there is none.

    `missed` takes heaves (*B) to what is missed there, and to its growth with heave, above 0 where it lasts (*B).
    """

    def equations(z: Array) -> tuple[Array, Array]:
        (miss, slope), none = missed(z[..., 0]), np.zeros(batch)
        rows = [[slope, none], [none, none + 1.0]]
        return np.stack([miss, z[..., 1]], axis=-1), np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)

    found = balance(equations, np.zeros((*batch, 2)), np.full(batch, _near(hold)))
    return np.where(found.found, found.at[..., 0], np.nan)


def missed_by(strain: Strain, hold: Hold) -> tuple[Array, Array]:
    """By how much springs miss what they should hold [N], and how that grows with heave [N/mm], in one state (*B)."""
    bend, miss = strain.curvature, (strain.by_left + strain.by_right)[..., 0] - hold.load
    return miss, np.asarray((bend.left + bend.right + 2.0 * bend.across)[..., 0])


def _missed(motion: Motion, hold: Hold) -> tuple[Array, Array]:
    """The same of an axle as set, both wheels alike; in mm, or rad, where an element stays as it is."""
    if hold.keeps is None:
        return missed_by(strain_of(motion.side.axle, shifted(motion.side, hold), motion), hold)
    squeeze = motion.squeeze(hold.keeps)
    slope = (squeeze.by_left + squeeze.by_right)[..., 0]
    kept = squeeze.compression[..., 0] + _shortened(motion.side, hold, hold.keeps)
    return np.where(slope < 0.0, -kept, kept), np.abs(slope)


def _near(hold: Hold) -> float:
    return NEAR * max(float(hold.load), 1.0)


def lean_of(strain: Strain) -> Array:
    """By how much more the left wheel carries than the mean of both [N], from what springs do in one state (*B, 1)."""
    return np.asarray(0.5 * (strain.by_left - strain.by_right)[..., 0])


def rod_that_restores(trace: Callable[[Array], SideMotion], batch: tuple[int, ...], hold: Hold) -> Array:
    """By how much longer the rods (*B) [mm] hold the body at the ride height as drawn; NaN where none do.

    `trace` gives the left side as set, at static at least, with rods longer by so much. By the secant method.
    """

    def miss(longer: Array) -> Array:
        return _missed(Motion(trace(longer), _ALIKE), hold)[0]

    near = _near(hold)
    at, before = np.zeros(batch), np.full(batch, FIRST_TURN)
    here, there = miss(at), miss(before)
    for _ in range(MOST_STEPS):
        done = ~(np.abs(here) > near) | (here == there)
        if done.all():
            break
        step = here * (at - before) / np.where(done, 1.0, here - there)
        before, there = np.where(done, before, at), np.where(done, there, here)
        at = np.where(done, at, at - np.clip(step, -LONGEST, LONGEST))
        here = miss(at)
    return np.where(np.abs(here) <= near, at, np.nan)


def strain_at(guide: SideMotion, springs: Mapping[str, Installed], h: Array) -> Strain:
    """What springs do with both wheels at `h` (*B) [mm]: arrays (*B, 1)."""
    return strain_of(guide.axle, springs, Motion(side_at(guide, h[..., None]), _ALIKE))


def shifted(side: SideMotion, hold: Hold) -> dict[str, Installed]:
    """The springs for compressions that count from the struts' own lengths at static in `side`."""
    return {name: _shift(one, _shortened(side, hold, name)) for name, one in hold.springs.items()}


def _shortened(side: SideMotion, hold: Hold, name: str) -> Array:
    """By how much a strut of `side` is shorter, at static and with the rocker as drawn, than as drawn (*B) [mm].

    0 for a bar: its links are made to fit.
    """
    return hold.lengths[name] - norm(strut_line(side, name)) if name in hold.lengths else np.asarray(0.0)


_ALIKE = Pairs(np.zeros(1, dtype=np.intp), np.zeros(1, dtype=np.intp))


def _works_in_heave(axle: Axle) -> str | None:
    for name, element in axle.elements.items():
        if isinstance(element, CornerStrut | TorsionBar) or (
            isinstance(element, CrossStrut) and element.serves is Mode.HEAVE
        ):
            return name
    return None


def _shift(springs: Installed, by: Array) -> Installed:
    law = springs.law
    knees = tuple(replace(knee, at=np.asarray(knee.at - by)) for knee in law.knees)
    moved = Law(np.asarray(law.start + law.rate * by), law.rate, knees)
    return Installed(moved, springs.slack_at - by, springs.solid_at - by, springs.knee_at)
