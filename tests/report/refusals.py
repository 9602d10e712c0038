"""A system that refuses to write: the n-th call of one kind fails, once or for good."""

import errno
import io
import os
from collections.abc import Callable
from dataclasses import dataclass
from typing import IO, TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer

CALLS = ("open", "write", "fsync", "replace")
"""What a save asks of the system."""
ERRORS = {"EIO": errno.EIO, "ENOSPC": errno.ENOSPC}

FILES = "optimiser.report.results.files"


@dataclass
class Gate:
    """Lets so many calls through and refuses the next, once or for good; `refused` counts the refusals."""

    healthy: int
    error: int = errno.ENOSPC
    once: bool = False
    calls: int = 0
    refused: int = 0

    def __call__(self, path: object = None) -> None:
        """Raise OSError, with the path that the system names, where it is this call's turn."""
        self.calls += 1
        if self.calls == self.healthy + 1 or (self.calls > self.healthy and not self.once):
            self.refused += 1
            raise OSError(self.error, os.strerror(self.error), *([] if path is None else [str(path)]))


def refuse(patch: pytest.MonkeyPatch, call: str, gate: Gate) -> None:
    """Put a gate before one kind of call that results folders make; a refused write has written half of its bytes."""
    if call == "write":
        patch.setattr(f"{FILES}.open", _opening(gate), raising=False)
    else:
        patch.setattr(f"{FILES}.os", _System(call, gate))


class _System:
    """The module `os` with one function behind a gate."""

    def __init__(self, call: str, gate: Gate) -> None:
        self._call, self._gate = call, gate

    def __getattr__(self, name: str) -> object:
        found = getattr(os, name)
        if name != self._call:
            return found

        def gated(*args: object, **kwargs: object) -> object:
            self._gate(None if name == "fsync" else args[0])
            return found(*args, **kwargs)

        return gated


class _Stream(io.FileIO):
    """A file that is written through a gate."""

    def __init__(self, descriptor: int, gate: Gate) -> None:
        super().__init__(descriptor, "wb")
        self._gate = gate

    def write(self, data: "ReadableBuffer") -> int:
        try:
            self._gate()
        except OSError:
            super().write(bytes(data)[::2])
            raise
        return super().write(data)


def _opening(gate: Gate) -> "Callable[..., _Stream | IO[bytes]]":
    def opened(descriptor: int, mode: str, closefd: bool = True) -> "_Stream | IO[bytes]":
        return _Stream(descriptor, gate) if mode == "wb" else open(descriptor, "rb", closefd=closefd)

    return opened
