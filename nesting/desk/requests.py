"""What the page may ask to be changed: one class for each kind of edit, strict about its fields."""

from __future__ import annotations

from typing import Annotated, Any, Literal, TypeVar

from pydantic import Field, TypeAdapter, ValidationError, field_validator

from nesting.desk.fields import Edit, Name, Number, Place, Table, Text
from vectorize.errors import CallError

Wanted = TypeVar("Wanted")
Form = TypeVar("Form", bound="Edit")


class SetJob(Edit):
    """Name of the job, or the units it is shown in."""

    kind: Literal["set-job"]
    field: Literal["name", "units"]
    value: Name


class AddKnown(Edit):
    """A known dimension: two points of the plan and their true distance."""

    kind: Literal["add-known"]
    plan: int
    start: Place
    end: Place
    length: Name


class DropKnown(Edit):
    """Take a known dimension away."""

    kind: Literal["drop-known"]
    plan: int
    number: int


class SetPlan(Edit):
    """How a plan is read."""

    kind: Literal["set-plan"]
    plan: int
    field: Literal["name", "edge", "size", "axes", "gap", "page", "layers"]
    value: Name | Annotated[int, Field(strict=True, ge=1, le=100_000)] | tuple[Text, ...] | None


class SetSheet(Edit):
    """A photographed sheet: its true size, and its four corners in any order; no size takes both away."""

    kind: Literal["set-sheet"]
    plan: int
    size: Name | None
    corners: tuple[Place, Place, Place, Place] | None = None


class AddBridge(Edit):
    """Close a gap in a line between two points of the plan."""

    kind: Literal["add-bridge"]
    plan: int
    start: Place
    end: Place


class DropBridge(Edit):
    """Open again a gap that was closed by hand."""

    kind: Literal["drop-bridge"]
    plan: int
    number: int


class AddPart(Edit):
    """A new part, picked on a plan."""

    kind: Literal["add-part"]
    name: Name
    plan: int
    at: Place
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
        "line",
        "from",
    ]
    value: Text | int | tuple[Place, Place] | None

    @field_validator("value", mode="before")
    @classmethod
    def _no_truth(cls, value: Any) -> Any:  # noqa: ANN401 - JSON gives whatever was sent
        if isinstance(value, bool):
            raise ValueError("expected a text, a number or two points")
        return value


class MakePart(Edit):
    """A new part made from another one: a copy of it, until steps change it."""

    kind: Literal["make-part"]
    name: Name
    source: Name
    material: Text | None = None
    thickness: Text | None = None


class MarkCut(Edit):
    """Whether a part has been cut out; where it lies on a board it is then pinned."""

    kind: Literal["mark-cut"]
    part: Name
    is_cut: bool


class PutStep(Edit):
    """A step of a part as `[[part.step]]` has it, in place of step `number`, counted from 0; None adds one."""

    kind: Literal["put-step"]
    part: Name
    number: int | None = None
    step: Table


class DropStep(Edit):
    """Take a step away."""

    kind: Literal["drop-step"]
    part: Name
    number: int


class MoveStep(Edit):
    """Bring a step to another place in the order in which steps run, both counted from 0."""

    kind: Literal["move-step"]
    part: Name
    number: int
    to: int


class SetCarve(Edit):
    """How a part is carved, as `[part.carve]` has it; None leaves it flat."""

    kind: Literal["set-carve"]
    part: Name
    carve: Table | None


class AddPick(Edit):
    """One more region for a part, or one to take away from it."""

    kind: Literal["add-pick"]
    part: Name
    role: Literal["pick", "cutout"]
    at: Place


class DropPick(Edit):
    """Take a pick away."""

    kind: Literal["drop-pick"]
    part: Name
    role: Literal["pick", "cutout"]
    number: int


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


class DropBlemish(Edit):
    """Take a blemish away."""

    kind: Literal["drop-blemish"]
    board: Name
    number: int


class SetNest(Edit):
    """One rule of nesting; None takes it away."""

    kind: Literal["set-nest"]
    field: Literal[
        "tool", "kerf", "clearance", "ends", "edges", "cutouts", "entry_hole", "side_by_side", "soft_patches", "seed"
    ]
    value: bool | int | Name | tuple[Name, ...] | tuple[tuple[Name, Name], ...] | None


class TieParts(Edit):
    """The board of each part named, None to leave it free; a part from a substitute takes its material too."""

    kind: Literal["tie-parts"]
    ties: Annotated[dict[Name, Name | None], Field(min_length=1, max_length=1000)]


class SetPattern(Edit):
    """One choice for patterns; None takes it away."""

    kind: Literal["set-pattern"]
    field: Literal[
        "paper", "margin", "overlap", "printer", "mirror", "style", "without", "formats", "pages", "dxf", "overlay"
    ]
    value: bool | int | Text | tuple[Name, ...] | None


