"""The usual cautions, in one place, for every card, page and document that leads to the bench."""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    "Local rules and the manuals of machine, glue and stock come first; this sheet does not replace them.",
    "Wear eye protection, and a dust mask for balsa and plywood dust; use extraction where there is some.",
    "Set the blade guard and the hold-down on the stock before you start; no loose sleeves, cords or gloves.",
    "Keep fingers well clear of the blade; hold small parts by the stock round them or with a push stick, "
    "and cut them while there is stock to hold.",
    "Unplug the saw before you change, thread or free a blade.",
    "Cut away from the hand that holds; a dull knife slips.",
    "Instant glue gives off fumes and bonds skin; charred plywood from laser, saw or iron gives off fumes too: "
    "open a window or use extraction, and never leave a laser or a hot iron alone.",
)
"""Sentences, the most general first."""
