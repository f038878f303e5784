"""The plan scale fitted to what is known: known dimensions, the size that a file states, a photographed sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

import numpy as np

from vectorize.basics.errors import ScaleError
from vectorize.basics.notes import Note
from vectorize.basics.units import format_length
from vectorize.page.plan_page import NAME_THE_UNIT, UNITS_MM
from vectorize.page.resolution import GUESSED_PX_PER_MM
from vectorize.scale.flatten import find_skew
from vectorize.scale.known import (
    AXES_LIMIT,
    DRAWN_PICK_SIGMA,
    PICK_SIGMA_PX,
    TAG_LIMIT,
    Axes,
    KnownDimension,
    KnownPoint,
    odd_one_out,
)
from vectorize.scale.plan_scale import PlanScale, Residual, projected
from vectorize.scale.scale_uncertainty import SizeDoubt
from vectorize.shapes.segment import Point, Points

if TYPE_CHECKING:
    from vectorize.page import Page


Correction = Literal["skew", "lens", "perspective"]


STATED_SIGMA = 0.005
"""How well a scanner keeps the size that its files state, as a share (from memory). What a drawing states is exact."""


LEAST_DRAWING_MM = 30.0
"""A drawing without units that would be smaller than this in millimetres is taken to be in inches. Chosen."""

LEAST_PAGE_MM, LARGEST_PAGE_MM = 1.0, 100_000.0
"""A sheet whose longer side is below or above is measured wrongly, or stated so."""


_SPREAD = 0.3


def fit_scale(
    page: Page,
    known: Sequence[KnownDimension] = (),
    *,
    axes: Axes = "auto",
    accepts_stated_size: bool = False,
    corrections: Sequence[Correction] = ("skew", "lens", "perspective"),
    sheet_mm: tuple[float, float] | None = None,
    corners: Sequence[Point] | None = None,
    points: Sequence[KnownPoint] = (),
) -> PlanScale:
    """Return the scale of a page from its known dimensions.

    One known dimension gives one factor; more are fitted together and the residual of each is kept. Where
    their directions tell the axes apart, each axis gets its own factor. Without any, the size that the file
    states is used but `is_true_size` stays False until `accepts_stated_size`.

    Args:
        page: The page; its `stated_px_per_mm` is only a hint.
        known: Known dimensions in original pixels.
        axes: `separate` accepts axes that differ by more than 1.5 %.
        accepts_stated_size: Take the stated size as true when there is no known dimension.
        corrections: What may be undone; without `skew` the picture's own axes are kept. `lens` is for photos.
        sheet_mm: True size of a photographed sheet: it is flattened by its four corners, which then also give the
            scale; known dimensions, if any, correct it.
        corners: Those corners in original pixels, in order round the sheet; found where they are not given.
        points: Four or more points of a photo with their places on the sheet, instead of its size.

    Raises:
        ScaleError: Known dimensions or points that contradict each other (the odd one out is named), a stated
            size that was to be accepted but does not exist, or a sheet of a size that no sheet has.
    """
    notes: list[Note] = []
    if (sheet_mm is not None or points) and "perspective" in corrections:
        from vectorize.scale.photo import photo_scale

        removes = "lens" in corrections
        return photo_scale(page, known, sheet_mm=sheet_mm, corners=corners, points=points, removes_lens=removes)
    is_drawing = page.grey is None
    if known:
        factors, doubt = _fitted_factors(known, axes, notes, is_drawing=is_drawing)
        _compare_with_tag(page, factors, notes)
    else:
        factors = stated_factors(page, accepts_stated_size, notes)
        doubt = SizeDoubt() if is_drawing else SizeDoubt.alike(STATED_SIGMA)
    skew_deg = skew_of(page, factors, notes) if "skew" in corrections else 0.0
    matrix, page_mm = page_matrix(page, factors, skew_deg)
    if not LEAST_PAGE_MM <= max(page_mm) <= LARGEST_PAGE_MM:
        raise ScaleError(
            f"{page.name} would be {page_mm[0]:.4g} x {page_mm[1]:.4g} mm, which is no sheet; check the two points and "
            "the length of each known dimension, or the size that the file states."
        )
    return PlanScale(
        matrix=matrix,
        mm_per_px=factors,
        skew_deg=skew_deg,
        page_mm=page_mm,
        residuals=tuple(
            Residual(k.name, k.length_mm, float(np.hypot(*(np.subtract(k.end, k.start) * factors)))) for k in known
        ),
        doubt=doubt,
        is_true_size=bool(known) or accepts_stated_size,
        notes=tuple(notes),
    )


def _fitted_factors(
    known: Sequence[KnownDimension], axes: Axes, notes: list[Note], *, is_drawing: bool
) -> tuple[tuple[float, float], SizeDoubt]:
    spans = np.array([np.subtract(k.end, k.start) for k in known], np.float64)
    lengths = np.array([k.length_mm for k in known])
    single = float(np.sum(np.hypot(*spans.T) * lengths) / np.sum(np.hypot(*spans.T) ** 2))
    reach_px = math.sqrt(float(np.sum(np.hypot(*spans.T) ** 2)))
    end_sigma = DRAWN_PICK_SIGMA if is_drawing else PICK_SIGMA_PX
    sigma = math.sqrt(2.0) * end_sigma / reach_px
    if not _tells_axes_apart(spans):
        if axes == "separate":
            raise ScaleError(
                "axes = 'separate' needs known dimensions in two directions; add one across the others, or remove it."
            )
        _refuse_contradiction(known, spans, lengths, (single, single))
        return (single, single), SizeDoubt.alike(sigma)
    factors = _axis_factors(spans, lengths)
    difference = abs(factors[0] / factors[1] - 1.0) if min(factors) > 0 else math.inf
    apart = SizeDoubt.of_axes(spans, end_sigma)
    if is_drawing and axes == "auto" and difference < 3.0 * apart.sigma_of_difference:
        # A drawing has no scanner that could stretch it: what its points were read off by explains the difference.
        return (single, single), SizeDoubt.alike(sigma)
    if axes == "auto" and not difference <= AXES_LIMIT:
        raise ScaleError(odd_one_out(known, spans, lengths))
    _refuse_contradiction(known, spans, lengths, factors)
    if difference > 0.0005:
        notes.append(Note("axes", f"the picture's axes differ by {100 * difference:.2f} %; each has its own factor."))
    return factors, apart


def _tells_axes_apart(spans: Points) -> bool:
    """Whether some dimension runs mostly along x and some mostly along y."""
    share = spans[:, 0] ** 2 / np.sum(spans**2, axis=1)
    return bool(np.ptp(share) > _SPREAD)


def _axis_factors(spans: Points, lengths: Points) -> tuple[float, float]:
    """Least squares on (fx dx)^2 + (fy dy)^2 = length^2, which is linear in the squared factors."""
    weights = 1.0 / (2.0 * lengths)
    squares = np.linalg.lstsq(spans**2 * weights[:, None], lengths**2 * weights, rcond=None)[0]
    fx, fy = (math.sqrt(s) if s > 0 else 0.0 for s in squares.tolist())
    return fx, fy


def _errors(spans: Points, lengths: Points, factors: tuple[float, float]) -> Points:
    return np.asarray(np.hypot(*(spans * factors).T) / lengths - 1.0, np.float64)


def _refuse_contradiction(
    known: Sequence[KnownDimension], spans: Points, lengths: Points, factors: tuple[float, float]
) -> None:
    if np.max(np.abs(_errors(spans, lengths, factors))) > AXES_LIMIT / 2:
        raise ScaleError(odd_one_out(known, spans, lengths))


def _compare_with_tag(page: Page, factors: tuple[float, float], notes: list[Note]) -> None:
    if page.stated_px_per_mm is None:
        return
    off = max(abs(s * f - 1.0) for s, f in zip(page.stated_px_per_mm, factors, strict=True))
    if off > TAG_LIMIT:
        width, height = (extent / s for extent, s in zip((page.width, page.height), page.stated_px_per_mm, strict=True))
        notes.append(
            Note(
                "tag",
                f"{page.name} states a size of {width:.0f} x {height:.0f} mm, {100 * off:.1f} % away from the known "
                "dimensions; the known dimensions are used.",
            )
        )


def stated_factors(page: Page, accepts: bool, notes: list[Note]) -> tuple[float, float]:
    """Return mm per pixel along x and y as the file states them, and note that nobody has confirmed them."""
    stated = page.stated_px_per_mm
    if stated is None:
        if accepts:
            raise ScaleError(
                f"{page.name} states no size, so it cannot be taken as drawn; give a known dimension, two points and "
                "their true distance."
            )
        guess, text = _guessed(page)
        notes.append(Note("no-scale", text, state="open"))
        return (guess, guess)
    factors = (1 / stated[0], 1 / stated[1])
    if not accepts:
        width, height = page.width * factors[0], page.height * factors[1]
        text = (
            f"{page.name} would be {format_length(width)} by {format_length(height)} by what the file states, which "
            "nobody has confirmed; give a known dimension, or accept it with size = 'as drawn'."
        )
        notes.append(Note("no-scale", text, state="open"))
    return factors


def _guessed(page: Page) -> tuple[float, str]:
    """Return the mm of a pixel, or of a drawing's unit, that are taken where nothing states any, and how that is said.

    A drawing is taken to be in millimetres, or in inches where it would be smaller than any plan.
    """
    if page.grey is not None:
        text = f"{page.name} states no size; sizes are guesses (300 dpi) until a known dimension is given."
        return 1 / GUESSED_PX_PER_MM, text
    unit = "mm" if max(page.width, page.height) >= LEAST_DRAWING_MM else "in"
    mm = UNITS_MM[unit]
    text = (
        f"{page.name} states no unit; it is taken to be drawn in {unit}, {page.width * mm:.4g} x "
        f"{page.height * mm:.4g} mm, until you {NAME_THE_UNIT}."
    )
    return mm, text


def skew_of(page: Page, factors: tuple[float, float], notes: list[Note]) -> float:
    """The sheet's angle in degrees once the axes are equal; 0 for drawings and pages without long lines."""
    if page.grey is None:
        return 0.0
    skew = find_skew(page.grey)
    if skew.angle_deg == 0.0:
        return 0.0
    angle = math.degrees(math.atan(math.tan(math.radians(skew.angle_deg)) * factors[1] / factors[0]))
    if abs(angle) >= 0.05:
        text = f"the sheet lies {abs(angle):.2f} degrees {'anti-' if angle > 0 else ''}clockwise; this is undone."
        notes.append(Note("skew", text))
    return angle


def page_matrix(page: Page, factors: tuple[float, float], skew_deg: float) -> tuple[Points, tuple[float, float]]:
    """Scale each axis, turn y up, take out the skew, and move the lower left of the page to the origin."""
    up = 1.0 if page.is_y_up else -1.0
    cos, sin = math.cos(math.radians(-skew_deg)), math.sin(math.radians(-skew_deg))
    matrix = np.eye(3)
    matrix[:2, :2] = np.array([[cos, -sin], [sin, cos]]) @ np.diag([factors[0], up * factors[1]])
    # Pixel centres are at integers, so a picture reaches from -0.5; a drawing has no pixels.
    low = 0.0 if page.grey is None else -0.5
    right, bottom = page.width + low, page.height + low
    corners = projected(matrix, [(low, low), (right, low), (right, bottom), (low, bottom)])
    matrix[:2, 2] = -corners.min(axis=0)
    extent = np.ptp(corners, axis=0)
    return matrix, (float(extent[0]), float(extent[1]))
