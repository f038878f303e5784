"""One part, two or more boards, side by side."""

from nesting.choice.compare.candidate import Balanced, Candidate, Comparison, Priority
from nesting.choice.compare.side_by_side import compare_boards

__all__ = ["Balanced", "Candidate", "Comparison", "Priority", "compare_boards"]
