"""From measured boundary points to few lines, arcs and cubics within a tolerance."""

from vectorize.fit.corners import find_corners
from vectorize.fit.fit_boundary import FittedRing, fit_ring
from vectorize.fit.tolerances import FitSettings

__all__ = ["FitSettings", "FittedRing", "find_corners", "fit_ring"]
