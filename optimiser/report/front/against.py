"""What one results folder has that another lacks: by hypervolume, and member by member.

This room imports the search, and is itself imported only where two folders are compared.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import wrap

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import Array
from optimiser.errors import RockwrightError
from optimiser.report.front.document import Plain
from optimiser.report.front.short_names import short_figures
from optimiser.report.results.store import Store
from optimiser.report.results.union import minimised
from optimiser.report.tables.text_table import Column, column, figures, spread
from optimiser.search.added import most_adding
from optimiser.search.volume import nondominated, reference_of, volume

TOP = 10
"""Members listed where nothing is said."""


class OtherGoalsError(RockwrightError):
    """Two folders whose objectives are not the same."""


@dataclass(frozen=True)
class Against:
    """What the folder `other` has that `own` lacks.

    `reference` is the point that all hypervolumes here are taken before, `volumes` those of `own`, of `other` and of
    both together; both None where there is no objective. `new`: the ids of the members of `other` that nothing in
    `own` equals or is better than in every objective; `beaten`: of those of `own` that such a member dominates. `top`:
    the new members that add most, each beside those before it, by (row, what it adds to the hypervolume).
    """

    own: Store
    other: Store
    reference: tuple[float, ...] | None
    volumes: tuple[float, float, float] | None
    new: tuple[int, ...]
    beaten: tuple[int, ...]
    top: tuple[tuple[int, float], ...]

    @property
    def shares(self) -> tuple[float, float] | None:
        """The shares of the hypervolume of both together that `own` and `other` cover; None where there is none."""
        if self.volumes is None or self.volumes[2] <= 0.0:
            return None
        return self.volumes[0] / self.volumes[2], self.volumes[1] / self.volumes[2]


def against(own: Store, other: Store, top: int = TOP) -> Against:
    """Compare two results folders with the same goals; their studies may differ in anything else.

    A design that both hold is not new, whatever the last digits of its figures. The reference is the farthest of both
    folders' and of one that every member lies before. Raises OtherGoalsError where their goals are not the same.
    """
    if own.manifest.goals != other.manifest.goals:
        raise OtherGoalsError(
            f"{own.folder} and {other.folder} hold results for other goals ({own.manifest.study!r}, "
            f"{other.manifest.study!r}): only fronts with the same goals and scales can be compared"
        )
    a, b = minimised(own.front, own.manifest), minimised(other.front, other.manifest)
    fresh = np.flatnonzero(_fresh(own, other))
    both = np.concatenate([a, b[fresh]])
    kept = nondominated(both)
    new = fresh[kept[len(a) :]]
    reference = _reference(own, other, np.concatenate([a, b]))
    if reference is None:
        adding, volumes = [(row, 0.0) for row in range(len(new))][:top], None
    else:
        adding = most_adding(b[new], a, reference, top)
        volumes = (volume(a, reference), volume(b, reference), volume(both, reference))
    return Against(
        own=own,
        other=other,
        reference=None if reference is None else tuple(reference.tolist()),
        volumes=volumes,
        new=tuple(other.front.ids[row] for row in new),
        beaten=tuple(name for name, stays in zip(own.front.ids, kept[: len(a)], strict=True) if not stays),
        top=tuple((int(new[row]), gain) for row, gain in adding),
    )


def against_lines(found: Against, wide: int) -> list[str]:
    """The comparison in words, in lines of at most `wide` characters, and a table of the members that add most."""
    own, other = found.own.folder, found.other.folder
    lines = [line for told in _header(found) for line in wrap(told, wide)]
    if not found.new:
        return [*lines, f"{other} has nothing that {own} lacks"]
    listed = [*_table(found)] if found.top else ["none of them adds to the hypervolume"]
    return [*lines, "", f"what of {other} adds most to {own}, each beside those above it:", "", *listed]


def against_json(found: Against) -> str:
    """The comparison as one JSON document; volumes and shares are null where there is no objective."""
    volumes, shares = found.volumes or (None, None, None), found.shares or (None, None)
    document: dict[str, Plain] = {
        "own": _folder(found.own, volumes[0], shares[0]),
        "other": _folder(found.other, volumes[1], shares[1]),
        "both": {"hypervolume": volumes[2]},
        "reference": None if found.reference is None else list(found.reference),
        "new": list(found.new),
        "beaten": list(found.beaten),
        "top": [{"id": found.other.front.ids[row], "adds": gain} for row, gain in found.top],
    }
    return json.dumps(document, allow_nan=False)


def _fresh(own: Store, other: Store) -> NDArray[np.bool_]:
    """(N,) flags: which members of `other` are designs that `own` does not hold."""
    if own.manifest.fingerprint != other.manifest.fingerprint:
        return np.ones(len(other.front.ids), dtype=np.bool_)
    known = set(zip(*own.front.variables.values(), strict=True))
    points = zip(*other.front.variables.values(), strict=True)
    return np.array([point not in known for point in points], dtype=np.bool_)


def _reference(own: Store, other: Store, objectives: Array) -> Array | None:
    """The farthest of both folders' references and of one beyond every member; None without objectives or members."""
    if not own.manifest.objectives or not len(objectives):
        return None
    farthest = reference_of(objectives)
    for store in (own, other):
        farthest = np.maximum(farthest, store.manifest.reference or farthest)
    return farthest


def _header(found: Against) -> Iterator[str]:
    own, other = found.own, found.other
    yield own.manifest.study
    if own.manifest.fingerprint != other.manifest.fingerprint:
        yield "the two study files differ; their goals are the same"
    for place, store in enumerate((own, other)):
        covers = f", {_percent(found.shares[place])} of the hypervolume of both together" if found.shares else ""
        yield f"{store.folder}: {len(store.front.ids):,} members{covers}"
    yield f"{len(found.new):,} members of {other.folder} are new: nothing in {own.folder} is as good in every objective"
    beaten = f"{len(found.beaten):,} members of {own.folder} are beaten by one of these"
    yield f"{beaten}: it is better in one objective, worse in none"


def _table(found: Against) -> list[str]:
    front, manifest = found.other.front, found.other.manifest
    wishes = [goal.figure for goal in manifest.objectives]
    rows = [row for row, _ in found.top]
    columns = [column("id", [str(front.ids[row]) for row in rows], left=True)]
    if found.volumes:
        gains = np.array([gain for _, gain in found.top]) / found.volumes[2]
        columns.append(column("adds", [_percent(gain) for gain in gains]))
        columns.append(column("in all", [_percent(gain) for gain in np.cumsum(gains)]))
    for name, short in zip(wishes, short_figures(wishes), strict=True):
        entry = manifest.figures[name]
        columns.append(
            Column((*short, entry.unit), [figures(front.figures[name][row], entry.decimals) for row in rows])
        )
    return spread(columns, gap=2)


def _folder(store: Store, covered: float | None, share: float | None) -> dict[str, Plain]:
    return {"folder": str(store.folder), "members": len(store.front.ids), "hypervolume": covered, "share": share}


def _percent(share: float) -> str:
    return f"{100.0 * share:.2f} %"
