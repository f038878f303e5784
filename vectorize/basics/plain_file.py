"""Reading a file that a user names: a pipe or a device, which would be waited for without end, is refused."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path


def read_plain(path: Path) -> bytes:
    """Return what a file holds.

    Raises:
        OSError: As `Path.read_bytes`, and for a pipe, a device or a name that no file can have; `strerror` says why.
    """
    try:
        mode = path.stat().st_mode
    except ValueError as error:
        raise OSError(errno.EINVAL, "no file can have this name", str(path)) from error
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    if not stat.S_ISREG(mode):
        raise OSError(errno.EINVAL, "it is a pipe or a device, not a file", str(path))
    return path.read_bytes()
