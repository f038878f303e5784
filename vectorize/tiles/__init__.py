"""A sheet that was scanned in overlapping pieces, joined by its own line work."""

from vectorize.tiles.join import JoinedSheet, SeamMisfit, join_tiles

__all__ = ["JoinedSheet", "SeamMisfit", "join_tiles"]
