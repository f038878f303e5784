"""The patterns of a board and of a part, as files in memory."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from nesting.patterns.cautions import CAUTIONS
from nesting.patterns.compose import (
    Marks,
    Weights,
    board_pieces,
    content_of,
    draw_pieces,
    in_rows,
    part_pieces,
    scissor_lines,
    small_pieces,
)
from nesting.patterns.cutting import CuttingPlan, plan_cutting
from nesting.patterns.drawing import BORDER_MM, Box, Element, Layer, Recorder
from nesting.patterns.kerf import Offset, cut_path
from nesting.patterns.page_strip import Frame
from nesting.patterns.pages import Chapter, Drawn, tiled_pages, tiling_of
from nesting.patterns.papers import Paper
from nesting.patterns.part_marks import PartMark, Piece, mass, thickness
from nesting.patterns.pattern_settings import FORMATS, Format, PatternSettings
from nesting.patterns.shared import without_shared_lines
from nesting.patterns.typeface import missing_characters
from nesting.patterns.write_pdf import Page, Sheet, pdf_bytes
from nesting.place.layout import BoardLayout
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import CallError
from vectorize.basics.notes import Note
from vectorize.basics.units import format_length
from vectorize.shapes.affine import Affine

LONGEST_PREVIEW_MM = 4000.0
"""A longer drawing is shown smaller in the preview: a page of the PDF that it is made from ends at 5.08 m."""


def board_pattern(
    board: Board,
    layout: BoardLayout,
    parts: Sequence[Part],
    *,
    settings: PatternSettings,
    weights: Weights | None = None,
    marks: Marks | None = None,
    formats: Sequence[Format] = FORMATS,
) -> dict[str, bytes]:
    """Return the files of a board's layout by name, such as `board-B2.pdf`.

    Args:
        board: The board, in whose frame the layout is given.
        layout: Where each copy lies.
        parts: At least the parts that are placed.
        settings: Paper, tool, marks.
        weights: Mass in grams of each (part, copy), written on the piece.
        marks: Builder's lines of each part, in the part's own frame.
        formats: Which files to make.

    Raises:
        CallError: A placement of a part that is not given, nothing placed, or an unknown format.
        InputError: More pages than the settings allow.
    """
    pieces = board_pieces(layout, parts, weights=weights or {}, marks=marks or {})
    if not pieces:
        raise CallError(f"board {board.name} carries no part, so that there is no pattern to draw.")
    plan = plan_cutting(pieces, board, settings=settings) if settings.is_sawn_by_hand else None
    return _files(_Job(pieces, board, plan, f"board {board.name}", settings), f"board-{file_stem(board.name)}", formats)


def part_pattern(
    part: Part,
    *,
    settings: PatternSettings,
    weight_g: float | None = None,
    marks: Sequence[PartMark] = (),
    formats: Sequence[Format] = FORMATS,
) -> dict[str, bytes]:
    """Return the files of one part by name, such as `part-fuselage.pdf`; a pair is drawn with both hands.

    Raises:
        CallError: An unknown format.
        InputError: More pages than the settings allow.
    """
    pieces = part_pieces(part, weight_g=weight_g, marks=tuple(marks))
    return _files(_Job(pieces, None, None, part.name, settings), f"part-{file_stem(part.name)}", formats)


def small_parts_pattern(
    parts: Sequence[Part],
    *,
    settings: PatternSettings,
    weights: Weights | None = None,
    formats: Sequence[Format] = FORMATS,
) -> dict[str, bytes]:
    """Return `small-parts.pdf`: every copy of every part up to 100 mm, side by side, no joint through any.

    The PNG, if it is asked for, shows the first page.

    Empty if fewer than two such pieces exist, or PDF is not among `formats`.
    """
    pieces = small_pieces(parts, weights or {})
    if len(pieces) < 2 or "pdf" not in formats:
        return {}
    title = f"{settings.model}, small parts" if settings.model else "small parts"
    drawings = []
    for group in in_rows(pieces, Frame(settings).window_mm):
        recorder = Recorder()
        draw_pieces(recorder, group, None, settings=settings, cuts=[[piece.outline] for piece in group])
        edges = scissor_lines(group) if settings.style == "stick-on" else []
        drawings.append(Drawn((*recorder.elements, *edges), content_of(recorder.elements, group)))
    pdf = pdf_bytes(tiled_pages(drawings, title=title, settings=settings), title=title)
    if "png" not in formats:
        return {"small-parts.pdf": pdf}
    from nesting.patterns.write_png import png_bytes

    return {"small-parts.pdf": pdf, "small-parts.png": png_bytes(pdf)}


def pattern_notes(parts: Sequence[Part], *, settings: PatternSettings) -> tuple[Note, ...]:
    """Return what the patterns cannot show or the tool cannot cut, as `open` notes.

    Places are in millimetres in the part's own frame and stand in the text.
    """
    notes: list[Note] = []
    for part in parts:
        notes.extend(cut_path(part.outline, kerf_mm=settings.path_kerf_mm, part=part.name).notes)
        missing = missing_characters(part.name + part.material)
        if missing:
            text = f"the typeface has no picture for {' '.join(missing)}; the PDF shows a box instead."
            notes.append(Note("missing-character", text, "open", part.name))
    return tuple(notes)


def file_stem(name: str) -> str:
    """Return a name that every file system takes: letters (accents too), digits, dot, dash and underscore."""
    return re.sub(r"[^\w.\-]+", "-", name).strip("-.") or "unnamed"


@dataclass(frozen=True, slots=True)
class _Job:
    """What all formats of one pattern share."""

    pieces: tuple[Piece, ...]
    board: Board | None
    plan: CuttingPlan | None
    subject: str
    settings: PatternSettings

    @property
    def title(self) -> str:
        return f"{self.settings.model}, {self.subject}" if self.settings.model else self.subject

    def drawn(self, *, kerf_mm: float) -> list[Element]:
        """Return the drawing with the cuts half of `kerf_mm` outside the parts: 0 for paper."""
        corners = self.settings.path_corners
        offsets: list[Offset] = [cut_path(piece.outline, kerf_mm=kerf_mm, corners=corners) for piece in self.pieces]
        recorder = Recorder()
        draw_pieces(
            recorder,
            self.pieces,
            self.board,
            settings=self.settings,
            cuts=[offset.outlines for offset in offsets],
            plan=self.plan if "cutting" in self.settings.marks else None,
        )
        return recorder.elements


def _files(job: _Job, stem: str, formats: Sequence[Format]) -> dict[str, bytes]:
    unknown = [name for name in formats if name not in FORMATS]
    if unknown:
        raise CallError(f"format {unknown[0]!r} is not known; use {', '.join(FORMATS)}.")
    files: dict[str, bytes] = {}
    on_paper = job.drawn(kerf_mm=0.0)
    if "pdf" in formats:
        files[f"{stem}.pdf"] = _pdf(job, on_paper)
    if "png" in formats:
        files[f"{stem}.png"] = _png(job, on_paper, has_pages="pdf" in formats)
    if "svg" in formats or "dxf" in formats:
        kerf_mm = job.settings.path_kerf_mm
        for_machine = job.drawn(kerf_mm=kerf_mm) if kerf_mm else [e for e in on_paper if e.layer is not Layer.HELP]
        files |= _machine_files(job, stem, for_machine, formats)
    return files


def _pdf(job: _Job, elements: Sequence[Element]) -> bytes:
    settings = job.settings
    # A board's pattern is stuck on whole, by the board's edges.
    edges = scissor_lines(job.pieces) if settings.style == "stick-on" and job.board is None else []
    content = content_of(elements, job.pieces)
    chapters = _chapters(job)
    drawn = Drawn((*elements, *edges), content)
    return pdf_bytes(tiled_pages([drawn], title=job.title, settings=settings, chapters=chapters), title=job.title)


def _chapters(job: _Job) -> list[Chapter]:
    """The list of pieces and the cutting plan of a board; a single part needs none."""
    if job.board is None:
        return []
    chapters = [Chapter(f"Pieces on {job.subject}", tuple(piece_line(piece, job.settings) for piece in job.pieces))]
    if job.plan is not None and "cutting" in job.settings.marks:
        chapters.append(Chapter("Cutting plan", job.plan.lines))
        chapters.append(Chapter("For this board", job.plan.remarks))
    return [*chapters, Chapter("Take care", CAUTIONS)]


def piece_line(piece: Piece, settings: PatternSettings) -> str:
    """Return one line about a piece: number, name, size, stock, weight."""
    part = piece.part
    width, height = (format_length(side, units=settings.units).split(" (")[0] for side in part.outline.size_mm)
    words = [
        f"{piece.number}  {part.name}" + (f", {piece.copy} of {part.copies}" if part.copies > 1 else ""),
        "turned over" if piece.is_mirrored else "",
        f"{width} × {height}",
        f"{thickness(part.thickness_mm, settings.units)} {part.material}",
        "" if piece.weight_g is None else mass(piece.weight_g, settings.units),
    ]
    return " · ".join(word for word in words if word)


def _machine_files(job: _Job, stem: str, elements: Sequence[Element], formats: Sequence[Format]) -> dict[str, bytes]:
    from nesting.patterns.write_dxf import dxf_bytes
    from nesting.patterns.write_svg import svg_bytes

    recorder = Recorder(without_shared_lines(elements))
    if job.settings.is_mirrored:
        turned_over = Recorder()
        recorder.replay(turned_over, Affine(a=-1.0, e=sum(recorder.bounds()[::2])))
        recorder = turned_over
    files: dict[str, bytes] = {}
    if "svg" in formats:
        box = _padded(recorder.bounds(), BORDER_MM)
        files[f"{stem}.svg"] = svg_bytes(recorder.elements, box=box, title=job.title)
    if "dxf" in formats:
        extent = recorder.bounds(Layer.OUTLINE, Layer.BOARD)
        files[f"{stem}.dxf"] = dxf_bytes(recorder.elements, box=extent, version=job.settings.dxf_version)
    return files


def _padded(box: Box, border_mm: float) -> Box:
    return box[0] - border_mm, box[1] - border_mm, box[2] + border_mm, box[3] + border_mm


def _png(job: _Job, elements: Sequence[Element], *, has_pages: bool) -> bytes:
    """The picture of the whole drawing; where it comes on several pages, with the joints of these."""
    from nesting.patterns.joins_preview import page_shares, with_pages
    from nesting.patterns.write_png import png_bytes

    x0, y0, x1, y1 = box = _padded(Recorder(list(elements)).bounds(), BORDER_MM)
    scale = min(1.0, LONGEST_PREVIEW_MM / max(x1 - x0, y1 - y0))
    sheet = Sheet(tuple(elements), Affine(scale, 0.0, 0.0, scale, -scale * x0, -scale * y0))
    page = Page(Paper("", scale * (x1 - x0), scale * (y1 - y0)), (sheet,))
    picture = png_bytes(pdf_bytes([page], title=job.title))
    if not has_pages:
        return picture
    tiling = tiling_of(content_of(elements, job.pieces), job.settings)
    return with_pages(picture, page_shares(tiling, job.settings), box)
