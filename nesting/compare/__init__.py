"""One part, two or more boards, side by side."""

from nesting.compare.candidate import Balanced, Candidate, Comparison, Priority
from nesting.compare.compare_boards import compare_boards

__all__ = ["Balanced", "Candidate", "Comparison", "Priority", "compare_boards"]
