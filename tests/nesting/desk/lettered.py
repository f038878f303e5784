"""A scan that says what it is: three parts with their labels, and lengths along and across."""

from functools import cache
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from tests.nesting.job.draft.test_draft import FIN, LETTERED, PLATE, RIB
from tests.vectorize.marks.lettering.lettered_pages import DPI, FONT, PX_PER_MM
from tests.vectorize.marks.test_dimensions import sheet as dimensions

LENGTHS = (
    (20.0, 116.0, 110.0, "110 mm", False),
    (150.0, 12.0, 40.0, "40 mm", False),
    (184.0, 20.0, 80.0, "80 mm", True),
    (120.0, 12.0, 40.0, "40 mm", True),
)
"""Start, length, text, and whether it stands upright: in mm from the upper left."""


ODD = "2.7 mm ply  4 off"
"""No sheet wood is sold 2.7 mm thick, so this is doubtful."""


@cache
def picture() -> Image.Image:
    """Return the scan: its parts FIN and R3, surely lettered, GUSSET of an odd thickness, and four lengths."""
    page = Image.fromarray(dimensions(LENGTHS))
    pen = ImageDraw.Draw(page)
    for outline in (FIN, RIB, PLATE):
        corners = [(x * PX_PER_MM, y * PX_PER_MM) for x, y in [*outline, *outline[:2]]]
        pen.line(corners, fill=0, width=4, joint="curve")
    for text, (x, y), high_mm in (*LETTERED[:-2], (ODD, *LETTERED[-2][1:])):
        pen.text(
            (x * PX_PER_MM, y * PX_PER_MM), text, fill=0, font=ImageFont.truetype(FONT, round(high_mm * PX_PER_MM))
        )
    return page


def save_scan(path: Path, *, faint: bool = False) -> Path:
    """Write the scan as a file with its resolution, and return where; a faint one says nothing."""
    shown = picture() if not faint else Image.fromarray(np.full_like(np.asarray(picture()), 250))
    shown.save(path, dpi=(DPI, DPI))
    return path
