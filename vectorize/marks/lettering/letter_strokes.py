"""Boxes of lettering cut out of the page and set upright."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.marks.lettering.text_box import TextBox

Grey = NDArray[np.uint8]

LINE_PX = 48
"""The recogniser reads lines of this height."""

LONGEST_PX = 3200
"""Longer lines are pressed together to this; as the model was trained."""

SHORTEST_PX = 8
"""Nothing shorter says anything."""


def upright(grey: Grey, box: TextBox, *, high_px: int = LINE_PX, stretch: float = 1.0) -> Grey:
    """Return the box set upright, `high_px` high; what is larger is averaged, so that thin strokes stay.

    `stretch` makes it so many times as wide as it is.
    """
    fold = max(1, round(box.height_px / high_px))
    height = high_px * fold
    wide = round(stretch * box.width_px * high_px / max(box.height_px, 1.0))
    width = fold * min(max(wide, SHORTEST_PX), LONGEST_PX)
    corners = np.array([(0, 0), (width, 0), (0, height)], np.float32) - np.float32(0.5)
    here = np.array([box.corners_px[0], box.corners_px[1], box.corners_px[3]], np.float32)
    flat = cv2.warpAffine(
        grey,
        cv2.getAffineTransform(corners, here),
        (width, height),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(cv2.resize(flat, (width // fold, high_px), interpolation=cv2.INTER_AREA), np.uint8)
