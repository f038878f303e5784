"""From measured boundary points to few lines, arcs and cubics within a tolerance."""

from vectorize.curves.corners import find_corners
from vectorize.curves.fit import FittedRing, fit_ring
from vectorize.curves.settings import FitSettings

__all__ = ["FitSettings", "FittedRing", "find_corners", "fit_ring"]
