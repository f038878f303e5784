"""What the desk answers to its page, as types: the one vocabulary of its JSON.

`nesting/desk/static/answers.d.ts` is written from these classes, so that the page's scripts are checked against
what the server says; a test holds real answers against them. Points are [x, y]; units stand in the names.
"""

from nesting.desk.answers.check_answers import CheckAnswer, TapAnswer
from nesting.desk.answers.finding_answers import FindingsAnswer
from nesting.desk.answers.plan_answers import (
    Alternative,
    Part,
    PictureAnswer,
    Plan,
    ReadingAnswer,
    RegionsAnswer,
    Said,
    SnapAnswer,
    StrokesAnswer,
)
from nesting.desk.answers.state_answers import (
    EditAnswer,
    FormsAnswer,
    OffcutAnswer,
    OffcutSize,
    State,
    StateOfNoJob,
    TaskNews,
    TurnAnswer,
)

__all__ = [
    "Alternative",
    "CheckAnswer",
    "EditAnswer",
    "FindingsAnswer",
    "FormsAnswer",
    "OffcutAnswer",
    "OffcutSize",
    "Part",
    "PictureAnswer",
    "Plan",
    "ReadingAnswer",
    "RegionsAnswer",
    "Said",
    "SnapAnswer",
    "State",
    "StateOfNoJob",
    "StrokesAnswer",
    "TapAnswer",
    "TaskNews",
    "TurnAnswer",
]
