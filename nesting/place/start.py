"""Where a search starts: parts settled one after the other, or an earlier layout taken up again."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from nesting.place.improve import PATIENCE, STRIKES, Race, measure, separate
from nesting.place.kernel_arrays import Floats, Ints, Scene, copy_scene
from nesting.place.layout import BoardLayout, Placement
from nesting.place.move import put
from nesting.place.rng import seeded
from nesting.place.search_space import Yard
from nesting.place.settle import settle_all
from nesting.place.sweep import refresh_all
from vectorize.shapes.outline import Pose

_SAMPLES = 120
_ORDERS = 6
_FEW = 60
_SAME_DEG = 1e-6


def first_layout(yard: Yard, seed: int) -> tuple[Scene, list[int]]:
    """Return the best of some layouts made piece by piece, and the numbers of pieces that found no place.

    Orders tried: largest first, longest first, widest first, and the first shuffled a little. More than
    the first is tried only for few pieces, or where something found no place.
    """
    best: tuple[tuple[float, ...], Scene, list[int]] | None = None
    for number, order in enumerate(_orders(yard, seed)):
        scene = copy_scene(yard.scene)
        left = np.empty(len(order), np.int64)
        boards = np.arange(len(yard.boards))
        state = seeded(seed, number)
        missing = settle_all(yard.bank, yard.choice, scene, order, boards, _SAMPLES, state, left)
        scene.what[left[:missing], 1] = -1
        taken = measure(yard, scene)
        quality = (float(yard.choice.area[left[:missing]].sum()), taken.last, taken.length)
        if best is None or quality < best[0]:
            best = (quality, scene, sorted(left[:missing].tolist()))
        if len(order) > _FEW and not best[2]:
            break
    if best is None:
        return copy_scene(yard.scene), []
    return best[1], best[2]


def _orders(yard: Yard, seed: int) -> list[Ints]:
    if not yard.pieces:
        return []
    area = yard.choice.area
    form = np.array([_first_form(yard, number) for number in range(len(area))])
    length, width = form[:, 2] - form[:, 0], form[:, 3] - form[:, 1]
    chance = np.random.default_rng([seed % 2**63, 7])
    keys = [area, length, width, *(area * chance.uniform(0.7, 1.3, len(area)) for _ in range(_ORDERS - 3))]
    return [np.argsort(-key, kind="stable").astype(np.int64) for key in keys]


def _first_form(yard: Yard, number: int) -> Floats:
    kind = yard.choice.kind[number]
    first, end = yard.choice.off[kind], yard.choice.off[kind + 1]
    return yard.bank.form[yard.choice.variant[first]] if end > first else np.zeros(yard.bank.form.shape[1])


def squeeze_in(
    yard: Yard, scene: Scene, missing: Sequence[int], *, race: Race, share: float
) -> tuple[Yard, Scene, list[int]]:
    """Return a yard and a layout with as many of the `missing` pieces as the search can add, smallest first.

    Also returned: the numbers of the pieces that still found no place. Pieces of the yard returned are those placed.
    """
    placed = [k for k in range(len(yard.pieces)) if k not in set(missing)]
    left: list[int] = []
    for k in sorted(missing, key=lambda k: (yard.choice.area[k], k)):
        trial = yard.only([*placed, k])
        target = copy_scene(trial.scene)
        for row, number in enumerate(placed):
            target.spot[row], target.what[row] = scene.spot[number], scene.what[number]
        target.what[len(placed), 1] = -1
        winner = None
        if race.budget.spent() < share:
            race.enter_yard(trial)
            winner = separate(race, target, share=share, patience=PATIENCE // 2, strikes=STRIKES, is_stubborn=False)
        if winner is None:
            left.append(k)
            continue
        placed.append(k)
        for row, number in enumerate(placed):
            scene.spot[number], scene.what[number] = winner.scene.spot[row], winner.scene.what[row]
    final = yard.only(placed)
    layout = copy_scene(final.scene)
    for row, number in enumerate(placed):
        layout.spot[row], layout.what[row] = scene.spot[number], scene.what[number]
    return final, layout, sorted(left)


def scene_of(yard: Yard, layouts: Sequence[BoardLayout]) -> Scene | None:
    """Return an earlier layout as a scene, or None where it does not hold all pieces or does not fit any more."""
    scene = taken_up(yard, layouts)
    if scene is None:
        return None
    room = yard.rooms[scene.what[: len(yard.pieces), 1]]
    spots = scene.spot[: len(yard.pieces)]
    is_inside = bool(np.all(spots[:, :2] >= room[:, :2] - 1e-7) and np.all(spots[:, 2:4] <= room[:, 2:] + 1e-7))
    severities = np.zeros((len(scene.spot), len(scene.spot)))
    scratch = np.empty(len(yard.bank.edges), np.int64)
    is_free = refresh_all(yard.bank, scene, severities, len(yard.pieces), scratch) == 0.0
    return scene if is_inside and is_free else None


def taken_up(yard: Yard, layouts: Sequence[BoardLayout]) -> Scene | None:
    """Return the scene in which every piece lies where the layouts have it, free of overlap or not.

    None where a piece is in none of them, or lies in a way that the yard does not know.
    """
    at = {(p.part, p.copy): (layout.board, p) for layout in layouts for p in layout.placements}
    number_of = {board.name: b for b, board in enumerate(yard.boards)}
    scene = copy_scene(yard.scene)
    for k, piece in enumerate(yard.pieces):
        found = at.get(piece.copies[0])
        if found is None or found[0] not in number_of:
            return None
        spot = _spot_of(yard, k, number_of[found[0]], found[1])
        if spot is None:
            return None
        variant, x, y = spot
        put(yard.bank, scene, k, number_of[found[0]], variant, x, y)
    return scene


def _spot_of(yard: Yard, number: int, board: int, placement: Placement) -> tuple[int, float, float] | None:
    """Return variant and reference point of a placement, if one of the variants has its turn and side."""
    kind = yard.choice.kind[number]
    for pick in range(int(yard.choice.off[kind]), int(yard.choice.off[kind + 1])):
        if yard.choice.board[pick] != board:
            continue
        variant = int(yard.choice.variant[pick])
        own: Pose = yard.variants[variant].members[0][1]
        off = (own.angle_deg - placement.pose.angle_deg) % 360.0
        if own.is_flipped == placement.pose.is_flipped and min(off, 360.0 - off) < _SAME_DEG:
            x = placement.pose.x_mm - own.x_mm + yard.offsets_mm[board]
            return variant, x, placement.pose.y_mm - own.y_mm
    return None
