"""A sheet that was scanned in overlapping pieces, joined by its own line work."""

from vectorize.scale.joined.join import JoinedSheet, join_tiles
from vectorize.scale.joined.seam_uncertainty import SeamMisfit

__all__ = ["JoinedSheet", "SeamMisfit", "join_tiles"]
