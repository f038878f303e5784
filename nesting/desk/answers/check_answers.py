"""What the desk answers of a part as cut, on a scan, and of a board that was tapped."""

from __future__ import annotations

from typing import Literal, NotRequired, TypedDict

from nesting.desk.answers.plan_answers import Pair, Said


class CheckFit(TypedDict):
    """How the part on the scan was laid on its outline."""

    x_mm: float
    y_mm: float
    angle_deg: float
    flipped: bool
    scale_share: float


class CheckEdge(TypedDict):
    """Deviations of the whole edge, positive where wood is left."""

    mean_mm: float
    rms_mm: float
    most_mm: float
    least_mm: float
    sigma_mm: float


class CheckArea(TypedDict):
    """The area as drawn and as cut."""

    drawn_mm2: float
    as_cut_mm2: float
    sigma_mm2: float


class CheckPlace(TypedDict):
    """A place that is off by more than the tolerance, numbered as on the map."""

    number: int
    kind: Literal["proud", "short", "hole-off", "hole-size"]
    ring: int
    at: Pair
    off_mm: float
    sigma_mm: float
    over_mm: float
    text: str
    towards: NotRequired[Pair]


class CheckOff(TypedDict):
    """The deviation at one point of the edge."""

    ring: int
    at: Pair
    off_mm: float


class CheckWeight(TypedDict):
    """What the part was to weigh, what it should weigh as cut, and what the scale said."""

    board: str
    drawn_g: float
    as_cut_g: float
    sigma_g: float
    weighed_g: float | None
    difference_g: float | None


class TapAnswer(TypedDict):
    """What taps on a board say: its tone, and E along the grain."""

    board: str
    frequency_hz: float
    sigma_hz: float
    modulus_gpa: float
    sigma_gpa: float
    taps: int
    notes: list[Said]


class CheckAnswer(TypedDict):
    """A part as cut against its outline; `file` is the map of deviations."""

    part: str
    fit: CheckFit
    tolerance_mm: float
    edge: CheckEdge
    area: CheckArea
    places: list[CheckPlace]
    profile: list[CheckOff]
    weight: CheckWeight | None
    notes: list[Said]
    file: str
