from dataclasses import dataclass, field
from typing import Annotated, Literal

import pytest
from pydantic import Field, TypeAdapter, ValidationError

from vectorize.basics.quantity import Angle, Length
from vectorize.basics.spec_table import Written, fields_in


@dataclass(frozen=True, slots=True)
class Peg(Written):
    make: Literal["peg"] = field(default="peg", kw_only=True)
    width_mm: Length
    mate: Annotated[str, Field(alias="for")]
    angle_deg: Angle = 90.0


READER = TypeAdapter(Peg)


def test_a_table_is_read_as_the_value_that_does_the_work():
    read = READER.validate_python({"make": "peg", "width": "1/4 in", "for": "rib"})
    assert read == Peg(6.35, "rib", angle_deg=90.0)


@pytest.mark.parametrize("key", ["width_mm", "mate", "angel"])
def test_only_the_words_of_the_file_are_keys(key):
    with pytest.raises(ValidationError, match=key):
        READER.validate_python({"make": "peg", "width": "1 mm", "for": "rib", key: "1 mm"})


def test_what_is_known_of_its_fields_is_what_the_dataclass_says():
    found = fields_in(Peg)
    assert {name: one.alias for name, one in found.items()} == {
        "make": "make", "width_mm": "width", "mate": "for", "angle_deg": "angle",
    }  # fmt: skip
    assert {name for name, one in found.items() if one.is_required()} == {"make", "width_mm", "mate"}
