"""Islands' finds as one state: those of an epoch put together in the order of the islands, whoever was done first."""

from dataclasses import replace

import numpy as np

from geometry.arrays import Array
from optimiser.search.archive import Archive, absorb, with_reference
from optimiser.search.plan import learned
from optimiser.search.snapshot import Epoch, GrowthPoint, Snapshot
from optimiser.search.volume import reference_of, volume


def merged(epoch: Epoch, capacity: int) -> Snapshot:
    """What the epochs before and the islands have found, wherever these stand.

    The growth is the start's, and one point more; its time is the start's too. Where all islands are finished, the
    epoch is one of those that are done.
    """
    start, begun = epoch.start, [one for one in epoch.islands if one is not None]
    archive = Archive(
        ids=start.ids,
        x=start.x,
        objectives=start.objectives,
        next_id=max([start.next_id, *(one.next_id for one in begun)]),
        reference=next((one.reference for one in [start, *begun] if one.reference is not None), None),
        capacity=capacity,
    )
    new = [one.ids >= start.next_id for one in begun]
    if begun:
        archive = absorb(
            archive,
            np.concatenate([one.ids[rows] for one, rows in zip(begun, new, strict=True)]),
            np.concatenate([one.x[rows] for one, rows in zip(begun, new, strict=True)]),
            np.concatenate([one.objectives[rows] for one, rows in zip(begun, new, strict=True)]),
        )
    archive = with_reference(archive)
    done = all(epoch.finished)
    point = _point(start, begun, archive)
    closest = min([start, *begun], key=lambda one: one.closest_violation)  # of equal ones the first
    return Snapshot(
        ids=archive.ids,
        x=archive.x,
        objectives=archive.objectives,
        population=start.population[:0] if done else start.population,
        evaluations=point.evaluations,
        seconds=start.seconds,
        next_id=archive.next_id,
        growth=(*start.growth, point),
        reference=archive.reference,
        closest=None if len(archive) else closest.closest,
        closest_violation=np.inf if len(archive) else closest.closest_violation,
        habits=_habits([one.habits for one in begun if one.habits]) or start.habits,
        margin=_margin([one.margin for one in [start, *begun] if one.margin]),
        epochs=start.epochs + done,
        gains=learned(start.gains, epoch.manners, _gained(epoch)) if done and start.epochs else start.gains,
        epoch=None if done else epoch,
    )


def _point(start: Snapshot, begun: list[Snapshot], archive: Archive) -> GrowthPoint:
    before = start.growth[-1] if start.growth else GrowthPoint(0, 0.0, 0, 0, 0.0)
    ends = [one.growth[-1] for one in begun if one.growth]
    return GrowthPoint(
        evaluations=start.evaluations + sum(one.evaluations - start.evaluations for one in begun),
        seconds=start.seconds,
        feasible=before.feasible + sum(end.feasible - before.feasible for end in ends),
        members=len(archive),
        hypervolume=archive.volume,
        taken_out=before.taken_out + sum(end.taken_out - before.taken_out for end in ends),
    )


def _habits(each: list[tuple[float, ...]]) -> tuple[float, ...]:
    """The mean of what islands learned of their ways, and the most that one started afresh: its last number."""
    if not each:
        return ()
    table = np.array(each)
    return (*table[:, :-1].mean(axis=0).tolist(), float(table[:, -1].max()))


def _margin(each: list[tuple[float, ...]]) -> tuple[float, ...]:
    """The largest margin that any island needs."""
    return tuple(np.array(each).max(axis=0).tolist()) if each else ()


def _gained(epoch: Epoch) -> tuple[float, ...]:
    """What each island has added to its start's hypervolume, per evaluation; nothing where there was no front."""
    start, islands = epoch.start, [one for one in epoch.islands if one is not None]
    if not len(start.ids):
        return (0.0,) * len(islands)
    both: list[Array] = [start.objectives, *(one.objectives for one in islands)]
    reference = reference_of(np.concatenate(both))
    before = volume(start.objectives, reference)
    return tuple(
        max(volume(one.objectives, reference) - before, 0.0) / quota
        for one, quota in zip(islands, epoch.quotas, strict=True)
    )


def timed(snapshot: Snapshot, seconds: float) -> Snapshot:
    """A merged state with its time [s], over all runs, and that of its last point of growth.

    A point that has no more evaluations than the one before is left out.
    """
    *before, last = snapshot.growth
    if before and last.evaluations <= before[-1].evaluations:
        return replace(snapshot, seconds=seconds, growth=tuple(before))
    return replace(snapshot, seconds=seconds, growth=(*before, replace(last, seconds=seconds)))
