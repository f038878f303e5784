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
from nesting.desk.requests.finish import DropFinish, DropJoint, PutFinish, PutJoint
from nesting.desk.requests.job import SetJob
from nesting.desk.requests.parts import (
    AddPart,
    AddPick,
    CutPart,
    DropMark,
    DropPart,
    DropPick,
    DropStep,
    MakePart,
    MarkCut,
    MoveStep,
    PutMark,
    PutStep,
    SetCarve,
    SetOutline,
    SetPart,
    SetSubstitutes,
)
from nesting.desk.requests.patterns import DropBlade, MeasuredBars, PutBlade, SetPattern
from nesting.desk.requests.plan import AddBridge, AddKnown, DropBridge, DropKnown, SetPlan, SetSheet
from nesting.desk.requests.rack import (
    AddBlemish,
    AddBoards,
    DropBlemish,
    DropBoard,
    PinCopy,
    PlaceCopy,
    SetAccuracy,
    SetBoard,
    SetNest,
    TieParts,
)
from nesting.desk.requests.read import AnyEdit, read_edit, read_place, read_wanted

__all__ = [
    "AddBlemish", "AddBoards", "AddBridge", "AddKnown", "AddPart", "AddPick", "AddReading", "AnyEdit", "CutPart",
    "DropBlade", "DropBlemish", "DropBoard", "DropBridge", "DropFinish", "DropItem", "DropJoint", "DropKnown",
    "DropMark", "DropPart", "DropPick", "DropReading", "DropStep", "MakePart", "MarkCut", "MeasuredBars", "MoveStep",
    "PinCopy", "PlaceCopy", "PutAlternative", "PutBlade", "PutFinish", "PutItem", "PutJoint", "PutMark", "PutStep",
    "SetAccuracy", "SetBalance", "SetBoard", "SetCarve", "SetChord", "SetInPlace", "SetJob", "SetNest", "SetOutline",
    "SetPart", "SetPattern", "SetPlan", "SetRange", "SetSeat", "SetSheet", "SetSubstitutes", "TieParts", "read_edit",
    "read_place", "read_wanted",
]  # fmt: skip
