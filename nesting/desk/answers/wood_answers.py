"""Answers about wood: boards, weights, the layout, balance, and what is worked out before wood is chosen."""

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
    by_board: list[BoardMass]
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


class Shopping(TypedDict):
    """What wood is still to be bought."""

    wanted: list[WantedBoard]
    fault: str | None


# ---- balance ----


class Seat(TypedDict):
    """How a part that is not drawn in place comes to its station."""

    part: str
    station_mm: float | None
    anchor: Pair | None
    at: Pair | None
    angle_deg: float
    lateral_mm: float
    from_above: bool


class Item(TypedDict):
    """Equipment with its mass and station."""

    name: str
    mass_g: float
    spread_g: float
    station_mm: float | None
    at: Pair | None
    lateral_mm: float
    fuel: bool


class BallastPlace(TypedDict):
    """A place where ballast may go."""

    name: str
    station_mm: float | None
    at: Pair | None
    lateral_mm: float
    most_g: float | None
    depth_mm: float | None


class AlternativeItem(TypedDict):
    """An item at another place or of another mass."""

    name: str
    item: str
    mass_g: float | None
    station_mm: float | None
    lateral_mm: float | None


class ChordSection(TypedDict):
    """A section of the wing that the mean chord is found from."""

    span_mm: float
    chord_mm: float
    leading_edge_mm: float


class Chord(TypedDict):
    """The mean chord that a range in percent counts from."""

    length_mm: float | None
    leading_edge_mm: float | None
    sections: list[ChordSection]


class Reading(TypedDict):
    """What a scale said of some parts together."""

    parts: list[str]
    mass_g: float
    stage: str | None
    balance_mm: float | None


class Finish(TypedDict):
    """What is done to the faces of some parts."""

    parts: list[str]
    both: list[str]
    top: list[str]
    bottom: list[str]
    edges: list[str]
    sanding_mm: float


class Joint(TypedDict):
    """A glued joint."""

    name: str
    parts: list[str]
    glue: str
    length_mm: float
    width_mm: float


class Loading(TypedDict):
    """The model with its tank filled to some share."""

    fuel_share: float
    mass_g: float
    mass_sigma_g: float
    balance_mm: float
    balance_sigma_mm: float
    balance_share_of_chord: float | None
    lateral_mm: float
    in_range: bool | None


class Entry(TypedDict):
    """A mass of the ledger at its station."""

    part: str
    heading: str
    what: str
    stage: str
    mass_g: float
    sigma_g: float
    station_mm: float
    lateral_mm: float
    fuel: bool
    weighed: bool


class AsBuilt(TypedDict):
    """A reading against its estimate."""

    weighed: str
    stage: str
    estimated_g: float
    estimated_sigma_g: float
    weighed_g: float
    flies_g: float
    difference_g: float
    difference_share: float
    surprising: bool


class BallastResult(TypedDict):
    """What ballast a place would take, or why none there does."""

    place: str
    station_mm: float
    least_g: float | None
    least_sigma_g: float | None
    to_middle_g: float | None
    plug_diameter_mm: float | None
    plug_depth_mm: float | None
    problem: str


class AlternativeResult(TypedDict):
    """What an alternative would do to mass and balance."""

    name: str
    mass_g: float
    balance_mm: float
    shift_mm: float
    shift_sigma_mm: float
    measurable: bool
    flying_mass_g: float | None


class Fix(TypedDict):
    """A way into the balance range."""

    kind: Literal["ballast", "alternative", "board"]
    part: str | None
    board: str | None
    alternative: str | None
    ballast_g: float
    place: str | None
    flying_mass_g: float
    flying_sigma_g: float
    text: str


class SeenFromTheSide(TypedDict):
    """A part on the side view: mm aft of the datum, mm up."""

    part: str
    rings: list[Points]


class BalanceReport(TypedDict):
    """Where the model balances, with what, and what would mend it."""

    loadings: list[Loading]
    range_mm: Pair | None
    entries: list[Entry]
    as_built: list[AsBuilt]
    tip_ballast: list[BallastResult]
    ballast: list[BallastResult]
    flying_mass_g: float | None
    flying_sigma_g: float | None
    alternatives: list[AlternativeResult]
    notes: list[Said]
    fixes: list[Fix]
    side_view: list[SeenFromTheSide]


