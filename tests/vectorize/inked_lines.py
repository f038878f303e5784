"""Small test pages: known shapes drawn with a pen of known width, as a scanner would see them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from vectorize.page import Page
from vectorize.scale.known import KnownDimension

_FINE = 4
_SHIFT = 4


def circle_points(x: float, y: float, radius: float, count: int = 180) -> NDArray[np.float64]:
    angle = 2 * np.pi * np.arange(count) / count
    return np.column_stack([x + radius * np.cos(angle), y + radius * np.sin(angle)])


@dataclass
class Sheet:
    """A sheet of `width_mm` by `height_mm`, y up, seen at `dpi`, turned by `skew_deg`, stretched by `axes`."""

    width_mm: float = 100.0
    height_mm: float = 60.0
    dpi: float = 200.0
    skew_deg: float = 0.0
    axes: tuple[float, float] = (1.0, 1.0)
    pen_mm: float = 0.5
    canvas: NDArray[np.uint8] = field(init=False)

    def __post_init__(self) -> None:
        self.columns = round(self.width_mm * self.dpi / 25.4)
        self.rows = round(self.height_mm * self.dpi / 25.4)
        self.canvas = np.full((self.rows * _FINE, self.columns * _FINE), 255, np.uint8)

    def px(self, points_mm: ArrayLike) -> NDArray[np.float64]:
        """Return where points of the sheet come to lie, in pixels of the picture."""
        cos, sin = math.cos(math.radians(self.skew_deg)), math.sin(math.radians(self.skew_deg))
        away = np.asarray(points_mm, np.float64).reshape(-1, 2) - [self.width_mm / 2, self.height_mm / 2]
        turned = away @ np.array([[cos, sin], [-sin, cos]]) * (self.dpi / 25.4) * np.array(self.axes)
        return np.column_stack([turned[:, 0] + self.columns / 2 - 0.5, self.rows / 2 - turned[:, 1] - 0.5])

    def pick(self, x: float, y: float) -> tuple[float, float]:
        ((column, row),) = self.px([(x, y)])
        return (float(column), float(row))

    def line(self, points_mm: ArrayLike, *, is_closed: bool = False, pen_mm: float | None = None) -> Sheet:
        fine = (self.px(points_mm) + 0.5) * _FINE - 0.5
        width = max(1, round((pen_mm or self.pen_mm) * self.dpi / 25.4 * _FINE))
        points = np.round(fine * 2**_SHIFT).astype(np.int32)
        cv2.polylines(self.canvas, [points], is_closed, 0, width, cv2.LINE_AA, _SHIFT)
        return self

    def shape(self, *rings_mm: ArrayLike) -> Sheet:
        for ring in rings_mm:
            self.line(ring, is_closed=True)
        return self

    def text(self, x: float, y: float, text: str, height_mm: float = 3.0) -> Sheet:
        column, row = self.pick(x, y)
        size = height_mm * self.dpi / 25.4 * _FINE / 22
        at = (round(column * _FINE), round(row * _FINE))
        cv2.putText(self.canvas, text, at, cv2.FONT_HERSHEY_SIMPLEX, size, 0, round(0.3 * self.dpi / 25.4 * _FINE))
        return self

    def filled(self, ring_mm: ArrayLike) -> Sheet:
        fine = (self.px(ring_mm) + 0.5) * _FINE - 0.5
        cv2.fillPoly(self.canvas, [np.round(fine * 2**_SHIFT).astype(np.int32)], 0, cv2.LINE_AA, _SHIFT)
        return self

    def grey(self, *, seed: int | None = None, noise: float = 5.0, blur_px: float = 0.8) -> NDArray[np.uint8]:
        """Return the picture: clean, or with a seed under uneven light, on textured paper, blurred and noisy."""
        size = (self.columns, self.rows)
        picture = cv2.resize(self.canvas, size, interpolation=cv2.INTER_AREA).astype(np.float32)
        if seed is None:
            return picture.astype(np.uint8)
        random = np.random.default_rng(seed)
        texture = cv2.GaussianBlur(random.normal(0, 1, picture.shape).astype(np.float32), (0, 0), 1.5)
        light = np.linspace(0.78, 1.0, self.columns)[None, :]
        fold = 1 - 0.15 * np.exp(-(((np.arange(self.rows) - 0.55 * self.rows) / (0.08 * self.dpi)) ** 2))
        picture = (cv2.GaussianBlur(picture, (0, 0), blur_px) * 0.8 + 40) * light * fold[:, None]
        picture += 3 * texture / texture.std() + random.normal(0, noise, picture.shape)
        return np.clip(picture, 0, 255).astype(np.uint8)

    def page(self, **how: float | int | None) -> Page:
        return Page(
            name="sheet.png",
            number=1,
            count=1,
            grey=self.grey(**how),  # type: ignore[arg-type]
            strokes=(),
            width=self.columns,
            height=self.rows,
        )

    def known(self) -> Sequence[KnownDimension]:
        """Return two known dimensions, one along and one across."""
        w, h = self.width_mm, self.height_mm
        return (
            KnownDimension(self.pick(5, 5), self.pick(w - 5, 5), w - 10, name="along"),
            KnownDimension(self.pick(5, 5), self.pick(5, h - 5), h - 10, name="across"),
        )
