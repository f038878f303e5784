"""Lines followed on through places where they are fainter than what counts as ink.

A pencil or a worn print fades along one stroke. Ink that lies straight ahead of a line's end belongs to the line down
to the paper's own noise, as edges do in hysteresis (Canny 1986, doi:10.1109/TPAMI.1986.4767851); the same faint mark
anywhere else is texture.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.basics.compiled import compiled
from vectorize.lines.ink import Ink, paper_noise
from vectorize.lines.thinning import thinned

Skeleton = NDArray[np.bool_]

LEAST_NOISE = 5.0
"""So many times the paper's noise is ink where a line leads to it; anywhere else it takes 5.5 times the noise of a less
blurred picture and a sixth of black."""

LEAST_DARKNESS = 14.0
"""And no less than this, of 255: fainter marks are offsets of printing and of JPEG's blocks."""

OWN_SHARE = 0.15
"""A line does not go on in what is fainter than this share of itself."""

RIDGE_SHARE = 0.6
"""Beside a line it is lighter than this share of its darkness; a tint, a fold or a shadow is not."""

FARTHEST_MM = 10.0
"""A line is followed no farther from one end."""

HOLE_MM = 0.4
"""It may be lost in the texture over this length at a time."""

LOST_SHARE, BLUR_PX = 0.3, 4.0
"""And over no more than this share of the faint place, but for what the two ends' own blur covers."""

SHORT_SHARES = np.array([1.0, 0.35, 0.23, 0.17, 0.14])
"""Where that blur covers it all, so many bare pixels, it is nowhere fainter than this share of the line. Two ends of a
black line, blurred by a pixel or so, leave 0.23, 0.11, 0.05 and 0.02 between them; noise adds a tenth. A place that may
as well be bare is a gap, and bridged and told as one."""

TOLD_MM = 1.2
"""The direction of an end is told over this length; from a shorter stroke no line leads."""

LEAST_GAIN_MM = 1.0
"""What comes to no other line is kept from this length."""

LOOP_SHARE, LOOP_MM = 3.0, 2.0
"""What leads back to its own line is no faint place unless the way back along the line is longer than so many times the
way ahead and so much more: beside an overshooting corner it is another stroke's blur."""

ROUNDS = 3
"""A fragment in a faint place leads on once a line has come to it."""

_BLUR_PENS, _FINE_PX = 0.3, 0.8

_TURN = 0.2
"""How much of the way just followed goes into the direction at each step."""


def with_faint(ink: Ink, skeleton: NDArray[np.bool_], *, pen_px: float, px_per_mm: float) -> tuple[Ink, Skeleton]:
    """Return the ink and its skeleton with lines taken on from their ends through faint places."""
    smooth = np.asarray(cv2.GaussianBlur(ink.darkness, (0, 0), max(_FINE_PX, _BLUR_PENS * pen_px)), np.uint8)
    fine = np.asarray(cv2.GaussianBlur(ink.darkness, (0, 0), _FINE_PX), np.uint8)
    low = max(LEAST_NOISE * paper_noise(smooth), LEAST_DARKNESS)
    mask, lines = ink.mask.copy(), skeleton.astype(np.uint8)
    lengths_mm = (TOLD_MM, FARTHEST_MM, HOLE_MM, LEAST_GAIN_MM, LOOP_MM)
    told, *sizes = (length * px_per_mm for length in lengths_mm)
    for _ in range(ROUNDS):
        if not _follow_all(smooth, fine, mask, lines, _ends(lines), low, pen_px, max(6.0, told), *sizes):
            break
    return replace(ink, mask=mask), thinned(lines)


