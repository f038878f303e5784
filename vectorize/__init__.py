"""From a scanned plan to outlines in millimetres.

Modules are imported by name (`from vectorize.shapes.outline import Outline`), so that a program that
only needs units or errors does not pay for an image library.
"""