class Balance(TypedDict):
    """The balance report, or why there is none, and what the job says of it."""

    report: BalanceReport | None
    fault: str | None
    range: tuple[str, str] | None
    plan: str | None
    datum: Pair | None
    aft: Literal["right", "left"] | Pair
    lateral_mm: Pair | None
    chord: Chord | None
    readings: list[Reading]
    finishes: list[Finish]
    joints: list[Joint]
    coats: list[str]
    glues: list[str]
    seats: dict[str, Seat]
    in_place: list[str]
    items: list[Item]
    ballast: list[BallastPlace]
    alternatives: list[AlternativeItem]


# ---- what is worked out on request ----


class Doubted(TypedDict):
    """A value and its standard deviation."""

    value: float
    sigma: float


class Modulus(Doubted):
    """A modulus, and whether it was measured."""

    measured: bool


class Compared(TypedDict):
    """One board beside others for a part; figures of the whole model are null where the part has no station."""

    board: str
    mass_g: Doubted
    difference_g: Doubted
    density_kg_m3: Doubted
    modulus_mpa: Modulus
    stiffness_ratio: Doubted
    strength_ratio: Doubted
    equal_stiffness_thickness_mm: float
    equal_stiffness_mass_g: float
    run_out_share: float | None
    inherited_bow_mm: float | None
    fits: bool | None
    objection: str | None
    default_density: bool
    balance_mm: Doubted | None
    balance_shift_mm: Doubted | None
    ballast_g: float | None
    flying_mass_g: Doubted | None


class CompareWished(TypedDict):
    """What a comparison was asked for."""

    part: str
    boards: list[str]
    priority: Literal["light", "stiff", "balanced"]


class Comparison(TypedDict):
    """Boards side by side for a part."""

    part: str
    loading: str
    priority: str
    boards: list[Compared]
    advice: str
    caution: str
    notes: list[Said]
    wish: CompareWished
    now: list[str]
    file: str
    is_current: bool


class Given(TypedDict):
    """Pieces of a part from one board."""

    part: str
    board: str
    pieces: int
    mass_g: float


# "from" is a word of the language.
Move = TypedDict("Move", {"part": str, "from": list[str], "to": list[str], "mass_g": float, "change_g": float | None})
"""A part that would come from other boards than now."""


class Assigned(TypedDict):
    """One proposal of boards for all parts."""

    parts: list[Given]
    ballast_g: dict[str, float]
    flying_mass_g: float | None
    balance_mm: list[float]
    stiffness_share: float
    ties: dict[str, str]
    shared: list[str]
    moves: list[Move]


class Binding(TypedDict):
    """What keeps the best from being better, and by how much."""

    what: str
    gain: float
    unit: str
    text: str


class ModelNow(TypedDict):
    """The model as it stands, to hold a proposal against."""

    mass_g: float
    balance_mm: float | None
    range_mm: Pair | None


class AssignWished(TypedDict):
    """What a proposal was asked for."""

    objective: Literal["light", "stiff"] | None
    limit: str | None
    time: str
    best: int


class Assignment(TypedDict):
    """The best boards for all parts."""

    best: list[Assigned]
    proved: bool
    gap: float
    bindings: list[Binding]
    rounds: int
    nestings: int
    caution: str
    notes: list[Said]
    wish: AssignWished
    now: ModelNow
    is_current: bool


class BothWays(TypedDict):
    """Stiffness against the first board, lying flat and standing on edge."""

    flatwise: Doubted
    edgewise: Doubted


class TrialBoard(TypedDict):
    """The same parts on one board alone."""

    board: str
    copies: int
    placed: int
    fits: bool
    used_length_mm: float
    used_fraction: float
    offcut_mm: Pair
    mass_g: float
    sigma_g: float
    placements: list[Placement]
    proved: bool
    stiffness: BothWays
    bent: bool


class TrialWished(TypedDict):
    """The boards that a trial was asked for."""

    boards: list[str]


class Trial(TypedDict):
    """The same parts laid out on each of some boards alone."""

    wish: TrialWished
    parts: list[str]
    boards: list[TrialBoard]
    notes: list[Said]
    caution: str
    is_current: bool


class FindingsAnswer(TypedDict):
    """The newest finding of each kind."""

    compare: Comparison | None
    assign: Assignment | None
    trial: Trial | None
