"""What lettering says of parts, each value with how sure it is and where it was read."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from vectorize.shapes.segment import Point, Points

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Value(Generic[T]):
    """A value read off a plan.

    `sure` is the probability that it is right, 0 to 1; `text` the number of the lettering that says so; `written` the
    words as they were read; `others` what else they may mean, with how sure that is.
    """

    value: T
    sure: float
    text: int
    written: str
    others: tuple[tuple[T, float], ...] = ()

    def times(self, share: float) -> Value[T]:
        """Return the same value, less sure by a factor."""
        return replace(self, sure=self.sure * share)


@dataclass(frozen=True, slots=True)
class Said:
    """All that one line of lettering says.

    `length_mm` is a length that nothing beside it explains; `name_read` how surely the letters of the name are right,
    whether or not they are a name.
    """

    text: int
    name: Value[str] | None = None
    material: Value[str] | None = None
    thickness_mm: Value[float] | None = None
    count: Value[int] | None = None
    hand: Value[str] | None = None
    length_mm: Value[float] | None = None
    number: Value[str] | None = None
    is_sheet: bool = False
    is_grain: bool = False
    is_remark: bool = False
    size: Value[str] | None = None
    name_read: float = 0.0

    @property
    def tells(self) -> bool:
        """Whether it says anything of a part."""
        fields = (self.name, self.material, self.thickness_mm, self.count, self.hand)
        return any(value is not None for value in fields) or self.is_grain or self.is_sheet


@dataclass(frozen=True, slots=True, eq=False)
class DraftPart:
    """A part as the plan labels it: `inside` is a pixel of it, `boundary` its outline in pixels, (N, 2).

    What is None was not found; `grain` are two pixels along it. `is_lettered` says that its name is lettered and not
    made up here, `is_dashed` that dashes are its outline.
    """

    name: Value[str]
    inside: Point
    boundary: Points
    is_lettered: bool
    material: Value[str] | None = None
    thickness_mm: Value[float] | None = None
    count: Value[int] | None = None
    hand: Value[str] | None = None
    grain: tuple[Point, Point] | None = None
    is_dashed: bool = False

    @property
    def texts(self) -> tuple[int, ...]:
        """Return the numbers of the texts that it was read from."""
        values = (self.name, self.material, self.thickness_mm, self.count, self.hand)
        return tuple(dict.fromkeys(v.text for v in values if v is not None and v.text >= 0))
