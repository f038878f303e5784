"""Invented parts that the pattern tests share, and readers of what the writers made."""

from __future__ import annotations

import io
import re

import cv2
import ezdxf
import numpy as np
import pypdfium2
from scipy import ndimage
from shapely import affinity
from shapely.geometry import Polygon
from skimage.measure import find_contours
from svgpathtools import parse_path

from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Arc, Cubic, Line

F_POINTS = [(0, 0), (12, 0), (12, 20), (30, 20), (30, 32), (12, 32), (12, 48), (40, 48), (40, 60), (0, 60)]
"""
   ┌────────┐   An F: no mirror image and no turned copy
   │  ┌─────┘   of it looks like it.
   │  └──┐
   │  ┌──┘
   └──┘
"""


def letter_f(**kwargs) -> Part:
    return Part("F", Outline.from_points(F_POINTS), "balsa", 3.0, is_grain_assumed=False, **kwargs)


def rounded(**kwargs) -> Part:
    """Lines, a quarter arc, a cubic and a drilled hole: 90 × 40 mm."""
    exterior = Ring(
        (
            Line((0, 0), (80, 0)),
            Arc((80, 0), (90, 10), np.tan(np.pi / 8)),
            Line((90, 10), (90, 40)),
            Cubic((90, 40), (60, 48), (30, 30), (0, 40)),
            Line((0, 40), (0, 0)),
        )
    )
    return Part("rounded", Outline(exterior, (Ring.circle((20, 15), 4.0),)), "balsa", 5.0, **kwargs)


def long_part(length_mm: float = 700.0) -> Part:
    """A profile of 700 × 66 mm with a curved back, a sawn seat and a drilled hole."""
    exterior = Ring(
        (
            Line((0, 20), (0, 45)),
            Cubic((0, 45), (40, 62), (100, 66), (200, 60)),
            Line((200, 60), (length_mm, 35)),
            Line((length_mm, 35), (length_mm, 22)),
            Line((length_mm, 22), (150, 0)),
            Arc((150, 0), (0, 20), -0.12),
        )
    )
    seat = Ring.from_points([(160, 40), (280, 36), (280, 46), (160, 50)])
    return Part("fuselage", Outline(exterior, (Ring.circle((30, 32), 4.0), seat)), "balsa", 10.0)


def pdf_pages(pdf: bytes, dpi: float) -> list[np.ndarray]:
    """Each page as grey (rows, columns), 0 black."""
    document = pypdfium2.PdfDocument(pdf)
    pages = [np.asarray(page.render(scale=dpi / 72, grayscale=True).to_pil().convert("L")) for page in document]
    document.close()
    return pages


def svg_rings(svg: bytes, layer: str) -> list[np.ndarray]:
    """The closed paths of a group as fine polygons, y up again."""
    text = svg.decode("utf-8")
    height = float(re.search(r'viewBox="0 0 \S+ (\S+)"', text)[1])
    group = re.search(rf'<g id="{layer}"[^>]*>(.*?)</g>', text, re.DOTALL)
    rings = []
    for data in re.findall(r' d="([^"]+)"', group[1] if group else ""):
        path = parse_path(data)
        points = [piece.point(t) for piece in path for t in np.linspace(0, 1, 1 if _is_straight(piece) else 400, False)]
        rings.append(np.array([(p.real, height - p.imag) for p in points]))
    return rings


def _is_straight(piece) -> bool:
    return type(piece).__name__ == "Line"


def read_dxf(dxf: bytes):
    """The document, after an audit that must find nothing."""
    encoding = "cp1252" if b"AC1009" in dxf[:400] or b"AC1015" in dxf[:400] else "utf-8"
    document = ezdxf.read(io.StringIO(dxf.decode(encoding).replace("\r\n", "\n")))
    audit = document.audit()
    assert not audit.has_errors
    assert not audit.has_fixes
    return document


def net_area(rings: list[np.ndarray]) -> float:
    """Largest ring less those inside it."""
    polygons = sorted((Polygon(ring) for ring in rings), key=lambda p: -p.area)
    return polygons[0].area - sum(p.area for p in polygons[1:])


def white_regions(page: np.ndarray, mm_per_px: tuple[float, float]) -> list[Polygon]:
    """The closed white areas of a page, what lies in them filled, in mm, y up, moved out by half the pen's width."""
    regions = cv2.connectedComponents((page >= 128).astype(np.uint8), connectivity=4)[1]
    found = []
    for index, window in enumerate(ndimage.find_objects(regions), start=1):
        area = np.pad(ndimage.binary_fill_holes(regions[window] == index), 1)
        if area.sum() * mm_per_px[0] * mm_per_px[1] < 4.0:
            continue
        ring = max(find_contours(area.astype(float), 0.5), key=len)
        rows = ring[:, 0] + window[0].start - 1
        columns = ring[:, 1] + window[1].start - 1
        x, y = (columns + 0.5) * mm_per_px[0], (page.shape[0] - rows - 0.5) * mm_per_px[1]
        outline = Polygon(np.column_stack([x, y])).simplify(0.4 * max(mm_per_px))
        found.append(outline.buffer(PEN_MM / 2, quad_segs=3))
    return found


PEN_MM = 0.25


def best_match(regions: list[Polygon], wanted: Polygon) -> tuple[float, Polygon]:
    """(largest distance between the edges, region) of the region that fits best, lower left corners together."""
    return min(((edge_distance(region, wanted), region) for region in regions), key=lambda pair: pair[0])


def edge_distance(a: Polygon, b: Polygon) -> float:
    """Hausdorff distance of two boundaries whose boxes are laid on each other centre to centre."""
    if abs(a.area - b.area) > 0.5 * b.area:
        return np.inf
    moved = affinity.translate(a, *(box_centre(b) - box_centre(a)))
    fine = [shape.exterior.segmentize(1.0) for shape in (moved, b)]
    return fine[0].hausdorff_distance(fine[1])


def box_centre(shape: Polygon) -> np.ndarray:
    x0, y0, x1, y1 = shape.bounds
    return np.array([(x0 + x1) / 2, (y0 + y1) / 2])
