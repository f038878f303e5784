"""The overlay proof: the plan's scan with the outlines over it, true size on paper and on a screen.

What is seen is the scan drawn into millimetres for the eye alone; nothing is measured on it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray
from PIL import Image
from scipy.ndimage import map_coordinates
from shapely.geometry import Polygon

from nesting.patterns.drawing import Box, Layer, Recorder, Stroke, Text
from nesting.patterns.labels import words_inside
from nesting.patterns.pages import Drawn, tiled_pages
from nesting.patterns.paper_tiles import Content
from nesting.patterns.papers import Paper
from nesting.patterns.part_marks import ROUGH_MM
from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.write_pdf import Page, Picture, Sheet, pdf_bytes
from nesting.patterns.write_png import png_bytes
from vectorize.basics.errors import CallError
from vectorize.shapes.affine import Affine
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Points

AROUND_MM = 12.0
"""How much of the plan is shown round the outlines."""
FINEST_PX_PER_MM = 6.0
MOST_PIXELS = 12_000_000
USE = "The thin black line is what will be cut; the plan's own line shows pale on both sides of it."
PALE = 0.55
"""How far the scan's ink is bleached, so that a thin black outline stands out on it in black and white."""


def overlay_proof(
    grey: NDArray[np.uint8],
    to_px: Callable[[ArrayLike], Points],
    outlines: Sequence[tuple[str, Outline]],
    *,
    name: str,
    settings: PatternSettings,
) -> dict[str, bytes]:
    """Return `overlay-NAME.pdf`, tiled at true size, and `overlay-NAME.png` for the screen.

    Args:
        grey: The scan, [row, column], 0 black.
        to_px: The map from (N, 2) millimetres on the plan to original pixels (x, y).
        outlines: Names and outlines where they lie on the plan.
        name: The plan's name.
        settings: Paper, printer.

    Raises:
        CallError: There is no outline to show.
        InputError: More pages than the settings allow.
    """
    if not outlines:
        raise CallError(f"there is no outline on plan {name} to lay over the scan; trace its parts first.")
    box = _box_round([outline for _, outline in outlines])
    picture = Picture(_pale_scan(grey, to_px, box), box)
    recorder = Recorder()
    for part, outline in outlines:
        for ring in outline.rings:
            recorder.draw(Stroke(ring.segments, Layer.PROOF, part, is_closed=True))
        words = words_inside(outline.to_polygon(ROUGH_MM).buffer(-1.5), [[part]], part=part)
        for text in words.texts if words else ():
            recorder.draw(text)
    title = f"{settings.model}, overlay of {name}" if settings.model else f"overlay of {name}"
    content = Content(tuple(Polygon(outline.exterior.flattened(ROUGH_MM)) for _, outline in outlines))
    drawn = Drawn(tuple(recorder.elements), content, (picture,))
    pages = tiled_pages([drawn], title=title, settings=settings, use=USE)
    return {
        f"overlay-{name}.pdf": pdf_bytes(pages, title=title),
        f"overlay-{name}.png": _screen(recorder, picture, title),
    }


def _box_round(outlines: Sequence[Outline]) -> Box:
    boxes = np.array([outline.bounds for outline in outlines])
    x0, y0 = boxes[:, :2].min(axis=0) - AROUND_MM
    x1, y1 = boxes[:, 2:].max(axis=0) + AROUND_MM
    return float(x0), float(y0), float(x1), float(y1)


def _pale_scan(grey: NDArray[np.uint8], to_px: Callable[[ArrayLike], Points], box: Box) -> Image.Image:
    """The scan within `box`, upright in millimetres, bleached."""
    width, height = box[2] - box[0], box[3] - box[1]
    density = min(FINEST_PX_PER_MM, (MOST_PIXELS / (width * height)) ** 0.5)
    columns, rows = max(1, round(width * density)), max(1, round(height * density))
    x = box[0] + (np.arange(columns) + 0.5) / columns * width
    y = box[3] - (np.arange(rows) + 0.5) / rows * height
    seen = np.empty((rows, columns), dtype=np.uint8)
    for first in range(0, rows, 256):  # in bands, so that a large plan needs no table of all its points
        band = np.stack(np.meshgrid(x, y[first : first + 256]), axis=-1)
        pixels = to_px(band.reshape(-1, 2))
        values = map_coordinates(grey, [pixels[:, 1], pixels[:, 0]], order=1, mode="constant", cval=255)
        seen[first : first + 256] = values.reshape(band.shape[:2])
    return Image.fromarray((255 - (1 - PALE) * (255.0 - seen)).astype(np.uint8))


def _screen(recorder: Recorder, picture: Picture, title: str) -> bytes:
    x0, y0, x1, y1 = picture.box
    elements = tuple(e for e in recorder.elements if isinstance(e, Stroke | Text))
    sheet = Sheet(elements, Affine.shift(-x0, -y0), pictures=(picture,))
    return png_bytes(pdf_bytes([Page(Paper("", x1 - x0, y1 - y0), (sheet,))], title=title), dpi=150)
