"""A part longer than any board: scarfed, spliced, or built up from layers with staggered joints."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from nesting.alter.frame import Spot
from nesting.alter.grain import GrainFrame, second_moments_mm4
from nesting.alter.step import Change, Setting, Step, fixed
from nesting.wood.board import MARGIN_AT_ENDS_MM
from nesting.wood.covering import DEFAULT_GLUE
from nesting.wood.glued_seams import Seam, flat_seam, moved, upright_seam
from nesting.wood.names import PartName
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.quantity import Length
from vectorize.shapes.boolean import common
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Point

SCARF_SLOPE = 8.0
"""A scarf of 1 in 8 to 1 in 12 holds nearly what the wood does (common practice, no source)."""
CLEAR_MM = 25.0
"""A joint keeps this far from slots and doubler ends (common practice, no source)."""
_NOTCH_MM = 20.0


@dataclass(frozen=True, slots=True)
class Scarf(Step):
    """The part in two pieces along the grain, joined by a long slope through the thickness.

    The overlap is `slope` times the thickness: 80 mm for 1:8 on 10 mm. It keeps `clear_mm` from
    cut-outs, notches narrower than 20 mm, and the ends of the parts named in `clear_of` (doublers).

    Args:
        at: A point on the middle of the joint; None: as near the middle of the part as may be.
        slope: Run for each millimetre of thickness, 8 to 12.
        clear_mm: See above.
        clear_of: Names of parts whose ends the joint keeps away from.
    """

    make: Literal["scarf"] = field(default="scarf", kw_only=True, repr=False)
    at: Spot | None = None
    slope: float = SCARF_SLOPE
    clear_mm: Length = CLEAR_MM
    clear_of: tuple[PartName, ...] = ()
    glue: str = DEFAULT_GLUE

    def check(self, part: str, setting: Setting) -> None:
        """Raise PartError for what cannot be, whatever the part is like."""
        if not 8 <= self.slope <= 12:
            raise PartError(f"a scarf of 1:{self.slope:g}; give a slope from 1:8 to 1:12.")

    @property
    def needs(self) -> tuple[str, ...]:
        """Return the parts it keeps clear of."""
        return self.clear_of

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the two pieces, `name fore` and `name aft`, each sawn to its end of the overlap."""
        thickness, _ = setting.true_thickness_mm(part)
        overlap = self.slope * thickness
        frame = GrainFrame.of(part)
        flat = frame.from_plan(part.outline)
        taken = _taken(part, flat, frame, [setting.part(n, wanted_by=part.name) for n in self.clear_of])
        at = _joint_at(
            part,
            flat,
            frame,
            taken,
            overlap / 2 + self.clear_mm,
            setting.frame.maybe(self.at),
            _longest(part, setting),
            overlap,
        )
        x0, y0, x1, y1 = flat.bounds
        fore = common(flat, Outline.rectangle(x0 - 1, y0 - 1, at + overlap / 2, y1 + 1))
        aft = common(flat, Outline.rectangle(at - overlap / 2, y0 - 1, x1 + 1, y1 + 1))
        pieces = (
            _scarfed(part, fore, frame, at - overlap / 2, overlap, falls=True, name=f"{part.name} fore"),
            _scarfed(part, aft, frame, at - overlap / 2, overlap, falls=False, name=f"{part.name} aft"),
        )
        text = f"it is scarfed 1:{self.slope:g} over {overlap:.1f} mm, the middle {at - x0:.1f} mm from its fore end."
        zone = common(flat, Outline.rectangle(at - overlap / 2, y0 - 1, at + overlap / 2, y1 + 1))
        names = [piece.name for piece in pieces]
        seam = flat_seam(f"scarf of {part.name}", names, zone, glue=self.glue, slope=self.slope)
        seams = (moved(seam, frame.point_to_plan),)
        return Change(pieces, notes=(fixed("scarfed", part, text),), seams=seams)


