"""From outlines and a rack of wood to weighed, nested, sawable parts.

Modules are imported by name (`from nesting.wood.part import Part`); nothing heavy is loaded here.
"""

__version__ = "0.1.0"
