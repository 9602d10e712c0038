"""`rockwright search --start-from`: earlier designs read, and what no longer fits told."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from optimiser.errors import RockwrightError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from geometry.arrays import Array
    from optimiser.report.results.earlier import Earlier
    from optimiser.search.problem import Problem
    from optimiser.search.seeding import Seeds
    from optimiser.study.retold import Retold
    from optimiser.study.study import Study

NAMED = 4
"""Names that a line gives at most."""


class StartElsewhereError(RockwrightError):
    """Designs to start from given to a search that cannot take them."""


def earlier_designs(path: str | None, out: Path, *, resume: bool, storage: str | None) -> "Earlier | None":
    """What is to be started from, if anything: nothing where the search goes on from what its folder holds.

    Raises StartElsewhereError for a campaign of several machines, and what reading the path raises.
    """
    from optimiser.report.results.earlier import read_earlier
    from optimiser.report.results.manifest import MANIFEST, read_manifest

    if path is None:
        return None
    if storage is not None:
        raise StartElsewhereError(
            "a campaign of several machines does not take --start-from: leave it or --storage out; "
            "`rockwright merge A B -o C` puts what was found apart together"
        )
    if resume and (out / MANIFEST).is_file() and read_manifest(out).save:
        sys.stderr.write(f"{out} goes on from what it holds; --start-from is left aside\n")
        return None
    return read_earlier(Path(path))


def first_designs(study: "Study", problem: "Problem", earlier: "Earlier") -> "Array":
    """The designs (K, V) that a search begins with; says on the standard error what no longer fits."""
    from optimiser.search.seeding import seeds
    from optimiser.study.retold import retold

    told = retold(study, earlier.study, earlier.x)
    found = seeds(problem, told.x)
    sys.stderr.writelines(f"{line}\n" for line in _lines(study, earlier, told, found))
    return found.x


def _lines(study: "Study", earlier: "Earlier", told: "Retold", found: "Seeds") -> "Iterator[str]":
    from objectives.goals import held

    count, sample = len(earlier.x), found.sample
    like = "" if sample.count == count else f", {sample.count:,} of them unlike"
    yield f"starting from {len(found.x):,} of {_designs(count)} of {earlier.source}{like}"
    if told.absent:
        yield f"  this study's own value is taken where they have none: {_named(told.absent)}"
    if told.other:
        yield f"  other there, not varied here, so as in this study: {_named(told.other)}"
    moved = [f"{one.path} ({times:,})" for one, times in zip(study.variables, found.moved, strict=True) if times]
    if moved:
        yield f"  moved into this study's bounds: {_named(moved)}"
    yield f"  every goal is held by {sample.feasible:,} of {_designs(sample.count)}"
    figures = [goal.figure for goal in held(study.goals)]
    missed = sorted(zip(sample.missed, figures, strict=False), key=lambda pair: -pair[0])
    misses = [f"{figure} ({times:,})" for times, figure in missed if times]
    if misses:
        yield f"  missed: {_named(misses)}"


def _designs(count: int) -> str:
    return f"{count:,} design{'' if count == 1 else 's'}"


def _named(names: "Sequence[str]") -> str:
    more = len(names) - NAMED
    return ", ".join(names[:NAMED]) + (f" and {more} more" if more > 0 else "")
