"""Files beside the tables of a job that hold shapes: `corrected/NAME.json` and `rack/NAME.json`.

A person may have written or mended them, so whatever is wrong with one is told and nothing of it is skipped.
"""

from __future__ import annotations

import json
from typing import Any

from nesting.job.folder import Job
from vectorize.basics.errors import InputError, OutlineError
from vectorize.basics.plain_file import read_plain
from vectorize.basics.wording import clipped, printable, shown
from vectorize.shapes.outline import Outline, check_outline


def read_side_file(job: Job, name: str, *, refused: type[InputError]) -> dict[str, Any] | None:
    """Return the table in a JSON file of the job, None where there is no such file.

    Raises:
        InputError: Of the kind `refused`: it cannot be read, or holds no table.
        JobError: The file lies outside the job.
    """
    path = job.own(name)
    try:
        data = json.loads(read_plain(path))
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise refused(_sentence(name, error.strerror or str(error))) from error
    except RecursionError as error:
        raise refused(_sentence(name, "its lists are nested too deeply")) from error
    except json.JSONDecodeError as error:
        raise refused(_sentence(name, f"line {error.lineno}, column {error.colno}: {error.msg.lower()}")) from error
    except ValueError as error:
        raise refused(_sentence(name, "it is not UTF-8 text, or holds a number that none can be")) from error
    if not isinstance(data, dict):
        raise refused(_sentence(name, f"it holds {shown(data)} where a table {{ }} is expected"))
    return data


def outline_in(data: object, name: str, *, refused: type[InputError]) -> Outline:
    """Return the outline under the key `outline` of a table in the file `name`; it does not cross itself.

    Raises:
        InputError: Of the kind `refused`: there is none, or one that cannot be.
    """
    if not isinstance(data, dict) or not isinstance(data.get("outline"), dict):
        raise refused(_sentence(name, "a table without an 'outline'"))
    try:
        outline = Outline.from_json(data["outline"])
        check_outline(outline)
    except OutlineError as error:
        raise refused(_sentence(name, str(error).rstrip("."))) from error
    return outline


def tables_in(data: dict[str, Any], key: str, name: str, *, refused: type[InputError]) -> list[dict[str, Any]]:
    """Return the list of tables under a key of the file `name`, none where the key is missing.

    Raises:
        InputError: Of the kind `refused`: it is no list, or not of tables.
    """
    found = data.get(key) or []
    if not isinstance(found, list) or not all(isinstance(one, dict) for one in found):
        raise refused(_sentence(name, f"{key} is {shown(found)} where a list of tables is expected"))
    return found


def _sentence(name: str, why: str) -> str:
    return clipped(printable(f"{clipped(name, 120)} cannot be used ({clipped(why, 120)}); mend it or move it away."))
