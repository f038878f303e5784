"""A job made up on the spot from a plan file and known dimensions on the command line."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pydantic import ValidationError

from nesting.job.faults import first_fault
from nesting.job.folder import Job, file_name_for, open_job
from nesting.job.schema import JobSpec, KnownTable, PlanTable
from vectorize.basics.errors import CallError, ScanError
from vectorize.basics.units import parse_length
from vectorize.basics.wording import shown
from vectorize.page.plan_page import UNITS_MM


def bare_job(
    path: Path,
    *,
    known: Sequence[str] = (),
    is_as_drawn: bool = False,
    unit: str | None = None,
    page: int | None = None,
    largest_megapixels: float | None = None,
) -> Job:
    """Return the job in folder `path`, or one that holds just the plan file `path`; its results go to `NAME-out/`.

    Args:
        path: A folder or a file.
        known: Known dimensions of the file, as `parse_known` reads them.
        is_as_drawn: Whether the size that the file states is taken.
        unit: What a drawing is drawn in: mm, cm, m, in or ft.
        page: Its page, from 1; the first unless given.
        largest_megapixels: The largest picture to read, in million pixels.

    Raises:
        CallError: What is of a file given for a job folder, which has its own.
        ScanError: Neither a folder nor a file.
    """
    if path.is_dir():
        if known or is_as_drawn or unit or page is not None or largest_megapixels is not None:
            raise CallError(
                f"{path} is a job folder: the pages, known dimensions and limits of its plans stand in job.toml (see "
                "`sheetwood scale`)."
            )
        return open_job(path)
    if not path.exists():
        raise ScanError(f"{path} is not there; give a job folder or a plan file.")
    plan = PlanTable(
        name=path.stem,
        file=path.name,
        page=1 if page is None else page,
        size="as drawn" if is_as_drawn else None,
        known=tuple(parse_known(text) for text in known),
    )
    if largest_megapixels is not None:
        plan = plan.model_copy(update={"largest_megapixels": largest_megapixels})
    if unit is not None:
        if unit not in UNITS_MM:
            raise CallError(f"--unit is {shown(unit)}; give one of {', '.join(UNITS_MM)}.")
        plan = plan.model_copy(update={"unit": unit})
    return Job(path.parent, JobSpec(plan=(plan,)), "", out_name=f"{file_name_for(path.stem)}-out")


def parse_known(text: str) -> KnownTable:
    """Return a known dimension written as `X1,Y1,X2,Y2,LENGTH` (pixels, and a length with its unit).

    For a plan of several files, as `X1,Y1,FILE1,X2,Y2,FILE2,LENGTH`.

    Raises:
        CallError: Not of that form.
        UnitError: The length cannot be read.
    """
    *numbers, length = known_pieces(text)
    parse_length(length, what="the length in --known")
    half = len(numbers) // 2
    ends = [[float(number) for number in numbers[:half]], [float(number) for number in numbers[half:]]]
    data = {"from": ends[0], "to": ends[1], "length": length.strip()}
    try:
        return KnownTable.model_validate(data)
    except ValidationError as error:
        raise CallError(f"--known is {shown(text)}: {first_fault(error, data, root=KnownTable)}") from error


def parse_pixel(text: str, *, what: str) -> tuple[float, float]:
    """Return a pixel written as `X,Y`; `what` is how the message calls it.

    Raises:
        CallError: Not of that form.
    """
    pieces = text.split(",")
    if len(pieces) != 2 or not all(map(_is_number, pieces)):
        raise CallError(f"{what} is {shown(text)}; write a pixel on the part as X,Y.")
    return float(pieces[0]), float(pieces[1])


def known_pieces(text: str) -> list[str]:
    """Return the four or six numbers and the length, which may hold a comma itself."""
    for count in (6, 4):
        pieces = text.split(",", count)
        if len(pieces) == count + 1 and all(map(_is_number, pieces[:count])):
            return pieces
    raise CallError(
        f"--known is {shown(text)}; write it as X1,Y1,X2,Y2,LENGTH, such as 412,1880,2774,1871,'300 mm', "
        "or for a plan of several files X1,Y1,FILE1,X2,Y2,FILE2,LENGTH."
    )


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
