"""Rights of root that ordinary accounts have not, given up for a while, so that a file's own rights count."""

from __future__ import annotations

import ctypes
import sys
from collections.abc import Iterator
from contextlib import contextmanager

VERSION_3 = 0x20080522  # <linux/capability.h>
OVER_FILES = 1 << 1 | 1 << 2  # CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH: what lets root read and write any file


class _Head(ctypes.Structure):
    _fields_ = (("version", ctypes.c_uint32), ("pid", ctypes.c_int))


class _Set(ctypes.Structure):
    _fields_ = (("effective", ctypes.c_uint32), ("permitted", ctypes.c_uint32), ("inheritable", ctypes.c_uint32))


def _sets() -> ctypes.Array[_Set]:
    found = (_Set * 2)()
    _asked("capget", found)
    return found


def _asked(call: str, sets: ctypes.Array[_Set]) -> None:
    """One call of the system's on this thread's rights.

    Raises:
        OSError: the system refuses it.
    """
    system = ctypes.CDLL(None, use_errno=True)
    if getattr(system, call)(ctypes.byref(_Head(VERSION_3, 0)), sets) != 0:
        raise OSError(ctypes.get_errno(), call)


def give_up() -> None:
    """From here on this thread, and what it forks, opens files as any other account does."""
    sets = _sets()
    sets[0].effective &= ~OVER_FILES
    _asked("capset", sets)


@contextmanager
def given_up() -> Iterator[None]:
    """The same for a while: what is permitted is kept, and used again afterwards."""
    assert sys.platform == "linux"
    give_up()
    try:
        yield
    finally:
        sets = _sets()
        sets[0].effective |= sets[0].permitted & OVER_FILES
        _asked("capset", sets)