def _scarfed(
    part: Part, pieces: Sequence[Outline], frame: GrainFrame, begin: float, overlap: float, *, falls: bool, name: str
) -> Part:
    """Return one piece; over the overlap its thickness runs from full to nothing (or up again), linearly in u.

    Mass and centre follow from the first and second moments of the overlap: exact for a straight slope.
    """
    if len(pieces) != 1:
        raise PartError(
            f"part {part.name}: a scarf {begin:.1f} mm along the grain leaves more than two pieces; move it."
        )
    piece = pieces[0]
    _, y0, _, y1 = piece.bounds
    area, (cu, cv) = piece.area_mm2, piece.centroid
    lost = lost_u = lost_v = 0.0
    for zone in common(piece, Outline.rectangle(begin, y0 - 1, begin + overlap, y1 + 1)):
        (zu, zv), za = zone.centroid, zone.area_mm2
        uu, uv = second_moments_mm4(zone)
        rise = (za * (zu - begin), uu - begin * za * zu, uv - begin * za * zv)
        share = [value / overlap for value in rise]
        gone = share if falls else [za - share[0], za * zu - share[1], za * zv - share[2]]
        lost, lost_u, lost_v = lost + gone[0], lost_u + gone[1], lost_v + gone[2]
    net = area - lost
    centre = ((area * cu - lost_u) / net, (area * cv - lost_v) / net)
    return replace(
        part,
        name=name,
        outline=frame.to_plan(piece),
        finished_share=part.finished_share * net / area,
        finished_centroid=frame.point_to_plan(centre),
        weighed_g=None,
    )


def _longest(part: Part, setting: Setting) -> float:
    boards = setting.boards_for(part)
    return max((board.length_mm for board in boards), default=math.inf) - 2 * MARGIN_AT_ENDS_MM


def _taken(part: Part, flat: Outline, frame: GrainFrame, others: Sequence[Part]) -> list[tuple[float, float, str]]:
    """Return the stretches along the grain that a joint keeps clear of: (from, to, what)."""
    taken = []
    for ring in flat.cutouts:
        x0, _, x1, _ = Outline(ring).bounds
        taken.append((x0, x1, "a cut-out"))
    filled = Outline(flat.exterior).to_polygon(0.05)
    closed = filled.buffer(_NOTCH_MM / 2, quad_segs=16).buffer(-_NOTCH_MM / 2 - 0.05, quad_segs=16)
    slots = closed.difference(filled)
    found = [slot.bounds for slot in getattr(slots, "geoms", [slots]) if slot.area > 10.0]
    taken += [(float(bounds[0]), float(bounds[2]), "a slot") for bounds in found]
    for other in others:
        x0, _, x1, _ = frame.from_plan(other.outline).bounds
        taken += [(end, end, f"an end of {other.name}") for end in (x0, x1)]
    return taken


def _joint_at(
    part: Part,
    flat: Outline,
    frame: GrainFrame,
    taken: Sequence[tuple[float, float, str]],
    half_mm: float,
    wanted: Point | None,
    longest_mm: float,
    overlap_mm: float,
) -> float:
    """Return where the middle of the joint goes: as wanted if that is clear, else the clear place nearest half way."""
    x0, _, x1, _ = flat.bounds

    def trouble(at: float) -> str | None:
        for low, high, what in taken:
            if at + half_mm > low and at - half_mm < high:
                gap = max(low - at, at - high, 0.0) - overlap_mm / 2
                return f"{max(gap, 0.0):.1f} mm from {what}"
        length = max(at - x0, x1 - at) + overlap_mm / 2
        if length > longest_mm:
            return f"so that a piece is {length:.0f} mm long, and the longest board gives {longest_mm:.0f} mm"
        return None

    if wanted is not None:
        at = frame.along(wanted)
        found = trouble(at) if x0 < at < x1 else f"off the part, which is {x1 - x0:.1f} mm long"
        if found:
            raise PartError(
                f"part {part.name}: a joint of {overlap_mm:.1f} mm with its middle {at - x0:.1f} mm along the grain "
                f"lies {found}; it must keep {half_mm - overlap_mm / 2:g} mm clear of slots and doubler ends. Move it."
            )
        return at
    steps = max(1, int(x1 - x0))
    places = sorted((x0 + (x1 - x0) * i / steps for i in range(1, steps)), key=lambda u: abs(u - (x0 + x1) / 2))
    for at in places:
        if trouble(at) is None:
            return at
    raise PartError(
        f"part {part.name}: there is no place for a joint of {overlap_mm:.1f} mm that keeps clear of slots and "
        f"doubler ends; its middle is {trouble((x0 + x1) / 2)}."
    )


