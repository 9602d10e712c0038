"""The schema says of a file's keys what the reader says of them, of files that ship and of mutants of these."""

import json
from collections.abc import Callable, Iterator, Sequence
from copy import deepcopy
from pathlib import Path

import pytest
from jsonschema import Draft7Validator

from optimiser.study.car_keys import CAR
from optimiser.study.document import Tree, compose_into, load_tree
from optimiser.study.faults import Collector
from optimiser.study.forms import Section
from optimiser.study.json_schema import schema_of
from optimiser.study.keys import STUDY
from optimiser.study.walk import walk
from tests.beginnings import everything

HERE = Path(__file__).parent
FILES = [*sorted(Path("configs").glob("*.yaml")), HERE / "sound.yaml", HERE / "sprung.yaml"]

Way = tuple[str | int, ...]
Change = Callable[[Tree, str | int], None]


def form_of(path: Path) -> Section:
    return CAR if path.name == "car.yaml" else STUDY


def checker(form: Section) -> Draft7Validator:
    return Draft7Validator(schema_of(form, "a file"))


def walked(tree: Tree, form: Section) -> bool:
    """Whether the reader finds no fault in the file's keys and values, each taken alone."""
    faults = Collector()
    walk(form, compose_into(faults, json.dumps(tree)), faults)
    return not faults.faults


ALIKE = {"links", "pickups", "vary", "goals"}
"""Mappings whose entries are all of one form."""


def places(tree: Tree, at: Way = ()) -> Iterator[Way]:
    """The way to every value of a file, the root left out; of a list, and of entries that are alike, to the last."""
    entries: Sequence[tuple[str | int, Tree]] = ()
    if isinstance(tree, dict):
        entries = list(tree.items())[-1 if at and at[-1] in ALIKE else 0 :]
    elif isinstance(tree, list):
        entries = list(enumerate(tree))[-1:]
    for key, value in entries:
        yield (*at, key)
        yield from places(value, (*at, key))


def changed(tree: Tree, at: Way, change: Change) -> Tree:
    """A copy of a file in which the container of the value at a place was changed."""
    mutant = deepcopy(tree)
    container = mutant
    for key in at[:-1]:
        if isinstance(container, dict):
            container = container[str(key)]
        elif isinstance(container, list):
            container = container[int(key)]
    change(container, at[-1])
    return mutant


def renamed(new: str) -> Change:
    """Puts an entry under another key, where {} stands for the old one."""

    def change(container: Tree, key: str | int) -> None:
        if isinstance(container, dict):
            container[new.format(key)] = container.pop(str(key))

    return change


def drop(container: Tree, key: str | int) -> None:
    if isinstance(container, dict):
        del container[str(key)]
    elif isinstance(container, list):
        del container[int(key)]


def put(value: Tree) -> Change:
    def change(container: Tree, key: str | int) -> None:
        if isinstance(container, dict):
            container[str(key)] = value
        elif isinstance(container, list):
            container[int(key)] = value

    return change


CHANGES: dict[str, Change] = {
    "misspell the key": renamed("{}_x"),
    "a switch for a name": renamed("No"),
    "a figure's name": renamed("rod"),
    "no name": renamed("1 {}"),
    "drop it": drop,
    "a word": put("word"),
    "true": put(True),
    "far too much": put(10**12),
    "negative": put(-0.5),
    "zero": put(0),
    "an empty list": put([]),
    "an empty mapping": put({}),
    "three numbers": put([1, 2, 3]),
    "nothing": put(None),
}


@pytest.mark.parametrize("form", [STUDY, CAR], ids=["study", "car"])
def test_it_is_a_schema(form: Section) -> None:
    Draft7Validator.check_schema(schema_of(form, "a file"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_sound_files_pass(path: Path) -> None:
    assert [error.message for error in checker(form_of(path)).iter_errors(load_tree(path))] == []


@pytest.mark.parametrize(
    "at", [("travel",), ("axle", "wheel", "toe"), ("axle", "rocker", "pickups"), ("search", "seed")]
)
def test_a_misspelt_key_fails(at: Way) -> None:
    mutant = changed(load_tree(Path("configs/front.yaml")), at, renamed("{}_x"))
    told = " ".join(error.message for error in checker(STUDY).iter_errors(mutant))
    assert f"'{at[-1]}_x' was unexpected" in told


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
@pytest.mark.parametrize("name", ["study", "car"])
def test_a_mutant_passes_where_it_passes_the_reader(name: str, change: Change, tmp_path: Path) -> None:
    form, path = (CAR, Path("configs/car.yaml")) if name == "car" else (STUDY, tmp_path / "study.yaml")
    if name == "study":
        path.write_text(everything(), encoding="utf-8")
    tree, check = load_tree(path), checker(form)
    mutants = [(at, changed(tree, at, change)) for at in places(tree)]
    assert [at for at, mutant in mutants if check.is_valid(mutant) is not walked(mutant, form)] == []
