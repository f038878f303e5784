"""A scan dropped on the page: kept under a name of our own choosing, and only if it can be read as a plan."""

from __future__ import annotations

import contextlib
import tempfile
from collections.abc import AsyncIterator
from pathlib import Path, PurePosixPath, PureWindowsPath

from nesting.desk.guard import LARGEST_UPLOAD_BYTES
from nesting.desk.history import DESK_FOLDER
from nesting.job.files import digest
from nesting.job.folder import file_name_for
from nesting.job.journal import locked
from vectorize.basics.errors import CallError, WriteError

_ENDINGS = (".png", ".jpg", ".jpeg", ".tif", ".tiff", ".pdf", ".svg", ".dxf")


def safe_name(said: str) -> str:
    """Return a plain file name for what the page calls a file: no folders, letters and digits, a known ending."""
    last = PureWindowsPath(PurePosixPath(said).name).name
    stem, ending = Path(last).stem, Path(last).suffix.lower()
    return file_name_for(stem[:80] or "plan") + (ending if ending in _ENDINGS else ".png")


async def received(body: AsyncIterator[bytes], folder: Path) -> Path:
    """Return the path of a temporary file that holds the whole body.

    Raises:
        CallError: Nothing was sent, more than the limit, or the sender went away.
        WriteError: The disk refuses.
    """
    desk = folder / DESK_FOLDER
    try:
        desk.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix="upload-", dir=desk)
        path, size = Path(name), 0
        try:
            with open(handle, "wb") as file:  # noqa: PTH123 - an open descriptor, not a path
                async for piece in body:
                    size += len(piece)
                    if size > LARGEST_UPLOAD_BYTES:
                        raise CallError(f"the file is larger than {LARGEST_UPLOAD_BYTES / 1e6:.0f} MB.")
                    file.write(piece)
        except BaseException:
            path.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise WriteError(f"cannot keep the file: {error.strerror or error}. Free some space.") from error
    if size == 0:
        path.unlink(missing_ok=True)
        raise CallError("the file that was sent is empty.")
    return path


def settle(upload: Path, folder: Path, name: str) -> str:
    """Move an upload into the job folder and return its name there; a file of that name is never replaced."""
    with locked(folder):
        target = _free(upload, folder, name)
        try:
            if (folder / target).exists():
                upload.unlink()
            else:
                upload.chmod(0o644)
                upload.rename(folder / target)
        except OSError as error:
            raise WriteError(f"cannot keep {target}: {error.strerror or error}.") from error
    return target


def _free(upload: Path, folder: Path, name: str) -> str:
    """Return `name`, or with a number where another file has it; the same file keeps its name."""
    content: str | None = None
    for number in range(1, 1000):
        candidate = name if number == 1 else f"{Path(name).stem}-{number}{Path(name).suffix}"
        path = folder / candidate
        if not path.exists() and not path.is_symlink():
            return candidate
        content = content or digest(upload.read_bytes())
        if path.is_file() and not path.is_symlink() and digest(path.read_bytes()) == content:
            return candidate
    raise WriteError(f"the job folder holds too many files called {name}; rename the new one.")


def discard(upload: Path) -> None:
    """Remove an upload that is not wanted."""
    with contextlib.suppress(OSError):
        upload.unlink()
