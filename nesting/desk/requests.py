"""What the page may ask to be changed: a value of the job, or one of the few edits that are more than a value.

What a value may be is the schema of `job.toml` to say; here stands only how an edit is written down.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self, TypeVar

from pydantic import Field, TypeAdapter, ValidationError, model_validator

from nesting.desk.fields import Edit, Name, Number, Place, Text
from nesting.job.faults import first_fault
from vectorize.basics.errors import CallError

Wanted = TypeVar("Wanted")
Form = TypeVar("Form", bound=Edit)

Row = Annotated[int, Field(strict=True, ge=0, le=100_000)]
Path = Annotated[tuple[Name | Row | None, ...], Field(min_length=2, max_length=8)]
"""Where a value stands in `job.toml`: keys, and after the key of a list which of its entries is meant.

An entry is told by its name; by its number from 0, with the word that the state gave for it (`seen`); or, as None,
it is one that is not there yet.
"""


class Change(Edit):
    """A value of `job.toml` and what it is to be; None takes it away."""

    at: Path
    value: Any
    seen: Name | None = None

    @model_validator(mode="after")
    def _is_named_whole(self) -> Self:
        if self.seen is None and any(isinstance(step, int) for step in self.at):
            raise ValueError("an entry by its number needs 'seen', the word that the state gave for it")
        return self


class SetValue(Change):
    """Change one value of the job, or several that only make sense together (`also`)."""

    kind: Literal["set"]
    also: Annotated[tuple[Change, ...], Field(max_length=500)] = ()


class MoveRow(Edit):
    """Bring an entry of a list to another place in its order; `past` is the word that the state gave for that place."""

    kind: Literal["move"]
    at: Path
    seen: Name
    to: Row
    past: Name


class LeaveOut(Edit):
    """Leave something out of what a plan says, or take it up again.

    `key` is that of the reading; `items` are `scale` and numbers of parts; `called` is what a builder calls them.
    """

    kind: Literal["leave-out"]
    key: Name
    items: Annotated[tuple[Name, ...], Field(min_length=1, max_length=1000)]
    called: Name
    is_left: bool = True


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


class MeasuredBars(Edit):
    """What the two bars of a length measure on a print made with the correction that holds now.

    `seen` is the word that the state gave for that correction.
    """

    kind: Literal["measured-bars"]
    seen: Name
    bar: Literal["100 mm", "4 in"] = "100 mm"
    across: Name
    up: Name


class SetBoard(Edit):
    """One cell of the rack."""

    kind: Literal["set-board"]
    board: Name
    field: Literal[
        "name", "material", "thickness", "measured thickness", "length", "width", "mass", "cut", "notes", "tone"
    ]
    value: Text


class AddBoards(Edit):
    """New boards: rows under a heading, as a spreadsheet copies them."""

    kind: Literal["add-boards"]
    table: Annotated[str, Field(max_length=200_000)]


class DropBoard(Edit):
    """Take a board out of the rack."""

    kind: Literal["drop-board"]
    board: Name


class AddBlemish(Edit):
    """A flaw on a board: a rectangle in the board's own frame, in mm."""

    kind: Literal["add-blemish"]
    board: Name
    corner: Place
    opposite: Place
    is_soft: bool = False
    text: Text = ""


class DropBlemish(Edit):
    """Take a blemish away: its number from 0, and the word that the state gave for it (`seen`)."""

    kind: Literal["drop-blemish"]
    board: Name
    number: int
    seen: Name


class TieParts(Edit):
    """The board of each part named, None to leave it free; a part from a substitute takes its material too."""

    kind: Literal["tie-parts"]
    ties: Annotated[dict[Name, Name | None], Field(min_length=1, max_length=1000)]


class PlaceCopy(Edit):
    """Lay a copy of a part on a board where the builder wants it; it is pinned there."""

    kind: Literal["place"]
    part: Name
    copy_number: Annotated[int, Field(ge=1, le=10_000)]
    board: Name
    x_mm: Number
    y_mm: Number
    angle_deg: Number
    flipped: bool


class PinCopy(Edit):
    """Hold a copy where it lies, or let it go."""

    kind: Literal["pin"]
    part: Name
    copy_number: Annotated[int, Field(ge=1, le=10_000)]
    is_pinned: bool


AnyEdit = Annotated[
    SetValue
    | MoveRow
    | LeaveOut
    | SetOutline
    | CutPart
    | MeasuredBars
    | SetBoard
    | AddBoards
    | DropBoard
    | AddBlemish
    | DropBlemish
    | TieParts
    | PlaceCopy
    | PinCopy,
    Field(discriminator="kind"),
]
_PLACE: TypeAdapter[PlaceCopy] = TypeAdapter(PlaceCopy)
_EDIT: TypeAdapter[AnyEdit] = TypeAdapter(AnyEdit)


def read_edit(data: object) -> AnyEdit:
    """Return the edit that `data` (parsed JSON) asks for.

    Raises:
        CallError: An unknown kind, a missing or unknown field, or a value of the wrong type.
    """
    return _read(_EDIT, data, root=AnyEdit)


def read_place(data: object) -> PlaceCopy:
    """Return the placement that `data` (parsed JSON) asks for; raises as `read_edit`."""
    return _read(_PLACE, data, root=PlaceCopy)


def read_wanted(form: type[Form], data: object) -> Form:
    """Return what `data` (parsed JSON) asks for in a form of its own; raises as `read_edit`."""
    return _read(TypeAdapter(form), data, root=form)


def _read(reader: TypeAdapter[Wanted], data: object, *, root: object) -> Wanted:
    try:
        return reader.validate_python(data)
    except ValidationError as error:
        raise CallError(first_fault(error, data, root=root)) from error
