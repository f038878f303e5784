"""A carved panel as the beam that is bent and twisted: its woods at every station, built in one of its ways."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from nesting.carve.columns import Columns, columns_at
from nesting.carve.planform import Floats, stretches_at
from nesting.job.deriving import Carving
from nesting.job.flex_tables import FlexOptionTable, SkinTable, SparTable, WoodTable
from nesting.job.model_values import Model
from nesting.wood.board import Board
from nesting.wood.covering import COAT_SHEAR_RATIO, COAT_STIFFNESS_SPREAD, Finish, known_stuff
from nesting.wood.density import board_gradient, board_thickness, material_of
from nesting.wood.estimate import UNIFORM_SIGMA, Estimate
from nesting.wood.flex.cantilever import Beam
from nesting.wood.flex.panel_flex import Drift, Panel
from nesting.wood.flex.slabs import Slabs, Stuff
from nesting.wood.flex.woods import board_by_default, wood_of_board
from nesting.wood.match import matching_boards
from nesting.wood.material import need_material
from nesting.wood.part import Part
from nesting.wood.stiffness import board_modulus
from vectorize.basics.errors import JobError
from vectorize.basics.notes import Note
from vectorize.basics.wording import listed, shown
from vectorize.shapes.outline import Pose

_COAT_DENSITY = 1000.0  # kg/m3; a coat's thickness follows from its weight, and thickness times E is the same with any
_GLUE_MPA = 1e-6  # glue adds mass only


@dataclass(frozen=True, slots=True)
class _Piece:
    """One piece of the panel as the job has it: its rings in panel directions, its stuff, and how its wood runs."""

    part: Part
    rings: tuple[Floats, ...]
    kind: int
    factor: Callable[[float, float], float]


@dataclass(frozen=True, slots=True)
class _Shell:
    """A layer on a face: skin, glue or coat."""

    kind: int
    thickness_mm: float
    is_top: bool


@dataclass(frozen=True, slots=True)
class _Strip:
    """Wood let in along the span, `reach` telling from where to where aft at a station; None: right through."""

    kind: int
    reach: Callable[[float], tuple[float, float]]
    depth_mm: float | None = None


class PanelBuilder:
    """Builds a carved panel in one way, as sections of stuffs along a clamped beam.

    Raises:
        JobError: A board, material, coat or glue that is not there or will not do.
    """

    def __init__(self, model: Model, carving: Carving, option: FlexOptionTable) -> None:
        self.model, self.carving, self.option = model, carving, option
        self.name = option.name
        self.planform = carving.panel.planform
        self.root = self.planform.root_station
        self.stuffs: list[Stuff] = []
        self.drifts: list[Drift] = []
        self._notes: dict[Note, None] = {}
        self.boards = {board.name: board for board in model.boards}
        self.beam = Beam.of_length(self.planform.span[1] - self.root)
        self.pieces = self._pieces()
        self.strips = self._strips()
        self.shells = [*self._skin(), *self._coats()]

    def panel(self) -> Panel:
        """Return the panel as a beam."""
        return Panel(
            beam=self.beam,
            sections=tuple(self._section(float(at)) for at in self.root + self.beam.points_mm),
            stuffs=tuple(self.stuffs),
            carver=f"carving of {self.carving.name}, {self.name}",
            carved_sigma_mm=self.model.wood.accuracy.carved_sigma_mm,
            drifts=tuple(self.drifts),
        )

    def notes(self) -> tuple[Note, ...]:
        """Return what is to be known of how this was worked out."""
        return tuple(self._notes)

    def leading_edge_and_chord(self) -> tuple[float, float]:
        """Return u of the leading edge and the chord where elastic axis and balance are told, seven tenths out."""
        at = self.root + self.beam.points_mm[[int(0.7 * len(self.beam.points_mm))]]
        return float(self.planform.leading_edge(at)[0]), float(self.planform.chord(at)[0])

    # --- woods ---

    def _pieces(self) -> list[_Piece]:
        used: set[str] = set()
        found = []
        for part in self.carving.pieces:
            board = self._board_of(part)
            used.add(board.name)
            found.append(self._piece(part, board))
        idle = [name for name in self.option.boards if name not in used]
        if idle:
            woods = listed(dict.fromkeys(piece.material for piece in self.carving.pieces))
            raise JobError(
                f"{self.carving.name}, option {self.name!r}: no piece can be cut from {listed(idle)}; the panel is of "
                f"{woods}, {self.carving.pieces[0].thickness_mm:g} mm thick."
            )
        return found

    def _board_of(self, part: Part) -> Board:
        """Return the board that a piece comes from: the option's, else the chosen one."""
        for name in self.option.boards:
            if name not in self.boards:
                raise JobError(
                    f"{self.carving.name}, option {self.name!r}: there is no board {shown(name)}; "
                    f"boards: {listed(self.boards)}."
                )
        free = replace(part, board=None, boards=())
        named = [self.boards[name] for name in self.option.boards]
        same, near = matching_boards(free, named, materials=self.model.wood.materials)
        if same or near:
            return (*same, *near)[0]
        chosen = next((w.board for w in self.model.weights.chosen if (w.part, w.copy) == (part.name, 1)), None)
        if chosen is None:
            raise JobError(
                f"part {part.name} has no board yet, so its stiffness is not known; add one to the rack, "
                "or tie the part to a board that is there."
            )
        return next(wood for wood in self.model.woods if wood.name == chosen)

    def _piece(self, part: Part, board: Board) -> _Piece:
        angle = part.grain_deg - self.planform.span_deg
        kind = self._wood(board, angle, what=part.name, is_skin=False)
        own = min(1.0, part.outline.area_mm2 / board.shape.area_mm2)
        gradient = board_gradient(board, wood=self.model.wood)
        local = material_of(board, self.model.wood.materials).local_spread
        pose = self._pose(part, board)
        slope = np.hypot(gradient.change.value, gradient.change.sigma) / board.length_mm
        self.drifts.append(Drift(kind, f"wood under {part.name} on {board.name}", 0.0, local * (1 - own) ** 0.5))
        # Spots within the panel differ as well; what matters most for it is a change from root to tip.
        steep = local / (UNIFORM_SIGMA * self.beam.length_mm)
        self.drifts.append(Drift(kind, f"wood along {part.name} on {board.name}", steep))
        along = 0.0 if pose is None else pose.moved(part.centroid)[0] / board.length_mm - 0.5
        sigma = gradient.change.sigma
        self.drifts.append(Drift(kind, f"gradient of {board.name}", sigma / board.length_mm, sigma * along))
        if pose is None:
            away = float(slope * board.length_mm * UNIFORM_SIGMA * (1 - own))
            self.drifts.append(Drift(kind, f"place of {part.name} on {board.name}", 0.0, away))
        rings = self.planform.rings_of(part.outline)
        return _Piece(part, rings, kind, self._factor(board, gradient.change.value, pose))

    def _pose(self, part: Part, board: Board) -> Pose | None:
        """Return how the piece lies on its board, where the layout that holds says so."""
        laid = self.model.layout.boards if self.model.layout is not None else ()
        for on in laid:
            for placed in on.placements:
                if on.board == board.name and (placed.part, placed.copy) == (part.name, 1):
                    return placed.pose
        return None

    def _factor(self, board: Board, change: float, pose: Pose | None) -> Callable[[float, float], float]:
        """Return density and E at (u, v) over the board's own: they rise together along the board."""
        if pose is None or not change:
            return lambda _u, _v: 1.0

        def factor(u: float, v: float) -> float:
            x, y = self.planform.to_plan(np.array([[u, v]]))[0]
            return 1 + change * (pose.moved((float(x), float(y)))[0] / board.length_mm - 0.5)

        return factor

    def _wood(self, board: Board, angle_deg: float, *, what: str, is_skin: bool) -> int:
        """Return the number of a new stuff: the wood of a board at an angle to its grain."""
        modulus = board_modulus(board, wood=self.model.wood)
        for note in modulus.notes:
            self._notes[note] = None
        if not modulus.is_measured:
            text = f"{board.name}: E by the trend of its material; bend or tap the board to know it."
            self._notes[Note("stiffness-by-trend", text)] = None
        name = f"{what} of {board.name}"
        return self._add(wood_of_board(board, angle_deg, name=name, wood=self.model.wood, is_stretched=is_skin))

    def _add(self, stuff: Stuff) -> int:
        self.stuffs.append(stuff)
        return len(self.stuffs) - 1

    def _board_named(self, table: WoodTable, thickness_mm: float) -> Board:
        """Return the board of the rack that a table names, or one of its material that nobody weighed."""
        if table.board is not None:
            if table.board not in self.boards:
                raise JobError(
                    f"{self.carving.name}, option {self.name!r}: there is no board {shown(table.board)}; "
                    f"boards: {listed(self.boards)}."
                )
            return self.boards[table.board]
        material = need_material(table.material or "", self.model.wood.materials)
        return board_by_default(material.name, thickness_mm)

    # --- strips ---

    def _strips(self) -> list[_Strip]:
        option = self.option
        found = []
        for table, is_front in ((option.leading_edge, True), (option.trailing_edge, False)):
            if table is not None:
                kind = self._wood(self._board_named(table, table.width), 0.0, what="edge strip", is_skin=False)
                found.append(_Strip(kind, self._along_edge(table.width, is_front=is_front)))
        for number, spar in enumerate(option.spars, start=1):
            kind = self._wood(self._board_named(spar, spar.width), 0.0, what=f"spar {number}", is_skin=False)
            found.append(_Strip(kind, self._along_spar(spar), spar.depth))
        return found

    def _along_edge(self, width_mm: float, *, is_front: bool) -> Callable[[float], tuple[float, float]]:
        def reach(station: float) -> tuple[float, float]:
            at = np.array([station])
            if is_front:
                lead = float(self.planform.leading_edge(at)[0])
                return lead, lead + width_mm
            trail = float(self.planform.trailing_edge(at)[0])
            return trail - width_mm, trail

        return reach

    def _along_spar(self, spar: SparTable) -> Callable[[float], tuple[float, float]]:
        def reach(station: float) -> tuple[float, float]:
            at = np.array([station])
            middle = float(self.planform.leading_edge(at)[0]) + spar.at * float(self.planform.chord(at)[0])
            return middle - spar.width / 2, middle + spar.width / 2

        return reach

    # --- faces ---

    def _skin(self) -> list[_Shell]:
        skin = self.option.skin
        if skin is None:
            return []
        board = self._board_named(skin, skin.thickness or 0.0)
        kind = self._wood(board, skin.grain, what="skin", is_skin=True)
        glue = known_stuff(
            skin.glue, self.model.build.glues, f"{self.carving.name}, option {self.name!r}: glue of the skin"
        )
        mass = Estimate.measured(_COAT_DENSITY, _COAT_DENSITY * glue.spread, f"glue under the skin of {self.name}")
        glued = self._add(Stuff(skin.glue, Estimate(_GLUE_MPA), Estimate(_GLUE_MPA), mass, is_shell=True))
        thickness = skin.thickness or board_thickness(board).value
        faces = _faces(skin)
        return [
            shell
            for is_top in faces
            for shell in (
                _Shell(glued, glue.g_per_m2 / _COAT_DENSITY, is_top),
                _Shell(kind, thickness, is_top),
            )
        ]

    def _coats(self) -> list[_Shell]:
        finish = self.model.build.finishes.get(self.carving.pieces[0].name, Finish())
        top, bottom = finish.top, finish.bottom
        if self.option.covering is not None:
            top = bottom = self.option.covering
        kinds = {name: self._coat(name) for name in dict.fromkeys((*top, *bottom))}
        shells = [(name, True) for name in top] + [(name, False) for name in bottom]
        return [_Shell(kinds[name][0], kinds[name][1] / _COAT_DENSITY, is_top) for name, is_top in shells]

    def _coat(self, name: str) -> tuple[int, float]:
        """Return number and weight (g/m2) of a coat as a stuff of its own."""
        coat = known_stuff(name, self.model.build.coats, f"{self.carving.name}, option {self.name!r}: coat")
        if not coat.modulus_per_density:
            text = (
                f"coat {name} counts by its mass alone; its stiffness_per_density in [[coat]] makes it count as a skin."
            )
            self._notes[Note("coat-without-stiffness", text)] = None
        e = (coat.modulus_per_density or _GLUE_MPA) * _COAT_DENSITY
        modulus = Estimate.measured(e, e * COAT_STIFFNESS_SPREAD, f"stiffness of coat {name}")
        density = Estimate.measured(_COAT_DENSITY, _COAT_DENSITY * coat.spread, f"coat {name}")
        # Twice the cloth is twice as stiff: E times thickness rises with the weight, so its doubt counts in both.
        stiff = modulus * density / _COAT_DENSITY
        return self._add(Stuff(name, stiff, stiff * COAT_SHEAR_RATIO, density, is_shell=True)), coat.g_per_m2

    # --- sections ---

    def _section(self, station: float) -> Slabs:
        """Return the section at a span station: columns of wood, cut where another wood begins, with their shells."""
        reaches = [(strip, strip.reach(station)) for strip in self.strips]
        cuts = sorted(u for _, reach in reaches for u in reach)
        groups = []
        for piece in self.pieces:
            for begin, end in stretches_at(piece.rings, station):
                places = [begin, *(u for u in cuts if begin < u < end), end]
                for low, high in pairwise(places):
                    middle = (low + high) / 2
                    strip = next((one for one, (a, b) in reaches if a <= middle <= b), None)
                    factor = piece.factor(middle, station)
                    columns = columns_at(self.carving.panel, station, low, high)
                    groups.append(_stacked(columns, piece.kind, factor, strip, self.shells))
        return Slabs.together(groups)


