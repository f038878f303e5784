"""From overlapping scans of one sheet to one plan: match, measure the seams, adjust, lay out."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from vectorize.basics.errors import ScaleError, ScanError
from vectorize.basics.notes import Note
from vectorize.page import Page
from vectorize.scale.fit_scale import Correction, page_matrix, skew_of, stated_factors
from vectorize.scale.joined.adjust import Adjusted, adjusted, after, chained
from vectorize.scale.joined.mosaic import mosaic
from vectorize.scale.joined.overlap import LEAST_SHARED_MM, Match, first_match, inverse, judged, moved
from vectorize.scale.joined.scan_seams import Seam, measured_seam
from vectorize.scale.joined.seam_uncertainty import Placed, SeamDoubt, SeamMisfit
from vectorize.scale.joined.tears import found_tear
from vectorize.scale.joined.tile import Tile, prepared
from vectorize.scale.known import AXES_LIMIT, Axes, KnownDimension
from vectorize.scale.plan_scale import PlanScale, Residual
from vectorize.scale.scale_uncertainty import SizeDoubt
from vectorize.shapes.segment import Point, Points

LARGEST_MISFIT_MM = 0.5
"""A seam that misses by more than this on the average is no seam: the scans contradict each other."""

OPEN_MISFIT_MM = 0.06
"""A seam that misses by more is worth a look: the sheet did not lie flat, or a scanner slipped."""


@dataclass(frozen=True, slots=True, eq=False)
class JoinedSheet:
    """One plan made of several scans.

    `page` is the working picture, `scale` its map to millimetres; with `places` they give the exact map from the
    original pixels of any scan.
    """

    page: Page
    scale: PlanScale
    places: tuple[Placed, ...]
    seams: tuple[SeamMisfit, ...]

    def told(self, point: Point) -> str:
        """Return a pixel of the joined sheet as a message names it: the original pixel, and the scan's number."""
        x, y, number = self.original(point)
        return f"({x:.0f}, {y:.0f}, {number})"

    def to_sheet(self, points_px: ArrayLike, number: int) -> Points:
        """Return pixels of the joined sheet for (N, 2) original pixels of scan `number`, from 1.

        Raises:
            ScaleError: There is no such scan.
        """
        if not 1 <= number <= len(self.places):
            raise ScaleError(f"a point names file {number}, but the plan has {len(self.places)}; count them from 1.")
        return moved(self.places[number - 1].to_sheet, np.asarray(points_px, np.float64).reshape(-1, 2))

    def to_mm(self, points_px: ArrayLike, number: int) -> Points:
        """Return (N, 2) millimetres on the sheet for original pixels of scan `number`."""
        return self.scale.to_mm(self.to_sheet(points_px, number))

    def original(self, point: Point) -> tuple[float, float, int]:
        """Return the original pixel and the scan's number of a pixel of the joined sheet, where it is shown best."""
        found = []
        for number, place in enumerate(self.places, start=1):
            at = np.array([point])
            x, y = moved(inverse(place.to_sheet), at)[0].tolist()
            found.append((float(place.rim_px(at)[0]), x, y, number))
        _, x, y, number = max(found)
        return x, y, number


def join_tiles(
    pages: Sequence[Page],
    known: Sequence[KnownDimension] = (),
    *,
    axes: Axes = "auto",
    accepts_stated_size: bool = False,
    corrections: Sequence[Correction] = ("skew",),
) -> JoinedSheet:
    """Return overlapping scans of one sheet as one plan, joined by the line work that they share.

    Args:
        pages: The scans, in any order and turned anyhow; each must overlap the rest.
        known: Known dimensions; `files` of each says on which scans its ends lie.
        axes: `separate` accepts axes that differ by more than 1.5 %.
        accepts_stated_size: Take the size that the first file states as true when there is no known dimension.
        corrections: What may be undone; `skew` turns the sheet upright.

    Raises:
        ScanError: A scan shares nothing with the others, fits them in several ways, or contradicts them.
        ScaleError: Known dimensions contradict each other or name a scan that is not there.
    """
    for dimension in known:
        if not all(1 <= number <= len(pages) for number in dimension.files):
            raise ScaleError(f"{dimension.name} names file {max(dimension.files)}, but the plan has {len(pages)}.")
    tiles = prepared(pages)
    start, seams = _first_places(tiles)
    solved = adjusted(tiles, seams, start, known, axes=axes)
    seams = [*seams, *_further_seams(tiles, solved, seams)]
    solved = adjusted(tiles, seams, [_scaled(m, known, solved) for m in solved.moves], known, axes=axes)
    misfits = _misfits(tiles, seams, solved)
    _refuse_other_lines(tiles, solved)
    residuals = _residuals(known, solved, axes)
    return _laid_out(
        tiles, solved, misfits, residuals, accepts_stated_size=accepts_stated_size, turns="skew" in corrections
    )


