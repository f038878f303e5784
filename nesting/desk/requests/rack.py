"""What may be asked to be changed of the rack: boards, blemishes, and how parts lie on them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from nesting.desk.fields import Edit, Name, Number, OfEntry, Place, Text


class SetBoard(Edit):
    """One cell of the rack."""

    kind: Literal["set-board"]
    board: Name
    field: Literal["name", "material", "thickness", "measured thickness", "length", "width", "mass", "cut", "notes"]
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


class DropBlemish(OfEntry):
    """Take a blemish away."""

    kind: Literal["drop-blemish"]
    board: Name


class SetNest(Edit):
    """One rule of nesting; None takes it away."""

    kind: Literal["set-nest"]
    field: Literal[
        "tool", "kerf", "clearance", "ends", "edges", "cutouts", "entry_hole", "side_by_side", "soft_patches", "seed"
    ]
    value: bool | int | Name | tuple[Name, ...] | tuple[tuple[Name, Name], ...] | None


class SetAccuracy(Edit):
    """How well boards are measured, one standard deviation of one measure; None takes what is usual."""

    kind: Literal["set-accuracy"]
    field: Literal["length", "width", "thickness", "nominal_thickness", "support"]
    value: Name | None


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


AboutRack = (
    SetBoard | AddBoards | DropBoard | AddBlemish | DropBlemish | SetNest | SetAccuracy | TieParts | PlaceCopy | PinCopy
)  # fmt: skip
"""Every edit of the rack and of what lies on it."""
