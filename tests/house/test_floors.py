"""The house's floors: who may import whom, held against the code's own imports."""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

FLOORS: dict[str, tuple[str, ...]] = {
    "geometry": (),
    "objectives": ("geometry",),
    "optimiser.errors": (),
    "optimiser.study": ("geometry", "objectives", "optimiser.errors"),
    "optimiser.search": ("geometry", "objectives", "optimiser.errors", "optimiser.study"),
    "optimiser.report": ("geometry", "objectives", "optimiser.errors", "optimiser.study", "optimiser.search"),
    "optimiser.cli": ("geometry", "objectives", "optimiser"),
}
"""Each room, and the rooms below it that it may import; within itself a room is free."""

SHARING = dict.fromkeys(("optuna", "sqlalchemy", "psycopg"), "optimiser/search/shared/board.py")
DRAWING = {
    "matplotlib": "optimiser/report/drawing/painted.py",
    "ezdxf": "optimiser/report/drawing/plate.py",
}
HEAVY = {"pymoo": "optimiser/search/nsga2.py", "moocore": "optimiser/search", **DRAWING, **SHARING}
"""Libraries that are slow to start or untyped, and the one place that may name them."""

LONGEST_MODULE = 400


def modules() -> list[Path]:
    return [path for room in ("geometry", "objectives", "optimiser") for path in sorted((ROOT / room).rglob("*.py"))]


def imports(path: Path) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Every module that a file imports, with the names taken from it, wherever in the file the import stands."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((alias.name, ()) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports are absolute"
            yield node.module or "", tuple(alias.name for alias in node.names)


def room_of(dotted: str) -> str | None:
    return max((room for room in FLOORS if dotted == room or dotted.startswith(room + ".")), key=len, default=None)


def breaches(path: Path, text_imports: list[tuple[str, tuple[str, ...]]]) -> list[str]:
    own = room_of(".".join(path.relative_to(ROOT).with_suffix("").parts))
    found = []
    for module, names in text_imports:
        for target in {module, *(f"{module}.{name}" for name in names)}:
            room = room_of(target)
            allowed = (
                own is None
                or room is None
                or room == own
                or any(room == below or room.startswith(below + ".") for below in FLOORS[own])
            )
            if not allowed:
                found.append(f"{path.relative_to(ROOT)} ({own}) imports {target} ({room})")
    return found


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_a_room_imports_only_from_rooms_below(path: Path) -> None:
    assert breaches(path, list(imports(path))) == []


def test_an_import_upwards_is_found() -> None:
    below = ROOT / "geometry" / "rod.py"
    assert breaches(below, [("objectives.goals", ("Band",))])
    assert breaches(below, [("optimiser", ("study",))])
    assert not breaches(ROOT / "optimiser" / "cli" / "main.py", [("geometry.axle", ("Axle",))])


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_private_names_stay_in_their_module(path: Path) -> None:
    taken = [f"{module}.{name}" for module, names in imports(path) for name in names if name.startswith("_")]
    assert [name for name in taken if not name.startswith("__future__")] == []


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_heavy_libraries_stay_in_their_place(path: Path) -> None:
    for module, _ in imports(path):
        place = HEAVY.get(module.split(".")[0])
        assert place is None or str(path.relative_to(ROOT)).startswith(place), f"{path} imports {module}"


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_no_room_outgrows_its_reader(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_MODULE


def test_no_module_imports_in_a_circle() -> None:
    names = {".".join(path.relative_to(ROOT).with_suffix("").parts): path for path in modules()}
    graph = {
        name: {
            target
            for module, taken in imports(path)
            for target in (module, *(f"{module}.{one}" for one in taken))
            if target in names
        }
        for name, path in names.items()
    }
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " -> ".join((*trail, name))
        if name not in done:
            for target in sorted(graph[name]):
                visit(target, (*trail, name))
            done.add(name)

    sys.setrecursionlimit(max(sys.getrecursionlimit(), 10 * len(names)))
    for name in names:
        visit(name, ())
