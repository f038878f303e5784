"""One part, two or more boards, side by side."""

from nesting.compare.boards import compare_boards
from nesting.compare.candidate import Balanced, Candidate, Comparison, Priority

__all__ = ["Balanced", "Candidate", "Comparison", "Priority", "compare_boards"]
