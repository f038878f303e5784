"""Which jobs a batch is of: those of a folder or of a list, and plans that have no job yet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from nesting.job.folder import JOB_FILE
from vectorize.basics.errors import InputError
from vectorize.basics.plain_file import read_plain
from vectorize.basics.wording import shown

PLAN_ENDINGS = frozenset({".png", ".jpg", ".jpeg", ".tif", ".tiff", ".pdf"})
"""Files that a job is drafted from. Drawings say nothing that could be read: their jobs are made by hand."""


@dataclass(frozen=True, slots=True)
class Order:
    """A job to be done: its folder, what messages call it, and the plan where it is still to be drafted."""

    folder: Path
    shown: str
    plan: Path | None = None


def list_orders(shelf: Path) -> tuple[Order, ...]:
    """Return the jobs of a folder or of a list, in the order of their names or of the list, each once.

    A folder stands for itself if it is a job, else for the jobs and plans that lie in it. A list is a text with the
    folder of a job or the file of a plan in each line, as seen from where the list lies; `#` begins a remark.

    Raises:
        InputError: There is no such folder or list, or nothing in it to be done; names the line that cannot be used.
    """
    if shelf.is_dir():
        found = _in_folder(shelf)
        hint = "put job folders or scanned plans (PNG, JPEG, TIFF, PDF) into it"
    else:
        found = list(_in_list(shelf))
        hint = "write a job folder or a plan's file in each line"
    each: dict[Path, Order] = {}
    for order in _apart(found, shelf):
        each.setdefault(order.folder.resolve(), order)
    if not each:
        raise InputError(f"{shelf} holds no job and no plan; {hint}.")
    return tuple(each.values())


def _in_folder(shelf: Path) -> list[Path]:
    if (shelf / JOB_FILE).exists():
        return [shelf]
    try:
        entries = sorted(path for path in shelf.iterdir() if not path.name.startswith("."))
    except OSError as error:
        raise InputError(f"{shelf} cannot be looked into: {error.strerror or error}.") from error
    return [path for path in entries if _is_job(path) or _is_plan(path)]


def _in_list(file: Path) -> Iterator[Path]:
    try:
        text = read_plain(file).decode("utf-8-sig")
    except FileNotFoundError as error:
        raise InputError(f"{file} is not there; give a folder of jobs and plans, or a list of them.") from error
    except OSError as error:
        raise InputError(f"{file} cannot be read: {error.strerror or error}.") from error
    except UnicodeDecodeError as error:
        raise InputError(f"{file} is no list in UTF-8; write a job folder or a plan's file in each line.") from error
    for number, line in enumerate(text.splitlines(), start=1):
        # A name may hold the sign of a remark: the whole line goes before its beginning.
        names = dict.fromkeys((line.strip(), line.partition("#")[0].strip()))
        if not all(names):
            continue
        path = next((file.parent / name for name in names if _is_usable(file.parent / name)), None)
        if path is None:
            raise InputError(
                f"{file}, line {number}: {shown([*names][-1])} is neither a job folder (with {JOB_FILE}) nor a scanned "
                "plan (PNG, JPEG, TIFF, PDF); correct the line or put # before it."
            )
        yield path


def _is_usable(path: Path) -> bool:
    try:
        return _is_job(path) or _is_plan(path)
    except (OSError, ValueError):
        return False


def _is_job(path: Path) -> bool:
    return (path / JOB_FILE).exists()


def _is_plan(path: Path) -> bool:
    return path.is_file() and path.suffix.lower() in PLAN_ENDINGS


def _apart(paths: Iterable[Path], shelf: Path) -> Iterator[Order]:
    """Give an order for each path; two plans that differ in their ending alone get folders of their own."""
    base = shelf if shelf.is_dir() else shelf.parent
    taken: dict[Path, Path] = {}
    for path in paths:
        if path.is_dir():
            yield Order(path, _shown(path, base))
            continue
        folder = path.with_suffix("")
        if taken.setdefault(folder, path) != path or (folder.exists() and not folder.is_dir()):
            folder = path.with_name(f"{path.stem}-{path.suffix[1:].lower()}")
            taken[folder] = path
        yield Order(folder, _shown(folder, base), None if _is_job(folder) else path)


def _shown(folder: Path, base: Path) -> str:
    """Return how a folder is called beside others: the way to it from the shelf, its name where it is the shelf."""
    try:
        name = folder.relative_to(base).as_posix()
    except ValueError:
        return str(folder)
    return name if name != "." else folder.resolve().name
