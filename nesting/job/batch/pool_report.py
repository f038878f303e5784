"""What became of a pool, as JSON, as tables and as a piece of the report's page."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

from nesting.job.batch.kits import Kit
from nesting.job.batch.pooled import Pooled, Sheet
from nesting.place.layout import BoardLayout
from vectorize.basics.wording import listed, printable
from vectorize.shapes.outline import Outline

SHEET_HEADS = ("cut", "board", "kits", "pieces", "length used mm", "area used", "waste")
KIT_HEADS = ("kit", "sheets", "whole after", "pieces", "weight g", "no place for")
_PICTURE_PX = 420.0
_HUE_STEP_DEG = 137.5
"""Hues that follow each other by the golden angle are never near: neighbours in the table can be told apart."""


def pool_json(pooled: Pooled) -> dict[str, Any]:
    """Return a pool as the JSON contract has it."""
    return {
        "rack": pooled.pool.job.spec.rack.file,
        "proved": pooled.layout.proof.is_proved,
        "sheets": [_sheet_json(sheet) for sheet in pooled.sheets],
        "kits": [_kit_json(pooled, kit) for kit in pooled.pool.kits],
        "unplaced": [
            {"kit": kit.name, "part": one.part, "copy": one.copy, "reason": one.reason}
            for kit in pooled.pool.kits
            for one in pooled.left_of(kit)
        ],
        "wanted": [line.as_json() for line in pooled.wanted],
        "notes": [note.as_json() for note in pooled.notes],
    }


def _sheet_json(sheet: Sheet) -> dict[str, Any]:
    return {
        "number": sheet.number,
        "board": sheet.board.name,
        "kits": list(sheet.kits),
        "copies": sheet.copies,
        "used_length_mm": round(sheet.used_length_mm, 3),
        "used_fraction": round(sheet.used_fraction, 5),
        "waste_share": round(sheet.waste_share, 5),
    }


def _kit_json(pooled: Pooled, kit: Kit) -> dict[str, Any]:
    sheets = pooled.sheets_of(kit)
    return {
        "kit": kit.name,
        "folder": str(kit.job.folder),
        "sheets": [sheet.number for sheet in sheets],
        "boards": [sheet.board.name for sheet in sheets],
        "whole_after": whole_after(pooled, kit),
        "copies": _pieces(kit, pooled),
        "mass_g": round(pooled.kit_mass_g(kit), 4),
    }


def whole_after(pooled: Pooled, kit: Kit) -> int | None:
    """Return the number of the sheet after which a kit is whole; None where some of it finds no place."""
    return None if pooled.left_of(kit) else max((s.number for s in pooled.sheets_of(kit)), default=None)


def _pieces(kit: Kit, pooled: Pooled) -> int:
    return sum(part.copies for part in kit.parts) - len(pooled.left_of(kit))


def sheet_rows(pooled: Pooled) -> list[Sequence[str]]:
    """Return a row for each sheet, in the order in which they are cut."""
    return [
        (
            str(sheet.number),
            sheet.board.name,
            ", ".join(sheet.kits),
            str(sheet.copies),
            f"{sheet.used_length_mm:.0f}",
            f"{100 * sheet.used_fraction:.0f} %",
            f"{100 * sheet.waste_share:.0f} %",
        )
        for sheet in pooled.sheets
    ]


def kit_rows(pooled: Pooled) -> list[Sequence[str]]:
    """Return a row for each kit."""
    return [
        (
            kit.name,
            ", ".join(str(sheet.number) for sheet in pooled.sheets_of(kit)),
            str(whole_after(pooled, kit) or ""),
            str(_pieces(kit, pooled)),
            f"{pooled.kit_mass_g(kit):.1f}",
            listed(dict.fromkeys(one.part for one in pooled.left_of(kit))) if pooled.left_of(kit) else "",
        )
        for kit in pooled.pool.kits
    ]


def pool_html(pooled: Pooled) -> str:
    """Return the pool's piece of the page: its sheets with a picture of each, its kits, and what is to be bought."""
    by_name = {laid.board: laid for laid in pooled.layout.boards}
    pictures = [_picture(pooled, sheet, by_name[sheet.board.name]) for sheet in pooled.sheets]
    sheets = [[picture, *map(_text, row)] for picture, row in zip(pictures, sheet_rows(pooled), strict=True)]
    kits = [[_swatch(n) + _text(row[0]), *map(_text, row[1:])] for n, row in enumerate(kit_rows(pooled))]
    reasons = [f"{_text(k.name)}: {_text(one.reason)}" for k in pooled.pool.kits for one in pooled.left_of(k)]
    wanted = [
        f"{line.boards} × {line.thickness_mm:g} mm {_text(line.material)}, "
        f"{line.length_mm:.0f} × {line.width_mm:.0f} mm, for {_text(line.purpose)}"
        for line in pooled.wanted
    ]
    return (
        f"<h2>Sheets of {_text(pooled.pool.job.spec.rack.file)}, in the order to cut them</h2>\n"
        + _table(("", *SHEET_HEADS), sheets)
        + "<h2>Kits</h2>\n"
        + _table(KIT_HEADS, kits)
        + _list("What finds no place", dict.fromkeys(reasons))
        + _list("To buy", wanted)
    )


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    head = "".join(f"<th>{name}</th>" for name in heads)
    body = "\n".join(f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>" for row in rows)
    return f"<table><thead><tr>{head}</tr></thead><tbody>\n{body}\n</tbody></table>\n"


def _list(title: str, lines: Sequence[str] | dict[str, None]) -> str:
    return f"<h2>{title}</h2><ul>{''.join(f'<li>{line}</li>' for line in lines)}</ul>\n" if lines else ""


def _picture(pooled: Pooled, sheet: Sheet, laid: BoardLayout) -> str:
    """Return a board with its parts, each in the colour of its kit."""
    kits, parts = {kit.name: n for n, kit in enumerate(pooled.pool.kits)}, {p.name: p for p in pooled.pool.parts}
    x0, y0, x1, y1 = sheet.board.shape.bounds
    scale = _PICTURE_PX / max(x1 - x0, 1.0)

    def path(outline: Outline) -> str:
        rings = (outline.exterior, *outline.cutouts)
        return "".join(
            "M"
            + "L".join(f"{scale * (x - x0):.1f} {scale * (y1 - y):.1f}" for x, y in ring.flattened(0.5).tolist())
            + "Z"
            for ring in rings
        )

    shapes = "".join(
        f'<path style="fill:{_colour(kits[pooled.pool.kit_of[p.part]])}" '
        f'd="{path(parts[p.part].outline.placed(p.pose))}"><title>{_text(p.part)} {p.copy}</title></path>'
        for p in laid.placements
    )
    size = f"{scale * (x1 - x0):.0f}", f"{scale * (y1 - y0):.0f}"
    return (
        f'<svg class="sheet" width="{size[0]}" height="{size[1]}" viewBox="0 0 {size[0]} {size[1]}">'
        f'<path class="board" d="{path(sheet.board.shape)}"/>{shapes}</svg>'
    )


def _swatch(number: int) -> str:
    return f'<span class="kit" style="background:{_colour(number)}"></span>'


def _colour(number: int) -> str:
    return f"hsl({number * _HUE_STEP_DEG % 360:.0f} 45% 62%)"


def _text(text: str) -> str:
    return escape(printable(text))
