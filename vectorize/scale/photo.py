"""A photo laid flat: the lens's bulge taken out where straight lines show it, then the slant of the camera.

The slant is told by the four corners of a sheet of known size, or by points whose places on the sheet are known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from vectorize.basics.errors import ScaleError
from vectorize.basics.notes import Note
from vectorize.scale.flatness import wave_mm
from vectorize.scale.flatten import corners_of, sheet_map, sheet_sides
from vectorize.scale.known import AXES_LIMIT, PICK_SIGMA_PX, TAG_LIMIT, KnownDimension, KnownPoint, odd_one_out
from vectorize.scale.lens import Lens, drawn_lines, find_lens
from vectorize.scale.plan_scale import PlanScale, PointMisfit, Residual, projected
from vectorize.scale.scale_uncertainty import SizeDoubt
from vectorize.shapes.segment import Point, Points

if TYPE_CHECKING:
    from vectorize.page import Page

LEAST_BEND_MM = 0.05
"""A bulge that moves nothing on the sheet by more is left alone."""

_WORST_POINT = 0.0075
"""A point farther off than this share of the points' extent contradicts the others."""

_FLAT = 0.02
"""Points are as good as in line when the least of the eight directions they fix is this share of the greatest."""


@dataclass(frozen=True, slots=True, eq=False)
class _Flat:
    """The map from straightened pixels to mm, the pixels it rests on, and how large the sheet is."""

    matrix: Points
    support_px: Points
    size_mm: tuple[float, float]
    points: tuple[PointMisfit, ...] = ()


def photo_scale(
    page: Page,
    known: Sequence[KnownDimension],
    *,
    sheet_mm: tuple[float, float] | None = None,
    corners: Sequence[Point] | None = None,
    points: Sequence[KnownPoint] = (),
    removes_lens: bool = True,
) -> PlanScale:
    """Return the scale of a photographed sheet of known size, or of one with points of known place.

    Known dimensions correct the size of a sheet; beside points they are only checked.

    Raises:
        ScaleError: The corners are not found or cross over; the points are too few, in line, crossed or contradict
            each other or a known dimension.
    """
    notes: list[Note] = []
    sides = None if page.grey is None or sheet_mm is None else sheet_sides(page.grey)
    drawn = [] if page.grey is None else drawn_lines(page.grey)
    lens = find_lens(page.grey.shape, [*(sides or ()), *drawn]) if removes_lens and page.grey is not None else None

    def laid(lens: Lens | None) -> _Flat:
        if sheet_mm is None:
            return _by_points(points, lens)
        return _by_corners(page, sheet_mm, corners, sides, lens)

    flat = laid(lens)
    if lens is not None and (bend_mm := _bend_mm(lens, flat)) < LEAST_BEND_MM:
        lens, flat = None, laid(None)
    elif lens is not None:
        notes.append(_lens_note(lens, bend_mm))
    if sheet_mm is not None and corners is None:
        listed = ", ".join(f"({x:.0f}, {y:.0f})" for x, y in flat.support_px)
        notes.append(Note("corners", f"the sheet was flattened by the corners found at {listed}."))
    flat, residuals = _with_known(flat, known, lens, notes, keeps_size=bool(points))
    scale = _scale(page, flat, residuals, lens, notes)
    return replace(scale, wave_mm=wave_mm([scale.to_mm(line) for line in drawn]))


def _by_corners(
    page: Page,
    sheet_mm: tuple[float, float],
    corners: Sequence[Point] | None,
    sides: Sequence[Points] | None,
    lens: Lens | None,
) -> _Flat:
    if corners is None:
        if sides is None:
            raise ScaleError(
                f"the sheet's corners were not found on {page.name}: take it with the whole sheet in the picture, on a "
                "ground that is clearly darker, or give the corners as four points in order."
            )
        corners = corners_of(sides, lens)
    support = np.asarray(corners, np.float64)
    flat = support if lens is None else lens.straightened(support)
    matrix = sheet_map([(float(x), float(y)) for x, y in flat], sheet_mm)
    extent = np.ptp(projected(matrix, flat), axis=0)
    return _Flat(matrix, support, (float(extent[0]), float(extent[1])))


def _by_points(points: Sequence[KnownPoint], lens: Lens | None) -> _Flat:
    """Return the map that brings points to their places, exactly for four and by least squares for more.

    Source: the direct linear transformation, Hartley & Zisserman 2004 ("Multiple View Geometry", 4.1), then refined on
    the distances in mm.

    Raises:
        ScaleError: Fewer than four points, points in line, crossed, or one that does not fit the others.
    """
    if len(points) < 4:
        raise ScaleError(f"{len(points)} points of known place are given; four are needed to flatten a photo.")
    seen = np.array([point.at for point in points], np.float64)
    px = seen if lens is None else lens.straightened(seen)
    mm = np.array([point.mm for point in points], np.float64)
    matrix = _direct(px, mm)
    _refuse_crossed(matrix, px)
    if len(points) > 4:
        matrix = _refined(matrix, px, mm)
    away = projected(matrix, px) - mm
    misfits = tuple(PointMisfit(p.name, float(np.hypot(*step))) for p, step in zip(points, away, strict=True))
    worst = max(misfits, key=lambda misfit: misfit.error_mm)
    extent = np.ptp(mm, axis=0)
    if worst.error_mm > _WORST_POINT * math.hypot(*extent):
        raise ScaleError(
            f"{worst.name} lies {worst.error_mm:.1f} mm from where the other points put it; check its pixel and its "
            "place on the sheet."
        )
    return _Flat(matrix, seen, (float(extent[0]), float(extent[1])), misfits)


