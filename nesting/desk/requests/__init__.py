"""What the page may ask to be changed: one class for each kind of edit, strict about its fields."""

from nesting.desk.requests.balance import (
    AddReading,
    DropItem,
    DropReading,
    PutAlternative,
    PutItem,
    SetBalance,
    SetChord,
    SetInPlace,
    SetRange,
    SetSeat,
)
from nesting.desk.requests.job import SetJob
from nesting.desk.requests.parts import (
    AddPart,
    AddPick,
    CutPart,
    DropPart,
    DropPick,
    DropStep,
    MakePart,
    MarkCut,
    MoveStep,
    PutStep,
    SetCarve,
    SetOutline,
    SetPart,
)
from nesting.desk.requests.patterns import MeasuredBars, SetPattern
from nesting.desk.requests.plan import AddBridge, AddKnown, DropBridge, DropKnown, SetPlan, SetSheet
from nesting.desk.requests.rack import (
    AddBlemish,
    AddBoards,
    DropBlemish,
    DropBoard,
    PinCopy,
    PlaceCopy,
    SetBoard,
    SetNest,
    TieParts,
)
from nesting.desk.requests.read import AnyEdit, read_edit, read_place, read_wanted

__all__ = [
    "AddBlemish", "AddBoards", "AddBridge", "AddKnown", "AddPart", "AddPick", "AddReading", "AnyEdit", "CutPart",
    "DropBlemish", "DropBoard", "DropBridge", "DropItem", "DropKnown", "DropPart", "DropPick", "DropReading",
    "DropStep", "MakePart", "MarkCut", "MeasuredBars", "MoveStep", "PinCopy", "PlaceCopy", "PutAlternative",
    "PutItem", "PutStep", "SetBalance", "SetBoard", "SetCarve", "SetChord", "SetInPlace", "SetJob", "SetNest",
    "SetOutline", "SetPart", "SetPattern", "SetPlan", "SetRange", "SetSeat", "SetSheet", "TieParts", "read_edit",
    "read_place", "read_wanted",
]  # fmt: skip
