"""Types for the values in `job.toml`: written as people write them, held in Sheetwood's own units."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field

from vectorize.basics.units import ANGLE, AREA_WEIGHT, DENSITY, LARGEST, LENGTH, MASS, SHARE, STIFFNESS, Kind, parse
from vectorize.basics.wording import shown


def quantity_text(value: Any, kind: Kind) -> str:  # noqa: ANN401 - TOML gives whatever the user wrote
    """Return the text of a quantity, as `parse` reads it.

    Raises:
        ValueError: A list, a table or a date stands where a quantity is due.
    """
    if isinstance(value, str | int | float) and not isinstance(value, bool):
        return str(value)
    article = "an" if kind.name[0] in "aeiou" else "a"
    raise ValueError(
        f"the value is {shown(value)}; it must be {article} {kind.name} in quotes, like '3.5 {kind.inside}'."
    )


def _reader(kind: Kind) -> BeforeValidator:
    def read(value: Any) -> float:  # noqa: ANN401 - TOML gives whatever the user wrote
        return parse(quantity_text(value, kind), kind, what="the value")

    return BeforeValidator(read)


def _from_zero(value: float) -> float:
    if value < 0:
        raise ValueError(f"the value is {value:g} mm; it must be zero or more.")
    return value


# Each carries its kind, for whoever walks the schema.
Length = Annotated[float, _reader(LENGTH), LENGTH]
NonNegativeLength = Annotated[Length, AfterValidator(_from_zero)]
Mass = Annotated[float, _reader(MASS), MASS]
Density = Annotated[float, _reader(DENSITY), DENSITY]
Angle = Annotated[float, _reader(ANGLE), ANGLE]
AreaWeight = Annotated[float, _reader(AREA_WEIGHT), AREA_WEIGHT]
Stiffness = Annotated[float, _reader(STIFFNESS), STIFFNESS]
Share = Annotated[float, _reader(SHARE), SHARE]


Name = Annotated[str, Field(min_length=1, max_length=100, pattern=r"^[^\x00-\x1f\x7f]+$")]
"""What a builder calls a thing: one line, not too long for a message or a file name."""


def _read_pixel(value: Any) -> tuple[float, ...]:  # noqa: ANN401 - TOML gives whatever the user wrote
    is_point = isinstance(value, list | tuple) and len(value) in (2, 3)
    if not is_point or not all(type(number) in (int, float) and abs(number) <= LARGEST for number in value):
        raise ValueError(f"the value is {shown(value)}; it must be a point [x, y] in pixels, or [x, y, file number].")
    return tuple(float(number) for number in value)


class OnPlan:
    """Marks a value that is a place on a plan."""


Pixel = Annotated[tuple[float, ...], BeforeValidator(_read_pixel), OnPlan()]
"""A point in original pixels; a third number names the file where a plan has several, from 1."""


def _read_whole(value: Any) -> Any:  # noqa: ANN401 - TOML gives whatever the user wrote
    if isinstance(value, bool):
        raise ValueError(f"the value is {shown(value)}; it must be a whole number.")
    return value


Whole = Annotated[int, BeforeValidator(_read_whole)]
"""A count; true is none."""
