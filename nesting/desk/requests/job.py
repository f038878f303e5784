"""What may be asked to be changed of the job as a whole."""

from __future__ import annotations

from typing import Literal

from nesting.desk.fields import Edit, Name


class SetJob(Edit):
    """Name of the job, or the units it is shown in."""

    kind: Literal["set-job"]
    field: Literal["name", "units"]
    value: Name
