"""Another reading of a part than the one that was taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from vectorize.basics.notes import place_from_json
from vectorize.shapes.outline import Outline

Place = tuple[float, ...]
"""A point in original pixels (x, y), with the number of the file where a plan has several."""


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another reading of a part: its outline, how sure it is, how it differs, and where, in original pixels.

    Whoever adds the points `inside` to the part's picks and `cutouts` to its cut-outs takes this reading.
    """

    outline: Outline
    sure: float
    why: str
    at: Place
    inside: tuple[Place, ...] = ()
    cutouts: tuple[Place, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the reading as JSON with its exact curves, as it is stored."""
        return {
            "outline": self.outline.as_json(),
            "sure": self.sure,
            "why": self.why,
            "at": _rounded(self.at),
            "pick": [_rounded(place) for place in self.inside],
            "cutout": [_rounded(place) for place in self.cutouts],
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Alternative:
        """Return the reading that `as_json` made.

        Raises:
            KeyError, TypeError, ValueError, OutlineError: It was not made by it.
        """
        inside, cutouts = (tuple(map(place_from_json, data[key])) for key in ("pick", "cutout"))
        at = place_from_json(data["at"])
        return cls(Outline.from_json(data["outline"]), float(data["sure"]), str(data["why"]), at, inside, cutouts)


def _rounded(place: Place) -> list[float]:
    return [round(value, 2) for value in place]
