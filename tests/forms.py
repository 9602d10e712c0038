"""One goal of every form for a figure, shared by the tests that go through them all."""

from collections.abc import Callable, Mapping

from objectives.goals import Band, Best, Goal, Limit, Miss

FORMS: Mapping[str, Callable[[str], Goal]] = {
    "a band": lambda name: Band(name, 1.0, 0.5),
    "at most": lambda name: Limit(name, at_most=2.0),
    "at least": lambda name: Limit(name, at_least=2.0),
    "between": lambda name: Limit(name, at_most=3.0, at_least=1.0),
    "a miss": lambda name: Miss(name, 1.5, 0.25),
    "minimise": lambda name: Best(name, "minimise"),
    "maximise": lambda name: Best(name, "maximise"),
}
