"""Reading what the page sends: the kind tells which edit it is, and unknown fields are refused."""

from __future__ import annotations

from typing import Annotated, TypeVar

from pydantic import Field, TypeAdapter, ValidationError

from nesting.desk.fields import Edit
from nesting.desk.requests.balance import AboutBalance
from nesting.desk.requests.finish import AboutFinish
from nesting.desk.requests.job import SetJob
from nesting.desk.requests.parts import AboutParts
from nesting.desk.requests.patterns import AboutPatterns
from nesting.desk.requests.plan import AboutPlan
from nesting.desk.requests.rack import AboutRack, PlaceCopy
from nesting.job.faults import first_fault
from vectorize.basics.errors import CallError

Wanted = TypeVar("Wanted")
Form = TypeVar("Form", bound=Edit)

AnyEdit = Annotated[
    SetJob | AboutPlan | AboutParts | AboutRack | AboutBalance | AboutFinish | AboutPatterns,
    Field(discriminator="kind"),
]
_PLACE: TypeAdapter[PlaceCopy] = TypeAdapter(PlaceCopy)
_EDIT: TypeAdapter[AnyEdit] = TypeAdapter(AnyEdit)


def read_edit(data: object) -> AnyEdit:
    """Return the edit that `data` (parsed JSON) asks for.

    Raises:
        CallError: An unknown kind, a missing or unknown field, or a value of the wrong type.
    """
    return _read(_EDIT, data, root=AnyEdit)


def read_place(data: object) -> PlaceCopy:
    """Return the placement that `data` (parsed JSON) asks for; raises as `read_edit`."""
    return _read(_PLACE, data, root=PlaceCopy)


def read_wanted(form: type[Form], data: object) -> Form:
    """Return what `data` (parsed JSON) asks for in a form of its own; raises as `read_edit`."""
    return _read(TypeAdapter(form), data, root=form)


def _read(reader: TypeAdapter[Wanted], data: object, *, root: object) -> Wanted:
    try:
        return reader.validate_python(data)
    except ValidationError as error:
        raise CallError(first_fault(error, data, root=root)) from error
