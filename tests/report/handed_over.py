"""Hand-off documents of the shipped studies, each made and recomputed once for all tests."""

from collections.abc import Callable, Mapping
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TypeAlias, cast

import yaml

from optimiser.report.handoff.document import Origin, handoff_document
from optimiser.report.handoff.seals import seals
from optimiser.report.handoff.second_reading.recompute import Expected, recompute
from optimiser.report.handoff.text import as_text
from optimiser.study.read import read_study
from optimiser.study.study import Study

CONFIGS = Path(__file__).parents[2] / "configs"
ORIGIN = Origin("An invented study", "5eed" * 16, 7, "12", "2026-11-25T12:00:00+0000", {"python": "3.11.9"})

Node: TypeAlias = "dict[str, Node] | list[Node] | float | int | bool | str | None"
Document: TypeAlias = dict[str, Node]


@dataclass(frozen=True)
class HandedOver:
    """A hand-off as it is read back from its text, and what the second reading makes of it."""

    document: Document
    recomputed: Mapping[str, Expected]


@cache
def shipped(name: str, step: float | None = None) -> Study:
    """A study of configs/, at its own step of travel or a coarser one [mm], which makes it quick."""
    study = read_study(CONFIGS / f"{name}.yaml")
    return study if step is None else replace(study, travel=replace(study.travel, step=step))


@cache
def handed(name: str, step: float | None = None) -> HandedOver:
    """The base geometry of a shipped study, handed over and recomputed."""
    study = shipped(name, step)
    document = read_back(handoff_document(study, study.axle, ORIGIN))
    return HandedOver(document, recompute(document))


def read_back(document: Mapping[str, object]) -> Document:
    """A document through its own text."""
    return cast(Document, yaml.safe_load(as_text(document)))


def edited(document: Document, path: tuple[str | int, ...], change: Callable[[Node], Node]) -> Document:
    """A copy with the entry at a path changed."""
    copy = deepcopy(document)
    node: Node = copy
    for key in path[:-1]:
        node = below(node, key)
    last, value = path[-1], change(below(node, path[-1]))
    if isinstance(node, dict):
        node[str(last)] = value
    else:
        assert isinstance(node, list)
        node[int(last)] = value
    return copy


def without(document: Document, path: tuple[str, ...]) -> Document:
    """A copy with one entry deleted."""
    copy = deepcopy(document)
    node: Node = copy
    for key in path[:-1]:
        node = below(node, key)
    assert isinstance(node, dict)
    del node[path[-1]]
    return copy


def resealed(document: Document) -> Document:
    """A copy with seals that fit it, as whoever edits on purpose would write them."""
    return {**document, "seals": dict(seals(document))}


def below(node: Node, key: str | int) -> Node:
    """The entry under a key or at a place of a list."""
    if isinstance(node, dict) and isinstance(key, str):
        return node[key]
    assert isinstance(node, list)
    assert isinstance(key, int)
    return node[key]


def at(document: Document, *path: str | int) -> Node:
    """The entry at a path."""
    node: Node = document
    for key in path:
        node = below(node, key)
    return node


def branch(document: Document, *path: str) -> dict[str, Node]:
    """The mapping at a path."""
    node = at(document, *path)
    assert isinstance(node, dict)
    return node


def nudged_pivot(document: Document) -> Document:
    """A copy whose rocker pivot lies 0.01 mm further left."""
    return edited(document, ("axle", "rocker", "pivot", 1), lambda node: float(str(node)) + 0.01)
