"""A process that dies at its n-th file operation: the file system afterwards is what a kill or a pulled plug leaves."""

from __future__ import annotations

import builtins
import io
import os
import signal
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch


class Death(BaseException):
    """The process is dead: whatever is still tried on the disk by clean-up code does not happen."""


def _raise_death() -> None:
    raise Death


def kill_for_good() -> None:
    """End this process as nothing can be done against."""
    os.kill(os.getpid(), signal.SIGKILL)


class Life:
    """File operations in one folder, counted; the one with the number `dies_at` does not take place, nor any later."""

    def __init__(self, folder: Path, dies_at: int | None, die: Callable[[], None]) -> None:
        self._folder, self._dies_at, self._die = str(folder), dies_at, die
        self._handles: set[int] = set()
        self.operations: list[str] = []
        self.is_dead = False

    def step(self, what: str, path: object) -> None:
        """Count an operation, and die if it is the one."""
        if self.is_dead:
            raise Death
        name = os.path.relpath(os.fspath(path), self._folder) if isinstance(path, str | os.PathLike) else "handle"
        self.operations.append(f"{what} {name}")
        if self._dies_at is not None and len(self.operations) > self._dies_at:
            self.is_dead = True
            self._die()

    def is_here(self, path: object) -> bool:
        """Return whether a path, or an open handle, belongs to the folder."""
        if isinstance(path, int):
            return path in self._handles
        return isinstance(path, str | os.PathLike) and Path(path).absolute().is_relative_to(self._folder)

    def opened(self, handle: int) -> None:
        """Remember a handle that writes into the folder."""
        self._handles.add(handle)

    def closed(self, handle: int) -> None:
        """Forget a handle: its number is given to other files."""
        self._handles.discard(handle)


class _Pen:
    """A file open for writing: each write is an operation, and dying in it leaves half of what was to be written."""

    def __init__(self, file: Any, life: Life, path: object) -> None:
        self._file, self._life, self._path = file, life, path

    def write(self, data: Any) -> int:
        try:
            self._life.step("write", self._path)
        except Death:
            self._file.write(data[: len(data) // 2])
            self._file.flush()
            raise
        return self._file.write(data)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def __enter__(self) -> _Pen:
        return self

    def __exit__(self, *error: object) -> None:
        self._file.close()

    def __iter__(self) -> Iterator[Any]:
        return iter(self._file)


def _or_close(close: Callable[[], None], step: Callable[[], None]) -> None:
    """Let a file that dies with its process be closed, as the system does it."""
    try:
        step()
    except Death:
        close()
        raise


@contextmanager
def living(folder: Path, *, dies_at: int | None = None, die: Callable[[], None] = _raise_death) -> Iterator[Life]:
    """Count what is written, renamed and removed in `folder`; with `dies_at` so many operations still take place."""
    life = Life(folder.resolve(), dies_at, die)
    real_open, real_os_open, real_close = builtins.open, os.open, os.close

    def open_file(path: Any, mode: str = "r", *more: Any, **named: Any) -> Any:
        if not life.is_here(path) or not set(mode) & set("wax+"):
            return real_open(path, mode, *more, **named)
        is_new = not isinstance(path, int)
        if is_new:
            life.step("open", path)
        file = real_open(path, mode, *more, **named)
        if is_new:
            life.opened(file.fileno())
            _or_close(file.close, lambda: life.step("opened", path))
        return _Pen(file, life, path)

    def open_handle(path: Any, flags: int, *more: Any, **named: Any) -> int:
        is_written = life.is_here(path) and flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
        if is_written:
            life.step("open", path)
        handle = real_os_open(path, flags, *more, **named)
        if is_written:
            life.opened(handle)
            _or_close(lambda: real_close(handle), lambda: life.step("opened", path))
        return handle

    def close(handle: int) -> None:
        life.closed(handle)
        real_close(handle)

    def counted(name: str) -> Callable[..., Any]:
        real = getattr(os, name)

        def call(path: Any, *more: Any, **named: Any) -> Any:
            is_done_already = name == "mkdir" and Path(path).is_dir()
            if not is_done_already and (life.is_here(path) or any(life.is_here(one) for one in more)):
                life.step(name, path)
            return real(path, *more, **named)

        return call

    with ExitStack() as stack:
        for module in (builtins, io):
            stack.enter_context(patch.object(module, "open", open_file))
        for name, stand_in in (("open", open_handle), ("close", close)):
            stack.enter_context(patch.object(os, name, stand_in))
        for name in ("fsync", "replace", "rename", "unlink", "remove", "mkdir", "rmdir", "link", "symlink", "truncate"):
            stack.enter_context(patch.object(os, name, counted(name)))
        yield life
