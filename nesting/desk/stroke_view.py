"""Drawings on the desk: the strokes of a plan without a picture, to be drawn by the page and snapped to."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from nesting.job.files import write_whole
from vectorize.basics.plain_file import read_plain
from vectorize.page import Page
from vectorize.shapes.segment import Point

STROKES_FILE = "strokes.json"
_MARGIN = 0.03
_CHORD = 1 / 20_000
"""Chord tolerance of curves as a share of the drawing: finer than a screen shows at any zoom that is of use."""
_CORNER_SHARE = 0.7
"""An end or corner within this share of the reach is meant rather than the line that leads to it."""

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class DrawnSheet:
    """The strokes of a drawing as the page gets them, and as points to snap to; `box` holds them all."""

    box: tuple[float, float, float, float]
    is_y_up: bool
    strokes: tuple[dict[str, Any], ...]
    corners: Points
    _starts: Points = field(init=False, repr=False)
    _steps: Points = field(init=False, repr=False)

    def __post_init__(self) -> None:
        pieces = [np.array(_closed(stroke), np.float64) for stroke in self.strokes]
        starts = np.vstack([piece[:-1] for piece in pieces]) if pieces else np.empty((0, 2))
        ends = np.vstack([piece[1:] for piece in pieces]) if pieces else np.empty((0, 2))
        object.__setattr__(self, "_starts", starts)
        object.__setattr__(self, "_steps", ends - starts)

    def as_json(self) -> dict[str, Any]:
        """Return what is kept on disk and sent to the page."""
        return {
            "box": list(self.box),
            "is_y_up": self.is_y_up,
            "strokes": list(self.strokes),
            "corners": self.corners.tolist(),
        }

    def picture(self) -> dict[str, Any]:
        """Return what stands for the picture that a drawing does not have."""
        return {"kind": "drawing", "box": list(self.box), "is_y_up": self.is_y_up}

    def snapped(self, near: Point, reach: float) -> Point | None:
        """Return the corner, else the place on a line, nearest to a click and within `reach`; None if there is none."""
        at = np.array(near)
        if len(self.corners):
            away = np.hypot(*(self.corners - at).T)
            if away.min() <= _CORNER_SHARE * reach:
                x, y = self.corners[int(away.argmin())].tolist()
                return x, y
        if len(self._starts) == 0:
            return None
        size = np.maximum(np.sum(self._steps**2, axis=1), 1e-18)
        share = np.clip(np.sum((at - self._starts) * self._steps, axis=1) / size, 0.0, 1.0)
        places = self._starts + share[:, None] * self._steps
        away = np.hypot(*(places - at).T)
        if away.min() > reach:
            return None
        x, y = places[int(away.argmin())].tolist()
        return x, y


def drawn_sheet(page: Page) -> DrawnSheet:
    """Return the strokes of a page as points; a page without strokes has its own extent."""
    chord = _CHORD * max(page.width, page.height, 1e-9)
    strokes: list[dict[str, Any]] = []
    corners: list[Point] = []
    for stroke in page.strokes:
        points = [point for segment in stroke.segments for point in segment.flattened(chord)]
        if not stroke.is_closed:
            points.append(stroke.segments[-1].end)
        corners += [segment.start for segment in stroke.segments] + [stroke.segments[-1].end]
        strokes.append(
            {
                "points": points,
                "width": stroke.pen_width,
                "is_closed": stroke.is_closed,
                "is_dashed": stroke.is_dashed,
                "is_filled": stroke.is_filled,
            }
        )
    every = np.array([point for stroke in strokes for point in stroke["points"]] or [(0.0, 0.0)])
    low = np.minimum(every.min(axis=0), 0.0 if not page.is_y_up else np.inf)
    high = np.maximum(every.max(axis=0), (page.width, page.height) if not page.is_y_up else -np.inf)
    pad = _MARGIN * float(max(*(high - low), 1e-9))
    (x0, y0), (x1, y1) = (low - pad).tolist(), (high + pad).tolist()
    return DrawnSheet((x0, y0, x1, y1), page.is_y_up, tuple(strokes), np.array(corners).reshape(-1, 2))


def _closed(stroke: dict[str, Any]) -> list[Point]:
    points: list[Point] = stroke["points"]
    return [*points, points[0]] if stroke["is_closed"] else points


def keep_drawing(page: Page, folder: Path) -> None:
    """Keep the strokes of a page where its tiles would be.

    Raises:
        WriteError: The folder cannot be written.
    """
    write_whole(folder / STROKES_FILE, json.dumps(drawn_sheet(page).as_json()).encode())


def kept_drawing(folder: Path) -> DrawnSheet | None:
    """Return the strokes that were kept, or None where there are none."""
    try:
        data = json.loads(read_plain(folder / STROKES_FILE))
        x0, y0, x1, y1 = data["box"]
        corners = np.array(data["corners"], np.float64).reshape(-1, 2)
        sheet = DrawnSheet((x0, y0, x1, y1), bool(data["is_y_up"]), tuple(data["strokes"]), corners)
    except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return None
    return sheet if all(math.isfinite(value) for value in sheet.box) else None
