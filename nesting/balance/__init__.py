"""Where the model balances, what brings it into its range, and what that costs."""

from nesting.balance.aerodynamic_chord import MeanChord, Section, mean_chord
from nesting.balance.ballast import Ballast, BallastPlace, Range, ballast_to, find_ballast, plug_diameter_mm
from nesting.balance.ledger import Entry, Ledger, Reading, entry, with_readings
from nesting.balance.station import Datum, Seat, Where, locate

__all__ = [
    "Ballast", "BallastPlace", "Datum", "Entry", "Ledger", "MeanChord", "Range", "Reading", "Seat", "Section", "Where",
    "ballast_to", "entry", "find_ballast", "locate", "mean_chord", "plug_diameter_mm", "with_readings",
]  # fmt: skip