class MeasuredBars(Edit):
    """What the two 100 mm bars measure on a print made with the correction that holds now."""

    kind: Literal["measured-bars"]
    across: Name
    up: Name


class SetRange(Edit):
    """Where the model must balance, each end in mm aft of the datum or percent of the chord; None takes it away."""

    kind: Literal["set-range"]
    ends: tuple[Name, Name] | None


class SetBalance(Edit):
    """One key of `[balance]`; None takes it away. Points are pixels of the side view."""

    kind: Literal["set-balance"]
    field: Literal["plan", "datum", "aft", "lateral", "resolves"]
    value: Name | Place | tuple[Name, Name] | None


class SetChord(Edit):
    """Length and leading edge of the mean chord, for a range in percent; None takes it away."""

    kind: Literal["set-chord"]
    length: Name | None
    leading_edge: Name | None = None


class SetInPlace(Edit):
    """Whether a part is drawn where it belongs on the side view."""

    kind: Literal["set-in-place"]
    part: Name
    is_in_place: bool


class SetSeat(Edit):
    """How a part comes to its place; without a station and without an anchor its place is taken away.

    `anchor` is a pixel of the part on its plan, `at` the pixel of the side view that it comes to.
    """

    kind: Literal["set-seat"]
    part: Name
    station: Name | None = None
    anchor: Place | None = None
    at: Place | None = None
    angle: Name | None = None
    lateral: Name | None = None
    from_above: bool = False


class PutItem(Edit):
    """A piece of equipment, or a place for ballast, by station or point; one of that name is replaced."""

    kind: Literal["put-item"]
    table: Literal["item", "ballast"]
    name: Name
    station: Name | None = None
    at: Place | None = None
    mass: Name | None = None
    lateral: Name | None = None
    depth: Name | None = None
    fuel: bool | None = None


class PutAlternative(Edit):
    """An item at another place or of another mass, to look at beside the model as planned."""

    kind: Literal["put-alternative"]
    name: Name
    item: Name
    mass: Name | None = None
    station: Name | None = None
    lateral: Name | None = None


class DropItem(Edit):
    """Take a piece of equipment, a place for ballast or an alternative away."""

    kind: Literal["drop-item"]
    table: Literal["item", "ballast", "alternative"]
    name: Name


class AddReading(Edit):
    """Several parts on the scale together, or the whole model (`model`), with what was done by then."""

    kind: Literal["add-reading"]
    parts: Annotated[tuple[Name, ...], Field(min_length=1, max_length=1000)]
    mass: Name
    stage: Literal["cut", "glued", "covered", "painted", "fitted"]
    balance: Name | None = None


class DropReading(Edit):
    """Take a reading of several parts away."""

    kind: Literal["drop-reading"]
    number: int


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
    SetJob | AddKnown | DropKnown | SetPlan | SetSheet | AddBridge | DropBridge
    | AddPart | MakePart | DropPart | SetPart | MarkCut | AddPick | DropPick
    | PutStep | DropStep | MoveStep | SetCarve
    | SetBoard | AddBoards | DropBoard | AddBlemish | DropBlemish | SetNest | SetPattern | SetOutline | CutPart
    | PlaceCopy | PinCopy | TieParts | MeasuredBars
    | SetRange | SetBalance | SetChord | SetInPlace | SetSeat | PutItem | PutAlternative | DropItem
    | AddReading | DropReading,
    Field(discriminator="kind"),
]  # fmt: skip
_PLACE: TypeAdapter[PlaceCopy] = TypeAdapter(PlaceCopy)
_READER: TypeAdapter[AnyEdit] = TypeAdapter(AnyEdit)


def read_edit(data: object) -> AnyEdit:
    """Return the edit that `data` (parsed JSON) asks for.

    Raises:
        CallError: An unknown kind, a missing or unknown field, or a value of the wrong type.
    """
    return _read(_READER, data)


def read_place(data: object) -> PlaceCopy:
    """Return the placement that `data` (parsed JSON) asks for; raises as `read_edit`."""
    return _read(_PLACE, data)


def read_wanted(form: type[Form], data: object) -> Form:
    """Return what `data` (parsed JSON) asks for in a form of its own; raises as `read_edit`."""
    return _read(TypeAdapter(form), data)


def _read(reader: TypeAdapter[Wanted], data: object) -> Wanted:
    try:
        return reader.validate_python(data)
    except ValidationError as error:
        fault = error.errors(include_url=False, include_context=False)[0]
        where = ".".join(str(step) for step in fault["loc"]) or "the edit"
        raise CallError(f"{where}: {fault['msg'][0].lower()}{fault['msg'][1:]}.") from error
