"""Answers about what is drawn: plans, their pictures, closed shapes, and parts."""

from __future__ import annotations

from typing import Any, Literal, NotRequired, TypeAlias, TypedDict

from nesting.job.note_codes import NoteCode

Pair: TypeAlias = tuple[float, float]
Points: TypeAlias = list[Pair]
Row: TypeAlias = tuple[float, float, float]
Table: TypeAlias = dict[str, Any]
"""A table of `job.toml` as it is written there."""


class Said(TypedDict):
    """What a stage repaired or left open, and where."""

    code: NoteCode
    part: str | None
    at: Pair | None
    text: str
    state: Literal["fixed", "open"]


# "from" is a word of the language, so these two cannot be written as classes.
Known = TypedDict("Known", {"from": Pair, "to": Pair, "length_mm": float, "residual_mm": float | None})
"""A known dimension, and by how much the plan's scale misses it."""
Bridge = TypedDict("Bridge", {"from": Pair, "to": Pair})
"""A gap in a line that a person closed."""


class PageOfFile(TypedDict):
    """A page that a plan's file holds."""

    number: int
    kind: str
    width: float
    height: float
    size_mm: Pair | None
    layers: list[str]


class LensBulge(TypedDict):
    """The radial distortion of a photo."""

    strength: float
    centre: Pair
    reach_px: float


class Scale(TypedDict):
    """The map from places on the plan to millimetres."""

    mm_per_px: Pair
    skew_deg: float
    page_mm: Pair
    sigma: float
    is_true_size: bool
    matrix: tuple[Row, Row, Row]
    lens: LensBulge | None


class Plan(TypedDict):
    """A plan of the job and how it was read."""

    number: int
    name: str
    file: str
    page: int
    edge: str
    size: str | None
    axes: str
    flatten: list[str]
    gap_mm: float
    layers: list[str] | None
    sheet: str | None
    corners: Points | None
    bridges: list[Bridge]
    is_drawing: bool
    pages: list[PageOfFile]
    known: list[Known]
    scale: Scale | None
    notes: list[Said]
    fault: str | None


class Tiles(TypedDict):
    """A plan that is a picture: its size, and the tiles that it is shown by."""

    kind: Literal["picture"]
    box: tuple[float, float, float, float]
    is_y_up: bool
    width: int
    height: int
    levels: int
    tile: int


class Sketch(TypedDict):
    """A plan that is a drawing, shown by its own strokes."""

    kind: Literal["drawing"]
    box: tuple[float, float, float, float]
    is_y_up: bool


class PictureAnswer(TypedDict):
    """How a plan is shown; no picture while it is being made ready."""

    key: str
    picture: Tiles | Sketch | None


class Stroke(TypedDict):
    """A line of a drawing, in its own units."""

    points: Points
    width: float
    is_closed: bool
    is_dashed: bool
    is_filled: bool


class StrokesAnswer(TypedDict):
    """All strokes of a drawing."""

    strokes: list[Stroke]


class Region(TypedDict):
    """A closed shape of a plan."""

    name: str
    at: Pair
    outline_px: list[Points]
    size_mm: Pair
    area_mm2: float
    perimeter_mm: float


class RegionsAnswer(TypedDict):
    """The closed shapes of a plan, or none yet, and whether they are being looked for."""

    regions: list[Region] | None
    is_searched: bool


class SnapAnswer(TypedDict):
    """The drawn place nearest to a click."""

    at: Pair | None


class ReadValue(TypedDict):
    """A value read off a plan: in words, as it was lettered, how sure (0 to 1), and what else it may be."""

    value: str
    sure: float
    is_accepted: bool
    written: str
    others: list[tuple[str, float]]


# `from` once more.
ReadLength = TypedDict(
    "ReadLength",
    {
        "from": Pair,
        "to": Pair,
        "length": str,
        "length_mm": float,
        "off_mm": float | None,
        "written": str,
        "text": int,
    },
)
"""A dimension read off a plan, and by how much the scale that they share misses it."""


