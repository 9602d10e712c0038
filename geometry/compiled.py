"""Compiled functions, and where their machine code is kept: with the user, so that a read-only install works.

Kept code belongs to the very sources that it was made from: numba itself looks at the file of a function alone, and
would go on with what it compiled from another file's old constants and functions.
"""

import hashlib
import os
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")

FOLDER_VARIABLE = "ROCKWRIGHT_CACHE"
"""Environment variable that names another folder for compiled code."""
FLOORS = ("geometry", "objectives")
"""Packages that hold compiled functions."""


@cache
def cache_folder() -> Path:
    """Where compiled code of these sources is kept: in `$ROCKWRIGHT_CACHE`, else `rockwright` in the user's cache."""
    named = os.environ.get(FOLDER_VARIABLE)
    root = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "rockwright"
    return (Path(named) if named else root) / _fingerprint(Path(__file__).resolve().parents[1])


def is_kept() -> bool:
    """Whether an earlier run has left compiled code of these sources."""
    return any(cache_folder().rglob("*.nbi"))


def compiled(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a function of arrays and numbers when it is first called, or load what an earlier run compiled.

    Division by zero gives inf or NaN as in numpy; multiplications and additions may be fused and reciprocals taken, so
    that results may differ from plain Python's by a few units in the last place. What a compiled function calls is
    made part of it: else code that was just compiled would call other copies than code that was kept, and the first
    run's last digits would be another's. With NUMBA_DISABLE_JIT=1 the function runs as the plain Python that it is.
    """
    os.environ.setdefault("NUMBA_CACHE_DIR", str(cache_folder()))  # numba reads it when it is imported
    import numba  # noqa: PLC0415

    fast = {"contract", "arcp", "nsz"}
    return numba.njit(cache=True, error_model="numpy", fastmath=fast, forceinline=True)(function)


def _fingerprint(root: Path) -> str:
    """A short name for what all files say, as they are now, that have to do with compiled code: they mention it."""
    digest = hashlib.sha256()
    for path in sorted(one for floor in FLOORS for one in (root / floor).rglob("*.py")):
        text = path.read_bytes()
        if b"compiled" in text:
            digest.update(text)
    return digest.hexdigest()[:16]