def _scaled(move: Points, known: Sequence[KnownDimension], solved: Adjusted) -> Points:
    """Return a place in the first scan's own mm again, which is what an adjustment starts from."""
    return move if not known else move / math.sqrt(solved.factors[0][0] * solved.factors[0][1])


def _first_places(tiles: Sequence[Tile]) -> tuple[list[Points], list[Seam]]:
    """Return a place for every scan and the seams found by what they share, pair by pair.

    Raises:
        ScanError: Some scan has no place.
    """
    links, seams, doubts = [], [], []
    for one, other in itertools.combinations(tiles, 2):
        match = first_match(one.sketch, other.sketch)
        if match.verdict == "ambiguous":
            doubts.append((one, other, "ambiguous"))
        if match.verdict != "joined":
            continue
        seam = measured_seam(one, other, match.move)
        if seam is None or not seam.is_firm:
            doubts.append((one, other, "one way"))
            continue
        seams.append(seam)
        links.append((one.number, other.number, match.move, match.shared_mm))
    places, inside = chained(len(tiles), links)
    if len(inside) < len(tiles):
        raise _apart(tiles, inside, doubts)
    return [place for place in places if place is not None], seams


def _apart(tiles: Sequence[Tile], inside: Sequence[int], doubts: Sequence[tuple[Tile, Tile, str]]) -> ScanError:
    lost = next(tile for tile in tiles if tile.number not in inside)
    for one, other, why in doubts:
        if lost in (one, other):
            if why == "ambiguous":
                return ScanError(
                    f"{one.name} and {other.name} fit each other in more than one place, because what they share "
                    "repeats itself; scan them again with more overlap, so that lettering or a part is on both."
                )
            return ScanError(
                f"the lines that {one.name} and {other.name} share all run one way, so that they could slide along "
                "each other; scan them again with more overlap, so that lines across are on both."
            )
    return ScanError(
        f"{lost.name} shares no line work with the other scans; scan it again with 20 mm of overlap or more, or take "
        "it out of files."
    )


def _between(one: Tile, other: Tile, solved: Adjusted) -> Points:
    """Return the move from own mm of one scan to those of another, as adjusted."""
    return after(inverse(solved.moves[other.number - 1]), solved.moves[one.number - 1])


def _further_seams(tiles: Sequence[Tile], solved: Adjusted, seams: Sequence[Seam]) -> list[Seam]:
    """Return seams between scans that turn out to overlap, though they were not matched by themselves."""
    done = {(seam.first, seam.second) for seam in seams}
    found = []
    for one, other in itertools.combinations(tiles, 2):
        move = _between(one, other, solved)
        if (one.number, other.number) in done or not _is_shown_by_both(judged(one.sketch, other.sketch, move)):
            continue
        if (seam := measured_seam(one, other, move)) is not None:
            found.append(seam)
    return found


def _is_shown_by_both(match: Match) -> bool:
    return match.agreement > 0.5 and match.shared_mm > LEAST_SHARED_MM / 3


def _misfits(tiles: Sequence[Tile], seams: Sequence[Seam], solved: Adjusted) -> tuple[SeamMisfit, ...]:
    """Return the misfit of every seam.

    Raises:
        ScanError: A seam misses by more than `LARGEST_MISFIT_MM`.
    """
    found = []
    for seam, rest in zip(seams, solved.rests, strict=True):
        one, other = tiles[seam.first - 1], tiles[seam.second - 1]
        rms, high = math.sqrt(float(np.mean(rest**2))), float(np.percentile(np.abs(rest), 95))
        tear = found_tear(one, other, _between(one, other, solved))
        found.append(SeamMisfit(one.name, other.name, rms, high, tear))
    worst = max(found, key=lambda seam: seam.rms_mm, default=None)
    if worst is not None and worst.rms_mm > LARGEST_MISFIT_MM:
        raise ScanError(
            f"{worst.first} and {worst.second} miss each other by {worst.rms_mm:.1f} mm once all scans are joined, so "
            "one of them does not belong there; scan it again, or take it out of files."
        )
    return tuple(found)


def _refuse_other_lines(tiles: Sequence[Tile], solved: Adjusted) -> None:
    for one, other in itertools.combinations(tiles, 2):
        match = judged(one.sketch, other.sketch, _between(one, other, solved))
        if match.shared_mm > LEAST_SHARED_MM and match.agreement < 0.5:
            raise ScanError(
                f"{one.name} and {other.name} would lie on each other, but show different lines there "
                f"({match.agreement:.0%} agree); they are not scans of one sheet, or one of them has changed."
            )


