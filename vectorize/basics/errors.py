"""Every error that Sheetwood raises on purpose: one root, one exit code per family.

| family | exit code | meaning |
| --- | --- | --- |
| CallError | 2 | the command or function was called wrongly |
| InputError | 3 | something in the input is missing, unreadable or contradicts itself |
| NoSolutionError, NothingFoundError | 5 | no solution exists; none was found in the time allowed |
| WriteError | 6 | a result could not be written; what was there before is intact |

A message says what was found and where, what was expected, and what to do next.
"""

from __future__ import annotations

import errno

from vectorize.basics.wording import clipped, printable


class SheetwoodError(Exception):
    """Root of all errors that are the user's to mend; anything else is a bug."""

    exit_code = 1

    def __str__(self) -> str:
        """Return the message; what names and values in it would do to a terminal is written as an escape."""
        return printable(super().__str__())


class CallError(SheetwoodError, ValueError):
    """The call itself is wrong: an option that does not exist or two that exclude each other."""

    exit_code = 2


class InputError(SheetwoodError, ValueError):
    """The input is missing, unreadable, out of range or contradicts itself."""

    exit_code = 3


class UnitError(InputError):
    """A quantity has no unit, an unknown one, or digits that can be read in two ways."""


class ToleranceError(InputError):
    """A tolerance, margin or clearance is negative or not a finite number."""


class OutlineError(InputError):
    """An outline is open, crosses itself, has no area, or is not finite."""


class ScanError(InputError):
    """A plan file cannot be read as a picture or drawing."""


class ScaleError(InputError):
    """Known dimensions are missing, have no length, or contradict each other."""


class PickError(InputError):
    """A picked point lies on a line, outside the page, or in a region that is not closed."""


class JobError(InputError):
    """`job.toml` holds something that cannot be used."""


class RackError(InputError):
    """`rack.csv` or a board in it holds something that cannot be used."""


class PartError(InputError):
    """A part cannot be made as asked."""


class RecordingError(InputError):
    """A sound recording cannot be read, or holds no taps on a board."""


class MissingLibraryError(InputError):
    """A library of the operating system that a wheel expects is not installed."""


class NoSolutionError(SheetwoodError):
    """No solution exists: it is proved that the parts cannot be placed or the limits not be met."""

    exit_code = 5


class NothingFoundError(SheetwoodError):
    """No solution was found within the time or effort allowed; one may exist."""

    exit_code = 5


class WriteError(SheetwoodError):
    """A file could not be written; the previous one, if any, is unchanged."""

    exit_code = 6


_NO_SUCH_NAME = frozenset({errno.ENAMETOOLONG, errno.ELOOP, errno.EINVAL, errno.ENOENT, errno.ENOTDIR, errno.EISDIR})


def disk_refusal(error: OSError) -> SheetwoodError:
    """Return what to say of a file or folder that the system refused where nobody expected it.

    An error of input where the name is at fault, else one of writing: rights, space, a disk that went away.
    """
    name = clipped(str(error.filename or "a file"), 120)
    reason = error.strerror or str(error)
    if error.errno in _NO_SUCH_NAME:
        return InputError(f"{name} cannot be used: {reason}; check the name.")
    return WriteError(f"{name} cannot be used: {reason}; see that you may read and write there. Nothing was changed.")
