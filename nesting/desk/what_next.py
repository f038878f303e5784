"""What a builder does next, from the scan to the cut wood: one sentence, and the view where it is done."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from glob import escape
from pathlib import Path
from typing import Literal

from nesting.balance.weights import WeightTable
from nesting.desk.standing import Standing
from nesting.job.done_parts import done_parts, read_parts
from nesting.job.folder import file_name_for
from nesting.job.laid import LAYOUT_FILE, Laid
from nesting.job.schema import JobSpec
from nesting.wood.part import Part
from vectorize.basics.wording import listed

View = Literal["plan", "parts", "rack", "weight", "patterns"]
_DOUBTS = ("doubtful", "doubtful-corner")
_MOST_LETTERS = 40


@dataclass(frozen=True, slots=True)
class Stood:
    """How far a job has come: what it asks for, what was made of it, its layout and weights.

    `drawn` tells whether patterns of that layout were drawn, `old` that they are of an earlier one.
    """

    spec: JobSpec
    standing: Standing
    laid: Laid | None = None
    is_current: bool = False
    weights: WeightTable | None = None
    drawn: Literal["none", "old", "new"] = "none"

    @property
    def to_cut(self) -> tuple[Part, ...]:
        """Return the parts that nobody has cut or weighed yet."""
        done = done_parts(self.spec, self._names)
        return tuple(part for part in self.standing.parts if part.name not in done)

    @property
    def to_weigh(self) -> list[str]:
        """Return the names of the parts that no scale has read."""
        read = read_parts(self.spec, self._names)
        return [name for name in self._names if name not in read]

    @property
    def _names(self) -> list[str]:
        return [part.name for part in self.standing.parts]


@dataclass(frozen=True, slots=True)
class NextStep:
    """What comes next, in one sentence, and the view where it is done; `code` tells it from the others."""

    code: str
    text: str
    view: View


def what_next(stood: Stood) -> NextStep:
    """Return the first thing between this job and its cut wood that is not done; at the end, that nothing is left."""
    found = (ask(stood) for ask in _IN_ORDER)
    return next((step for step in found if step is not None), _AT_THE_END)


def patterns_drawn(out: Path, laid: Laid | None) -> Literal["none", "old", "new"]:
    """Return whether every board of a layout has its pattern in `out`, drawn after the layout was kept."""
    stems = [f"board-{file_name_for(board.board)}" for board in laid.layout.boards] if laid else []
    drawn = [max((path.stat().st_mtime for path in out.glob(f"{escape(stem)}.*")), default=None) for stem in stems]
    times = [time for time in drawn if time is not None]
    if not times:
        return "none"
    kept_at = (out / LAYOUT_FILE).stat().st_mtime
    return "new" if len(times) == len(stems) and min(times) >= kept_at else "old"


_AT_THE_END = NextStep("done", "Everything is cut and weighed: look where the model balances.", "weight")


def _plan(stood: Stood) -> NextStep | None:
    if not stood.spec.plan:
        return NextStep("plan", "Drop a plan anywhere on this page.", "plan")
    if lost := [plan.name for plan in stood.standing.plans if not plan.width]:
        return NextStep("plan-fault", f"Look at {_few(lost)}: it cannot be read as it is.", "plan")
    return None


def _scale(stood: Stood) -> NextStep | None:
    unmeasured = [plan.name for plan in stood.standing.plans if plan.scale is None]
    if not unmeasured:
        return None
    return NextStep("scale", f"Give a known length on {_few(unmeasured)}, so that parts have their size.", "plan")


def _picks(stood: Stood) -> NextStep | None:
    return None if stood.spec.part else NextStep("parts", "Pick the first part on the plan.", "plan")


def _parts(stood: Stood) -> NextStep | None:
    if lost := list(stood.standing.faults.by_part):
        return NextStep("part-fault", f"See what {_few(lost)} still {_verb(lost, 'needs', 'need')}.", "parts")
    return None


def _doubts(stood: Stood) -> NextStep | None:
    """Return the doubts about outlines, until the parts are laid out: whoever went on has seen them."""
    names = {note.part for note in stood.standing.notes if note.code in _DOUBTS and note.state == "open" and note.part}
    if not names or stood.laid is not None:
        return None
    return NextStep("doubts", f"Look at the outline of {_few(sorted(names))}: it may be another one.", "plan")


def _boards(stood: Stood) -> NextStep | None:
    if stood.standing.faults.rack is not None:
        return NextStep("rack-fault", "See to the rack: no boards can be read from it yet.", "rack")
    return None if stood.standing.boards or not stood.to_cut else NextStep("boards", "Add the boards you have.", "rack")


def _wood(stood: Stood) -> NextStep | None:
    known = set() if stood.weights is None else {weight.part for weight in stood.weights.weights}
    bare = [part.name for part in stood.to_cut if part.name not in known]
    if not bare:
        return None
    return NextStep("no-board", f"Find a board for {_few(bare)}: none on the rack suits.", "rack")


def _layout(stood: Stood) -> NextStep | None:
    if not stood.to_cut:
        return None
    if stood.laid is None:
        return NextStep("lay-out", "Lay the parts out on the boards.", "rack")
    if not stood.is_current:
        return NextStep("lay-out", "Lay the parts out anew: something has changed since.", "rack")
    if left := sorted({one.part for one in stood.laid.layout.unplaced}):
        return NextStep("no-room", f"Make room for {_few(left)}: the boards are full.", "rack")
    return None


def _patterns(stood: Stood) -> NextStep | None:
    if not stood.to_cut or stood.drawn == "new":
        return None
    text = "Draw the patterns." if stood.drawn == "none" else "Draw the patterns anew: the layout is another one now."
    return NextStep("patterns", text, "patterns")


def _cutting(stood: Stood) -> NextStep | None:
    left, all_parts = len(stood.to_cut), len(stood.standing.parts)
    if not left:
        return None
    already = f": {all_parts - left} of {all_parts} parts are cut" if left < all_parts else ""
    return NextStep("cut", f"Print the patterns and cut the wood{already}.", "patterns")


def _weighing(stood: Stood) -> NextStep | None:
    if not stood.to_weigh:
        return None
    return NextStep("weigh", f"Put {_few(stood.to_weigh)} on the scale.", "weight")


_IN_ORDER: tuple[Callable[[Stood], NextStep | None], ...] = (
    _plan,
    _scale,
    _picks,
    _parts,
    _doubts,
    _boards,
    _wood,
    _layout,
    _patterns,
    _cutting,
    _weighing,
)


def _few(names: Collection[str]) -> str:
    return listed(names, _MOST_LETTERS)


def _verb(names: Collection[str], one: str, many: str) -> str:
    return one if len(names) == 1 else many
