"""Dimensions drawn on a plan: the figure, the line that it stands on or in, and the two lines that it runs between.

Lines are looked for along and across the sheet's own direction. The two ends are not read off the arrows, whose form
every draughtsman has his own way with, but off the witness lines or edges that the dimension line runs up to.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.lines.ink import find_ink
from vectorize.marks.dimension_chains import Link, add_up
from vectorize.marks.figures import Length, lengths
from vectorize.marks.lettering import Text
from vectorize.scale.flatten import find_skew
from vectorize.scale.known import AXES_LIMIT
from vectorize.shapes.segment import Point, Points

Grey = NDArray[np.uint8]
_Line = tuple[bool, int, int]
"""The way of a line, where it begins, and how long it is, in steps."""

LEAST_LINE_MM = 3.0
"""Strokes shorter than this along the sheet are no dimension lines."""

BESIDE = 1.6
"""A figure stands over its line by at most so many heights of its box, from middle to line."""

GAP = 2.0
"""A line that stops for its figure leaves at most so many heights free on each side."""

NEAR_END_MM = 1.6
"""A witness line crosses within this of the end of the dimension line: arrows overrun, ticks and gaps fall short."""

BAND_MM = (0.7, 2.6)
"""A witness line is seen this far from the dimension line, on one side at least."""

WITNESS_SHARE = 0.7
"""So much of that stretch is inked."""

AGREES_SHARE = 0.002
AGREES_MM = 0.15
"""A dimension agrees with the scale within this share of its length and this much, and half its last place."""


VOTES_SHARE = 0.025
"""A dimension counts for the scale if its tolerance is no more of its length than this."""

STATED_OFF = 6.0
"""Plans are drawn, and copied, to scales between a fifth of the stated size and five times it."""

AXIS_DOUBT = 0.005
"""How unsure the scale of an axis is that is taken from the other one, as a share."""

LEAST_BARE = 10.0
"""A smaller figure without a unit is a number, a count, or a mark that looks like one."""

SAME_END_PX = 6.0
SAME_END_SHARE = 0.02
"""Lines that begin and end so near each other, along their direction, measure one thing: rulings of a table do."""

LEAST_AGREEING = 3
"""So many dimensions must agree before a scale is proposed."""


@dataclass(frozen=True, slots=True)
class Span:
    """A length drawn between two points of the picture, along x or y of the sheet, and the text that may state it.

    `below_px` is how far its line lies below the middle of the text as it is read, negative above it.
    """

    text: int
    start: Point
    end: Point
    is_upright: bool
    below_px: float = 0.0

    @property
    def line(self) -> _Line:
        """What is the same for two texts between the same two uprights: on one line, or on the rulings of a table."""
        way = np.subtract(self.end, self.start) / max(self.px, 1e-9)
        first = float(np.dot(self.start, way))
        short = SAME_END_PX / SAME_END_SHARE
        beyond = math.log(max(self.px / short, 1.0)) / math.log1p(SAME_END_SHARE)
        size = round(min(self.px, short) / SAME_END_PX + beyond)
        step = SAME_END_PX * (1 + SAME_END_SHARE) ** max(0.0, size - short / SAME_END_PX)
        return self.is_upright, round(first / step), size

    @property
    def px(self) -> float:
        """Distance of the ends in pixels."""
        return math.dist(self.start, self.end)


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension read off the plan: the number of its text, what it states, and between which pixels.

    `agrees` says whether it fits the scale that most dimensions share.
    """

    text: int
    length_mm: float
    start: Point
    end: Point
    sure: float
    agrees: bool


@dataclass(frozen=True, slots=True)
class ProposedScale:
    """Pixels per mm along the sheet's x and y as most dimensions say, its standard deviation, and how many say so."""

    px_per_mm: tuple[float, float]
    sigma_share: float
    used: int


def find_spans(grey: Grey, texts: Sequence[Text], *, px_per_mm: float) -> tuple[Span, ...]:
    """Return what texts that state a length may be the dimensions of; several for a text are told apart by the scale.

    Args:
        grey: The page, as it was read.
        texts: Its lettering.
        px_per_mm: Pixels per millimetre, within a fifth.
    """
    ink = find_ink(grey, px_per_mm=px_per_mm)
    angle_deg = find_skew(grey).angle_deg
    spans: list[Span] = []
    for is_upright in (False, True):
        sheet = _Turned.of(ink.darkness, ink.mask, angle_deg + (90.0 if is_upright else 0.0), px_per_mm)
        for index, text in enumerate(texts):
            if lengths(text.readings):
                ends = [tuple(map(sheet.back, pair)) for pair in sheet.spans_at(np.array(text.box_px))]
                spans += [Span(index, one, other, is_upright, _below(text, one, other)) for one, other in ends]
    return tuple(spans)


