"""Which part from which board: the lightest or stiffest choice that balances and truly fits."""

from nesting.choice.assign.assignment import Assignment, AssignReport, Binding, Given
from nesting.choice.assign.choices import AssignProblem, make_problem
from nesting.choice.assign.oracle import Oracle
from nesting.choice.assign.solve import assign_boards, nesting_lay

__all__ = [
    "AssignProblem", "AssignReport", "Assignment", "Binding", "Given", "Oracle",
    "assign_boards", "make_problem", "nesting_lay",
]  # fmt: skip
