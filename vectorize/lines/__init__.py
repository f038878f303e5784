"""From an ink mask to line work: sub-pixel centre lines that meet at nodes."""

from vectorize.lines.centre import Centred, centred
from vectorize.lines.graph import Edge, LineWork
from vectorize.lines.skeleton import skeleton_graph

__all__ = ["Centred", "Edge", "LineWork", "centred", "skeleton_graph"]