class ReadPart(TypedDict):
    """A part as its plan labels it; `table` holds what is sure of it as `job.toml` would, `texts` its lettering."""

    number: str
    at: Pair
    outline_px: Points
    is_lettered: bool
    name: ReadValue | None
    material: ReadValue | None
    thickness: ReadValue | None
    count: ReadValue | None
    hand: ReadValue | None
    table: Table
    texts: list[int]


class PlanSays(TypedDict):
    """What a plan says of the job, and in which units."""

    units: Literal["mm", "in"]
    is_scale_sure: bool
    why: str
    lengths: list[ReadLength]
    drawn_size: str | None
    parts: list[ReadPart]
    unlettered: Points
    notes: list[Said]


class ReadingAnswer(TypedDict):
    """How far reading a plan has come, what it says once that is done, and what the builder left out of it."""

    key: str
    state: Literal["none", "running", "done", "failed", "stopped"]
    text: str
    says: PlanSays | None
    left_out: list[str]


class RingShape(TypedDict):
    """A closed boundary: its start, then a line [x, y], an arc [x, y, bulge] or a cubic [x1, y1, x2, y2, x, y] each."""

    start: Pair
    pieces: list[list[float]]


class OutlineShape(TypedDict):
    """An outline as its curves, in millimetres."""

    exterior: RingShape
    cutouts: list[RingShape]


class Alternative(TypedDict):
    """Another reading of a part: `pick` and `cutout`, added to its table, take it."""

    outline: list[Points]
    outline_px: list[Points] | None
    sure: float
    why: str
    at: Pair
    pick: Points
    cutout: Points


class Substitute(TypedDict):
    """Wood that a part may be made of instead."""

    material: str
    thickness_mm: float


class Mark(TypedDict):
    """A line or spot for the builder that a part's pattern carries."""

    kind: str
    at: Points
    text: str


class InWords(TypedDict):
    """A step or a carving, as its table and in words."""

    table: Table
    text: str


# `from` again: the part that a part is made from.
_Source = TypedDict("_Source", {"from": str | None})


class Part(_Source):
    """A part as it is asked for and as it stands; pieces that steps made of a part have `piece_of`."""

    number: int
    name: str
    plan: str | None
    pick: Points
    cutout: Points
    fill: Points
    line: str
    mirror: Points | None
    material: str | None
    thickness_mm: float | None
    grain: Points | str | None
    grain_tolerance: float | str
    count: int
    hand: str
    board: str | None
    weighed_g: float | None
    weighed_as: str | None
    is_cut: bool
    loaded: str
    use: str
    flat_mm: float | None
    density_kg_m3: Pair | None
    least_stiffness_mpa: float | None
    cuts: list[str]
    boards: list[str]
    substitutes: list[Substitute]
    marks: list[Mark]
    fault: str | None
    state: Literal["not traced", "traced", "on a board", "cut", "weighed"]
    piece_of: str | None
    pieces: list[str]
    steps: list[InWords]
    carve: InWords | None
    outline: list[Points] | None
    # Of a part that is traced or made.
    area_mm2: NotRequired[float]
    size_mm: NotRequired[Pair]
    centroid_mm: NotRequired[Pair]
    copies: NotRequired[int]
    grain_deg: NotRequired[float]
    is_grain_assumed: NotRequired[bool]
    is_grain_free: NotRequired[bool]
    # Of a part that is traced.
    perimeter_mm: NotRequired[float]
    shape: NotRequired[OutlineShape]
    outline_px: NotRequired[list[Points] | None]
    filled_px: NotRequired[list[Points]]
    sigma_edge_mm: NotRequired[float]
    sigma_area_mm2: NotRequired[float]
    pen_width_mm: NotRequired[float]
    sure: NotRequired[float]
    alternatives: NotRequired[list[Alternative]]
    is_corrected: NotRequired[bool]
    notes: NotRequired[list[Said]]
