"""Hypervolume, its reference and dominance, against closed forms, a slow twin and invariances."""

from itertools import product

import numpy as np
import pytest

from geometry.arrays import Array
from optimiser.search.volume import nondominated, reference_of, volume


def front(members: int, objectives: int, seed: int = 0) -> Array:
    """Points on the part of the unit sphere that faces the origin: none dominates another."""
    raw = np.abs(np.random.default_rng(seed).normal(size=(members, objectives)))
    return np.asarray(1.0 - raw / np.linalg.norm(raw, axis=1)[:, None])


def volume_by_inclusion(objectives: Array, reference: Array) -> float:
    """The slow twin: the union of boxes by inclusion and exclusion over all subsets."""
    total = 0.0
    for chosen in product([False, True], repeat=len(objectives)):
        if any(chosen):
            corner = objectives[np.array(chosen)].max(axis=0)
            total -= (-1) ** sum(chosen) * float(np.prod(np.maximum(reference - corner, 0.0)))
    return total


@pytest.mark.parametrize("objectives", [1, 2, 3, 4, 5])
def test_volume_agrees_with_inclusion_and_exclusion(objectives: int) -> None:
    f, reference = np.random.default_rng(objectives).random((7, objectives)), np.full(objectives, 0.9)
    assert volume(f, reference) == pytest.approx(volume_by_inclusion(f, reference), rel=1e-12)


def test_volume_above_five_objectives_is_an_estimate_near_the_truth() -> None:
    f, reference = front(8, 6), np.full(6, 1.1)
    assert volume(f, reference) == pytest.approx(volume_by_inclusion(f, reference), rel=0.01)
    assert volume(f, reference) == volume(f, reference)


@pytest.mark.parametrize("objectives", [2, 3, 4, 6])
def test_volume_knows_no_order_and_no_duplicates(objectives: int) -> None:
    f, reference = front(30, objectives), np.full(objectives, 1.1)
    shuffled = np.random.default_rng(1).permutation(np.concatenate([f, f[:5]]))
    assert volume(shuffled, reference) == pytest.approx(volume(f, reference), rel=1e-12)


@pytest.mark.parametrize("objectives", [1, 2, 4, 6])
def test_members_beyond_the_reference_and_none_at_all_add_nothing(objectives: int) -> None:
    f, reference = front(10, objectives), np.full(objectives, 1.1)
    beyond = np.concatenate([f, np.full((1, objectives), 1.1), np.full((1, objectives), np.inf)])
    assert volume(beyond, reference) == pytest.approx(volume(f, reference), rel=1e-12)
    assert volume(f[:0], reference) == 0.0


def test_reference_lies_a_tenth_of_the_range_beyond_the_worst() -> None:
    assert reference_of(np.array([[0.0, 20.0], [10.0, 0.0]])) == pytest.approx([11.0, 22.0])


def test_reference_of_a_front_without_range_still_leaves_room() -> None:
    assert reference_of(np.array([[0.0, -50.0, 0.5]])) == pytest.approx([0.1, -45.0, 0.6])


@pytest.mark.parametrize("seed", range(5))
def test_dominance_agrees_with_its_definition(seed: int) -> None:
    f = np.random.default_rng(seed).integers(0, 6, size=(60, 3)).astype(float)
    f[::13, 1] = np.inf
    expected = [
        not any(
            (other <= one).all() and ((other < one).any() or (j < i and (other == one).all()))
            for j, other in enumerate(f)
        )
        for i, one in enumerate(f)
    ]
    assert nondominated(f).tolist() == expected


def test_dominance_among_none() -> None:
    assert nondominated(np.zeros((0, 3))).shape == (0,)
