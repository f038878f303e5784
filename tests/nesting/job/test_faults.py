"""What is said of a wrong table: table, key, what was found, what is expected; short, and nothing of the program."""

import copy
import re
import tomllib

import pytest
from pydantic import TypeAdapter, ValidationError

from nesting.desk.requests import read_edit
from nesting.job.bare import parse_known
from nesting.job.faults import first_fault
from nesting.job.folder import checked_spec, read_spec
from nesting.job.schema import PartTable
from tests.nesting.job.test_schema import EXAMPLES
from vectorize.basics.errors import CallError, JobError

INTERNALS = re.compile(
    r"function-|_read|NoneType|validat|pydantic|Traceback|discriminator|union|tuple|\bdict|\bint\b|\bstr\b|datetime|"
    r"[Ii]nput should|[a-z]Table\b"
)
"""Words of the program, never of a builder."""

PART = '[[part]]\nname = "fin"\n'
CARVE = PART + "[part.carve]\nspan = [[1, 2], [3, 4]]\nleading = [1, 2]\n"


def told(text):
    with pytest.raises(JobError) as caught:
        read_spec(text)
    return str(caught.value)


def assert_well_worded(message):
    assert len(message) < 300, message
    assert message.isprintable(), message
    assert not INTERNALS.search(message), message


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (PART + 'count = "x"', "part 'fin', count is 'x'; it must be a whole number."),
        (PART + "thickness = { a = 1 }", "thickness is a table; it must be a length in quotes, like '3.5 mm'."),
        (PART + "grain_tolerance = [1]", "is [1]; it must be an angle in quotes, like '3.5 deg', or 'free'."),
        (PART + "grain = 3", "part 'fin', grain is 3; it must be a list in [ ] or a text in quotes."),
        (PART + "pick = [[inf, 1]]", "pick number 1 is [inf, 1]; it must be a point [x, y] in pixels"),
        (PART + "step = [3]", "part 'fin', step number 1 is 3; it must be a table."),
        (PART + 'step = [{ make = "hola" }]', "step number 1, make is 'hola'; did you mean 'hole'?"),
        (PART + 'step = [{ make = "x" }]', "make is 'x'; it must be one of 'doubler', 'opposite', "),
        (PART + "step = [{ at = [[1, 2]] }]", "part 'fin', step number 1, make is missing."),
        (PART + 'step = [{ make = "hole", at = [[1, 2]] }]', "part 'fin', step number 1, diameter is missing."),
        (
            PART + 'step = [{ make = "hole", at = ["x"], diameter = "3 mm" }]',
            "is 'x'; it must be a point [x, y] in pixels, or [x, y, file number], or a table with 'station'.",
        ),
        (
            PART + 'step = [{ make = "hole", at = [{ statio = "3 mm" }], diameter = "3 mm" }]',
            "at number 1, statio is not a known key; did you mean 'station'?",
        ),
        (
            CARVE + "section = 3",
            "section is 3; it must be a text in quotes or a table with 'nose', 'trailing' or a table with 'file'.",
        ),
        (CARVE + 'section = { filee = "x" }', "section, filee is not a known key; did you mean 'file'?"),
        (
            CARVE + 'section = { high_point = "30 %", trailing = "1 mm" }',
            "part 'fin', carve, section, nose is missing.",
        ),
        ('[balance]\naft = "rigth"', "balance, aft is 'rigth'; it must be a point [x, y]"),
        ("[part]\nname = 'fin'", "part is a table; it must be several: write [[part]] above each."),
        ("job = 1979-05-27", "job is 1979-05-27; it must be a table with 'format', 'name', 'units'."),
        (PART + f'thickness = "{"9" * 5000} mm"', "too long for a number with a unit; write it like '3.5 mm'."),
        (PART + f'thickness = "1{"0" * 30} mm"', "more than any length in a model can be; look for a slip."),
        (PART + f"count = {'9' * 500}", "…; it must be 10000 or less."),
        (PART + f"pick = [[{'9' * 500}, 1]]", "…; it must be a point [x, y] in pixels"),
        (f"a = {'[' * 5000}{']' * 5000}", "nested"),
        (f"{'.'.join('a' * 5000)} = 1", "a is not a known key"),
        (f'[[part]]\nname = "{"x" * 5000}"\nthickness = 3', "…', name is 'xxx"),
        (f"{'x' * 5000} = 3", "… is not a known key; known keys: job, plan"),
        ('"a\\u001b[31m" = 1', "a\\x1b[31m is not a known key"),
        ('[[plan]]\nfile = "a"\npage = 0', "plan number 1, page is 0; it must be 1 or more."),
    ],
    ids=lambda value: value[:40].replace("\n", " "),
)
def test_a_fault_says_where_what_and_what_instead(text, said):
    message = told(text)
    assert said in message
    assert_well_worded(message)


WRONG = [
    3,
    -1.5,
    True,
    "word",
    "",
    "x" * 400,
    "\u001b[2J\u0000",
    [],
    [1],
    [[]],
    {},
    {"a": 1},
    ["a", {"b": [1]}],
    10**400,
]


def places(table, at=()):
    """Give the way to every value of a table, at any depth."""
    items = table.items() if isinstance(table, dict) else enumerate(table) if isinstance(table, list) else ()
    for key, value in items:
        yield (*at, key)
        yield from places(value, (*at, key))


def spoilt(data, at, wrong):
    changed = copy.deepcopy(data)
    here = changed
    for key in at[:-1]:
        here = here[key]
    here[at[-1]] = wrong
    return changed


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda text: text.split("\n")[0])
def test_whatever_stands_in_whatever_place_is_well_told(example):
    data = tomllib.loads(example)
    refused = [
        (at, message)
        for number, at in enumerate(places(data))
        for wrong in WRONG[number % 3 :: 3]
        if (message := refusal(spoilt(data, at, wrong))) is not None
    ]
    assert refused
    for at, message in refused:
        assert_well_worded(message)
        keys = [key for key in at if isinstance(key, str)]
        assert keys[-1] in message or keys[0] in message


def refusal(data):
    """Return what is said of the tables of a job, None where they are read."""
    try:
        checked_spec(data)
    except JobError as error:
        return str(error)
    return None


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        ({"kind": "set-bord"}, "kind is 'set-bord'; did you mean 'set-board'?"),
        ({}, "kind is missing."),
        ({"kind": "drop-board"}, "board is missing."),
        ({"kind": "drop-board", "board": 3}, "board is 3; it must be a text in quotes."),
        ({"kind": "drop-board", "board": "B1", "bord": 3}, "bord is not a known key; did you mean 'board'?"),
        ({"kind": "set", "at": ["part", "fin"]}, "value is missing."),
        ({"kind": "set", "at": ["part", "fin", "pick", 0], "value": None}, "an entry by its number needs 'seen'"),
        (3, "it is 3; it must be a table."),
    ],
)
def test_the_desk_words_its_requests_alike(edit, said):
    with pytest.raises(CallError) as caught:
        read_edit(edit)
    assert said in str(caught.value)
    assert_well_worded(str(caught.value))


def test_a_known_dimension_that_no_picture_has_is_told():
    with pytest.raises(CallError, match=r"from is .*; it must be a point"):
        parse_known("1e999,2,3,4,300 mm")


def test_a_form_alone_is_told_without_a_table():
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(PartTable).validate_python({"nam": "fin"})
    assert first_fault(caught.value, {"nam": "fin"}, root=PartTable) == "nam is not a known key; did you mean 'name'?"
