"""Aerofoil sections: NACA four-digit, high-point, and coordinate files."""

from nesting.section.heights import Section
from nesting.section.high_point import HighPoint
from nesting.section.naca import Naca4, naca4
from nesting.section.tabulated import Tabulated, section_from_coordinates

__all__ = ["HighPoint", "Naca4", "Section", "Tabulated", "naca4", "section_from_coordinates"]
