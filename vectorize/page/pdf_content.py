"""What pdfium does not tell of a PDF: which layers are off, and whether a page's drawing comes to an end.

A page draws by reference: forms, tiling patterns, masks, glyphs that are drawings. pdfium follows such references for
hours where they multiply, so they are counted before it is given the page.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import pikepdf

from vectorize.basics.errors import ScanError

MOST_REPEATED = 1_000_000
"""Strokes and fills that are drawn again by reference, beyond which a file has gone wrong and is no plan."""

DEEPEST = 40
"""Levels of drawings within drawings that pdfium reads; what lies deeper it leaves out without a word."""

MOST_LAYERS = 100
"""Tiles of a pattern that may lie on one place: beyond, pdfium lays millions of them for one fill."""

_FILLS = frozenset(("f", "F", "f*", "B", "B*", "b", "b*", "sh"))
_DRAWS = frozenset(("S", "s", "B", "B*", "b", "b*"))
_SHOWS = frozenset(("Tj", "TJ", "'", '"'))
_FILL_COLOURS = frozenset(("g", "rg", "k", "cs", "sc", "scn"))
_LINE_COLOURS = frozenset(("G", "RG", "K", "CS", "SC", "SCN"))
_PAINTS = _FILLS | _DRAWS | _SHOWS | {"Do"}
_WATCHED = " ".join(_PAINTS | _FILL_COLOURS | _LINE_COLOURS | {"gs", "Tf", "q", "Q"})


@dataclass(frozen=True, slots=True)
class _Load:
    """How many strokes and fills one use of something draws, and how many levels it is deep."""

    count: int = 0
    depth: int = 0


@dataclass(frozen=True, slots=True)
class _State:
    """What every stroke, fill and letter draws besides itself: pattern, mask, glyph."""

    fill: _Load = _Load()
    line: _Load = _Load()
    mask: _Load = _Load()
    glyph: _Load = _Load()


@dataclass(frozen=True, slots=True)
class _Holder:
    """A dictionary of resources, and which object it belongs to."""

    resources: Any
    owner: tuple[int, int]


def refuse_endless(name: str, page: pikepdf.Page) -> None:
    """Do nothing if what a page draws by reference comes to an end that pdfium reaches; `name` is for messages.

    Raises:
        ScanError: Something draws itself, or references multiply or nest beyond any plan.
    """
    holder = _Holder(page.resources, page.obj.objgen)
    looks = list(_appearances(page))
    if not looks and not _refers(holder.resources):
        return
    walk = _Walk(name, holder)
    walk.content(page, holder)
    for look in looks:
        walk.stream(look, holder)


def user_unit(page: pikepdf.Page) -> float:
    """Return how many points one unit of the page is (ISO 32000-1, 7.7.3.3), 1 where nothing sensible is said."""
    try:
        unit = float(page.obj.get("/UserUnit", 1.0))
    except (TypeError, ValueError):
        return 1.0
    return unit if math.isfinite(unit) and unit > 0 else 1.0


def hidden_layers(document: pikepdf.Pdf) -> frozenset[str]:
    """Return the names of the layers that are off as the file is opened, where none of that name is on.

    Source: ISO 32000-1, 8.11.4.3.
    """
    properties = _entry(document.Root, "/OCProperties")
    setting = _entry(properties, "/D")
    named = ((group.objgen, _entry(group, "/Name")) for group in _listed(properties, "/OCGs"))
    groups = {key: str(title) for key, title in named if isinstance(title, pikepdf.String)}
    off = set(groups) if _entry(setting, "/BaseState") == pikepdf.Name.OFF else set()
    off -= {group.objgen for group in _listed(setting, "/ON")}
    off |= {group.objgen for group in _listed(setting, "/OFF")}
    shown = {title for key, title in groups.items() if key not in off}
    return frozenset(groups[key] for key in off if key in groups and groups[key] not in shown)


def _listed(holder: Any, key: str) -> Iterator[Any]:
    found = _entry(holder, key)
    yield from (
        (item for item in found if isinstance(item, pikepdf.Dictionary)) if isinstance(found, pikepdf.Array) else ()
    )


class _Walk:
    """One pass over the content of a page; every stream is read once for each set of resources it draws from."""

    def __init__(self, name: str, page: _Holder) -> None:
        self.name, self.page = name, page
        self.known: dict[tuple[tuple[int, int], tuple[int, int]], _Load] = {}
        self.within: list[tuple[tuple[int, int], tuple[int, int]]] = []
        self.own = 0

    def stream(self, stream: Any, parent: _Holder) -> _Load:
        """Return the load of a form, pattern, mask or glyph drawn from `parent`'s content."""
        if not isinstance(stream, pikepdf.Stream):
            return _Load()
        own = _entry(stream, "/Resources")
        holder = parent if own is None else _Holder(own, stream.objgen)
        key = (stream.objgen, holder.owner)
        if key in self.within:
            raise ScanError(f"{self.name} holds a drawing that draws itself; print or export it again as a new PDF.")
        if key not in self.known:
            self.within.append(key)
            self._refuse_depth(len(self.within))
            self.known[key] = self.content(stream, holder)
            self.within.pop()
        return self.known[key]

    def content(self, content: Any, holder: _Holder) -> _Load:
        """Return the load of the instructions of a page or a stream."""
        state, saved = _State(), list[_State]()
        total, own, depth = 0, 0, 0
        for step in _instructions(content):
            kind, operands = str(step.operator), list(step.operands)
            match kind:
                case "q":
                    saved.append(state)
                    continue
                case "Q":
                    state = saved.pop() if saved else state
                    continue
                case "Do" | "gs" | "Tf" | "scn" | "SCN":
                    state, drawn = self._referred(kind, operands, holder, state)
                    total, depth = total + drawn.count, max(depth, drawn.depth)
                case _ if kind in _FILL_COLOURS:
                    state = replace(state, fill=_Load())
                case _ if kind in _LINE_COLOURS:
                    state = replace(state, line=_Load())
            if kind in _PAINTS:
                own += 1
                extra = _extra(kind, operands, state)
                total += 1 + sum(load.count for load in extra)
                depth = max(depth, *(load.depth for load in extra))
        self.own += own
        self._refuse_depth(depth)
        if total - self.own > MOST_REPEATED:
            raise ScanError(
                f"{self.name} draws more than {MOST_REPEATED} strokes and fills again by reference; print or "
                "export the outlines alone as a new PDF."
            )
        return _Load(total, depth + 1)

    def _referred(self, kind: str, operands: list[Any], holder: _Holder, state: _State) -> tuple[_State, _Load]:
        """Return the state after an operator that names a resource, and what it draws at once."""
        name = next((operand for operand in operands if isinstance(operand, pikepdf.Name)), None)
        match kind:
            case "Do":
                target = self._resource(holder, "/XObject", name)
                is_form = _entry(target, "/Subtype") == pikepdf.Name.Form
                return state, self.stream(target, holder) if is_form else _Load()
            case "gs":
                mask = _entry(self._resource(holder, "/ExtGState", name), "/SMask")
                if mask is None:
                    return state, _Load()
                return replace(state, mask=self.stream(_entry(mask, "/G"), holder)), _Load()
            case "Tf":
                return replace(state, glyph=self._glyph(self._resource(holder, "/Font", name), holder)), _Load()
        load = self._pattern(self._resource(holder, "/Pattern", name), holder)
        return (replace(state, fill=load) if kind == "scn" else replace(state, line=load)), _Load()

    def _resource(self, holder: _Holder, kind: str, name: Any) -> Any:
        """Return what a name stands for: in the content's own resources, else in the page's, as pdfium looks."""
        if name is None:
            return None
        found = _entry(_entry(holder.resources, kind), name)
        return _entry(_entry(self.page.resources, kind), name) if found is None else found

    def _pattern(self, pattern: Any, holder: _Holder) -> _Load:
        try:
            x0, y0, x1, y1 = (float(v) for v in _entry(pattern, "/BBox"))
            step = abs(float(_entry(pattern, "/XStep")) * float(_entry(pattern, "/YStep")))
        except (TypeError, ValueError):
            return self.stream(pattern, holder)
        if abs((x1 - x0) * (y1 - y0)) > MOST_LAYERS * step > 0:
            raise ScanError(
                f"{self.name} fills with a pattern that lies on itself more than {MOST_LAYERS} times; export the "
                "outlines alone as a new PDF."
            )
        return self.stream(pattern, holder)

    def _glyph(self, font: Any, holder: _Holder) -> _Load:
        """Return the load of the heaviest letter of a font whose letters are drawings (Type 3), else none."""
        glyphs = _entry(font, "/CharProcs")
        if _entry(font, "/Subtype") != pikepdf.Name.Type3 or not isinstance(glyphs, pikepdf.Dictionary):
            return _Load()
        own = _entry(font, "/Resources")
        holder = holder if own is None else _Holder(own, font.objgen)
        loads = [self.stream(glyph, holder) for glyph in glyphs.values()]
        return _Load(max((x.count for x in loads), default=0), max((x.depth for x in loads), default=0))

    def _refuse_depth(self, depth: int) -> None:
        if depth > DEEPEST:
            raise ScanError(
                f"{self.name} nests drawings within drawings more than {DEEPEST} deep, which is not read; print or "
                "export it again as a new PDF."
            )


