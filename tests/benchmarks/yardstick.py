"""How good a front is: its hypervolume as a share of the best-known front's, and best-known fronts kept as files.

Objectives are scaled so that the best-known front's best in each is 0 and its worst is 1 (ideal and nadir); the
reference point is `REFERENCE` in each. Only what lies before the reference counts.

Symbols: N members, M objectives, all minimised.
"""

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from geometry.arrays import Array, Indices
from optimiser.search.volume import nondominated, volume

REFERENCE = 1.1
"""The reference point, in each scaled objective."""
LOSS = 0.001
"""Share of the hypervolume that a best-known front may lose when it is thinned to be kept."""
COARSEST, FINEST = 4, 200
"""Boxes to a side of the grids by which a front is thinned."""
DIGITS = 9
"""Significant digits of a kept objective."""


class OtherStudyError(Exception):
    """A best-known front that was found for another study than the one at hand."""


@dataclass(frozen=True)
class Yardstick:
    """The best-known front `best` (N, M), N > 0, none of which dominates another, and what follows from it."""

    best: Array

    @property
    def ideal(self) -> Array:
        """The best of each objective (M,)."""
        return np.asarray(self.best.min(axis=0))

    @property
    def nadir(self) -> Array:
        """The worst of each objective on the front (M,)."""
        return np.asarray(self.best.max(axis=0))

    def volume(self, front: Array) -> float:
        """Hypervolume of a front (N, M), in scaled objectives; 0 for none."""
        return volume(self._scaled(front), np.full(self.best.shape[1], REFERENCE))

    def fractions(self, fronts: Iterable[Array]) -> list[float]:
        """The hypervolume of each front as a share of the best-known one's."""
        whole = self.volume(self.best)
        return [self.volume(front) / whole for front in fronts]

    def thinned(self, least: float = 0.0) -> Array:
        """A part of the best-known front that keeps all but `LOSS` of its hypervolume, and `least` of it at any rate.

        Of the members that share a box of a grid over the scaled objectives the one with the smallest sum stays, and
        so does the best in each objective; the grid is the coarsest that keeps enough.
        """
        enough = max(least, (1.0 - LOSS) * self.volume(self.best))
        for sides in range(COARSEST, FINEST, 2):
            fewer = self.best[self._one_a_box(sides)]
            if self.volume(fewer) >= enough:
                return fewer
        return self.best

    def _one_a_box(self, sides: int) -> Indices:
        scaled = self._scaled(self.best)
        order = np.argsort(scaled.sum(axis=1), kind="stable")
        boxes = np.minimum((scaled[order] * sides).astype(np.int64), sides - 1)
        first = np.unique(boxes, axis=0, return_index=True)[1]
        return np.unique(np.concatenate([order[first], self.best.argmin(axis=0)]))

    def _scaled(self, front: Array) -> Array:
        span = self.nadir - self.ideal
        return np.asarray((front - self.ideal) / np.where(span > 0.0, span, 1.0))


def yardstick_of(fronts: Sequence[Array]) -> Yardstick:
    """The yardstick that several fronts, one of them at least not empty, come to together."""
    together = np.concatenate(fronts)
    if not len(together):
        raise ValueError("no run found anything feasible, and no best-known front is kept: there is nothing to compare")
    return Yardstick(together[nondominated(together)])


def write_best(path: Path, yardstick: Yardstick, front: Array, names: Sequence[str], fingerprint: str) -> None:
    """Keep a front (N, M), a thinned best-known one, whose objectives have `names`, of the study with `fingerprint`.

    Members that are alike, or worse than another, once they are written with `DIGITS` digits are left out.
    """
    rounded = np.loadtxt(_rows(front).splitlines(), delimiter=",", ndmin=2)
    rounded = rounded[nondominated(rounded)]
    head = [
        "# Best-known front; objectives minimised and dimensionless, as a search sees them. Made by renew.py.",
        f"# study: {fingerprint}",
        f"# ideal: {_numbers(yardstick.ideal)}",
        f"# nadir: {_numbers(yardstick.nadir)}",
        f"# reference: {REFERENCE:g} in each objective, the ideal scaled to 0 and the nadir to 1",
        f"# hypervolume: {yardstick.volume(front):.6f} of {yardstick.volume(yardstick.best):.6f} before thinning",
        ",".join(names),
    ]
    path.write_text("\n".join(head) + "\n" + _rows(rounded[np.lexsort(rounded.T[::-1])]), encoding="utf-8")


def read_best(path: Path, names: Sequence[str], fingerprint: str) -> Array:
    """The kept front (N, M), empty where there is none yet. Raises OtherStudyError where it is another study's."""
    if not path.exists():
        return np.zeros((0, len(names)))
    lines = path.read_text(encoding="utf-8").splitlines()
    head = [line for line in lines if line.startswith("#")]
    if f"# study: {fingerprint}" not in head or lines[len(head)] != ",".join(names):
        raise OtherStudyError(
            f"{path} was found for another version of the study: remove it and run renew.py to find it anew"
        )
    return np.loadtxt(lines[len(head) + 1 :], delimiter=",", ndmin=2)


def _rows(front: Array) -> str:
    rows = io.StringIO()
    np.savetxt(rows, front, fmt=f"%.{DIGITS}g", delimiter=",")
    return rows.getvalue()


def _numbers(values: Array) -> str:
    return " ".join(f"{value:.{DIGITS}g}" for value in values)
