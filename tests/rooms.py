"""The rooms of the house: which folder of the two packages imports which, read from the code.

`python -m tests.rooms` draws them anew for `docs/explanation/house.md`. A room is a folder (or a module) on the first
level of a package. Imports inside functions and for the type checker alone count like any other.
"""

import ast
from collections import defaultdict
from graphlib import TopologicalSorter
from html import escape
from pathlib import Path

ROOT = Path(__file__).parent.parent
PACKAGES = ("nesting", "vectorize")
PICTURE = ROOT / "docs" / "pictures" / "rooms.svg"


def modules():
    """Return the file of each module of both packages, by dotted name; a package stands for its `__init__`."""
    found = {}
    for path in (path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py"))):
        parts = path.relative_to(ROOT).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def imports():
    """Return the modules of both packages that each module imports, wherever in its text."""
    files = modules()
    return {name: _imported(path, files.keys()) - {name} for name, path in files.items()}


def _imported(path, known):
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            named = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= named & known or {node.module} & known
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names} & known
    return found


def room_of(module):
    """Return the room that a module lies in, or None for a package itself and its `__main__`."""
    parts = module.split(".")
    return ".".join(parts[:2]) if len(parts) > 1 and parts[1] != "__main__" else None


def arrows():
    """Return how many imports go from each room to each other one that it uses."""
    count = defaultdict(lambda: defaultdict(int))
    for module, used in imports().items():
        for other in used:
            here, there = room_of(module), room_of(other)
            if here and there and here != there:
                count[here][there] += 1
    return {room: dict(sorted(used.items())) for room, used in sorted(count.items())}


def rooms_in_order(uses):
    """Return all rooms so that each stands before those that it uses.

    Raises:
        graphlib.CycleError: Rooms use each other in a circle.
    """
    sorter = TopologicalSorter({room: set(used) for room, used in uses.items()})
    sorter.prepare()
    order = []
    while sorter.is_active():
        ready = sorted(sorter.get_ready(), reverse=True)
        order = [*ready, *order]
        sorter.done(*ready)
    return sorted(order, key=lambda room: room.split(".")[0])


ROW, LEFT, TOP, COLUMN, RIGHT = 22, 110, 90, 26, 660

SIZES = (3, 3), (12, 5), (40, 7), (float("inf"), 9)
"""Up to how many imports a dot has which radius; so coarse that the drawing rarely changes."""


def drawn(uses):
    """Return the rooms as an SVG: a row for each, a dot where it imports the room of that column."""
    order = rooms_in_order(uses)
    width, height = LEFT + COLUMN * len(order) + RIGHT, TOP + ROW * len(order) + 20
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}">',
        "<style>text{font:13px sans-serif;fill:#3a2f22}.quiet{fill:#7a6a55}</style>",
        f'<rect width="{width}" height="{height}" fill="#fbf6ea"/>',
    ]
    for number, room in enumerate(order):
        x, y = LEFT + COLUMN * (number + 0.5), TOP + ROW * (number + 0.5)
        if number % 2 == 0:
            lines.append(f'<rect x="0" y="{y - ROW / 2}" width="{width}" height="{ROW}" fill="#f3ead6"/>')
        lines.append(f'<text x="{LEFT - 10}" y="{y + 4.5}" text-anchor="end">{_short(room)}</text>')
        lines.append(f'<text transform="translate({x + 4.5} {TOP - 8}) rotate(-60)">{_short(room)}</text>')
        says = escape(_first_line(room))
        lines.append(f'<text class="quiet" x="{LEFT + COLUMN * len(order) + 12}" y="{y + 4.5}">{says}</text>')
        lines.append(f'<rect x="{x - 6}" y="{y - 6}" width="12" height="12" fill="none" stroke="#b79f76"/>')
        for other, count in uses.get(room, {}).items():
            at = LEFT + COLUMN * (order.index(other) + 0.5)
            radius = next(size for most, size in SIZES if count <= most)
            title = f"<title>{_short(room)} uses {_short(other)}</title>"
            lines.append(f'<circle cx="{at}" cy="{y}" r="{radius}" fill="#7d5a2b">{title}</circle>')
    return "\n".join([*lines, "</svg>", ""])


def _short(room):
    return room.split(".")[1]


def _first_line(room):
    text = ast.get_docstring(ast.parse(modules()[room].read_text(encoding="utf-8"))) or ""
    return text.split("\n")[0]


if __name__ == "__main__":
    PICTURE.write_text(drawn(arrows()), encoding="utf-8")
    print(f"{len(rooms_in_order(arrows()))} rooms, {sum(map(len, arrows().values()))} arrows: {PICTURE}")