def _below(text: Text, start: Point, end: Point) -> float:
    """Return how far the line through two points lies below the middle of a text as it is read."""
    corners = np.array(text.box_px)
    down = (corners[3] - corners[0]) / max(math.dist(corners[3], corners[0]), 1e-9)
    along = np.subtract(end, start) / max(math.dist(start, end), 1e-9)
    off = np.array(start) - corners.mean(axis=0)
    across = off - along * float(off @ along)
    return float(across @ down)


@dataclass(frozen=True, slots=True, eq=False)
class _Turned:
    """The page turned so that the dimension lines looked for lie along its rows."""

    darkness: Grey
    mask: Grey
    lines: NDArray[np.int32]
    matrix: Points
    px_per_mm: float

    @classmethod
    def of(cls, darkness: Grey, mask: Grey, angle_deg: float, px_per_mm: float) -> _Turned:
        """Return the page turned clockwise as seen by `angle_deg`, with room for its corners."""
        rows, columns = darkness.shape
        matrix = cv2.getRotationMatrix2D((columns / 2, rows / 2), -angle_deg, 1.0)
        corners = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)]) @ matrix[:, :2].T + matrix[:, 2]
        matrix[:, 2] -= corners.min(axis=0)
        wide, high = np.ceil(np.ptp(corners, axis=0)).astype(int).tolist()
        turned = [
            np.asarray(cv2.warpAffine(picture, matrix, (wide, high), flags=flags), np.uint8)
            for picture, flags in ((darkness, cv2.INTER_LINEAR), (mask, cv2.INTER_NEAREST))
        ]
        return cls(turned[0], turned[1], _lines(turned[1], px_per_mm), np.asarray(matrix, np.float64), px_per_mm)

    def back(self, point: Point) -> Point:
        """Return a point of the turned page on the page."""
        x, y = np.linalg.solve(self.matrix[:, :2], np.array(point) - self.matrix[:, 2]).tolist()
        return float(x), float(y)

    def spans_at(self, box: Points) -> list[tuple[Point, Point]]:
        """Return the ends of the dimension lines that a text in `box` may stand on or in."""
        corners = box @ self.matrix[:, :2].T + self.matrix[:, 2]
        low, high = corners.min(axis=0), corners.max(axis=0)
        tall = float(min(math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2])))
        spans = []
        for left, right, y in [*self._over(low, high, tall), *self._through(low, high, tall)]:
            ends = (self._witness(left, y), self._witness(right, y))
            if ends[0] is not None and ends[1] is not None and ends[1] - ends[0] > LEAST_LINE_MM * self.px_per_mm:
                spans.append(((ends[0], y), (ends[1], y)))
        return spans

    def _over(self, low: Points, high: Points, tall: float) -> list[tuple[float, float, float]]:
        x, y = ((low + high) / 2).tolist()
        left, top, wide, thick = self.lines.T
        middle = top + (thick - 1) / 2
        is_near = (left < x) & (left + wide > x) & (np.abs(middle - y) < BESIDE * tall)
        return [(float(left[k]), float(left[k] + wide[k] - 1), float(middle[k])) for k in np.flatnonzero(is_near)]

    def _through(self, low: Points, high: Points, tall: float) -> list[tuple[float, float, float]]:
        """Return pairs of lines that stop on the two sides of a text."""
        left, top, wide, thick = self.lines.T
        middle, right = top + (thick - 1) / 2, left + wide - 1
        inside = (middle > low[1]) & (middle < high[1])
        before = np.flatnonzero(inside & (np.abs(right - low[0]) < GAP * tall) & (left < low[0]))
        after = np.flatnonzero(inside & (np.abs(left - high[0]) < GAP * tall) & (right > high[0]))
        return [
            (float(left[i]), float(right[j]), float((middle[i] + middle[j]) / 2))
            for i in before.tolist()
            for j in after.tolist()
            if abs(middle[i] - middle[j]) < 0.3 * self.px_per_mm
        ]

    def _witness(self, x: float, y: float) -> float | None:
        """Return where a line crosses the row `y` nearest to column `x`, to sub-pixel; None if none does there."""
        near = NEAR_END_MM * self.px_per_mm
        first = max(0, round(x - near))
        sides = []
        for sign in (-1, 1):
            rows = sorted(round(y + sign * share * self.px_per_mm) for share in BAND_MM)
            band = self.mask[max(0, rows[0]) : max(0, rows[1]), first : round(x + near) + 1]
            sides.append(band.mean(axis=0) if band.size else np.zeros(band.shape[1]))
        seen = np.flatnonzero(np.maximum(*sides) >= WITNESS_SHARE)
        if len(seen) == 0:
            return None
        groups = np.split(seen, np.flatnonzero(np.diff(seen) > 1) + 1)
        nearest = min(groups, key=lambda group: abs(first + float(group.mean()) - x))
        return self._centre(first + float(nearest.mean()), y, 0.5 * len(nearest))

    def _centre(self, x: float, y: float, half: float) -> float:
        """Return the centroid of the darkness of an upright line near column `x`, above and below row `y`."""
        near, far = (round(share * self.px_per_mm) for share in BAND_MM)
        row, reach = round(y), math.ceil(half + 2)
        columns = np.arange(round(x) - reach, round(x) + reach + 1)
        columns = columns[(columns >= 0) & (columns < self.darkness.shape[1])]
        bands = [self.darkness[max(0, row - far) : max(0, row - near)], self.darkness[row + near : row + far]]
        sums = [band[:, columns].astype(np.float64).mean(axis=0) if len(band) else 0 * columns for band in bands]
        profile = max(sums, key=lambda values: float(np.max(values, initial=0.0)))
        profile = np.maximum(profile - profile.min(), 0.0)
        return float(np.sum(columns * profile) / max(float(np.sum(profile)), 1e-9))


