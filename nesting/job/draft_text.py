"""A drafted job as `job.toml`: what was read surely as values, the rest as comments with where it was read."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import tomlkit

from nesting.job.draft import Draft, DraftPart, Value, is_accepted
from vectorize.basics.units import MM_PER_INCH, inch_fraction
from vectorize.basics.wording import clipped, printable
from vectorize.marks.lettering import Text
from vectorize.marks.read_plan import PlanReading
from vectorize.marks.settle_scale import SettledScale
from vectorize.shapes.segment import Point

COLUMN = 34
"""Evidence stands from this column on."""

MOST_WRITTEN = 60
"""So much of a line is quoted."""

LEAST_OFFERED = 0.05
"""What is less sure than this is not worth a comment."""


@dataclass(frozen=True, slots=True)
class DraftSheet:
    """What the job is called, and the file and page that its plan is read from."""

    name: str
    file: str
    page: int


@dataclass(frozen=True, slots=True)
class DraftJob:
    """All that goes into the job: its sheet, and what was read on it."""

    sheet: DraftSheet
    reading: PlanReading
    draft: Draft
    scale: SettledScale
    is_metric: bool


def job_text(job: DraftJob) -> str:
    """Return the text of `job.toml`."""
    pieces = [_head(job), _scale(job), *_parts(job), _others(job), _TAIL]
    return "\n".join(piece for piece in pieces if piece)


_TAIL = """\
[rack]
file = "rack.csv"                 # one board a row; write every size and mass with its unit

[nest]
tool = "saw"                      # "saw", "knife", "laser", "router"

