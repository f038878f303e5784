"""What may be asked to be changed of the parts: what they are, picks, steps, carving, outlines."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, field_validator

from nesting.desk.fields import Edit, Name, OfEntry, OfEntryOrNew, Place, Table, Text


class AddPart(Edit):
    """A new part, picked on a plan."""

    kind: Literal["add-part"]
    name: Name
    plan: Name
    at: Place
    material: Text | None = None
    thickness: Text | None = None


class MakePart(Edit):
    """A new part made from another one: a copy of it, until steps change it."""

    kind: Literal["make-part"]
    name: Name
    source: Name
    material: Text | None = None
    thickness: Text | None = None


class DropPart(Edit):
    """Take a part out of the job."""

    kind: Literal["drop-part"]
    part: Name


class SetPart(Edit):
    """One field of a part; None takes it away."""

    kind: Literal["set-part"]
    part: Name
    field: Literal[
        "name",
        "material",
        "thickness",
        "grain",
        "grain_tolerance",
        "count",
        "hand",
        "board",
        "weighed",
        "weighed_as",
        "line",
        "mirror",
        "from",
        "loaded",
        "use",
        "flat",
        "density",
        "least_stiffness",
        "cuts",
        "boards",
    ]
    value: Text | int | tuple[Place, Place] | Annotated[tuple[Name, ...], Field(max_length=200)] | None

    @field_validator("value", mode="before")
    @classmethod
    def _no_truth(cls, value: Any) -> Any:  # noqa: ANN401 - JSON gives whatever was sent
        if isinstance(value, bool):
            raise ValueError("expected a text, a number, texts or two points")
        return value


class MarkCut(Edit):
    """Whether a part has been cut out; where it lies on a board it is then pinned."""

    kind: Literal["mark-cut"]
    part: Name
    is_cut: bool


class Substitute(Edit):
    """Wood that a part may be cut from instead."""

    material: Name
    thickness: Name


class SetSubstitutes(Edit):
    """All that a part may be cut from instead; `seen` is the word that the state gave for what it was until now."""

    kind: Literal["set-substitutes"]
    part: Name
    seen: Name
    substitutes: Annotated[tuple[Substitute, ...], Field(max_length=50)]


class PutMark(OfEntryOrNew):
    """A line or spot for the builder as `[[part.mark]]` has it, in place of mark `number` from 0; None adds one."""

    kind: Literal["put-mark"]
    part: Name
    mark: Table


class DropMark(OfEntry):
    """Take a line or spot for the builder away."""

    kind: Literal["drop-mark"]
    part: Name


class AddPick(Edit):
    """One more region for a part, or one to take away from it."""

    kind: Literal["add-pick"]
    part: Name
    role: Literal["pick", "cutout"]
    at: Place


class DropPick(OfEntry):
    """Take a pick away."""

    kind: Literal["drop-pick"]
    part: Name
    role: Literal["pick", "cutout"]


class PutStep(OfEntryOrNew):
    """A step of a part as `[[part.step]]` has it, in place of step `number`, counted from 0; None adds one."""

    kind: Literal["put-step"]
    part: Name
    step: Table


class DropStep(OfEntry):
    """Take a step away."""

    kind: Literal["drop-step"]
    part: Name


class MoveStep(OfEntry):
    """Bring a step to another place in the order in which steps run, both counted from 0.

    `past` is the word that the state gave for the step at that place.
    """

    kind: Literal["move-step"]
    part: Name
    to: int
    past: Name


class SetCarve(Edit):
    """How a part is carved, as `[part.carve]` has it; None leaves it flat."""

    kind: Literal["set-carve"]
    part: Name
    carve: Table | None


class SetOutline(Edit):
    """A person's correction of an outline, in the form of `outlines/NAME.json`; None takes it away."""

    kind: Literal["set-outline"]
    part: Name
    outline: dict[str, Any] | None


class CutPart(Edit):
    """Cut a part in two along the straight line between two points of its edge.

    `outline` is its edge as the page has it, `ends` the numbers of the two points of the exterior, counted from
    0; the stretch from the first to the second becomes a part of its own, called `name`.
    """

    kind: Literal["cut-part"]
    part: Name
    name: Name
    outline: dict[str, Any]
    ends: tuple[int, int]


AboutParts = (
    AddPart | MakePart | DropPart | SetPart | MarkCut | AddPick | DropPick | PutStep | DropStep | MoveStep
    | SetCarve | SetOutline | CutPart | SetSubstitutes | PutMark | DropMark
)  # fmt: skip
"""Every edit of a part."""
