"""Patterns: a part or a board's layout as tiled PDF, SVG, DXF and PNG, with cutting plan and marks.

Everything is drawn once, on a `Drawing` (`nesting.patterns.drawing`); the formats are writers of
what was drawn. `nesting.patterns.sheets` has the functions that a job calls.
"""