[pattern]
paper = "A4"
"""


def quoted(text: str) -> str:
    """Return a text as TOML writes it, whatever it holds."""
    return str(tomlkit.item(text).as_string())


def comment(text: str) -> str:
    """Return a text fit for a comment: one line, nothing that a terminal or a reader of TOML would obey."""
    return printable(" ".join(text.split()))


def spoken(text: str) -> str:
    """Return lettering in quotes, as a comment shows it."""
    return f'"{comment(clipped(text, MOST_WRITTEN))}"'


def where(text: Text, sure: float) -> str:
    """Return where a text stands, and how surely it was read."""
    x, y = text.box_px[0]
    return f"read at {x:.0f}, {y:.0f}, {100 * sure:.0f} %"


def _line(entry: str, remark: str = "") -> str:
    return f"{entry:<{COLUMN - 1}} # {remark}" if remark else entry


def _head(job: DraftJob) -> str:
    lines = [
        "# Drafted from the plan: what was read surely stands as a value, what is doubtful as a comment with where it",
        "# was read, in pixels of the file. read.png shows it on the sheet. Take away the # of what is right.",
        "",
        "[job]",
        "format = 1",
        f"name = {quoted(job.sheet.name)}",
        f'units = "{"mm" if job.is_metric else "in"}"',
        "",
        "[[plan]]",
        'name = "sheet 1"',
        f"file = {quoted(job.sheet.file)}",
        *([f"page = {job.sheet.page}"] if job.sheet.page != 1 else []),
        _line('edge = "centre"', 'the true edge is the "centre" of the drawn line, its "inside" or "outside"'),
    ]
    if (size := job.draft.size) is not None and size.value != "1:1":
        told = where(job.reading.texts[size.text], size.sure)
        lines.append(
            f"# {spoken(size.written)}, {told}: is the plan drawn smaller than the model? The lengths below are as"
        )
        lines.append("# lettered; if they are those of the paper, write those of the model.")
    return "\n".join([*lines, ""])


def scale_words(scale: SettledScale) -> str:
    """Return why a scale is accepted or not, and what is to be done where it is not."""
    if scale.is_accepted:
        return scale.why
    todo = "Take away the # of those that are right." if scale.dimensions else "Add known ones ([[plan.known]])."
    return f"{scale.why} {todo}"


def _scale(job: DraftJob) -> str:
    lines = [f"# {comment(scale_words(job.scale))}"]
    for one in job.scale.dimensions:
        text = job.reading.texts[one.text]
        entries = [
            "[[plan.known]]",
            f"from = {_place(one.start)}",
            f"to = {_place(one.end)}",
            _line(
                f'length = "{length_words(one.length_mm, is_metric=job.is_metric)}"',
                f"{spoken(text.text)}, read at {text.box_px[0][0]:.0f}, {text.box_px[0][1]:.0f}",
            ),
        ]
        lines += [*(entries if job.scale.is_accepted else [f"# {entry}" for entry in entries]), ""]
    return "\n".join(lines if len(lines) > 1 else [*lines, ""])


def _place(point: Point) -> str:
    return f"[{point[0]:.1f}, {point[1]:.1f}]"


def length_words(mm: float, *, is_metric: bool) -> str:
    """Return a length as the plan states lengths: in millimetres, or in inches as a fraction where it is one."""
    fraction = None if is_metric else inch_fraction(mm)
    if fraction:
        return f"{fraction} in"
    value, unit = (mm, "mm") if is_metric else (mm / MM_PER_INCH, "in")
    return f"{value:.4f}".rstrip("0").rstrip(".") + f" {unit}"


def _parts(job: DraftJob) -> list[str]:
    return [_part(part, job.reading.texts, is_metric=job.is_metric) for part in job.draft.parts]


def _part(part: DraftPart, texts: Sequence[Text], *, is_metric: bool) -> str:
    def length(mm: float) -> str:
        return quoted(length_words(mm, is_metric=is_metric))

    lines = ["[[part]]", *_name(part, texts), f"pick = [{_place(part.inside)}]"]
    if part.is_dashed:
        lines.append(_line('line = "dashed"', "a part behind the other, or only where one lies on it?"))
    entries: tuple[tuple[str, Value[Any] | None, Callable[[Any], str]], ...] = (
        ("material", part.material, quoted),
        ("thickness", part.thickness_mm, length),
        ("count", part.count, str),
        ("hand", part.hand, quoted),
    )
    for key, value, write in entries:
        lines += _entry(key, value, write, texts, is_needed=key in ("material", "thickness"))
    if part.grain is not None:
        lines.append(_line(f"grain = [{_place(part.grain[0])}, {_place(part.grain[1])}]", "the arrow drawn on it"))
    return "\n".join([*lines, ""])


def _name(part: DraftPart, texts: Sequence[Text]) -> list[str]:
    if not part.is_lettered:
        return [_line(f"name = {quoted(part.name.value)}", "no name was found in it or beside it")]
    told = where(texts[part.name.text], part.name.sure)
    if is_accepted(part.name):
        return [_line(f"name = {quoted(part.name.value)}", told)]
    return [_line(f"name = {quoted(f'perhaps {part.name.value}')}", f"perhaps {spoken(part.name.value)}, {told}")]


def _entry(
    key: str, value: Value[Any] | None, write: Callable[[Any], str], texts: Sequence[Text], *, is_needed: bool
) -> list[str]:
    """Return the lines of one key: as a value where it is sure, else as a comment; none where nothing was found."""
    if value is None or (value.sure < LEAST_OFFERED and not is_accepted(value)):
        return [_line(f'# {key} = ""', "not lettered")] if is_needed else []
    others = "".join(f"; or {comment(write(o))}, {100 * s:.0f} %" for o, s in value.others if s >= LEAST_OFFERED)
    told = f"{spoken(value.written)}, {where(texts[value.text], value.sure)}{others}"
    if is_accepted(value):
        return [_line(f"{key} = {write(value.value)}", told)]
    return [_line(f"# {key} = {write(value.value)}", f"perhaps {told}")]


def _others(job: DraftJob) -> str:
    if not job.draft.unlettered:
        return ""
    lines = ["# Regions that may be parts too; nothing is lettered in them or beside them."]
    for number, place in enumerate(job.draft.unlettered, start=1):
        lines += ["# [[part]]", f'# name = "region {number}"', f"# pick = [{_place(place)}]"]
    return "\n".join([*lines, ""])


def open_words(parts: Iterable[DraftPart]) -> list[tuple[DraftPart, str]]:
    """Return for each part what a person has to add or to tick, in words; parts that are whole are left out."""
    found = []
    for part in parts:
        missing = [
            f"its {what} is {'not lettered' if value is None else 'doubtful'}"
            for what, value in (("material", part.material), ("thickness", part.thickness_mm))
            if value is None or not is_accepted(value)
        ]
        if not part.is_lettered or not is_accepted(part.name):
            missing.insert(0, "its name is doubtful" if part.is_lettered else "no name is lettered on it")
        if part.count is not None and not is_accepted(part.count):
            missing.append("its count is doubtful")
        if part.is_dashed:
            missing.append("it is drawn in dashes, so a part of its own or only where one lies")
        if part.material is not None and part.material.value == "ply":
            missing.append("which ply is not lettered, and it counts as birch ply")
        if missing:
            found.append((part, "; ".join(missing)))
    return found