def _residuals(known: Sequence[KnownDimension], solved: Adjusted, axes: Axes) -> tuple[Residual, ...]:
    """Return what each known dimension measures.

    Raises:
        ScaleError: One is off, or axes differ, by more than a scanner would have them.
    """
    residuals = tuple(Residual(k.name, k.length_mm, m) for k, m in zip(known, solved.lengths, strict=True))
    for residual in sorted(residuals, key=lambda r: -abs(r.error_mm) / r.stated_mm):
        if abs(residual.error_mm) > AXES_LIMIT / 2 * residual.stated_mm:
            raise ScaleError(
                f"{residual.name} measures {residual.measured_mm:.2f} mm by the other known dimensions and the seams; "
                "correct it, or the file numbers of its two ends."
            )
    worst = max(abs(fx / fy - 1.0) for fx, fy in solved.factors)
    if known and axes == "auto" and worst > AXES_LIMIT:
        raise ScaleError(
            f"by the known dimensions a scan's axes differ by {100 * worst:.1f} %, more than a scanner's do; check "
            "them, or set axes = 'separate' if the picture really is stretched."
        )
    return residuals


def _laid_out(
    tiles: Sequence[Tile],
    solved: Adjusted,
    misfits: Sequence[SeamMisfit],
    residuals: tuple[Residual, ...],
    *,
    accepts_stated_size: bool,
    turns: bool,
) -> JoinedSheet:
    pitch = min(t.own_mm_per_px * math.sqrt(fx * fy) for t, (fx, fy) in zip(tiles, solved.factors, strict=True))
    corners = [
        moved(move, np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]) * t.sketch.size_mm)
        for t, move in zip(tiles, solved.moves, strict=True)
    ]
    low, high = np.vstack(corners).min(axis=0), np.vstack(corners).max(axis=0)
    columns, rows = (math.ceil(side / pitch) for side in (high - low).tolist())
    places = tuple(_placed(t, move, low, pitch) for t, move in zip(tiles, solved.moves, strict=True))
    grey = mosaic([t.ink.darkness for t in tiles], [p.to_sheet for p in places], (columns, rows), px_per_mm=1 / pitch)
    name = " + ".join(t.name for t in tiles)
    # Without known dimensions the sheet is in the own mm of the first scan, which its file states.
    is_stated = not residuals and tiles[0].page.stated_px_per_mm is not None
    stated = (1 / pitch, 1 / pitch) if is_stated else None
    page = Page(name, 1, 1, grey, (), columns, rows, stated_px_per_mm=stated, notes=_tile_notes(tiles))
    notes = [note for misfit in misfits for note in _seam_notes(misfit, tiles)]
    if not residuals:
        stated_factors(page, accepts_stated_size, notes)
    skew = skew_of(page, (pitch, pitch), notes) if turns else 0.0
    matrix, page_mm = page_matrix(page, (pitch, pitch), skew)
    is_true = bool(residuals) or accepts_stated_size
    doubt = SeamDoubt(places, tuple(misfits), 1 / pitch)
    scale = PlanScale(
        matrix,
        mm_per_px=(pitch, pitch),
        skew_deg=skew,
        page_mm=page_mm,
        residuals=residuals,
        doubt=SizeDoubt.alike(solved.sigma),
        is_true_size=is_true,
        notes=tuple(notes),
        seams=doubt,
    )
    sheet = JoinedSheet(page, scale, places, tuple(misfits))
    return replace(sheet, scale=replace(scale, tells=sheet.told))


def _placed(tile: Tile, move: Points, low: Points, pitch: float) -> Placed:
    """Return where a scan lies in the picture; pixel centres are at whole numbers in both."""
    own = np.column_stack([np.eye(2) * tile.own_mm_per_px, np.full(2, 0.5 * tile.own_mm_per_px)])
    shown = np.column_stack([np.eye(2) / pitch, -low / pitch - 0.5])
    return Placed(tile.name, tile.size_px, after(shown, after(move, own)))


def _tile_notes(tiles: Sequence[Tile]) -> tuple[Note, ...]:
    said = [replace(note, text=f"{tile.name}: {note.text}") for tile in tiles for note in tile.ink.notes]
    return (*(note for tile in tiles for note in tile.page.notes), *said)


def _seam_notes(seam: SeamMisfit, tiles: Sequence[Tile]) -> Iterator[Note]:
    """Yield how a seam fits, and that one of its scans looks torn."""
    text = (
        f"{seam.first} and {seam.second} are joined by their line work, which misses by {seam.rms_mm:.3f} mm "
        f"(root mean square; 95 % within {seam.high_mm:.3f} mm)."
    )
    if seam.tear is not None:
        yield Note("seam", text)
        (x, y), number = seam.tear.at, next(tile.number for tile in tiles if tile.name == seam.first)
        said = (
            f"{seam.first} and {seam.second} fit on one side of ({x:.0f}, {y:.0f}) on {seam.first} and miss by "
            f"{seam.tear.step_mm:.2f} mm on the other, so one of the two is torn or moved on the glass there; lay the "
            "sheet together, flat, and scan it again."
        )
        yield Note("torn", said, state="open", at=(x, y, number))
    elif seam.rms_mm > OPEN_MISFIT_MM:
        yield Note("seam", f"{text} Did the sheet lie flat on the glass both times?", state="open")
    else:
        yield Note("seam", text)
