"""Where compiled code is kept: never in the install, and never longer than the sources that it was made from."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FLOORS = ("geometry", "objectives")
WHERE = "from geometry.compiled import cache_folder; print(cache_folder())"
PLACE = """
from pathlib import Path
import numpy as np
from geometry.axle import Arm, Axle, Link, Rocker, Rod, Wheel
from geometry.compiled import is_kept
from geometry.placing import place_in_lanes
numbers = np.array([10.0, 205.0, 475.0]), np.array([1.0, 0.0, 0.0]), np.array([10.0, 742.0, 206.0])
rocker = Rocker(numbers[0], numbers[1], Arm(np.float64(76.0), np.float64(0.9), np.float64(0.0)), {})
axle = Axle(Wheel(numbers[2], np.float64(0.0), np.float64(0.0)), {}, Rod(numbers[2]), rocker, {})
before = is_kept()
print(before, float(place_in_lanes(axle, [None], 1).radii[0, 0, 0]), is_kept())
"""


@pytest.fixture
def install(tmp_path: Path) -> Path:
    """A copy of the floors that hold compiled code."""
    for floor in FLOORS:
        shutil.copytree(ROOT / floor, tmp_path / "install" / floor, ignore=shutil.ignore_patterns("__pycache__"))
    return tmp_path / "install"


def run(install: Path, program: str) -> str:
    """What a program prints that imports from an install and keeps compiled code beside it."""
    environment = {
        **{name: value for name, value in os.environ.items() if name != "NUMBA_CACHE_DIR"},
        "PYTHONPATH": str(install),
        "PYTHONDONTWRITEBYTECODE": "1",
        "ROCKWRIGHT_CACHE": str(install.parent / "cache"),
    }
    done = subprocess.run(
        [sys.executable, "-c", program],
        env=environment,
        cwd=install.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_a_read_only_install_compiles_once_and_keeps_it_with_the_user(install: Path) -> None:
    before = sorted(install.rglob("*"))
    for folder in (install, *(path for path in before if path.is_dir())):
        folder.chmod(0o555)
    try:
        assert run(install, PLACE) == "False 76.0 True"
        assert run(install, PLACE) == "True 76.0 True"
        assert sorted(install.rglob("*")) == before
        assert list((install.parent / "cache").rglob("*.nbi"))
    finally:
        for folder in (install, *(path for path in before if path.is_dir())):
            folder.chmod(0o755)


@pytest.mark.parametrize("changed", ["geometry/turns.py", "geometry/records.py", "geometry/rocker.py"])
def test_code_is_kept_for_the_sources_that_it_was_made_from(install: Path, changed: str) -> None:
    first = run(install, WHERE)
    assert run(install, WHERE) == first
    (install / "objectives" / "axle_figures.py").write_text('"""Nothing to do with it."""\n', encoding="utf-8")
    assert run(install, WHERE) == first
    with (install / changed).open("a", encoding="utf-8") as file:
        file.write("\nMORE = 1\n")
    assert run(install, WHERE) != first
