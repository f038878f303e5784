"""Answers about the rack: boards, what parts weigh from them, what lies where, what is to be bought."""

from __future__ import annotations

from typing import Literal, NotRequired, TypedDict

from nesting.desk.answers.plan_answers import Pair, Points, Said


class Blemish(TypedDict):
    """A place of a board that parts keep off, or may lie on where softness does no harm."""

    outline: Points
    is_soft: bool
    text: str
    seen: str


class Board(TypedDict):
    """A board of the rack; without a density where its row cannot be used, which `fault` then tells."""

    number: int
    name: str
    material: str
    thickness_mm: float
    measured_thickness_mm: float | None
    length_mm: float
    width_mm: float
    mass_g: float | None
    cut: str | None
    bow_mm: float | None
    grain_deg: float
    notes: str
    outline: list[Points]
    is_offcut: bool
    blemishes: list[Blemish]
    thickness_text: str
    density_kg_m3: float | None
    sigma_kg_m3: float | None
    density_text: str | None
    fault: str | None


class Weight(TypedDict):
    """What a copy of a part weighs from one board; `chosen` is the board that it comes from."""

    part: str
    copy: int
    board: str
    mass_g: float
    sigma_g: float
    chosen: bool
    reason: str
    default_density: bool
    substitute: bool
    sawn_g: float
    weighed_g: NotRequired[float]
    weighed_as: NotRequired[str | None]
    flies_g: NotRequired[float]
    difference_g: NotRequired[float]


class BoardMass(TypedDict):
    """A mass by board."""

    board: str
    mass_g: float
    sigma_g: float


class Weights(TypedDict):
    """What every copy weighs from every board, and the totals."""

    weights: list[Weight]
    boards: list[BoardMass]
    total_g: float
    total_sigma_g: float
    notes: list[Said]


class Placement(TypedDict):
    """Where a copy lies: mirrored in x if `flipped`, then turned, then moved."""

    part: str
    copy: int
    x_mm: float
    y_mm: float
    angle_deg: float
    flipped: bool
    pinned: NotRequired[bool]
    holds: NotRequired[bool]


class LaidBoard(TypedDict):
    """A board with what lies on it."""

    name: str
    placements: list[Placement]
    used_fraction: float
    used_length_mm: float


class UnplacedCopy(TypedDict):
    """A copy that lies on no board, and why."""

    part: str
    copy: int
    reason: str


class Layout(TypedDict):
    """The kept layout, and whether it was made from the job as it is now."""

    boards: list[LaidBoard]
    unplaced: list[UnplacedCopy]
    proved: bool
    notes: list[Said]
    faults: list[str]
    is_current: bool


# "for" is a word of the language.
_For = TypedDict("_For", {"for": str})


class WantedBoard(_For):
    """Boards that are still to be bought, also as the cells of a table (`texts`)."""

    material: str
    thickness_mm: float
    length_mm: float
    width_mm: float
    boards: int
    parts: list[str]
    density_kg_m3: Pair
    asked_for: bool
    mass_g: Pair
    problem: str | None
    texts: list[str]


class StockLine(TypedDict):
    """One thing that the job takes, also as the cells of a table (`texts`)."""

    kind: Literal["board", "strip", "wire", "covering", "paint", "glue"]
    what: str
    needed: float
    unit: Literal["mm", "mm2", "g", "pieces"]
    waste_share: float
    taken: float
    dry_g: float | None
    packs: int | None
    cost: float | None
    parts: list[str]
    problem: str
    texts: list[str]


class StripCut(TypedDict):
    """A piece that is cut from a length, or that none holds."""

    piece: str
    length_mm: float


class CutLength(TypedDict):
    """A length of strip with what is cut from it."""

    length_mm: float
    origin: Literal["offcut", "at hand", "new"]
    cuts: list[StripCut]
    rest_mm: float


class StripPlan(TypedDict):
    """How the pieces of one strip stock are cut."""

    strip: str
    lengths: list[CutLength]
    bought: int
    least_bought: int
    proved: bool
    left_out: list[StripCut]


class Stock(TypedDict):
    """All that the job takes: `heads` of the lines' texts, `cuts` of strips and the `total` in words."""

    lines: list[StockLine]
    strips: list[StripPlan]
    cost: float | None
    unpriced: list[str]
    currency: str
    heads: list[str]
    cuts: list[str]
    total: str
    hint: str
    notes: list[Said]


class Shopping(TypedDict):
    """What wood is still to be bought, and all that the job takes."""

    wanted: list[WantedBoard]
    stock: Stock | None
    fault: str | None
