"""What was worked out on request and is not kept in the job: a comparison, a proposal of boards, a trial layout.

Each is shown until the next one of its kind, with whether the job is still the one that it was made from.
"""

from __future__ import annotations

from typing import Any

from nesting.desk import advising
from nesting.desk.notes_view import spoken
from nesting.desk.requests import read_wanted
from nesting.desk.standing import need_standing
from nesting.desk.tasks import Say, Task
from nesting.desk.wishes import AssignWish, CompareWish, FlexWish, TrialWish
from nesting.desk.worker import Labour
from nesting.desk.workshop import Workshop
from vectorize.basics.errors import CallError

KINDS = ("compare", "assign", "trial", "flex")
_TITLES = {
    "compare": "comparing boards",
    "assign": "looking for the best boards",
    "flex": "working out how springy a panel is",
    "trial": "laying the same parts out on both boards",
}


class Findings:
    """The newest finding of each kind of one workshop, made in a process of its own."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._found: dict[str, tuple[str, dict[str, Any]]] = {}

    def view(self) -> dict[str, Any]:
        """Return each finding, or None; `is_current` tells whether the job has not changed since."""
        asked = self._workshop.asked()
        found = {kind: self._view(kind, asked) for kind in KINDS}
        return dict(spoken(found, self._workshop.speech()))

    def _view(self, kind: str, asked: str) -> dict[str, Any] | None:
        if kind not in self._found:
            return None
        made_from, found = self._found[kind]
        return found | {"is_current": made_from == asked}

    def start(self, kind: str, content: object) -> Task | None:
        """Begin to work out what the page asks for; None if that is going on already.

        Raises:
            CallError: It asks for something that cannot be asked for.
        """
        running = next((other for other in KINDS if other != kind and self._workshop.tasks.is_running(other)), None)
        if running is not None:
            raise CallError(f"the desk is still {_TITLES[running]}; wait for it, or stop it.")
        labour, values = self._labour(kind, content)

        def work(say: Say) -> None:
            asked = self._workshop.asked()
            found = self._workshop.adviser.run(labour, self._workshop.folder, *values, on_say=say)
            self._found[kind] = (asked, found)
            self._workshop.notify_changed()

        return self._workshop.tasks.start(kind, _TITLES[kind], work, stop=self._workshop.adviser.stop)

    def _labour(self, kind: str, content: object) -> tuple[Labour, tuple[object, ...]]:
        match kind:
            case "compare":
                return advising.compare, (read_wanted(CompareWish, content),)
            case "flex":
                return advising.flex, (read_wanted(FlexWish, content),)
            case "assign":
                return advising.assign, (read_wanted(AssignWish, content),)
            case _:
                standing = need_standing(self._workshop.standing)
                return advising.trial, (standing.parts, standing.boards, read_wanted(TrialWish, content))

    def forget(self, kind: str) -> bool:
        """Put a finding away; return whether there was one."""
        return self._found.pop(kind, None) is not None
