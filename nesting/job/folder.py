"""A job folder: open it, read its table, change it without losing anybody's work."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from nesting.job.faults import Loc, first_fault
from nesting.job.files import digest
from nesting.job.journal import replace_files, settle
from nesting.job.schema import JobSpec
from vectorize.basics.errors import JobError, WriteError
from vectorize.basics.plain_file import read_plain
from vectorize.basics.wording import clipped, printable, shown

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

JOB_FILE = "job.toml"


@dataclass(frozen=True, slots=True)
class Job:
    """An opened job: its folder, what `job.toml` says, and the hash of the text that was read."""

    folder: Path
    spec: JobSpec
    read_hash: str
    out_name: str = "out"

    def path(self, name: str) -> Path:
        """Return where a file named in `job.toml` lies.

        Raises:
            JobError: The name leads out of the job folder, or is none that a file can have.
        """
        path = self._reached(name, f"{JOB_FILE} names {shown(name)}, which")
        if not path.is_relative_to(self.folder.resolve()):
            raise JobError(f"{JOB_FILE} names {shown(name)}, which lies outside the job folder; copy the file into it.")
        return path

    def own(self, name: str) -> Path:
        """Return where a file lies that Sheetwood itself names, such as `corrected/fin.json`.

        Raises:
            JobError: A link leads out of the job folder on the way to it.
        """
        path = self._reached(name)
        if not path.is_relative_to(self.folder.resolve()):
            raise JobError(f"{shown(name)} is a link that leads outside the job folder; put a plain file there.")
        return path

    def _reached(self, name: str, said: str = "") -> Path:
        """Return where a name leads to, links followed; it need not be there."""
        try:
            path = (self.folder / name).resolve()
            path.lstat()
        except (FileNotFoundError, NotADirectoryError):
            pass
        except (OSError, ValueError, RuntimeError) as error:
            reason = getattr(error, "strerror", None) or "no file can have this name"
            hint = "see that you may read there" if isinstance(error, PermissionError) else "check the name"
            raise JobError(f"{said or shown(name)} cannot be reached: {reason}; {hint}.") from error
        return path

    @property
    def out(self) -> Path:
        """Return the folder that results go to."""
        return self.folder / self.out_name


def open_job(folder: Path) -> Job:
    """Return the job in `folder`.

    Raises:
        JobError: No `job.toml`, or one that cannot be used; names the table and key.
        WriteError: A change of the job was interrupted and cannot be finished.
    """
    settle(folder)
    path = folder / JOB_FILE
    try:
        data = read_plain(path)
    except (FileNotFoundError, NotADirectoryError) as error:
        raise JobError(f"{folder} holds no {JOB_FILE}; start a job with `sheetwood new {folder}`.") from error
    except OSError as error:
        raise JobError(f"{path} cannot be read: {error.strerror}.") from error
    return Job(folder, read_spec(_decoded(data)), digest(data))


def _decoded(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise JobError(f"{JOB_FILE} is not UTF-8 text (byte {error.start}); save it again as UTF-8.") from error


def read_spec(text: str, *, near: Loc = ()) -> JobSpec:
    """Return the checked content of a `job.toml`; faults `near` a place are told without the way there.

    Raises:
        JobError: Not TOML, an unknown key (the nearest is suggested) or a value that cannot be used.
    """
    try:
        return checked_spec(_tables(text), near=near)
    except RecursionError as error:
        raise JobError(f"{JOB_FILE} has lists or tables nested too deeply; no table of a job needs that.") from error
    except JobError:
        raise
    except ValueError as error:
        raise JobError(f"{JOB_FILE} holds a number or a date that none can be.") from error


def _tables(text: str) -> dict[str, Any]:
    """Return the tables of a `job.toml`, read by the standard library; what it refuses, the library for edits words."""
    try:
        return tomllib.loads(text)
    except ValueError as refused:
        import tomlkit
        from tomlkit.exceptions import TOMLKitError

        try:
            return tomlkit.parse(text).unwrap()
        except TOMLKitError as error:
            # The library for edits calls the end of a file a character.
            said = printable(str(refused if r"\x00" in str(error) and "\0" not in text else error)).rstrip(".")
            raise JobError(clipped(f"{JOB_FILE} is not valid TOML: {said}.")) from error


def checked_spec(data: dict[str, Any], *, near: Loc = ()) -> JobSpec:
    """Return the job that the tables of a `job.toml` make; raises as `read_spec`."""
    try:
        return JobSpec.model_validate(data)
    except ValidationError as error:
        told = first_fault(error, data, root=JobSpec, near=near)
        raise JobError(clipped(told if near else f"{JOB_FILE}: {told}")) from error


def change_job(job: Job, change: Callable[[TOMLDocument], None]) -> Job:
    """Apply `change` to the text of `job.toml`, keeping comments, and return the job as it then is.

    Raises:
        WriteError: Another program is saving, or somebody saved since `job` was read; nothing is overwritten.
        JobError: The changed table would not be valid; nothing is written.
    """
    path = job.folder / JOB_FILE
    try:
        data = read_plain(path)
    except OSError as error:
        raise WriteError(f"cannot read {path} to change it: {error.strerror or error}.") from error
    if digest(data) != job.read_hash:
        raise WriteError(f"{JOB_FILE} was changed by someone else since it was read; open it again and repeat.")
    import tomlkit

    document = tomlkit.parse(_decoded(data))
    change(document)
    text = tomlkit.dumps(document)
    spec = read_spec(text)
    replace_files(job.folder, {JOB_FILE: data}, {JOB_FILE: text.encode()})
    return Job(job.folder, spec, digest(text.encode()))


def file_name_for(name: str) -> str:
    """Return a file name without an ending for a part or board: letters and digits of any language are kept.

    Two names that differ only in other marks get different file names.
    """
    plain = re.sub(r"[^\w\-]+", "-", name.strip(), flags=re.UNICODE).strip("-") or "part"
    return plain if plain == name else f"{plain}-{digest(name.encode())[:4]}"
