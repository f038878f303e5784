"""Answers about balance: what the job says of it, and what follows."""

from __future__ import annotations

from typing import Literal, TypedDict

from nesting.desk.answers.plan_answers import Pair, Points, Said


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


class StationAt(TypedDict):
    """A named place for one loading: how far aft of the balance point, and of an axle the angle ahead of it."""

    fuel_share: float
    from_balance_mm: float
    sigma_mm: float
    ahead_deg: float | None


class NamedStation(TypedDict):
    """A named place, mm aft of the datum and mm up; a line has its other end and its angle to the datum line."""

    name: str
    station_mm: float
    height_mm: float
    to_mm: Pair | None
    line_deg: float | None
    loadings: list[StationAt]


class WireBend(TypedDict):
    """One bend of a wire: its angle, the arc of the middle line, and how far its plane is turned."""

    angle_deg: float
    arc_mm: float
    turned_deg: float


class Wire(TypedDict):
    """A bent wire: what to cut, its straight lengths and its bends, in order."""

    name: str
    diameter_mm: float
    length_mm: float
    mass_g: float
    straights_mm: list[float]
    bends: list[WireBend]


class SpentOn(TypedDict):
    """What a group of the budget weighs and may weigh."""

    group: str
    mass_g: float
    sigma_g: float
    allowed_g: float | None


class Budget(TypedDict):
    """What the model weighs ready to fly against what it may weigh."""

    limit_g: float | None
    target_g: float | None
    groups: list[SpentOn]
    flying_g: float
    sigma_g: float
    weighed_g: float
    free_to_limit_g: float | None
    free_to_target_g: float | None
    with_ballast: bool


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
    budget: Budget | None
    stations: list[NamedStation]
    wires: list[Wire]
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
