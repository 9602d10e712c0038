"""One search at a time in a folder: a kernel lock that a kill frees."""

import errno
import fcntl
import json
import os
import socket
import time
from contextlib import suppress
from pathlib import Path

from optimiser.errors import RockwrightError
from optimiser.report.results.files import DamagedResultsError, linked, read_plain

LOCK = "lock"
"""The locked file's name; it says who holds the folder."""
READ_TRIES, READ_PAUSE = 10, 0.02
"""How often, and how far apart [s], one that was refused looks who the holder is."""


class FolderInUseError(RockwrightError):
    """Another search holds the results folder."""


class FolderLock:
    """The right to write into a folder, held from the constructor until `release` or the process's end.

    A process forked while the lock is held drops its share of it at once, so that only the holder's own life counts.
    Raises FolderInUseError, naming the holder, where another search has the folder; DamagedResultsError where the
    lock is a link or a file known by another name too, which is not to be written to; OSError where the system refuses.
    """

    def __init__(self, folder: Path) -> None:
        flags = os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC
        try:
            descriptor = os.open(folder / LOCK, flags, 0o644)
        except OSError as error:
            if error.errno == errno.ELOOP:
                raise linked(folder / LOCK) from error
            raise
        self._descriptor: int | None = descriptor
        try:
            self._take(folder, descriptor)
        except BaseException:
            self.release()
            raise
        os.register_at_fork(after_in_child=self.release)

    def release(self) -> None:
        """Let go of the folder; a second call does nothing."""
        if self._descriptor is not None:
            os.close(self._descriptor)
            self._descriptor = None

    def _take(self, folder: Path, descriptor: int) -> None:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if os.fstat(descriptor).st_nlink > 1:
                raise linked(folder / LOCK)
            os.ftruncate(descriptor, 0)
            os.pwrite(descriptor, _holder(), 0)
        except BlockingIOError as error:
            raise FolderInUseError(_refusal(folder)) from error
        except OSError as error:
            raise OSError(error.errno, error.strerror, str(folder / LOCK)) from error


def _holder() -> bytes:
    started = time.strftime("%Y-%m-%d %H:%M:%S%z")
    return json.dumps({"pid": os.getpid(), "host": socket.gethostname(), "started": started}).encode()


def _refusal(folder: Path) -> str:
    holder = "another search"
    for _ in range(READ_TRIES):
        with suppress(OSError, ValueError, KeyError, TypeError, DamagedResultsError):
            record = json.loads(read_plain(folder / LOCK))
            holder = f"the search with process id {record['pid']} on {record['host']}, started {record['started']},"
            break
        time.sleep(READ_PAUSE)  # it has taken the lock and not yet signed it
    return f"{folder}: {holder} holds this folder; wait for its end, stop it, or give another folder with --out"