def _direct(px: Points, mm: Points) -> Points:
    to_px, to_mm = _centred(px), _centred(mm)
    a, b = projected(to_px, px), projected(to_mm, mm)
    rows = []
    for (x, y), (u, v) in zip(a, b, strict=True):
        rows.append((x, y, 1, 0, 0, 0, -u * x, -u * y, -u))
        rows.append((0, 0, 0, x, y, 1, -v * x, -v * y, -v))
    _, sizes, axes = np.linalg.svd(np.array(rows))
    if sizes[7] < _FLAT * sizes[0]:
        raise ScaleError(
            "the points of known place lie nearly in line, so that they do not tell how the sheet slants; spread them "
            "over the sheet, no three in line."
        )
    matrix = np.linalg.inv(to_mm) @ axes[8].reshape(3, 3) @ to_px
    return np.asarray(matrix / matrix[2, 2], np.float64)


def _centred(points: Points) -> Points:
    """Return the map that brings points about the origin, at a distance of about one."""
    middle = points.mean(axis=0)
    size = max(float(np.hypot(*(points - middle).T).mean()), 1e-9)
    return np.array([[1 / size, 0, -middle[0] / size], [0, 1 / size, -middle[1] / size], [0, 0, 1.0]])


def _refuse_crossed(matrix: Points, px: Points) -> None:
    """Refuse a map that folds the sheet or shows it from behind: two points stand for each other."""
    depth = px @ matrix[2, :2] + matrix[2, 2]
    # Pixels run down and millimetres up, so that a sheet seen from the front turns the sense of rotation over.
    is_front = float(np.linalg.det(matrix)) * float(np.sign(depth[0])) < 0
    if np.any(depth * depth[0] <= 0) or not is_front:
        raise ScaleError(
            "the points of known place do not go round the sheet as they do on the photo; two of them are swapped, or "
            "their heights run down instead of up."
        )


def _refined(matrix: Points, px: Points, mm: Points) -> Points:
    from scipy.optimize import least_squares  # slow to load, and few plans need it

    def away(values: Points) -> Points:
        return (projected(np.append(values, 1.0).reshape(3, 3), px) - mm).ravel()

    found = least_squares(away, matrix.ravel()[:8], x_scale=np.maximum(np.abs(matrix.ravel()[:8]), 1e-12))
    return np.append(found.x, 1.0).reshape(3, 3)


def _bend_mm(lens: Lens, flat: _Flat) -> float:
    """Return how far the bulge moves what the map rests on, at the edge of the sheet."""
    straight = projected(flat.matrix, lens.straightened(flat.support_px))
    return float(np.hypot(*(straight - projected(flat.matrix, flat.support_px)).T).max())


def _lens_note(lens: Lens, bend_mm: float) -> Note:
    return Note(
        "lens",
        f"the lens bends the picture by {bend_mm:.1f} mm at the edge of the sheet, as {lens.line_count} straight lines "
        f"show ({lens.agreement:.0%} of the evidence agrees); this is undone. Leave 'lens' out of flatten to keep it.",
    )


def _with_known(
    flat: _Flat, known: Sequence[KnownDimension], lens: Lens | None, notes: list[Note], *, keeps_size: bool
) -> tuple[_Flat, tuple[Residual, ...]]:
    """Return the map with its size corrected by known dimensions, unless it is to be kept, and what they measure."""
    if not known:
        return flat, ()
    ends = np.array([end for k in known for end in (k.start, k.end)], np.float64)
    placed = projected(flat.matrix, ends if lens is None else lens.straightened(ends)).reshape(-1, 2, 2)
    measured = np.hypot(*(placed[:, 1] - placed[:, 0]).T)
    stated = np.array([k.length_mm for k in known])
    factor = 1.0 if keeps_size else float(np.sum(stated * measured) / np.sum(measured * measured))
    if np.max(np.abs(factor * measured / stated - 1.0)) > AXES_LIMIT / 2:
        if keeps_size:
            k = int(np.argmax(np.abs(measured / stated - 1.0)))
            raise ScaleError(
                f"{known[k].name} is stated as {known[k].length_mm:g} mm, but measures {measured[k]:.2f} mm by the "
                "points of known place; check both."
            )
        raise ScaleError(odd_one_out(known, np.column_stack([measured, 0 * measured]), stated))
    if abs(factor - 1.0) > TAG_LIMIT:
        text = f"by the known dimensions the sheet is {100 * abs(factor - 1):.1f} % off its stated size."
        notes.append(Note("sheet", text))
    residuals = (Residual(k.name, k.length_mm, factor * float(m)) for k, m in zip(known, measured, strict=True))
    size = (factor * flat.size_mm[0], factor * flat.size_mm[1])
    return _Flat(np.diag([factor, factor, 1.0]) @ flat.matrix, flat.support_px, size, flat.points), tuple(residuals)


def _scale(page: Page, flat: _Flat, residuals: tuple[Residual, ...], lens: Lens | None, notes: list[Note]) -> PlanScale:
    middle = flat.support_px.mean(axis=0)
    steps = middle + np.array([(0, 0), (1, 0), (0, 1)])
    steps = projected(flat.matrix, steps if lens is None else lens.straightened(steps))
    reach = float(np.hypot(*np.ptp(flat.support_px, axis=0)))
    sigma = 2.0 * PICK_SIGMA_PX / reach
    return PlanScale(
        matrix=flat.matrix,
        mm_per_px=(math.dist(steps[1], steps[0]), math.dist(steps[2], steps[0])),
        skew_deg=0.0,
        page_mm=flat.size_mm,
        residuals=residuals,
        doubt=SizeDoubt(sigma**2, sigma**2),
        notes=tuple(notes),
        lens=lens,
        points=flat.points,
        is_sheet=not flat.points,
    )
