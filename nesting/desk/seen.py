"""What an edit names that has no name of its own: the entry of a list, by its number and by how the page saw it.

Between the page's last look and a click somebody may have changed the job. A number alone would then mean another
entry than the one that was seen.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from nesting.job.files import digest
from vectorize.basics.errors import WriteError

_OF_PART = ("pick", "cutout", "mark", "step")
_OF_PLAN = ("known", "bridge")
_OF_JOB = ("finish", "joint", "weighed")


def print_of(entry: Any) -> str:  # noqa: ANN401 - any value of `job.toml`
    """Return a short word that is another one whenever the entry is."""
    plain = entry.unwrap() if hasattr(entry, "unwrap") else entry
    return digest(json.dumps(plain, sort_keys=True, default=str).encode())[:16]


def number_of(entries: Sequence[Any], number: int, seen: str, *, what: str) -> int:
    """Return where the entry stands that was seen as number `number`, counted from 0: there, or where it moved to.

    Raises:
        WriteError: It was changed or taken away.
    """
    prints = [print_of(entry) for entry in entries]
    if 0 <= number < len(prints) and prints[number] == seen:
        return number
    if prints.count(seen) != 1:
        raise changed(what)
    return prints.index(seen)


def changed(what: str) -> WriteError:
    """Return the error that says that something is no longer what the page showed."""
    return WriteError(
        f"this {what} was changed or taken away since the page showed it; nothing was done. "
        "Look at what is there now, and repeat."
    )


def seen_view(job: Mapping[str, Any]) -> dict[str, Any]:
    """Return the prints of all entries of a job that edits name by their number."""
    pattern = job.get("pattern", {})
    return {
        **{key: _prints(job, key) for key in _OF_JOB},
        "blade": _prints(pattern, "blade"),
        "printer": print_of(pattern.get("printer")),
        "plan": {
            plan.get("name", "plan"): {key: _prints(plan, key) for key in _OF_PLAN} for plan in job.get("plan", ())
        },
        "part": {
            part.get("name"): {key: _prints(part, key) for key in _OF_PART}
            | {"substitutes": print_of(part.get("substitutes"))}
            for part in job.get("part", ())
        },
    }


def _prints(holder: Mapping[str, Any], key: str) -> list[str]:
    return [print_of(entry) for entry in holder.get(key, ())]
