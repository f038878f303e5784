"""Marks that follow each other, as R1, R2 and R3 do: each bears out its neighbours' readings."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from nesting.job.draft.grammar import KNOWN_NAME
from nesting.job.draft.joining import Labelled

LEAST_SURE = 0.5
"""A mark that is read less surely than this bears out none, and is not borne out."""

NEAR = 2
"""Marks whose numbers differ by no more are of one series."""

LEFT = 0.4
MOST_NEIGHBOURS = 2
"""What each neighbour leaves of the doubt in a mark, and how many count."""

_MARK = re.compile(r"([^\W\d_]{1,2})[ .\-]?([0-9]{1,2})")


def bear_out(labelled: Sequence[Labelled]) -> None:
    """Make marks surer that have neighbours on the sheet; one that occurs twice is misread in one of the two places."""
    marks = {
        k: (match[1].casefold(), int(match[2]))
        for k, one in enumerate(labelled)
        if (name := one.values.get("name")) is not None
        and name.sure >= LEAST_SURE
        and (match := _MARK.fullmatch(name.value)) is not None
    }
    times = Counter(marks.values())
    for k, (letters, number) in marks.items():
        beside = [n for other, n in times if other == letters and 0 < abs(n - number) <= NEAR]
        if times[letters, number] == 1:
            name = labelled[k].values["name"]
            left = (1 - name.sure) * LEFT ** min(len(beside), MOST_NEIGHBOURS)
            labelled[k].values["name"] = replace(name, sure=max(name.sure, min(KNOWN_NAME, 1 - left)))
