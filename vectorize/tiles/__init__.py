"""A sheet that was scanned in overlapping pieces, joined by its own line work."""

from vectorize.tiles.doubt import SeamMisfit
from vectorize.tiles.join import JoinedSheet, join_tiles

__all__ = ["JoinedSheet", "SeamMisfit", "join_tiles"]
