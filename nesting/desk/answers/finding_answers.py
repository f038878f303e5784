"""Answers about what is worked out on request, before wood is chosen: boards compared, proposed, tried."""

from __future__ import annotations

from typing import Literal, TypedDict

from nesting.desk.answers.plan_answers import Pair, Said
from nesting.desk.answers.rack_answers import Placement


class Doubted(TypedDict):
    """A value and its standard deviation."""

    value: float
    sigma: float


class Modulus(Doubted):
    """A modulus, and whether it was measured."""

    measured: bool


class AtStation(Doubted):
    """A value and its standard deviation, and where along the part it is found."""

    station_mm: float


class BuiltRatio(TypedDict):
    """How stiff a part is with what is glued onto it, against the first board, and where it is weakest."""

    ratio: Doubted
    least: AtStation
    greatest: AtStation
    weakest_mm: float


class Built(TypedDict):
    """That for each way of loading."""

    flatwise: BuiltRatio
    edgewise: BuiltRatio
    twist: BuiltRatio


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
    built: Built | None
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
    built_file: str | None
    is_current: bool


class FlexOption(TypedDict):
    """One way to build a panel against the first: frequencies and stiffness are ratios."""

    name: str
    mass_g: float
    mass_sigma_g: float
    first_bending: float
    first_twist: float
    sigma_share: float
    twist_sigma_share: float
    stiffness: float
    stiffness_sigma_share: float
    own_sag_mm: float
    load_sag_mm: float
    elastic_axis_share: float
    balance_share: float


class FlexWished(TypedDict):
    """What ways to build a panel were asked for."""

    part: str
    options: list[str]


class Flexed(TypedDict):
    """Ways to build a panel side by side."""

    part: str
    load_g: float
    options: list[FlexOption]
    caution: str
    notes: list[Said]
    wish: FlexWished
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


class Matched(TypedDict):
    """A pair as it was given boards: how far its wood differs, and what is left over about the middle."""

    pair: str
    boards: list[tuple[str, str]]
    weight_apart: float
    stiffness_apart: float
    gradient_apart: float
    moment_g_mm: float | None
    tip_weight_g: float | None


class Assigned(TypedDict):
    """One proposal of boards for all parts."""

    parts: list[Given]
    ballast_g: dict[str, float]
    flying_mass_g: float | None
    balance_mm: list[float]
    stiffness_share: float
    pairs: list[Matched]
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
    flex: Flexed | None
