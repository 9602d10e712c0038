"""Files of a results folder: written so that a kill or a power cut leaves the old or the new one, read with a check.

A file is written under a temporary name in the same folder, synced, renamed, and the folder synced. No link inside a
results folder is followed, neither to write nor to read.
"""

import errno
import hashlib
import os
import stat
from contextlib import suppress
from pathlib import Path

from optimiser.errors import RockwrightError

TEMPORARY = ".tmp"
"""Ending of a file that is being written."""


class DamagedResultsError(RockwrightError):
    """A file of a results folder that is missing, torn, changed, or no plain file.

    `what` is wrong with it; `step` is the next one, by default to ask the doctor.
    """

    def __init__(self, path: Path, what: str, step: str = "") -> None:
        doctor = f"`rockwright doctor {path.parent}` says what can still be read and how to go on"
        super().__init__(f"{path}: {what}; {step or doctor}")
        self.what = what


def write_durably(folder: Path, name: str, data: bytes) -> None:
    """Put `data` into the file `name` of `folder`, whole or not at all, and on the disk when this returns.

    Raises OSError, with the file's path, where the system refuses; the file `name` is then the old one or the new one,
    never a torn one.
    """
    temporary = folder / (name + TEMPORARY)
    try:
        _write_synced(temporary, data)
        os.replace(temporary, folder / name)
        sync_folder(folder)
    except OSError as error:
        with suppress(OSError):
            temporary.unlink()
        raise OSError(error.errno, error.strerror, str(folder / name)) from error


def sync_folder(folder: Path) -> None:
    """Have the names of a folder's files on the disk."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def read_checked(folder: Path, name: str, checksum: str) -> bytes:
    """The bytes of the file `name`.

    Raises FileNotFoundError where it is not there, DamagedResultsError where its sha256 is not `checksum` or where it
    is a link.
    """
    data = read_plain(folder / name)
    if sha256(data) != checksum:
        raise DamagedResultsError(folder / name, "its checksum is not the manifest's: the file was changed or torn")
    return data


def read_plain(path: Path) -> bytes:
    """The bytes of a plain file.

    Raises FileNotFoundError, DamagedResultsError where it is a link or no file, OSError where the system refuses.
    """
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    except OSError as error:
        if error.errno == errno.ELOOP:
            raise linked(path) from error
        raise
    try:
        if not stat.S_ISREG(os.fstat(descriptor).st_mode):
            raise DamagedResultsError(path, "no plain file", "remove it, or name another folder")
        with open(descriptor, "rb", closefd=False) as stream:
            return stream.read()
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from error
    finally:
        os.close(descriptor)


def linked(path: Path) -> DamagedResultsError:
    """The error for a link inside a results folder."""
    return DamagedResultsError(
        path, "is a link, and a results folder holds plain files only", "remove the link, or name another folder"
    )


def sha256(data: bytes) -> str:
    """The SHA-256 checksum, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def _write_synced(path: Path, data: bytes) -> None:
    path.unlink(missing_ok=True)  # never write into what another name may lead to
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC
    with open(os.open(path, flags, 0o644), "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
