"""Aerofoil sections: NACA four-digit, high-point, and coordinate files."""

from nesting.carve.section.heights import Section
from nesting.carve.section.high_point import HighPoint
from nesting.carve.section.naca import Naca4, naca4
from nesting.carve.section.tabulated import Tabulated, section_from_coordinates

__all__ = ["HighPoint", "Naca4", "Section", "Tabulated", "naca4", "section_from_coordinates"]
