"""What an SVG file uses by reference: symbols laid out where they are used, and references that never end refused."""

from __future__ import annotations

import re
from copy import deepcopy
from xml.etree.ElementTree import Element

from vectorize.basics.errors import ScanError

MOST_ELEMENTS = 300_000
"""More than this, whatever is used several times counted out, is a file gone wrong and no plan."""

_VIEWPORT = ("x", "y", "width", "height")
_FITTING = ("viewBox", "preserveAspectRatio")
_NEVER_SHOWN = ("clipPath", "marker", "mask", "pattern")
_SHARES = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
_LENGTH = re.compile(r"^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z%]*)\s*$")
# CSS Values and Units: 96 px to the inch.
_PER_UNIT = {"mm": 96 / 25.4, "cm": 960 / 25.4, "in": 96.0, "pt": 96 / 72, "pc": 16.0, "q": 24 / 25.4}


def with_symbols_laid_out(name: str, root: Element, extent: tuple[float, float]) -> None:
    """Replace, in place, uses of symbols and inner viewports by groups with a transform; take the symbols away.

    SVG 2, the symbol element: a used symbol is shown in a viewport of the use's place and size, 100 % where that has
    none; the symbol itself is not shown. Nor are clips, masks, markers and patterns, which become definitions.

    Args:
        name: File name for messages.
        root: The outermost element.
        extent: Width and height of the outermost viewport.

    Raises:
        ScanError: An element refers to itself, or references multiply beyond any plan.
    """
    by_id = {element.get("id"): element for element in root.iter() if element.get("id")}
    _refuse_endless(name, root, by_id)
    for use in [element for element in root.iter() if _tag(element) == "use"]:
        symbol = by_id.get(_reference(use))
        if symbol is not None and _tag(symbol) == "symbol":
            _lay_out(use, symbol, extent)
    for inner in [element for element in root.iter() if _tag(element) == "svg" and element is not root]:
        given = {key: inner.attrib.pop(key, None) for key in (*_VIEWPORT, *_FITTING)}
        inner.tag = inner.tag[:-3] + "g"
        inner.set("transform", f"{inner.get('transform', '')} {_into_viewport(given, extent)}".strip())
    for parent in list(root.iter()):
        for child in [child for child in parent if _tag(child) == "symbol"]:
            parent.remove(child)
    for element in root.iter():
        if _tag(element) in _NEVER_SHOWN:
            element.tag = element.tag[: -len(_tag(element))] + "defs"


def _lay_out(use: Element, symbol: Element, extent: tuple[float, float]) -> None:
    """Make the use a group that holds what the symbol holds, in its own viewport."""
    space = use.tag.rpartition("}")[0]
    view = Element(space + "}g" if space else "g")
    view.attrib.update({k: v for k, v in symbol.attrib.items() if k not in (*_VIEWPORT, *_FITTING, "id")})
    placed = {key: use.attrib.pop(key, None) or symbol.get(key) for key in _VIEWPORT}
    fitting = {key: symbol.get(key) for key in _FITTING}
    view.set("transform", _into_viewport({**placed, **fitting}, extent))
    view.extend(deepcopy(list(symbol)))
    for key in [key for key in use.attrib if key.rpartition("}")[2] == "href"]:
        del use.attrib[key]
    use.tag = view.tag
    use.append(view)


def _into_viewport(given: dict[str, str | None], extent: tuple[float, float]) -> str:
    """Return the transform of a viewport of this place, size and viewBox (SVG 2, the viewBox attribute)."""
    x, y = (_units(given[key], whole, 0.0) for key, whole in zip(("x", "y"), extent, strict=True))
    width, height = (_units(given[key], whole, whole) for key, whole in zip(("width", "height"), extent, strict=True))
    box = [float(v) for v in re.split(r"[\s,]+", (given["viewBox"] or "").strip()) if v]
    if len(box) != 4 or min(box[2], box[3], width, height) <= 0:
        return f"translate({x:.12g} {y:.12g})"
    across, down = width / box[2], height / box[3]
    how = (given["preserveAspectRatio"] or "xMidYMid meet").split()
    if how[0] != "none":
        across = down = max(across, down) if how[-1] == "slice" else min(across, down)
    # The aligning word is like xMidYMax: how what is left over is shared out, along x and y.
    shares = [_SHARES.get(word, 0.5 if how[0] != "none" else 0.0) for word in (how[0][1:4], how[0][5:8])]
    x += shares[0] * (width - across * box[2]) - across * box[0]
    y += shares[1] * (height - down * box[3]) - down * box[1]
    return f"matrix({across:.12g} 0 0 {down:.12g} {x:.12g} {y:.12g})"


def _units(text: str | None, whole: float, default: float) -> float:
    """Return a length in user units, 96 to the inch where it has a unit of its own."""
    match = _LENGTH.match(text or "")
    if match is None:
        return default
    size, unit = float(match[1]), match[2].lower()
    return size * whole / 100 if unit == "%" else size * _PER_UNIT.get(unit, 1.0)


def _refuse_endless(name: str, root: Element, by_id: dict[str | None, Element]) -> None:
    counts: dict[int, int] = {}
    within: set[int] = set()

    def count(element: Element) -> int:
        key = id(element)
        if key in within:
            raise ScanError(f"{name} holds an element that uses itself; save it again as plain SVG.")
        if key not in counts:
            within.add(key)
            target = by_id.get(_reference(element)) if _tag(element) == "use" else None
            counts[key] = 1 + sum(count(child) for child in element) + (count(target) if target is not None else 0)
            within.discard(key)
        return counts[key]

    try:
        total = count(root)
    except RecursionError as error:
        raise ScanError(f"{name} nests its groups deeper than can be read; save it again as plain SVG.") from error
    if total > MOST_ELEMENTS:
        raise ScanError(
            f"{name} holds more than {MOST_ELEMENTS} elements, those that are used several times counted out; "
            "save the outlines alone as plain SVG."
        )


def _tag(element: Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def _reference(use: Element) -> str:
    """Return the id that an element refers to in its own file, or nothing."""
    link = next((value for key, value in use.attrib.items() if key.rpartition("}")[2] == "href"), "")
    return link[1:] if link.startswith("#") else ""
