"""Types for the values in `job.toml`: written as people write them, held in Sheetwood's own units."""

from __future__ import annotations

import math
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator

from vectorize.units import ANGLE, AREA_WEIGHT, DENSITY, FORCE, LENGTH, MASS, SHARE, STIFFNESS, Kind, parse


def _reader(kind: Kind) -> BeforeValidator:
    def read(value: Any) -> float:  # noqa: ANN401 - TOML gives whatever the user wrote
        return parse(str(value), kind, what="the value")

    return BeforeValidator(read)


def _from_zero(value: float) -> float:
    if value < 0:
        raise ValueError(f"the value is {value:g} mm; it must be zero or more.")
    return value


Length = Annotated[float, _reader(LENGTH)]
NonNegativeLength = Annotated[Length, AfterValidator(_from_zero)]
Mass = Annotated[float, _reader(MASS)]
Density = Annotated[float, _reader(DENSITY)]
Angle = Annotated[float, _reader(ANGLE)]
AreaWeight = Annotated[float, _reader(AREA_WEIGHT)]
Stiffness = Annotated[float, _reader(STIFFNESS)]
Force = Annotated[float, _reader(FORCE)]
Share = Annotated[float, _reader(SHARE)]


def _read_pixel(value: Any) -> tuple[float, ...]:  # noqa: ANN401 - TOML gives whatever the user wrote
    is_point = isinstance(value, list | tuple) and len(value) in (2, 3)
    if not is_point or not all(isinstance(number, int | float) and math.isfinite(number) for number in value):
        raise ValueError(f"the value is {value!r}; it must be a point [x, y] in pixels, or [x, y, file number].")
    return tuple(float(number) for number in value)


Pixel = Annotated[tuple[float, ...], BeforeValidator(_read_pixel)]
"""A point in original pixels; a third number names the file where a plan has several, from 1."""
