"""A job folder: open it, read its table, change it without losing anybody's work."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

import tomlkit
from pydantic import BaseModel, ValidationError
from tomlkit.exceptions import TOMLKitError

from nesting.job.files import digest
from nesting.job.journal import replace_files, settle
from nesting.job.schema import JobSpec
from vectorize.errors import JobError, WriteError

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
            JobError: The name leads out of the job folder.
        """
        path = (self.folder / name).resolve()
        if not path.is_relative_to(self.folder.resolve()):
            raise JobError(f"{JOB_FILE} names {name!r}, which lies outside the job folder; copy the file into it.")
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
        data = path.read_bytes()
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


def read_spec(text: str) -> JobSpec:
    """Return the checked content of a `job.toml`.

    Raises:
        JobError: Not TOML, an unknown key (the nearest is suggested) or a value that cannot be used.
    """
    try:
        data = tomlkit.parse(text).unwrap()
    except TOMLKitError as error:
        raise JobError(f"{JOB_FILE} is not valid TOML: {error}.") from error
    try:
        return JobSpec.model_validate(data)
    except ValidationError as error:
        raise JobError(f"{JOB_FILE}: {_first_fault(error, data)}") from error


def change_job(job: Job, change: Callable[[tomlkit.TOMLDocument], None]) -> Job:
    """Apply `change` to the text of `job.toml`, keeping comments, and return the job as it then is.

    Raises:
        WriteError: Another program is saving, or somebody saved since `job` was read; nothing is overwritten.
        JobError: The changed table would not be valid; nothing is written.
    """
    path = job.folder / JOB_FILE
    try:
        data = path.read_bytes()
    except OSError as error:
        raise WriteError(f"cannot read {path} to change it: {error.strerror or error}.") from error
    if digest(data) != job.read_hash:
        raise WriteError(f"{JOB_FILE} was changed by someone else since it was read; open it again and repeat.")
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


def _first_fault(error: ValidationError, data: Mapping[str, Any]) -> str:
    """Return the first fault as 'where: what, what to do'."""
    faults = error.errors()
    # A key that is missing is often the one that was misspelt: name that first.
    fault = next((f for f in faults if f["type"] == "extra_forbidden"), faults[0])
    where = _place(fault["loc"], data)
    cause = fault.get("ctx", {}).get("error")
    if fault["type"] == "extra_forbidden":
        return _unknown_key(fault["loc"], where)
    if fault["type"] == "missing":
        return f"{where} is missing."
    said = str(cause) if cause is not None else f"{fault['msg'][0].lower()}{fault['msg'][1:]}, found {fault['input']!r}"
    said = said.rstrip(".") + "."
    return said.replace("the value", where, 1) if "the value" in said else f"{where}: {said}" if where else said


def _place(loc: tuple[int | str, ...], data: Mapping[str, Any]) -> str:
    """Return a table path as people say it: `part 'fin', thickness`."""
    words: list[str] = []
    here: Any = data
    for step in loc:
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            here = None
        if isinstance(step, int):
            named = here.get("name") if isinstance(here, Mapping) else None
            words[-1] += f" {named!r}" if named else f" number {step + 1}"
        elif step not in _UNION_TAGS:
            words.append(str(step))
    return ", ".join(words)


# pydantic adds the name of the tried variant to the place of a fault inside a union.
_UNION_TAGS = frozenset({"str", "float", "literal['free']", "function-before[read(), float]"})


def _unknown_key(loc: tuple[int | str, ...], where: str) -> str:
    model: type[BaseModel] = JobSpec
    variants: dict[str, type[BaseModel]] = {}
    for step in loc[:-1]:
        if isinstance(step, str) and step in model.model_fields:
            annotation = model.model_fields[step].annotation
            variants = _variants_in(annotation)
            model = _model_in(annotation) or model
        elif isinstance(step, str) and step in variants:
            model = variants[step]
    keys = [field.alias or name for name, field in model.model_fields.items()]
    near = difflib.get_close_matches(str(loc[-1]), keys, n=1, cutoff=0.5)
    hint = f"did you mean {near[0]!r}?" if near else f"known keys: {', '.join(keys)}."
    return f"{where} is not a known key; {hint}"


def _variants_in(annotation: Any) -> dict[str, type[BaseModel]]:  # noqa: ANN401 - a typing form has no common type
    """Return the models of a union by the word in `make`, or by class name, by which pydantic tells them apart."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        make = annotation.model_fields.get("make")
        return {str(get_args(make.annotation)[0] if make else annotation.__name__): annotation}
    return {tag: model for inner in get_args(annotation) for tag, model in _variants_in(inner).items()}


def _model_in(annotation: Any) -> type[BaseModel] | None:  # noqa: ANN401 - a typing form has no common type
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for inner in get_args(annotation) if (found := _model_in(inner))), None)
