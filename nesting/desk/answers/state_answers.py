"""How the job stands, and the answers to what the page does."""

from __future__ import annotations

from typing import Literal, TypedDict

from nesting.desk.answers.balance_answers import Balance
from nesting.desk.answers.plan_answers import Pair, Part, Plan, Points, Said, Table
from nesting.desk.answers.rack_answers import Board, Layout, Shopping, Weights
from nesting.job.model_schema import AccuracyTable
from nesting.job.schema import NestTable, PatternTable


class TaskNews(TypedDict):
    """A piece of work that goes on in the background, or the last one of its kind."""

    number: int
    kind: str
    title: str
    state: Literal["running", "done", "failed", "stopped"]
    text: str
    share: float | None


class JobHead(TypedDict):
    """What the job is called and how it is shown."""

    name: str
    units: Literal["mm", "in"]


class ResultFile(TypedDict):
    """A pattern file that was written."""

    name: str
    bytes: int


class Carved(TypedDict):
    """A panel that the job carves, and the ways to build it that `[[flex.option]]` names."""

    part: str
    options: list[str]


class NextStep(TypedDict):
    """What the builder does next, and the view where it is done."""

    code: str
    text: str
    view: Literal["plan", "parts", "rack", "weight", "patterns"]


class StateOfNoJob(TypedDict):
    """What is said where there is no job, or none that can be read."""

    revision: str
    folder: str
    tasks: list[TaskNews]
    undo: str | None
    redo: str | None
    is_empty: bool
    is_followed: bool
    fault: str | None


class State(StateOfNoJob):
    """Everything that the page shows of the job."""

    job: JobHead
    plans: list[Plan]
    parts: list[Part]
    boards: list[Board]
    rack_fault: str | None
    weights: Weights | None
    balance: Balance
    layout: Layout | None
    nest: NestTable
    accuracy: AccuracyTable
    gap_mm: float
    pattern: PatternTable
    shopping: Shopping | None
    files: list[ResultFile]
    next: NextStep | None
    carved: list[Carved]
    notes: list[Said]
    seen: Table
    """The prints of all entries that edits name by their number, in tables as in the job itself."""


class EditAnswer(TypedDict):
    """An edit was made; `told` is what is to be said of it beyond what was asked for."""

    revision: str
    told: str | None


class TurnAnswer(TypedDict):
    """The step that was taken back or done again."""

    title: str


class FormField(TypedDict):
    """One field of a step or a carving: kind of value, label, and what holds where nothing is given."""

    key: str
    kind: str
    label: str
    ends: tuple[str, str]
    is_needed: bool
    default: str | None
    choices: list[str | int]


class StepForm(TypedDict):
    """The form of one kind of step."""

    make: str
    title: str
    fields: list[FormField]


class FormsAnswer(TypedDict):
    """The forms of all kinds of steps, and of a carving."""

    steps: list[StepForm]
    carve: list[FormField]


class OffcutSize(TypedDict):
    """Size of a board that was found on a photo, its mass by a density, its density by a mass."""

    size_mm: Pair
    area_mm2: float
    mass_g: float | None
    density_kg_m3: float | None


class OffcutAnswer(TypedDict):
    """A board as it was found on a photo."""

    number: int
    size_px: tuple[int, int]
    outline_px: list[Points]
    corners_px: tuple[Pair, Pair, Pair, Pair]
    notes: list[Said]
    size_mm: Pair
    area_mm2: float
