"""What may be asked to be changed of what is put on the wood: covering, paint, glue."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from nesting.desk.fields import Name, OfEntry, OfEntryOrNew

_Names = Annotated[tuple[Name, ...], Field(max_length=1000)]
_Some = Annotated[tuple[Name, ...], Field(min_length=1, max_length=1000)]


class PutFinish(OfEntryOrNew):
    """The coats on the faces of some parts, in place of finish `number` counted from 0; None adds one."""

    kind: Literal["put-finish"]
    parts: _Some
    both: _Names = ()
    top: _Names = ()
    bottom: _Names = ()
    edges: _Names = ()
    sanding: Name | None = None


class DropFinish(OfEntry):
    """Take a finish away."""

    kind: Literal["drop-finish"]


class PutJoint(OfEntryOrNew):
    """A glued joint between parts, in place of joint `number` counted from 0; None adds one."""

    kind: Literal["put-joint"]
    name: Name
    parts: _Some
    glue: Name
    length: Name
    width: Name


class DropJoint(OfEntry):
    """Take a glued joint away."""

    kind: Literal["drop-joint"]


AboutFinish = PutFinish | DropFinish | PutJoint | DropJoint
"""Every edit of what is put on the wood."""
