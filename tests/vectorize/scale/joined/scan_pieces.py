"""A sheet scanned in pieces, with the exact map of every piece."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np

from fixtures import outline_shapes
from fixtures.pen_drawing import Plan, moved
from fixtures.scanning import Wear, scan
from vectorize.page import Page
from vectorize.scale.known import KnownDimension
from vectorize.shapes.outline import Outline, Ring

DPI = 200.0
WINDOWS = {"left": (0.0, 0.0, 82.0, 110.0), "right": (56.0, 0.0, 140.0, 110.0)}
QUARTERS = {
    "lower left": (0.0, 0.0, 84.0, 68.0),
    "lower right": (56.0, 0.0, 140.0, 68.0),
    "upper left": (0.0, 40.0, 84.0, 110.0),
    "upper right": (56.0, 40.0, 140.0, 110.0),
}


def sheet() -> Plan:
    """A sheet of 140 by 110 mm with four parts, one of them in the middle, and lettering."""
    plan = Plan("pieces", 140.0, 110.0)
    plan.frame(4.0)
    plan.part("rib", moved(outline_shapes.rib(notches=((26.0, 3.2, 5.0),), holes=((43.0, 3.5),)), 14, 74))
    plan.part("former", moved(Outline.rectangle(0, 0, 44, 30), 48, 28))
    plan.part("ring", Outline(Ring.circle((26, 42), 15), (Ring.circle((26, 42), 9),)))
    plan.part("gusset", moved(outline_shapes.gusset(28, 20), 104, 40))
    for words, x, y in (("RIB 4", 70, 66), ("FORMER", 70, 43), ("RING 2 OFF", 28, 20), ("GUSSET", 114, 32)):
        plan.text(words, x, y, height=3.0)
    plan.check((12, 10), (132, 10), "120 MM")
    plan.check((9, 16), (9, 96), "80 MM")
    return plan.settled()


@dataclass(frozen=True)
class Piece:
    """One scan, and the exact map from plan mm to its pixels."""

    page: Page
    to_px: np.ndarray

    def pixel(self, x: float, y: float) -> tuple[float, float]:
        u, v = _mapped(self.to_px, np.array([(x, y)]))[0]
        return float(u), float(v)

    def mm(self, points_px: np.ndarray) -> np.ndarray:
        return _mapped(np.linalg.inv(self.to_px), points_px)


def _mapped(matrix: np.ndarray, points: np.ndarray) -> np.ndarray:
    return np.asarray(points @ matrix[:2, :2].T + matrix[:2, 2])


def piece(
    plan: Plan,
    window: tuple[float, float, float, float],
    *,
    name: str,
    skew_deg: float = 0.0,
    turns: int = 0,
    axes: tuple[float, float] = (0.0, 0.0),
    seed: int = 1,
    dpi: float = DPI,
) -> Piece:
    """Scan what lies in `window` (x0, y0, x1, y1 in mm) of a sheet laid askew, then turn the file by quarters."""
    wear = Wear(dpi=dpi, skew_deg=skew_deg, axes=axes, blur_px=0.6, noise=3.0, texture=0.01)
    picture, truth = scan(plan, wear, seed)
    x0, y0, x1, y1 = window
    corners = truth.map.to_pixels(np.array([(x, y) for x in (x0, x1) for y in (y0, y1)]))
    rows, columns = picture.shape
    low = np.maximum(np.floor(corners.min(axis=0)), 0).astype(int)
    high = np.minimum(np.ceil(corners.max(axis=0)), (columns, rows)).astype(int)
    cut = picture[low[1] : high[1], low[0] : high[0]]
    matrix = np.array([[1, 0, -low[0]], [0, 1, -low[1]], [0, 0, 1.0]]) @ truth.map.matrix
    for _ in range(turns % 4):
        # A quarter turn to the left: the last column becomes the first row.
        matrix = np.array([[0, 1, 0], [-1, 0, cut.shape[1] - 1], [0, 0, 1.0]]) @ matrix
        cut = np.rot90(cut)
    grey = np.ascontiguousarray(cut)
    per_mm = dpi / 25.4
    page = Page(name, 1, 1, grey, (), grey.shape[1], grey.shape[0], stated_px_per_mm=(per_mm, per_mm))
    return Piece(page, matrix)


def uneven(page: Page, size_mm: float, seed: int) -> Page:
    """Return a scan of a sheet that did not lie flat: bent smoothly over some 60 mm."""
    assert page.grey is not None
    px_per_mm = DPI / 25.4
    rows, columns = page.grey.shape
    rng = np.random.default_rng(seed)
    coarse = rng.normal(size=(2, round(rows / px_per_mm / 60) + 2, round(columns / px_per_mm / 60) + 2))
    bend = np.array([cv2.resize(c, (columns, rows), interpolation=cv2.INTER_CUBIC) for c in coarse])
    bend *= size_mm * px_per_mm / np.sqrt(np.mean(bend**2))
    row, column = np.indices((rows, columns)).astype(np.float32)
    x, y = (column + bend[0]).astype(np.float32), (row + bend[1]).astype(np.float32)
    grey = cv2.remap(page.grey, x, y, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return replace(page, grey=np.asarray(grey, np.uint8))


def known(
    start: tuple[Piece, float, float, int], end: tuple[Piece, float, float, int], length_mm: float
) -> KnownDimension:
    """A known dimension from a point of one piece to a point of another: (piece, x, y, number), in plan mm."""
    a, b = start[0].pixel(*start[1:3]), end[0].pixel(*end[1:3])
    return KnownDimension(a, b, length_mm, f"known dimension of {length_mm:g} mm", files=(start[3], end[3]))


def rigid_misfit(found: np.ndarray, true: np.ndarray) -> float:
    """Return the largest distance between two sets of points once one is turned and shifted onto the other."""
    a, b = (p - p.mean(axis=0) for p in (found, true))
    u, _, v = np.linalg.svd(a.T @ b)
    turn = u @ np.diag([1.0, math.copysign(1.0, float(np.linalg.det(u @ v)))]) @ v
    return float(np.hypot(*(a @ turn - b).T).max())


def slipped(page: Page, step_px: int) -> Page:
    """Return a scan whose lower half was drawn sideways while the lamp passed."""
    assert page.grey is not None
    grey = page.grey.copy()
    half = grey.shape[0] // 2
    grey[half:] = np.roll(grey[half:], step_px, axis=1)
    return replace(page, grey=grey)
