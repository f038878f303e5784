"""The stages of a job, each made once from exactly what it reads; the command line and the desk share them.

A stage is a function of named values. `Memo` keeps its result under a hash of those very values, so that a result can
be used again only where nothing that it was made from is another one: an input that is not handed over cannot be read,
and one that is handed over cannot be left out of the hash.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from functools import cached_property
from typing import Any, TypeVar

import numpy as np
from pydantic import BaseModel

from nesting.balance.weights import WeightTable
from nesting.job.balancing import Balanced, balance_model
from nesting.job.deriving import AllParts
from nesting.job.done_parts import done_parts, placeless_copies, read_parts
from nesting.job.folder import Job
from nesting.job.given import Given, given_by
from nesting.job.laid import Laid, kept_layout
from nesting.job.laying import copies_by_hand, inputs_hash, proved_layout, weigh_job
from nesting.job.model_values import Model, model_of
from nesting.job.plans import OpenPlan, open_plans
from nesting.job.rack_files import RackAtHand
from nesting.job.rules import rules_of
from nesting.job.tracing import JobTrace, derive_parts, trace_job
from nesting.job.wood import wood_of
from nesting.place.layout import Layout
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import JobError, SheetwoodError
from vectorize.basics.notes import Note
from vectorize.basics.watch import Watcher, unwatched

Result = TypeVar("Result")
MOST_RESULTS = 8
"""So many results of each stage are kept, the newest: what undo and redo go back and forth between."""


class Memo:
    """Results of stages, each under a hash of the stage and of all that was handed to it."""

    def __init__(self) -> None:
        self._kept: dict[str, dict[bytes, Any]] = {}
        self._lock = threading.Lock()

    def of(self, stage: Callable[..., Result], **inputs: Any) -> Result:  # noqa: ANN401 - whatever the stage takes
        """Return what `stage` makes of `inputs`, made now or before; errors are not kept.

        Raises:
            TypeError: A value that cannot be hashed as a whole.
        """
        name, key = stage.__qualname__, fingerprint(inputs)
        with self._lock:
            kept = dict(self._kept.setdefault(name, {}))
        result: Result = kept[key] if key in kept else stage(**inputs)
        return self._keep(name, key, result, MOST_RESULTS)

    def plan(self, plan: OpenPlan, *, most: int) -> OpenPlan:
        """Return the plan that was opened before from the same table and files, with its page, else this one.

        Pages are large: of all jobs together only the newest `most` plans are kept.
        """
        try:
            key = plan.made_from.encode()
        except SheetwoodError:
            return plan  # its file cannot be read: told where its page is needed
        with self._lock:
            found: OpenPlan = self._kept.setdefault("plan", {}).get(key, plan)
        return self._keep("plan", key, found, most)

    def _keep(self, name: str, key: bytes, result: Result, most: int) -> Result:
        with self._lock:
            kept = self._kept[name]
            kept.pop(key, None)
            kept[key] = result
            while len(kept) > most:
                kept.pop(next(iter(kept)))
        return result


def fingerprint(value: object) -> bytes:
    """Return a hash that is another one whenever anything in `value` is, at any depth, and the same for equal values.

    Raises:
        TypeError: A value that is not made of numbers, texts, tables, lists and our own frozen values.
    """
    found = hashlib.sha256()

    def put(piece: bytes) -> None:
        found.update(len(piece).to_bytes(8, "big") + piece)

    _write_down(value, put)
    return found.digest()


def _write_down(value: object, put: Callable[[bytes], None]) -> None:
    """Write a value down whole, in pieces that no other value has in that order; a plan by its sources."""
    put(type(value).__qualname__.encode())
    match value:
        case None | bool() | int() | float() | str() | bytes() | date() | np.generic():
            put(repr(value).encode())
        case OpenPlan():
            put(value.made_from.encode())
        case np.ndarray():
            put(f"{value.dtype} {value.shape}".encode())
            put(value.tobytes())
        case tuple() | list():
            put(str(len(value)).encode())
            for one in value:
                _write_down(one, put)
        case set() | frozenset():
            for found in sorted(map(fingerprint, value)):
                put(found)
        case Mapping():
            _write_down([*value.items()], put)
        case BaseModel():
            _write_down([vars(value), value.model_fields_set], put)
        case Exception():
            _write_down(value.args, put)
        case _ if is_dataclass(value):
            _write_down([(field.name, getattr(value, field.name)) for field in fields(value)], put)
        case _:
            raise TypeError(f"a {type(value).__qualname__} cannot be hashed as a whole")


class Stages:
    """Everything that follows from a job, each stage made when it is first asked for.

    What a stage raises is raised again whenever it is asked for.
    """

    def __init__(
        self, job: Job, *, progress: Watcher = unwatched, memo: Memo | None = None, is_fresh: bool = False
    ) -> None:
        self.job, self.progress, self.memo, self.is_fresh = job, progress, memo or Memo(), is_fresh

    @cached_property
    def plans(self) -> dict[str, OpenPlan]:
        """Return the job's plans by name, those that were read before with what is known of them.

        Raises:
            JobError: There is none.
        """
        return open_plans(self.job, is_fresh=self.is_fresh)

    @cached_property
    def trace(self) -> JobTrace:
        """Return every part's outline; raises as `trace_job`."""
        return trace_job(self.job, is_fresh=self.is_fresh, progress=self.progress, plans=self.plans)

    @cached_property
    def given(self) -> Given:
        """Return what parts are made from besides outlines."""
        return given_by(self.job)

    @cached_property
    def made(self) -> AllParts:
        """Return all parts, carvings and glued seams; raises as `derive_parts`."""
        return self.memo.of(derive_parts, given=self.given, outlines=self.trace.outlines, plans=self.plans)

    @property
    def parts(self) -> tuple[Part, ...]:
        """Return the parts; raises as `derive_parts`."""
        return self.made.parts

    @property
    def rack(self) -> RackAtHand:
        """Return the rack, or why it cannot be used."""
        return self.given.rack

    @property
    def boards(self) -> tuple[Board, ...]:
        """Return the boards of the rack.

        Raises:
            RackError: There is none, or one that cannot be used.
        """
        return self.rack.needed()

    @cached_property
    def laid(self) -> tuple[Laid | None, bool]:
        """Return the kept layout, proved anew, and whether it was made from the job as it is now."""
        return laid_of(self.job, self.parts, self.boards, kept_layout(self.job), self.memo)

    @property
    def layout(self) -> Layout | None:
        """Return the kept layout where it was made from the job as it is now, and is proved."""
        laid, is_current = self.laid
        return laid.layout if laid is not None and is_current else None

    def need_layout(self) -> Layout:
        """Return the kept layout.

        Raises:
            JobError: There is none that fits the job as it is now.
        """
        if self.layout is None:
            raise JobError(
                "there is no layout that fits this job's parts and rack as they are; run `sheetwood nest` first, "
                "and cut the boards as it says."
            )
        return self.layout

    @property
    def notes(self) -> tuple[Note, ...]:
        """Return what was said of outlines and parts."""
        return (*self.trace.notes, *self.made.notes)

    @cached_property
    def weights(self) -> WeightTable:
        """Return what every copy weighs: from where it lies if it lies somewhere, else from the lightest match."""
        return weights_of(self.job, self.parts, self.boards, self.layout, self.memo)

    @cached_property
    def model(self) -> Model:
        """Return everything that the job says of its model; raises as the stages before, and `model_of`."""
        return model_of(self.job, self.trace, self.made, self.boards, self.plans, self.weights, self.layout)

    @cached_property
    def balance(self) -> Balanced:
        """Return the balance of the model; raises as `balance_model`."""
        return self.memo.of(balance_model, model=self.model)