def _lines(mask: Grey, px_per_mm: float) -> NDArray[np.int32]:
    """Return left, top, width and height of the strokes along the rows, (N, 4)."""
    length = max(3, round(LEAST_LINE_MM * px_per_mm))
    strokes = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((1, length), np.uint8))
    joined = cv2.morphologyEx(strokes, cv2.MORPH_CLOSE, np.ones((3, max(3, length // 4)), np.uint8))
    _, _, found, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
    boxes = np.asarray(found[1:, :4], np.int32)
    return boxes[boxes[:, 3] <= max(6.0, 0.02 * px_per_mm * 25.4 + 1.5 * px_per_mm)]


def agreed(
    texts: Sequence[Text], spans: Iterable[Span], *, stated_px_per_mm: float | None = None
) -> tuple[tuple[Dimension, ...], ProposedScale | None]:
    """Return the dimensions, one a text, and the scale that most of them share; None where fewer than three agree.

    A text that fits the shared scale in one of its readings takes that one; the others keep their likeliest reading.

    Args:
        texts: The lettering of the page.
        spans: What the texts may state.
        stated_px_per_mm: What the file says, which decides only between scales that as many dimensions share.
    """
    is_metric = any(length.unit in ("mm", "cm") and length.sure > 0.2 for t in texts for length in lengths(t.readings))
    claims = [
        claim
        for span in spans
        for claim in _claims(texts[span.text], span, is_metric=is_metric)
        if stated_px_per_mm is None or 1 / STATED_OFF < claim.mm_per_px * stated_px_per_mm < STATED_OFF
    ]
    if not claims:
        return (), None
    voters = [claim for claim in claims if claim.votes] or claims
    centre = max(voters, key=lambda claim: _support(voters, claim, stated_px_per_mm))
    best: dict[int, _Claim] = {}
    for claim in sorted(claims, key=lambda claim: _rank(claim, centre.mm_per_px)):
        best.setdefault(claim.span.text, claim)
    alone = _one_a_line(best, centre.mm_per_px)
    near = [claim for claim in alone if claim.fits(centre.mm_per_px, AXES_LIMIT)]
    axes = _axes(near, centre.mm_per_px)
    best = _chained(best, [claim for claim in alone if _agrees(claim, axes)], claims, axes)
    alone = [best[claim.span.text] for claim in alone]
    dimensions = []
    agreeing: list[_Claim] = []
    for index, claim in sorted(best.items()):
        # One that is written too coarsely to tell scales apart bears out none.
        fits = claim in alone and _agrees(claim, axes)
        agreeing += [claim] if fits else []
        dimensions.append(Dimension(index, claim.length.mm, claim.span.start, claim.span.end, claim.length.sure, fits))
    if len(agreeing) < LEAST_AGREEING:
        return tuple(Dimension(d.text, d.length_mm, d.start, d.end, d.sure, False) for d in dimensions), None
    axes = _axes(agreeing, centre.mm_per_px)
    return tuple(dimensions), ProposedScale((1 / axes[0], 1 / axes[1]), _sigma_share(agreeing), len(agreeing))


@dataclass(frozen=True, slots=True)
class _Claim:
    """That a span has a certain length."""

    span: Span
    length: Length

    @property
    def mm_per_px(self) -> float:
        return self.length.mm / self.span.px

    @property
    def sigma_share(self) -> float:
        """Standard deviation of the scale by this dimension alone: its last place, and how well its ends are seen."""
        return math.hypot(self.length.step_mm / math.sqrt(12), AGREES_MM / 2) / self.length.mm

    @property
    def tolerance_mm(self) -> float:
        """How far off it may be by the way it is written and drawn."""
        return AGREES_MM + self.length.step_mm / 2

    @property
    def votes(self) -> bool:
        """Whether it is long and finely written enough to tell scales apart: a thickness in a callout is not."""
        return self.tolerance_mm <= VOTES_SHARE * self.length.mm

    def fits(self, mm_per_px: float, share: float) -> bool:
        """Return whether it agrees with a scale, within a share of its length more."""
        off = abs(self.span.px * mm_per_px - self.length.mm)
        return off <= self.tolerance_mm + share * self.length.mm


def _claims(text: Text, span: Span, *, is_metric: bool) -> list[_Claim]:
    """Return what a span may measure; a bare figure may be inches where no other text of the sheet has millimetres."""
    found = []
    for length in lengths(text.readings):
        if length.unit == "" and length.mm < LEAST_BARE:
            continue
        found.append(_Claim(span, length))
        if length.unit == "" and not is_metric:
            found.append(_Claim(span, length.in_inches()))
    return found


def _rank(claim: _Claim, mm_per_px: float) -> tuple[bool, bool, float, bool, float]:
    """Return the order in which the claims of a text are taken: figures stand on their lines, or in them."""
    below = claim.span.below_px
    misfits = not claim.fits(mm_per_px, AXES_LIMIT), not claim.fits(mm_per_px, AGREES_SHARE)
    return *misfits, -claim.length.sure, below < -AGREES_MM / mm_per_px, abs(below)


def _support(claims: Sequence[_Claim], centre: _Claim, stated: float | None) -> tuple[float, float]:
    """Return how many texts share the scale of a claim, well read ones more, and how near the stated one it is.

    Several texts between the same two uprights are one witness: only one of them can be the figure.
    """
    texts: dict[int, tuple[float, _Line]] = {}
    for claim in claims:
        if claim.fits(centre.mm_per_px, AGREES_SHARE):
            weight = 0.5 + 0.5 * claim.length.sure
            texts[claim.span.text] = max(texts.get(claim.span.text, (0.0, claim.span.line)), (weight, claim.span.line))
    lines: dict[_Line, float] = {}
    for weight, line in texts.values():
        lines[line] = max(lines.get(line, 0.0), weight)
    near = -abs(math.log(centre.mm_per_px * stated)) if stated else 0.0
    return sum(lines.values()), near


def _one_a_line(best: Mapping[int, _Claim], mm_per_px: float) -> list[_Claim]:
    """Return the claims with one of those between the same uprights: the one that stands to it as figures do."""
    lines: dict[_Line, _Claim] = {}
    for claim in sorted(best.values(), key=lambda claim: (_rank(claim, mm_per_px), claim.span.text)):
        lines.setdefault(claim.span.line, claim)
    return sorted(lines.values(), key=lambda claim: claim.span.text)


def _agrees(claim: _Claim, axes: tuple[float, float]) -> bool:
    return claim.votes and claim.fits(axes[claim.span.is_upright], AGREES_SHARE)


def _chained(
    best: Mapping[int, _Claim], agreeing: Sequence[_Claim], claims: Sequence[_Claim], axes: tuple[float, float]
) -> dict[int, _Claim]:
    """Return the claims with another reading that agrees as well, where a chain adds up by that one alone."""
    options = {
        claim.span.text: {
            other.length.mm: other for other in claims if other.span == claim.span and _agrees(other, axes)
        }
        for claim in agreeing
    }
    links = [
        Link(
            claim.span.start, claim.span.end, claim.length.mm, tuple(set(options[claim.span.text]) - {claim.length.mm})
        )
        for claim in agreeing
    ]
    said = zip(agreeing, add_up(links), strict=True)
    return {**best, **{claim.span.text: options[claim.span.text][mm] for claim, mm in said}}


def _sigma_share(claims: Sequence[_Claim]) -> float:
    """Return how unsure the scale is along the less sure axis, as a share."""
    sigmas = []
    for is_upright in (False, True):
        along = [claim for claim in claims if claim.span.is_upright == is_upright]
        own = along if len(along) > 1 else claims
        sigma = 1 / math.sqrt(sum(1 / claim.sigma_share**2 for claim in own))
        sigmas.append(sigma if len(along) > 1 else math.hypot(sigma, AXIS_DOUBT))
    return max(sigmas)


def _axes(claims: Sequence[_Claim], usual: float) -> tuple[float, float]:
    """Return mm per pixel along x and y: the weighted mean of each axis, or of both where one has no two of its own."""
    ratios = []
    for is_upright in (False, True):
        along = [claim for claim in claims if claim.span.is_upright == is_upright]
        own = along if len(along) > 1 else claims  # a single one confirms nothing but itself
        weights = [1 / claim.sigma_share**2 for claim in own]
        total = sum(weight * claim.mm_per_px for weight, claim in zip(weights, own, strict=True))
        ratios.append(total / sum(weights) if own else usual)
    return ratios[0], ratios[1]
