"""From a grey page to ink: even background, polarity, and a mask of what was drawn.

Darkness is `1 - grey / paper`, where the paper's own grey is estimated in every place; it does not
depend on the light. The mask only decides what is a line; where its centre lies is measured on the
darkness itself (`vectorize.lines`), so that the threshold moves no edge.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.basics.errors import ScanError
from vectorize.basics.notes import Note
from vectorize.lines.specks import without_pinholes, without_specks

Grey = NDArray[np.uint8]

STROKE_MM = 2.5
"""Dark marks narrower than this stand on the local paper; wider ones are shadows or filled areas."""

FILL_SHARE = 0.6
"""Darker than this share of the wide-area paper is ink however wide it is: no fold shadow is that dark."""

FAINTEST = 0.16
"""Least darkness of a pencil line that counts; paper texture stays below it (checked against noise)."""

FAINT_SHARE = 0.5
"""On a sheet that is faint all over, a line that is lighter than the others still counts down to this share of them."""

DARKEST_PAPER = 16.0
"""Brightness of 255 below which one step of grey is more than 6 % of the paper, and noise looks like pencil."""

LEAST_INK_MM2 = 3.0
"""Less ink than this on a whole sheet is no drawing."""

_LIGHT = 64

_GROUND_PX = 31
"""The ground is told over a square of so many pixels of a picture that is at most about 3,000 across."""

SPECK_MM = 0.35
"""Marks that fit in a square of this side are specks."""

PINHOLE_MM = 0.2
"""Holes in strokes no larger than a square of this side are none."""


@dataclass(frozen=True, slots=True, eq=False)
class Ink:
    """What was drawn on a page.

    `darkness` is 0 for paper and 255 for black, [row, column]; `mask` is 1 on ink and 0 elsewhere;
    `noise` is the standard deviation of the darkness of blank paper, in units of 255.
    """

    darkness: Grey
    mask: Grey
    noise: float
    is_negative: bool
    notes: tuple[Note, ...] = ()


def find_ink(grey: Grey, *, px_per_mm: float) -> Ink:
    """Return the ink on a grey page under uneven light.

    Args:
        grey: (rows, columns) 0 black to 255 white; a blueprint or negative is turned over.
        px_per_mm: Pixels per millimetre, to tell strokes from shadows; 20 % off does no harm.
    """
    is_negative = looks_negative(grey)
    positive = cv2.bitwise_not(grey) if is_negative else grey
    darkness = _darkness(np.asarray(positive, np.uint8), px_per_mm)
    smooth = np.asarray(cv2.GaussianBlur(darkness, (0, 0), 0.8), np.uint8)
    noise = paper_noise(smooth)
    threshold = _threshold(smooth, noise)
    mask = _without_specks(smooth, threshold, px_per_mm)
    notes = []
    if is_negative:
        notes.append(Note("negative", "the sheet has light lines on a dark ground; it was read as a negative."))
    if noise > 255 * FAINTEST / 4:
        notes.append(
            Note(
                "noisy",
                f"the paper's own texture is strong ({noise / 2.55:.0f} % of black); lines fainter than "
                f"{threshold / 2.55:.0f} % are not seen.",
            )
        )
    return Ink(darkness, mask, noise, is_negative, tuple(notes))


def _threshold(smooth: Grey, noise: float) -> float:
    """Return the least darkness of ink, of 255: lower where all that is drawn is faint and the paper is quiet."""
    quiet = 5.5 * noise
    sample = smooth[::3, ::3]
    drawn = sample[sample > max(255 * FAINTEST, quiet)]
    usual = float(np.percentile(drawn, 75)) if len(drawn) else 255.0
    return max(quiet, min(255 * FAINTEST, FAINT_SHARE * usual))


def refuse_unreadable(name: str, grey: Grey, ink: Ink, *, px_per_mm: float) -> None:
    """Refuse a picture on which lines cannot be told from paper, rather than trace what is not there.

    Raises:
        ScanError: The paper is nearly black, or nothing on it is clearly darker than it.
    """
    paper = float(np.median(grey[::3, ::3]))
    paper = 255.0 - paper if ink.is_negative else paper
    if paper < DARKEST_PAPER:
        raise ScanError(
            f"{name} is too dark to trust: its paper has a brightness of {paper:.0f} of 255, and at least "
            f"{DARKEST_PAPER:.0f} are needed. Scan or photograph it again in better light; "
            "brightening the file adds nothing."
        )
    if np.count_nonzero(ink.mask) < LEAST_INK_MM2 * px_per_mm**2:
        darkest = float(np.percentile(cv2.GaussianBlur(ink.darkness, (0, 0), 0.8)[::2, ::2], 99.9)) / 2.55
        least = max(100 * FAINTEST, 5.5 * ink.noise / 2.55)
        raise ScanError(
            f"{name} is too faint to trust: its darkest marks are {darkest:.0f} % darker than the paper, and lines "
            f"must be {least:.0f} %. Scan it again with more contrast, or draw the lines over."
        )


def looks_negative(grey: Grey) -> bool:
    """Return whether lines are lighter than the ground, judged in the page's interior.

    The ground in every place is the median round it, as lines cover less than half of a drawing. What is clearly
    lighter is weighed against what is clearly darker; a dark table around the sheet is neither. On 19
    blueprints drawn in random hands what was lighter weighed at least 29 times what was darker.
    """
    rows, columns = grey.shape
    inner = grey[rows // 10 : rows - rows // 10, columns // 10 : columns - columns // 10]
    step = max(1, min(inner.shape) // 2000)
    sample = np.ascontiguousarray(inner[::step, ::step])
    if min(sample.shape, default=0) < _GROUND_PX:
        return False
    ground = cv2.medianBlur(sample, _GROUND_PX)
    apart = (cv2.subtract(sample, ground), cv2.subtract(ground, sample))
    light, dark = (float(np.sum(side[side > 40], dtype=np.float64)) for side in apart)
    return light > 1.5 * dark and float(np.median(sample)) < 170


def _darkness(grey: Grey, px_per_mm: float) -> Grey:
    paper = _paper(grey, px_per_mm)
    ratio = cv2.divide(grey, paper, scale=255)
    return np.asarray(cv2.bitwise_not(ratio), np.uint8)


def _paper(grey: Grey, px_per_mm: float) -> Grey:
    """The grey that the paper has in each place, never 0."""
    step = max(1, round(px_per_mm / 2.4))
    rows, columns = grey.shape
    small = cv2.resize(grey, (max(1, columns // step), max(1, rows // step)), interpolation=cv2.INTER_AREA)
    per_mm = px_per_mm / step
    near = cv2.medianBlur(_closed(small, STROKE_MM * per_mm), 5) if min(small.shape) > 5 else small
    far = _closed(near, 20.0 * per_mm)
    filled = near < FILL_SHARE * far.astype(np.float32)
    near = np.where(filled, far, near).astype(np.uint8)
    soft = cv2.GaussianBlur(np.maximum(near, 1), (0, 0), max(0.5, 0.4 * per_mm))
    return np.asarray(cv2.resize(soft, (columns, rows), interpolation=cv2.INTER_LINEAR), np.uint8)


def _closed(grey: NDArray[np.uint8] | cv2.typing.MatLike, width_px: float) -> Grey:
    size = 2 * max(1, round(width_px / 2)) + 1
    kernel = cv2.getStructuringElement(cv2.MORPH_RECT, (size, size))
    return np.asarray(cv2.morphologyEx(grey, cv2.MORPH_CLOSE, kernel), np.uint8)


def paper_noise(darkness: Grey) -> float:
    """Spread of blank paper, told by what is light: ink, and a dark table round the sheet, are left out."""
    counts = np.cumsum(np.bincount(darkness[::3, ::3].ravel(), minlength=256)[:_LIGHT])
    median, high = (int(np.searchsorted(counts, share * counts[-1])) for share in (0.5, 0.8))
    return max(0.5, (high - median) / 0.84)


def _without_specks(smooth: Grey, threshold: float, px_per_mm: float) -> Grey:
    """Return where it is dark; a pinhole in a stroke is filled, since the skeleton would make a loop of it."""
    mask = np.asarray(cv2.threshold(smooth, threshold, 1, cv2.THRESH_BINARY)[1], np.uint8)
    mask = without_pinholes(mask, area_px=max(4.0, (PINHOLE_MM * px_per_mm) ** 2))
    return without_specks(mask, side_px=SPECK_MM * px_per_mm)
