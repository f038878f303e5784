"""Exact geometry: segments, rings and outlines, moved, offset and combined."""