def laid_of(
    job: Job, parts: tuple[Part, ...], boards: tuple[Board, ...], laid: Laid | None, memo: Memo
) -> tuple[Laid | None, bool]:
    """Return a layout proved anew, and whether it was made from the parts, boards and rules as they are now."""
    if laid is None:
        return None, False
    cut = placeless_copies(job.spec, parts)
    found = memo.of(proved_layout, laid=laid, parts=parts, boards=boards, rules=rules_of(job), cut=cut)
    return found, found.layout.proof.is_proved and laid.made_from == inputs_hash(job, parts, boards)


def weights_of(
    job: Job, parts: tuple[Part, ...], boards: tuple[Board, ...], layout: Layout | None, memo: Memo
) -> WeightTable:
    """Return what every copy weighs on its board of the layout, or without one on its lightest match."""
    names = [part.name for part in parts]
    return memo.of(
        weigh_job,
        parts=parts,
        boards=boards,
        layout=layout,
        rules=rules_of(job),
        wood=wood_of(job.spec),
        by_hand=copies_by_hand(job),
        done=done_parts(job.spec, names),
        read=read_parts(job.spec, names),
    )


def remembered(stages: Stages) -> Stages:
    """Let the stages use the plans that their memo has read before, each of the job's with its page."""
    plans = stages.plans
    most = max(2, len(plans))
    stages.__dict__["plans"] = {name: stages.memo.plan(plan, most=most) for name, plan in plans.items()}
    return stages
