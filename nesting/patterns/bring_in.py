"""Bring in: outlines from an SVG or DXF, one of ours or one made elsewhere, with true arcs and splines.

Units are obeyed where the file states them and asked for where it does not.
"""

from __future__ import annotations

from collections.abc import Sequence

from nesting.patterns.chains import BroughtIn, outlines_from_chains
from nesting.patterns.dxf_in import dxf_chains
from nesting.patterns.svg_in import svg_chains
from vectorize.errors import InputError
from vectorize.notes import Note
from vectorize.outline import Outline

SMALLEST_MM, LARGEST_MM = 5.0, 3000.0
"""A drawing below or above this is probably in another unit than it states."""


def bring_in(data: bytes, *, name: str, unit_mm: float | None = None, layers: Sequence[str] = ()) -> BroughtIn:
    """Return the outlines in an SVG or DXF, in millimetres, y up.

    Of a file that we wrote, the cut lines are taken; of another, every visible shape. Texts, hatches,
    dimensions and hidden layers are left out.

    Args:
        data: The file's bytes.
        name: Its name, for messages.
        unit_mm: Millimetres per unit of the drawing; overrides what the file states.
        layers: Layers (DXF) or group ids (SVG) to take; by default as above.

    Raises:
        InputError: Not an SVG or DXF, no unit stated nor given, or no closed shape in it.
    """
    head = data[:65536].lstrip(b"\xef\xbb\xbf \t\r\n")
    if b"<svg" in head and head.startswith(b"<"):
        chains = svg_chains(data, name=name, unit_mm=unit_mm, layers=layers)
    elif head[:1].isdigit():
        chains = dxf_chains(data, name=name, unit_mm=unit_mm, layers=layers)
    else:
        raise InputError(f"{name} is neither an SVG nor a DXF drawing; export it as one of these.")
    found = outlines_from_chains(chains)
    if not found.outlines:
        why = f" ({found.notes[0].text})" if found.notes else ""
        raise InputError(f"{name} holds no closed shape{why}; draw each edge as a closed line.")
    return BroughtIn(found.outlines, (*found.notes, *_size_notes(found.outlines, name)))


def _size_notes(outlines: Sequence[Outline], name: str) -> list[Note]:
    boxes = [outline.bounds for outline in outlines]
    width = max(box[2] for box in boxes) - min(box[0] for box in boxes)
    height = max(box[3] for box in boxes) - min(box[1] for box in boxes)
    if SMALLEST_MM <= max(width, height) <= LARGEST_MM:
        return []
    text = f"{name} is {width:.2f} × {height:.2f} mm overall, which is unlikely for parts; check its unit."
    return [Note("unlikely-size", text, "open")]
