"""Starting a job: a folder with a commented `job.toml`, an empty rack and a copy of the scan."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources
from pathlib import Path

from nesting.job.folder import JOB_FILE
from nesting.job.journal import replace_files
from vectorize.basics.errors import CallError, ScanError
from vectorize.basics.plain_file import read_plain

RACK_HEADER = "name,material,thickness,measured thickness,length,width,mass,cut,bow,notes\n"

_TEMPLATE = """\
[job]
format = 1
name = {name}
units = "mm"                       # for display: "mm" or "in"

[[plan]]
name = "sheet 1"
file = {file}
edge = "centre"                    # the true edge is the "centre" of the drawn line, its "inside" or "outside"

# Two points on the plan, in pixels as any picture viewer shows them, and their true distance.
# Give two or more, along and across, so that a scanner or copier that stretches is found out.
# [[plan.known]]
# from = [412.0, 1880.5]
# to = [2774.0, 1871.0]
# length = "300 mm"

# Run `sheetwood trace` on this folder: it draws a numbered picture of every region. Copy picks from there.
# [[part]]
# name = "fuselage"
# pick = [[1200, 900]]             # a pixel inside the part; more points add regions
# material = "balsa"
# thickness = "10 mm"
# grain = [[900, 870], [1800, 872]]  # two points along it, or "30 deg"; default: the long axis
# count = 1
# hand = "either"                  # "left", "right", "pair"

[rack]
file = "rack.csv"                  # one board a row; write every size and mass with its unit

[nest]
tool = "saw"                       # "saw", "knife", "laser", "router"

[pattern]
paper = "A4"
"""


def new_job(folder: Path, *, plan: Path | None = None) -> Path:
    """Make a job in `folder` and return the path of its `job.toml`; nothing that exists is replaced.

    Raises:
        CallError: The folder holds a job already.
        ScanError: The plan file is not there, or cannot be read.
        WriteError: The folder cannot be written.
    """
    refuse_existing(folder, plan)
    file = "plan.jpg" if plan is None else plan.name
    text = _TEMPLATE.format(name=_quoted(folder.resolve().name), file=_quoted(file))
    files = {"rack.csv": RACK_HEADER.encode(), JOB_FILE: text.encode()}
    if plan is not None:
        files[file] = bytes_of(plan)
    add_files(folder, files)
    return folder / JOB_FILE


def refuse_existing(folder: Path, plan: Path | None) -> None:
    """Raise if a folder holds a job already, or a plan is not there.

    Raises:
        CallError: The folder holds a job.
        ScanError: The plan is not there.
    """
    if (folder / JOB_FILE).exists():
        raise CallError(f"{folder} holds a job already; choose another folder.")
    if plan is not None and not plan.is_file():
        raise ScanError(f"{plan} is not there; give the scan or drawing of the plan.")


def add_files(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write those of the files that are not there yet: all of them or none."""
    new = {name: data for name, data in files.items() if not (folder / name).exists()}
    replace_files(folder, dict.fromkeys(new), new)


def bytes_of(plan: Path) -> bytes:
    """Return what a plan's file holds.

    Raises:
        ScanError: It cannot be read.
    """
    try:
        return read_plain(plan)
    except OSError as error:
        raise ScanError(f"{plan} cannot be read: {error.strerror or error}.") from error


def _quoted(text: str) -> str:
    import tomlkit

    return tomlkit.item(text).as_string()


def copy_demo(folder: Path, *, name: str = "sedge") -> None:
    """Copy a built-in demo job into `folder`; files that are there already are kept.

    Raises:
        CallError: There is no demo of that name.
        WriteError: The folder cannot be written.
    """
    demos = resources.files("nesting.job.demo")
    source = demos / name
    if not (source / JOB_FILE).is_file():
        known = ", ".join(sorted(entry.name for entry in demos.iterdir() if (entry / JOB_FILE).is_file()))
        raise CallError(f"there is no demo {name!r}; choose one of {known}.")
    with resources.as_file(source) as path:
        files = sorted(file for file in path.rglob("*") if file.is_file() and "__pycache__" not in file.parts)
        add_files(folder, {file.relative_to(path).as_posix(): file.read_bytes() for file in files})
