"""Parts from the exact strokes of a drawing: no pixel is made on the way."""

from vectorize.drawn.candidates import drawn_candidates
from vectorize.drawn.parts import Plane, drawn_part, read_strokes

__all__ = ["Plane", "drawn_candidates", "drawn_part", "read_strokes"]
