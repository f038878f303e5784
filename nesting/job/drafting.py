"""Starting a job from what its plan says: `job.toml` filled in as far as the lettering goes, and `read.png`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from nesting.job.draft import Draft, Stock, Vocabulary, draft_parts, load_vocabulary
from nesting.job.draft.grammar import is_metric
from nesting.job.draft_text import DraftJob, DraftSheet, job_text, open_words, scale_words
from nesting.job.folder import JOB_FILE
from nesting.job.new_job import RACK_HEADER, add_files, bytes_of, refuse_existing
from nesting.job.read_picture import read_png
from nesting.wood.board import Board
from nesting.wood.rack import parse_rack
from vectorize.basics.errors import RackError
from vectorize.basics.notes import Note
from vectorize.basics.watch import Watcher, portion, unwatched
from vectorize.marks.read_plan import PlanReading, read_plan
from vectorize.marks.settle_scale import settle_scale
from vectorize.page import LARGEST_MEGAPIXELS, Page, read_page

PICTURE = "read.png"


@dataclass(frozen=True, slots=True)
class Drafted:
    """A job that was drafted: its `job.toml`, how many parts it has, and what is left to a person."""

    path: Path
    parts: int
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True)
class ReadSheet:
    """What a sheet says of itself, and of its parts."""

    reading: PlanReading
    draft: Draft


def read_sheet(
    page: Page, vocabulary: Vocabulary, *, stock: Sequence[Stock] = (), watch: Watcher = unwatched
) -> ReadSheet:
    """Return what is lettered on a sheet.

    Raises:
        ScanError: The page is a drawing.
    """
    reading = read_plan(page, watch=portion(watch, 0.0, 0.6))
    draft = draft_parts(page, reading, vocabulary, stock=stock, watch=portion(watch, 0.6, 1.0))
    return ReadSheet(reading, draft)


def read_scan(
    plan: Path,
    vocabulary: Vocabulary,
    *,
    page: int = 1,
    largest_megapixels: float | None = None,
    watch: Watcher = unwatched,
) -> ReadSheet:
    """Return what is lettered on page `page` of a scan, from 1.

    Raises:
        ScanError: The plan cannot be read, or is a drawing.
    """
    opened = read_page(plan, page=page, largest_megapixels=largest_megapixels or LARGEST_MEGAPIXELS)
    return read_sheet(opened, vocabulary, watch=watch)


def draft_new_job(
    folder: Path,
    *,
    plan: Path,
    rack: Path | None = None,
    page: int = 1,
    words: Sequence[Path] = (),
    watch: Watcher = unwatched,
) -> Drafted:
    """Make a job in `folder` from what is lettered on a scan; nothing that exists is replaced.

    Args:
        folder: The folder to make.
        plan: A picture of the plan, which is copied into it.
        rack: A rack table, which is copied too; without one an empty table is made.
        page: The page of the plan's file, from 1.
        words: Tables of more words.
        watch: Is told each stage as it begins.

    Raises:
        CallError: The folder holds a job already, or a table of words is none.
        ScanError: The plan cannot be read, or is a drawing.
        RackError: The rack cannot be read.
        WriteError: The folder cannot be written.
    """
    refuse_existing(folder, plan)
    vocabulary = load_vocabulary(*words)
    rack_bytes = RACK_HEADER.encode() if rack is None else _rack_bytes(rack)
    boards = () if rack is None else parse_rack(_rack_text(rack_bytes, rack), name=rack.name)
    opened = read_page(plan, page=page)
    sheet = DraftSheet(folder.resolve().name, plan.name, page)
    job = draft_sheet(opened, sheet, boards=boards, vocabulary=vocabulary, watch=watch)
    files = {
        plan.name: bytes_of(plan),
        "rack.csv": rack_bytes,
        JOB_FILE: job_text(job).encode(),
        PICTURE: read_png(opened, job),
    }
    add_files(folder, files)
    return Drafted(folder / JOB_FILE, len(job.draft.parts), (*job.draft.notes, *open_notes(job)))


def draft_sheet(
    page: Page, sheet: DraftSheet, *, boards: Sequence[Board], vocabulary: Vocabulary, watch: Watcher = unwatched
) -> DraftJob:
    """Return what a sheet says of the job: its scale, its parts, and how sure each value is.

    Args:
        page: A picture.
        sheet: What the job and the plan's file are called.
        boards: The boards at hand; a thickness that none has and that no sheet is sold in is less sure.
        vocabulary: The words of plans.
        watch: Is told each stage as it begins.

    Raises:
        ScanError: The page is a drawing.
    """
    stock = [Stock(board.material, board.thickness_mm) for board in boards]
    read = read_sheet(page, vocabulary, stock=stock, watch=watch)
    return DraftJob(sheet, read.reading, read.draft, settle_scale(page, read.reading), is_metric(read.reading.texts))


def _rack_bytes(rack: Path) -> bytes:
    from vectorize.basics.plain_file import read_plain

    try:
        return read_plain(rack)
    except OSError as error:
        raise RackError(f"{rack} cannot be read: {error.strerror or error}.") from error


def _rack_text(data: bytes, rack: Path) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise RackError(f"{rack} is no text in UTF-8; save it again as CSV in UTF-8.") from error


def open_notes(job: DraftJob) -> list[Note]:
    """Return what is left to a person: the scale, each part's gaps, and what no label tells."""
    notes = []
    if not job.scale.is_accepted:
        notes.append(Note("no-scale", scale_words(job.scale), state="open"))
    if (size := job.draft.size) is not None and size.value != "1:1":
        text = f"the plan says {size.written!r}: if it is drawn to another size, see that the lengths are the model's."
        notes.append(Note("drawn-size", text, state="open", at=job.reading.texts[size.text].box_px[0]))
    if not job.draft.parts:
        text = "no lettered part was found; pick the parts by hand, or see what `sheetwood read` read."
        notes.append(Note("no-parts", text, state="open"))
    for part, words in open_words(job.draft.parts):
        notes.append(Note("draft-open", f"{words}.", state="open", part=part.name.value, at=part.inside))
    text = "what no label tells stays open: dihedral and other steps, where parts sit, covering and glue."
    notes.append(Note("not-lettered", text, state="open"))
    return notes