def _extra(kind: str, operands: list[Any], state: _State) -> tuple[_Load, ...]:
    """Return what a stroke, fill or text draws besides itself."""
    found = [state.mask]
    if kind in _FILLS or kind in _SHOWS:
        found.append(state.fill)
    if kind in _DRAWS:
        found.append(state.line)
    if kind in _SHOWS:
        letters = sum(len(bytes(text)) for text in _texts(operands))
        found.append(_Load(state.glyph.count * letters, state.glyph.depth))
    return tuple(found)


def _texts(operands: list[Any]) -> Iterator[pikepdf.String]:
    for operand in operands:
        if isinstance(operand, pikepdf.String):
            yield operand
        elif isinstance(operand, pikepdf.Array):
            yield from (item for item in operand if isinstance(item, pikepdf.String))


def _instructions(content: Any) -> Iterator[Any]:
    """Yield the instructions that draw, refer or set what is drawn with; where content breaks off, those before."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield from pikepdf.parse_content_stream(content, operators=_WATCHED)


def _appearances(page: pikepdf.Page) -> Iterator[pikepdf.Stream]:
    """Yield the drawings of the page's annotations, in every state."""
    for note in _listed(page.obj, "/Annots"):
        look = _entry(_entry(note, "/AP"), "/N")
        if isinstance(look, pikepdf.Stream):
            yield look
        elif isinstance(look, pikepdf.Dictionary):
            yield from (state for state in look.values() if isinstance(state, pikepdf.Stream))


def _refers(resources: Any) -> bool:
    """Return whether resources hold anything that draws more than it says; most plans' do not."""
    return (
        any(_entry(item, "/Subtype") == pikepdf.Name.Form for item in _items(resources, "/XObject"))
        or any(isinstance(item, pikepdf.Stream) for item in _items(resources, "/Pattern"))
        or any(isinstance(_entry(item, "/SMask"), pikepdf.Dictionary) for item in _items(resources, "/ExtGState"))
        or any(_entry(item, "/Subtype") == pikepdf.Name.Type3 for item in _items(resources, "/Font"))
    )


def _items(resources: Any, kind: str) -> Iterator[Any]:
    found = _entry(resources, kind)
    yield from found.values() if isinstance(found, pikepdf.Dictionary) else ()


def _entry(holder: Any, key: str | pikepdf.Name) -> Any:
    """Return an entry of a dictionary or stream, or None where there is no such thing.

    A name out of the file is not made a string on the way: old programs write them in other codes than UTF-8.
    """
    return holder.get(key) if isinstance(holder, (pikepdf.Dictionary, pikepdf.Stream)) else None
