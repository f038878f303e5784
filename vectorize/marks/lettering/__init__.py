"""The lettering of a page: where it stands, and what it says.

Two steps, each with its own model: `find_lettering` finds boxes in one look at a reduced page, which is cheap and
all that tracing needs; `read_lettering` reads what stands in them at the full resolution.
"""

from vectorize.marks.lettering.decode import Reading
from vectorize.marks.lettering.detect import find_lettering
from vectorize.marks.lettering.letter_reader import Text, read_lettering
from vectorize.marks.lettering.overlooked import find_overlooked
from vectorize.marks.lettering.text_box import TextBox

__all__ = ["Reading", "Text", "TextBox", "find_lettering", "find_overlooked", "read_lettering"]
