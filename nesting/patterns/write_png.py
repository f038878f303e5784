"""PNG: a picture for the screen, made from the PDF so that both show the same."""

from __future__ import annotations

import io

from nesting.patterns.papers import POINTS_PER_MM
from vectorize.basics.units import MM_PER_INCH

MOST_PIXELS = 4000
"""Longest side of a preview."""


def png_bytes(pdf: bytes, *, dpi: float = 150.0) -> bytes:
    """Return the first page of `pdf` as a PNG with its resolution in the header; at most 4000 pixels long."""
    import pypdfium2

    document = pypdfium2.PdfDocument(pdf)
    try:
        page = document[0]
        longest_in = max(page.get_size()) / POINTS_PER_MM / MM_PER_INCH
        dpi = min(dpi, MOST_PIXELS / longest_in)
        picture = page.render(scale=dpi / 72).to_pil().convert("RGB")
    finally:
        document.close()
    stream = io.BytesIO()
    picture.save(stream, "PNG", dpi=(dpi, dpi))
    return stream.getvalue()
