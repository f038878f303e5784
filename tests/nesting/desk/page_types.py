"""Writes the types of the desk's answers for the page's scripts: `python -m tests.nesting.desk.page_types`.

Source are the classes in `nesting.desk.answers` and the models of `job.toml` that they name; the file that is
written, `nesting/desk/static/answers.d.ts`, is read by the checks of the scripts only, never by a browser.
"""

import inspect
import textwrap
import types
from pathlib import Path
from typing import Annotated, Any, Literal, NotRequired, Union, get_args, get_origin, get_type_hints, is_typeddict

from pydantic import BaseModel

from nesting.desk import answers

ROOT = Path(__file__).parents[3]
TARGET = ROOT / "nesting" / "desk" / "static" / "answers.d.ts"
HEAD = """// What the server answers, for the checks of these scripts. Written from nesting/desk/answers by
// `python -m tests.nesting.desk.page_types`; a test says when it is not current.
// No browser reads it.
"""
WIDTH = 100
_PLAIN = {str: "string", bool: "boolean", int: "number", float: "number", type(None): "null", Any: "any"}


def declared_types() -> str:
    """The text of the file of types."""
    interfaces: dict[str, str] = {}
    for name in answers.__all__:
        _declare(getattr(answers, name), interfaces)
    return "\n".join([HEAD, *(interfaces[name] for name in sorted(interfaces))])


def _declare(model, interfaces):
    if model.__name__ in interfaces:
        return
    interfaces[model.__name__] = ""  # a class that names itself ends here
    lines = [_field(f"{key}{mark}", _written(hint, interfaces)) for key, mark, hint in _fields(model)]
    comment = _comment(inspect.cleandoc(model.__doc__ or "").splitlines()[:1])
    interfaces[model.__name__] = "\n".join([*comment, f"export interface {model.__name__} {{", *lines, "}", ""])


def _field(key, said):
    """The line of a field, or one for each of its values, as the formatter lays it out."""
    line = f"  {key}: {said};"
    if len(line) <= WIDTH or '" | "' not in said:
        return line
    return f"  {key}:\n" + "\n".join(f"    | {value}" for value in said.split(" | ")) + ";"


def _comment(about):
    if not about or len(about[0]) <= WIDTH - len("/**  */"):
        return [f"/** {line} */" for line in about]
    return ["/**", *(f" * {line}" for line in textwrap.wrap(about[0], WIDTH - 3)), " */"]


def _fields(model):
    if is_typeddict(model):
        for key, hint in get_type_hints(model, include_extras=True).items():
            is_optional = get_origin(hint) is NotRequired
            yield key, "?" if is_optional else "", get_args(hint)[0] if is_optional else hint
    else:  # dumped with the names of its fields
        for key in model.model_fields:
            yield key, "", get_type_hints(model, include_extras=True)[key]


def _written(hint, interfaces):
    origin, inner = get_origin(hint), get_args(hint)
    if hint in _PLAIN:
        return _PLAIN[hint]
    if is_typeddict(hint) or (isinstance(hint, type) and issubclass(hint, BaseModel)):
        _declare(hint, interfaces)
        return hint.__name__
    if origin is Annotated:
        return _written(inner[0], interfaces)
    if origin is Literal:
        return " | ".join(f'"{one}"' if isinstance(one, str) else str(one).lower() for one in inner)
    if origin in (Union, types.UnionType):
        return " | ".join(_written(one, interfaces) for one in inner)
    if origin is list or (origin is tuple and inner[-1] is Ellipsis):
        element = _written(inner[0], interfaces)
        return f"({element})[]" if " | " in element else f"{element}[]"
    if origin is tuple:
        return f"[{', '.join(_written(one, interfaces) for one in inner)}]"
    if origin is dict:
        return f"Record<string, {_written(inner[1], interfaces)}>"
    raise TypeError(f"no word for {hint!r}")


def misfits(value, hint, at="") -> list[str]:
    """Where an answer of the server, as its JSON was read back, is not what a type says."""
    origin, inner = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return misfits(value, inner[0], at)
    if hint is Any:
        return []
    if origin is Literal:
        return [] if value in inner else [f"{at}: {value!r} is none of {inner}"]
    if origin in (Union, types.UnionType):
        tries = [misfits(value, one, at) for one in inner]
        return [] if [] in tries else max(tries, key=lambda found: max(map(len, found)))
    if is_typeddict(hint) or (isinstance(hint, type) and issubclass(hint, BaseModel)):
        return _misfits_of_object(value, hint, at)
    if origin in (list, tuple):
        return _misfits_of_list(value, origin, inner, at)
    if origin is dict:
        named = value.items() if isinstance(value, dict) else [("", value)]
        return [fault for key, one in named for fault in misfits(one, inner[1], f"{at}.{key}")]
    kinds = {float: (int, float), str: str, bool: bool, int: int, type(None): type(None)}[hint]
    is_right = isinstance(value, kinds) and (hint is bool or not isinstance(value, bool))
    return [] if is_right else [f"{at}: {value!r} is no {hint.__name__}"]


def _misfits_of_object(value, hint, at):
    if not isinstance(value, dict):
        return [f"{at}: {value!r} is no {hint.__name__}"]
    fields = {key: (mark, inner) for key, mark, inner in _fields(hint)}
    missing = [f"{at}.{key} is missing" for key, (mark, _) in fields.items() if not mark and key not in value]
    unknown = [f"{at}.{key} is not described" for key in value if key not in fields]
    known = [fault for key in fields if key in value for fault in misfits(value[key], fields[key][1], f"{at}.{key}")]
    return missing + unknown + known


def _misfits_of_list(value, origin, inner, at):
    if not isinstance(value, list):
        return [f"{at}: {value!r} is no list"]
    if origin is tuple and inner[-1] is not Ellipsis:
        if len(value) != len(inner):
            return [f"{at}: {len(value)} values for {len(inner)}"]
        return [fault for i, one in enumerate(value) for fault in misfits(one, inner[i], f"{at}[{i}]")]
    return [fault for i, one in enumerate(value) for fault in misfits(one, inner[0], f"{at}[{i}]")]


if __name__ == "__main__":
    TARGET.write_text(declared_types(), encoding="utf-8")
