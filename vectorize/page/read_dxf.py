"""DXF drawings as pages: exact curves of the model space in drawing units, y up."""

from __future__ import annotations

import io
from collections import Counter
from dataclasses import dataclass
from typing import Any

from vectorize.basics.errors import ScanError
from vectorize.basics.notes import Note
from vectorize.basics.units import IN_MILLIMETRES
from vectorize.basics.wording import listed, reason_of
from vectorize.page.plan_page import NAME_THE_UNIT, Page, PageInfo, check_page_number
from vectorize.page.strokes import bounds_of, chosen_layers, cleaned, layers_of, refuse_far
from vectorize.shapes.stroke import Stroke

BINARY_MARK = b"AutoCAD Binary DXF"
"""The sentinel that the DXF Reference prescribes for binary files."""

# DXF Reference, header variable $INSUNITS, and the length of each unit in mm.
_LEAST_MM = 5.0
_GREATEST_MM = 3000.0
"""A plan smaller or larger than this has its units wrong."""
_UNITS = {
    1: ("inches", 25.4),
    2: ("feet", 304.8),
    4: ("millimetres", 1.0),
    5: ("centimetres", 10.0),
    6: ("metres", 1000.0),
    9: ("mils", 0.0254),
    10: ("yards", 914.4),
    13: ("microns", 0.001),
    14: ("decimetres", 100.0),
}


@dataclass(frozen=True, slots=True)
class _Drawing:
    strokes: tuple[Stroke, ...]
    left_out: Counter[str]
    insunits: int
    size: tuple[float, float]


def read(name: str, data: bytes, *, page: int, layers: tuple[str, ...] | None) -> Page:
    """Return the model space of a DXF file given as bytes as a page of strokes.

    Blocks are resolved with their transforms. Text, dimensions and hatching are left out and counted in a
    note, and so are layers that are frozen or off.

    Raises:
        ScanError: Damaged, nothing drawn, no such page or layer.
    """
    check_page_number(name, page, 1)
    drawing = _loaded(name, data)
    strokes = chosen_layers(name, drawing.strokes, layers)
    stated, note = _units(name, drawing)
    names = listed(repr(layer) for layer in layers_of(strokes))
    notes = [note, Note("layers", f"{name}: {len(strokes)} strokes are read, on {names}.")]
    if drawing.left_out:
        counts = ", ".join(f"{count} {kind}" for kind, count in sorted(drawing.left_out.items()))
        notes.append(Note("left-out", f"{name}: left out as no edges: {counts}."))
    width, height = drawing.size
    return Page(name, 1, 1, None, strokes, width, height, True, stated, tuple(notes))


def list_pages(name: str, data: bytes) -> tuple[PageInfo, ...]:
    """Return the model space of a DXF file as its one page.

    Raises:
        ScanError: Damaged, or nothing drawn.
    """
    drawing = _loaded(name, data)
    stated, _ = _units(name, drawing)
    width, height = drawing.size
    size = None if stated is None else (width / stated[0], height / stated[1])
    return (PageInfo(1, "drawing", width, height, size, layers_of(drawing.strokes)),)


def _loaded(name: str, data: bytes) -> _Drawing:
    from vectorize.page.dxf_entities import MOST_ENTITIES, TooManyEntitiesError, strokes_of

    document = _document(name, data)
    try:
        found, left_out = strokes_of(document)
        strokes = cleaned(found)
        refuse_far(name, strokes)
        bounds = bounds_of(strokes)
    except ScanError:
        raise
    except TooManyEntitiesError as error:
        raise ScanError(
            f"{name} holds more than {MOST_ENTITIES} entities, arrays and blocks within blocks counted out; "
            "explode the blocks that are wanted and export the outlines alone."
        ) from error
    # ezdxf raises whatever a malformed number, table or reference leads to.
    except Exception as error:
        raise ScanError(f"{name} is damaged{reason_of(error)}; export it again as DXF.") from error
    if bounds is None:
        raise ScanError(_no_lines(name, document, left_out))
    size = (bounds[2] - bounds[0], bounds[3] - bounds[1])
    return _Drawing(strokes, left_out, _insunits(document), size)


def _no_lines(name: str, document: Any, left_out: Counter[str]) -> str:
    """Return what is wrong with a drawing of which no line can be read."""
    on_paper = sum(len(layout) for layout in document.layouts if not layout.is_modelspace)
    if not left_out and on_paper:
        return (
            f"{name} holds nothing in its model space; all {on_paper} entities are on paper layouts. "
            "Export the model, or copy the outlines into it."
        )
    counts = ", ".join(f"{count} {kind}" for kind, count in sorted(left_out.items()))
    only = f", only {counts}" if counts else " nor anything else"
    return f"{name} holds no lines in its model space{only}; export the outlines."


def _document(name: str, data: bytes) -> Any:
    import logging

    from ezdxf import recover
    from ezdxf.document import Drawing
    from ezdxf.lldxf.tagger import binary_tags_loader

    # The repairs that ezdxf logs are of no use to a builder; what matters is what can be read.
    logging.getLogger("ezdxf").setLevel(logging.ERROR)
    try:
        if data.startswith(BINARY_MARK):
            return Drawing.load(binary_tags_loader(data))
        document, _ = recover.read(io.BytesIO(data))
    except Exception as error:
        raise ScanError(f"{name} cannot be read as DXF{reason_of(error)}; export it again.") from error
    return document


def _insunits(document: Any) -> int:
    """Return $INSUNITS, 0 where it is missing. R12 files carry none, and ezdxf then answers its own default."""
    if document.dxfversion <= "AC1009":
        return 4 if any(IN_MILLIMETRES in text.dxf.text for text in document.modelspace().query("TEXT")) else 0
    try:
        return int(document.header.get("$INSUNITS", 0))
    except (TypeError, ValueError):
        return 0


def _units(name: str, drawing: _Drawing) -> tuple[tuple[float, float] | None, Note]:
    """Return (drawing units per mm along x and y, or None) and the note that says which units were taken."""
    width, height = drawing.size
    if drawing.insunits not in _UNITS:
        sizes = ", ".join(
            f"{width * mm:g} x {height * mm:g} mm in {word}" for word, mm in (_UNITS[4], _UNITS[1], _UNITS[5])
        )
        text = f"{name} states no units of length. It would be {sizes}; {NAME_THE_UNIT}."
        return None, Note("units-missing", text)
    word, mm = _UNITS[drawing.insunits]
    size = f"{width * mm:.4g} x {height * mm:.4g} mm"
    if not _LEAST_MM <= max(width, height) * mm <= _GREATEST_MM:
        text = f"{name} states {word}, which would make it {size}: not credible. Give a known dimension."
        return None, Note("units-not-credible", text, state="open")
    return (1.0 / mm, 1.0 / mm), Note("units-stated", f"{name} is in {word}: {size} overall.")