@dataclass(frozen=True, slots=True)
class Splice(Step):
    """The part butted square across the grain, with a plate glued over the joint on one side or both.

    Args:
        at: A point on the joint; None: as near the middle as may be.
        plate_mm: Of the plates.
        plate_material: Of the plates; None: the part's own.
        reach_mm: How far a plate reaches on either side; None: six times the part's thickness.
        sides: 1 or 2 plates.
        clear_mm: Kept free between a plate's end and slots or doubler ends.
        clear_of: Names of parts whose ends it keeps away from.
    """

    make: Literal["splice"] = field(default="splice", kw_only=True, repr=False)
    at: Spot | None = None
    plate_mm: Length = 1.5
    plate_material: str | None = None
    reach_mm: Length | None = None
    sides: Literal[1, 2] = 2
    clear_mm: Length = CLEAR_MM
    clear_of: tuple[PartName, ...] = ()
    glue: str = DEFAULT_GLUE

    def check(self, part: str, setting: Setting) -> None:
        """Raise PartError for what cannot be, whatever the part is like."""
        if self.sides not in (1, 2):
            raise PartError(f"a splice with {self.sides} plates; give 1 or 2.")

    @property
    def needs(self) -> tuple[str, ...]:
        """Return the parts it keeps clear of."""
        return self.clear_of

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the two pieces and, as an extra, the plate."""
        thickness, _ = setting.true_thickness_mm(part)
        reach = 6 * thickness if self.reach_mm is None else self.reach_mm
        frame = GrainFrame.of(part)
        flat = frame.from_plan(part.outline)
        taken = _taken(part, flat, frame, [setting.part(n, wanted_by=part.name) for n in self.clear_of])
        at = _joint_at(
            part, flat, frame, taken, reach + self.clear_mm, setting.frame.maybe(self.at), _longest(part, setting), 0.0
        )
        pieces = _butted(part, flat, frame, [at], ("fore", "aft"))
        x0, y0, _, y1 = flat.bounds
        plate = common(flat, Outline.rectangle(at - reach, y0 - 1, at + reach, y1 + 1))[0]
        extra = replace(
            part,
            name=f"{part.name} splice plate",
            outline=frame.to_plan(plate),
            material=part.material if self.plate_material is None else setting.material(self.plate_material),
            thickness_mm=self.plate_mm,
            count=part.count * self.sides,
            board=None,
            boards=(),
            weighed_g=None,
        )
        text = (
            f"it is butted {at - x0:.1f} mm from its fore end, with {self.sides} plates of {2 * reach:.1f} mm over it."
        )
        names = [*(piece.name for piece in pieces), extra.name]
        plates = flat_seam(f"plates of {part.name}", names, (plate,), glue=self.glue, sides=self.sides)
        line = ((at, y0 - 1), (at, y1 + 1))
        butt = upright_seam(f"butt of {part.name}", names, flat, line, depth_mm=thickness, glue=self.glue)
        seams = tuple(moved(seam, frame.point_to_plan) for seam in (plates, butt) if seam is not None)
        return Change(pieces, (extra,), (fixed("spliced", part, text),), seams)


@dataclass(frozen=True, slots=True)
class Laminate(Step):
    """The part built up from layers, each in as many lengths as boards need, joints staggered from layer to layer.

    Args:
        layers_mm: Thickness of each layer; together they must make the part's within 0.15 mm.
        stagger_mm: Least distance between joints of neighbouring layers.
        longest_mm: Longest piece; None: what the boards of each layer give.
    """

    make: Literal["laminate"] = field(default="laminate", kw_only=True, repr=False)
    layers_mm: tuple[Length, ...]
    stagger_mm: Length = 50.0
    longest_mm: Length | None = None
    glue: str = DEFAULT_GLUE

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the pieces of all layers, `name layer 1 piece 1` and so on."""
        total = sum(self.layers_mm)
        if len(self.layers_mm) < 2 or abs(total - part.thickness_mm) > 0.15:
            given = " + ".join(f"{t:g}" for t in self.layers_mm)
            raise PartError(
                f"part {part.name}: layers of {given} = {total:g} mm do not make its {part.thickness_mm:g} mm; "
                "give two or more that do, within 0.15 mm."
            )
        frame = GrainFrame.of(part)
        flat = frame.from_plan(part.outline)
        x0, _, x1, _ = flat.bounds
        made: list[Part] = []
        # One length for all layers, so that the joints of neighbours are exactly the stagger apart.
        longest = self.longest_mm or min(
            _longest(replace(part, thickness_mm=thickness, board=None, boards=()), setting)
            for thickness in self.layers_mm
        )
        for number, thickness in enumerate(self.layers_mm, start=1):
            layer = replace(
                part, name=f"{part.name} layer {number}", thickness_mm=thickness, board=None, boards=(), weighed_g=None
            )
            longest = _longest(layer, setting) if self.longest_mm is None else self.longest_mm
            joints = self._joints(part, x0, x1, longest, number)
            made.extend(_butted(layer, flat, frame, joints, [f"piece {i}" for i in range(1, len(joints) + 2)]))
        text = f"it is built up from {len(self.layers_mm)} layers in {len(made)} pieces."
        return Change(tuple(made), notes=(fixed("laminated", part, text),), seams=self._seams(part, made))

    def _seams(self, part: Part, made: Sequence[Part]) -> tuple[Seam, ...]:
        """Return the seam over the whole face between each layer and the next."""
        layers = [
            [piece.name for piece in made if piece.name.startswith(f"{part.name} layer {n}")]
            for n in range(1, len(self.layers_mm) + 1)
        ]
        return tuple(
            flat_seam(f"layers {n} and {n + 1} of {part.name}", [*one, *other], (part.outline,), glue=self.glue)
            for n, (one, other) in enumerate(itertools.pairwise(layers), start=1)
        )

    def _joints(self, part: Part, x0: float, x1: float, longest_mm: float, number: int) -> list[float]:
        """Return equal lengths moved by half the stagger, this way in odd layers and that way in even ones."""
        length = x1 - x0
        if length <= longest_mm:
            return []
        shift = self.stagger_mm / 2 * (1 if number % 2 else -1)
        # The stagger makes an end piece longer, so there must be room for it.
        room = longest_mm - self.stagger_mm / 2
        if room <= 0:
            raise PartError(
                f"part {part.name}: pieces of at most {longest_mm:g} mm cannot have joints "
                f"{self.stagger_mm:g} mm apart."
            )
        count = math.ceil(length / room - 1e-9)
        return [x0 + length * i / count + shift for i in range(1, count)]


def _butted(
    part: Part, flat: Outline, frame: GrainFrame, joints: Sequence[float], words: Sequence[str]
) -> tuple[Part, ...]:
    """Return the part cut square across the grain at each joint."""
    if not joints:
        return (part,)
    x0, y0, x1, y1 = flat.bounds
    ends = [x0 - 1, *joints, x1 + 1]
    made = []
    for word, begin, end in zip(words, ends, ends[1:], strict=False):
        for n, piece in enumerate(common(flat, Outline.rectangle(begin, y0 - 1, end, y1 + 1))):
            suffix = word if n == 0 else f"{word} {chr(ord('a') + n)}"
            made.append(replace(part, name=f"{part.name} {suffix}", outline=frame.to_plan(piece), weighed_g=None))
    return tuple(made)