def _ends(lines: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Return (row, column) of the pixels with one neighbour, those at the picture's edge left out."""
    rows, columns = np.nonzero(lines)
    is_inner = (rows > 0) & (columns > 0) & (rows < lines.shape[0] - 1) & (columns < lines.shape[1] - 1)
    rows, columns = rows[is_inner], columns[is_inner]
    around = np.array([lines[rows + j, columns + i] for j in (-1, 0, 1) for i in (-1, 0, 1)])
    is_end = np.asarray(around.sum(axis=0) == 2)
    return np.asarray(np.column_stack([rows, columns])[is_end], np.int64)


@compiled
def _follow_all(  # pragma: no cover - compiled
    smooth: NDArray[np.uint8],
    fine: NDArray[np.uint8],
    mask: NDArray[np.uint8],
    lines: NDArray[np.uint8],
    ends: NDArray[np.int64],
    low: float,
    pen: float,
    told: float,
    farthest: float,
    hole: float,
    gain: float,
    loop: float,
) -> int:
    """Put into mask and lines where each end leads, and return how many lead anywhere."""
    tail = np.empty((int(told) + 2, 2), np.int64)
    path = np.empty((int(farthest) + 2, 2))
    found = 0
    for index in range(len(ends)):
        tail[0] = ends[index]
        count = _back(lines, tail)
        if count < told:
            continue
        skip = min(int(0.7 * pen), count // 3)
        dx, dy = float(tail[skip, 1] - tail[count - 1, 1]), float(tail[skip, 0] - tail[count - 1, 0])
        size = np.sqrt(dx * dx + dy * dy)
        if size < 0.6 * (count - skip):
            continue  # it bends too much to point anywhere
        own = 0.0
        for k in range(skip, count):
            own += smooth[tail[k, 0], tail[k, 1]] / (count - skip)
        steps, is_met, bare = _followed(
            smooth, fine, mask, lines, tail[:count], path, dx / size, dy / size, own, low, pen, hole
        )
        if is_met and steps:
            is_met = not _leads_to(lines, tail[0], path[steps - 1], int(LOOP_SHARE * steps + loop))
            steps = steps if is_met else 0
        if bare and steps and (is_met or steps >= gain + pen):
            _put(mask, lines, tail[0], path[:steps])
            found += 1
    return found


@compiled
def _back(lines: NDArray[np.uint8], tail: NDArray[np.int64]) -> int:  # pragma: no cover - compiled
    """Fill `tail`, whose first pixel is an end, with the line behind it as far as that does not branch."""
    count = 1
    while count < len(tail) - 1:
        more = 0
        for j in range(-1, 2):
            for i in range(-1, 2):
                r, c = tail[count - 1, 0] + j, tail[count - 1, 1] + i
                if not (0 <= r < lines.shape[0] and 0 <= c < lines.shape[1] and lines[r, c]):
                    continue
                if not _holds(tail[max(0, count - 4) : count], r, c):
                    if more == 0:
                        tail[count, 0], tail[count, 1] = r, c
                    more += 1
        if more == 0:
            break
        count += 1
        if more > 2:
            break
    return count


@compiled
def _leads_to(  # pragma: no cover - compiled
    lines: NDArray[np.uint8], start: NDArray[np.int64], goal: NDArray[np.float64], most: int
) -> bool:
    """Whether the line at `start` comes to within a pixel of `goal` (x, y) in at most so many steps along it."""
    side = 2 * most + 1
    seen = np.zeros((side, side), np.uint8)
    queue = np.empty((side * side, 2), np.int64)
    queue[0], first, end = start, 0, 1
    seen[most, most] = 1
    for _ in range(most):
        last = end
        for k in range(first, last):
            for j in range(-1, 2):
                for i in range(-1, 2):
                    r, c = queue[k, 0] + j, queue[k, 1] + i
                    y, x = r - start[0] + most, c - start[1] + most
                    inside = 0 <= r < lines.shape[0] and 0 <= c < lines.shape[1]
                    if not inside or not lines[r, c] or seen[y, x]:
                        continue
                    if abs(r - goal[1]) <= 1 and abs(c - goal[0]) <= 1:
                        return True
                    seen[y, x] = 1
                    queue[end, 0], queue[end, 1] = r, c
                    end += 1
        if end == last:
            break
        first = last
    return False


@compiled
def _holds(pixels: NDArray[np.int64], row: int, column: int) -> bool:  # pragma: no cover - compiled
    found = False
    for k in range(len(pixels)):
        found |= pixels[k, 0] == row and pixels[k, 1] == column
    return found


@compiled
def _followed(  # pragma: no cover - compiled
    smooth: NDArray[np.uint8],
    fine: NDArray[np.uint8],
    mask: NDArray[np.uint8],
    lines: NDArray[np.uint8],
    tail: NDArray[np.int64],
    path: NDArray[np.float64],
    dx: float,
    dy: float,
    own: float,
    low: float,
    pen: float,
    hole: float,
) -> tuple[int, bool, int]:
    """Fill `path` with (x, y) from an end on; return how many are good, whether a line is met, how many are bare."""
    beside = max(3.0, 1.6 * pen)
    x, y = float(tail[0, 1]), float(tail[0, 0])
    good, bare, missed, lost, faintest = 0, 0, 0, 0.0, 1.0
    for step in range(len(path) - 1):
        x, y = x + dx, y + dy
        if min(x, y) < beside + 2 or x > lines.shape[1] - beside - 3 or y > lines.shape[0] - beside - 3:
            break
        peak, shift, flank = _ridge(smooth, x, y, dx, dy, max(1.5, 0.6 * pen), beside)
        is_ridge = peak >= max(low, OWN_SHARE * own) and flank < RIDGE_SHARE * peak
        if is_ridge:
            x, y = x - shift * dy, y + shift * dx
        path[step, 0], path[step, 1] = x, y
        row, column = round(y), round(x)
        if not mask[row, column]:
            sharp, _, _ = _ridge(fine, x, y, dx, dy, 1.0, beside)
            bare, faintest = bare + 1, min(faintest, sharp / own)
        # Back in ink, the line that this belongs to lies no farther aside than half a pen.
        wide = 1 + int(0.5 * pen) if bare and mask[row, column] else 1
        met_row, met_column, least = -1, -1, 1e9
        for j in range(-wide, wide + 1):
            for i in range(-wide, wide + 1):
                away = max(abs(i), abs(j)) + 0.01 * (i * i + j * j)
                if step > 1 and away < least and lines[row + j, column + i] and not _holds(tail, row + j, column + i):
                    met_row, met_column, least = row + j, column + i, away
        if met_row >= 0:
            path[step, 0], path[step, 1] = met_column, met_row
            is_short = bare < len(SHORT_SHARES)
            is_seen = faintest >= SHORT_SHARES[bare] if is_short else missed <= LOST_SHARE * (bare - BLUR_PX)
            return (step + 1 if is_seen else 0), True, bare
        if is_ridge or mask[row, column]:
            good, lost = step + 1, 0.0
        else:
            lost, missed = lost + 1.0, missed + 1
            if lost > hole:
                break
        if step > 3 and is_ridge:
            bx, by = x - path[max(0, step - 8), 0], y - path[max(0, step - 8), 1]
            size = max(1e-9, np.sqrt(bx * bx + by * by))
            dx, dy = (1 - _TURN) * dx + _TURN * bx / size, (1 - _TURN) * dy + _TURN * by / size
            size = np.sqrt(dx * dx + dy * dy)
            dx, dy = dx / size, dy / size
    return good, False, bare


@compiled
def _ridge(  # pragma: no cover - compiled
    smooth: NDArray[np.uint8], x: float, y: float, dx: float, dy: float, reach: float, beside: float
) -> tuple[float, float, float]:
    """Return the darkness on a line that passes (x, y), how far to the side its middle lies, and that beside it."""
    count = 2 * int(2 * reach) + 1
    values = np.empty(count)
    for k in range(count):
        aside = 0.5 * (k - count // 2)
        values[k] = smooth[round(y + aside * dx), round(x - aside * dy)]
    peak = values.max()
    weight, moment = 1e-9, 0.0
    for k in range(count):
        over = max(0.0, values[k] - RIDGE_SHARE * peak)
        weight += over
        moment += over * 0.5 * (k - count // 2)
    flank = max(
        smooth[round(y + beside * dx), round(x - beside * dy)], smooth[round(y - beside * dx), round(x + beside * dy)]
    )
    return peak, min(0.4, max(-0.4, moment / weight)), float(flank)


@compiled
def _put(  # pragma: no cover - compiled
    mask: NDArray[np.uint8], lines: NDArray[np.uint8], start: NDArray[np.int64], path: NDArray[np.float64]
) -> None:
    """Draw a path from the pixel where it starts."""
    x, y = float(start[1]), float(start[0])
    for k in range(len(path)):
        steps = max(2, int(np.ceil(max(abs(path[k, 0] - x), abs(path[k, 1] - y)))))
        for step in range(1, steps + 1):
            share = step / steps
            row, column = round(y + share * (path[k, 1] - y)), round(x + share * (path[k, 0] - x))
            mask[row, column], lines[row, column] = 1, 1
        x, y = path[k, 0], path[k, 1]
