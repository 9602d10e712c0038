"""Fixtures that all tests may use."""

import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from functools import wraps
from types import ModuleType

import numpy as np
import pytest

import geometry
import objectives

Function = Callable[..., object]


@dataclass(frozen=True)
class Guard:
    """Wraps functions so that each call proves its arguments unchanged; `called` fills with their names."""

    called: set[str] = field(default_factory=set)

    def __call__(self, function: Function) -> Function:
        """The function, failing where it changes an array, a list or a mapping that it was given."""
        name = f"{function.__module__}.{function.__name__}"

        @wraps(function)
        def guarded(*args: object, **kwargs: object) -> object:
            self.called.add(name)
            before = list(_leaves((args, kwargs)))
            result = function(*args, **kwargs)
            after = list(_leaves((args, kwargs)))
            assert len(before) == len(after), f"{name} changed the make-up of its arguments"
            for one, other in zip(before, after, strict=True):
                assert _same(one, other), f"{name} changed its arguments: {one} became {other}"
            return result

        return guarded


@pytest.fixture
def guard() -> Guard:
    """A guard that wraps one function at a time."""
    return Guard()


@pytest.fixture
def guarded_floors(guard: Guard, monkeypatch: pytest.MonkeyPatch) -> Guard:
    """Every public function of the two lower floors, wherever it has been imported to, is under guard in this test."""
    modules = list(_modules())
    guards = {id(function): guard(function) for function in _public_functions(modules)}
    for module in modules:
        for name, value in list(vars(module).items()):
            if id(value) in guards:
                monkeypatch.setattr(module, name, guards[id(value)])
    return guard


@pytest.fixture(scope="session")
def public_functions() -> frozenset[str]:
    """Full names of the public functions of the two lower floors that take data."""
    return frozenset(f"{each.__module__}.{each.__name__}" for each in _public_functions(list(_modules())))


def _modules() -> Iterator[ModuleType]:
    for package in (geometry, objectives):
        for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            yield importlib.import_module(found.name)


def _public_functions(modules: list[ModuleType]) -> list[Function]:
    return [
        value
        for module in modules
        for name, value in vars(module).items()
        if callable(value)
        and not inspect.isclass(value)
        and not name.startswith("_")
        and getattr(value, "__module__", "") == module.__name__
        and hasattr(value, "__name__")
        and not hasattr(value, "py_func")  # compiled: what compiled code calls, no guard can see
        and _takes_data(value)
    ]


def _takes_data(function: Function) -> bool:
    """Whether a function is given anything that it could change: no plain number, word or other function."""
    kinds = [str(parameter.annotation) for parameter in inspect.signature(function).parameters.values()]
    return any(not kind.removeprefix("collections.abc.").startswith(_UNCHANGEABLE) for kind in kinds)


_UNCHANGEABLE = ("Callable", "<class 'float'>", "<class 'int'>", "<class 'str'>", "<class 'bool'>")


def _leaves(value: object) -> Iterator[object]:
    """Copies of the arrays and plain values that an argument is made of. What a record caches for itself is its own."""
    if isinstance(value, np.ndarray):
        yield value.copy()
    elif isinstance(value, Mapping):
        for key in value:
            yield key
            yield from _leaves(value[key])
    elif isinstance(value, tuple | list):
        yield len(value)
        for item in value:
            yield from _leaves(item)
    elif is_dataclass(value) and not isinstance(value, type):
        for each in fields(value):
            if not each.name.startswith("_"):
                yield from _leaves(getattr(value, each.name))
    elif isinstance(value, str | int | float | None):
        yield value


def _same(one: object, other: object) -> bool:
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        exact = one.dtype == other.dtype and one.shape == other.shape
        return exact and one.tobytes() == other.tobytes()
    return repr(one) == repr(other)
