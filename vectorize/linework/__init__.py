"""From an ink mask to line work: sub-pixel centre lines that meet at nodes."""

from vectorize.linework.centre import Centred, centred
from vectorize.linework.graph import Edge, LineWork
from vectorize.linework.skeleton import skeleton_graph

__all__ = ["Centred", "Edge", "LineWork", "centred", "skeleton_graph"]