def _faces(skin: SkinTable) -> tuple[bool, ...]:
    return {"both": (True, False), "top": (True,), "bottom": (False,)}[skin.faces]


def _stacked(columns: Columns, kind: int, factor: float, strip: _Strip | None, shells: list[_Shell]) -> Slabs:
    """Return columns as slabs: the piece's wood, what is let into it, and the layers on its faces outwards."""
    layers: list[tuple[Floats, Floats, Floats, int, float]] = []
    low, high, width = columns.low, columns.high, columns.width
    if strip is None:
        layers.append((width, low, high, kind, factor))
    elif strip.depth_mm is None:
        layers.append((width, low, high, strip.kind, 1.0))
    else:
        deep = np.minimum(strip.depth_mm, (high - low) / 2)
        layers.append((width, low, low + deep, strip.kind, 1.0))
        layers.append((width, low + deep, high - deep, kind, factor))
        layers.append((width, high - deep, high, strip.kind, 1.0))
    for shell in shells:
        if shell.is_top:
            layers.append((columns.above, high, high + shell.thickness_mm, shell.kind, 1.0))
            high = high + shell.thickness_mm
        else:
            layers.append((columns.below, low - shell.thickness_mm, low, shell.kind, 1.0))
            low = low - shell.thickness_mm
    count = len(columns.u)
    return Slabs(
        x=np.tile(columns.u, len(layers)),
        width=np.concatenate([layer[0] for layer in layers]),
        low=np.concatenate([layer[1] for layer in layers]),
        high=np.concatenate([layer[2] for layer in layers]),
        kind=np.repeat([layer[3] for layer in layers], count),
        column=np.tile(np.arange(count), len(layers)),
        factor=np.repeat([layer[4] for layer in layers], count),
    )
