"""Rights and mounts for tests of folders that may not be written: what a plain user meets, for root too."""

import ctypes
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

CAPABILITIES = 0x20080522
"""The version of the kernel's capability records (linux/capability.h, _LINUX_CAPABILITY_VERSION_3)."""
OVERRIDES = 0b110
"""CAP_DAC_OVERRIDE and CAP_DAC_READ_SEARCH: the bits that let root pass over rights."""


@contextmanager
def plain_rights() -> Iterator[None]:
    """Have the rights of files hold for this thread, for root too; skips the test where that cannot be had."""
    if os.geteuid() != 0:
        yield
        return
    if not sys.platform.startswith("linux"):
        pytest.skip("run by root, whom no right holds back on this system")
    libc = ctypes.CDLL(None, use_errno=True)
    header, held = (ctypes.c_uint32 * 2)(CAPABILITIES, 0), (ctypes.c_uint32 * 6)()
    if libc.capget(header, held):
        pytest.skip(f"the capabilities of this process cannot be read: {os.strerror(ctypes.get_errno())}")
    fewer = (ctypes.c_uint32 * 6)(held[0] & ~OVERRIDES, *held[1:])
    if libc.capset(header, fewer):
        pytest.skip(f"the capabilities of this process cannot be dropped: {os.strerror(ctypes.get_errno())}")
    try:
        yield
    finally:
        libc.capset(header, held)


@contextmanager
def small_disk(path: Path, kilobytes: int) -> Iterator[Path]:
    """A file system in memory of that size, mounted at `path`; skips the test where none may be mounted."""
    path.mkdir(exist_ok=True)
    mounted = mount("-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(path))
    if mounted:
        pytest.skip(f"no file system may be mounted here: {mounted}")
    try:
        yield path
    finally:
        subprocess.run(["umount", str(path)], check=True, capture_output=True)


def mount(*words: str) -> str:
    """Mount; what the system says against it, nothing where it worked."""
    try:
        done = subprocess.run(["mount", *words], check=False, capture_output=True, text=True)
    except OSError as error:
        return str(error)
    return "" if done.returncode == 0 else done.stderr.strip() or "refused"
