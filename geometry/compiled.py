"""Compiled functions, and where their machine code is kept: with the user, so that a read-only install works."""

import os
from collections.abc import Callable
from pathlib import Path
from typing import ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")

FOLDER_VARIABLE = "ROCKWRIGHT_CACHE"
"""Environment variable that names another folder for compiled code."""


def cache_folder() -> Path:
    """Where compiled code is kept: `$ROCKWRIGHT_CACHE`, else `rockwright` in the user's cache folder."""
    named = os.environ.get(FOLDER_VARIABLE)
    if named:
        return Path(named)
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "rockwright"


def is_kept() -> bool:
    """Whether an earlier run has left compiled code, if not always of this very version."""
    return any(cache_folder().rglob("*.nbi"))


def compiled(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a function of arrays and numbers when it is first called, or load what an earlier run compiled.

    Division by zero gives inf or NaN as in numpy; multiplications and additions may be fused and reciprocals taken, so
    that results may differ from plain Python's by a few units in the last place. With NUMBA_DISABLE_JIT=1 the function
    runs as the plain Python that it is.
    """
    os.environ.setdefault("NUMBA_CACHE_DIR", str(cache_folder()))  # numba reads it when it is imported
    import numba  # noqa: PLC0415

    return numba.njit(cache=True, error_model="numpy", fastmath={"contract", "arcp", "nsz"})(function)
