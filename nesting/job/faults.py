"""What is wrong with a table that a person wrote, in one sentence: table, key, what was found, what is expected.

The checks themselves are pydantic's; this is the one place that puts their findings into a builder's words.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any, get_args

from pydantic import ValidationError

from vectorize.basics.spec_table import Form, fields_in, is_form
from vectorize.basics.wording import MOST_SHOWN, clipped, printable, shown

Loc = tuple[int | str, ...]

_KINDS = {
    "string_type": "a text in quotes",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "int_from_float": "a whole number",
    "int_parsing_size": "a whole number of fewer digits",
    "float_type": "a number",
    "float_parsing": "a number",
    "finite_number": "a finite number",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "list_type": "a list in [ ]",
    "tuple_type": "a list in [ ]",
    "dict_type": "a table",
}
_LIMITS = {
    "greater_than": "more than {gt}",
    "greater_than_equal": "{ge} or more",
    "less_than": "less than {lt}",
    "less_than_equal": "{le} or less",
    "too_short": "a list of {min_length} or more",
    "too_long": "a list of {max_length} or fewer",
    "string_pattern_mismatch": "a text on one line, without control characters",
    "string_too_short": "a text of {min_length} letters or more",
    "string_too_long": "a text of {max_length} letters or fewer",
    "literal_error": "{expected}",
    "union_tag_invalid": "",
}
_MOST_LISTED = 8
_NO_TABLE = ("model_type", "model_attributes_type")
_UNKNOWN = ("extra_forbidden", "unexpected_keyword_argument")


@dataclass(frozen=True, slots=True)
class _Fault:
    """One finding: where it is in the data, the variants of unions that were tried on the way, and what was said.

    `union` is the place of the innermost of those unions; None where there was none.
    """

    path: Loc
    variants: tuple[str, ...]
    union: Loc | None
    kind: str
    told: Mapping[str, Any]


def first_fault(error: ValidationError, data: object, *, root: object, near: Loc = ()) -> str:
    """Return the first fault of `data` as one sentence that is never long and never shows the program's own names.

    Args:
        error: What the check of `data` against `root` said.
        data: What was checked: tables, lists and values as TOML or JSON gives them.
        root: The form that it should have: a model, or a union of models.
        near: Where the reader is anyway: what lies there is told without the way to it.
    """
    faults = _of_meant_variants([_fault(found, data) for found in error.errors(include_url=False)])
    # A key that is missing is often the one that was misspelt: name that first.
    fault = next((one for one in faults if one.kind in _UNKNOWN), faults[0])
    same = [one for one in faults if one.path == fault.path]
    return clipped(printable(_sentence(fault, same, data, root, near)))


def _fault(told: Mapping[str, Any], data: object) -> _Fault:
    """Tell the steps of pydantic's place that are in the data from the names of variants that it tried there."""
    here: Any = data
    path: list[int | str] = []
    variants: list[str] = []
    union: Loc | None = None
    loc: Loc = told["loc"]
    for number, step in enumerate(loc):
        is_missing = number == len(loc) - 1 and told["type"] == "missing"
        if isinstance(here, Mapping) and isinstance(step, str) and (step in here or is_missing):
            here = here.get(step)
        elif isinstance(here, list | tuple) and isinstance(step, int):
            here = here[step] if step < len(here) else None
        else:
            variants.append(str(step))
            union = tuple(path)
            continue
        path.append(step)
    return _Fault(tuple(path), tuple(variants), union, told["type"], told)


def _of_meant_variants(faults: list[_Fault]) -> list[_Fault]:
    """Return the faults with, of every union, only those of the variant that was meant: the one that nearly fits.

    Where none does, those of all its variants stay, as any of them would have done.
    """
    found: list[_Fault] = []
    for union, group in groupby(faults, key=lambda one: None if one.union is None else (one.union, one.variants[:-1])):
        if union is None:
            found += group
            continue
        by_variant = [list(own) for _, own in groupby(group, key=lambda one: one.variants[-1])]
        meant = [own for own in by_variant if any(one.path != one.union for one in own)]
        nearest: list[_Fault] = min(meant, key=len) if meant else [one for own in by_variant for one in own]
        found += nearest
    return found


def _sentence(fault: _Fault, same: list[_Fault], data: object, root: object, near: Loc) -> str:
    where = _place(fault.path, data, near)
    if fault.kind in _UNKNOWN:
        return _unknown_key(fault, where, root)
    if fault.kind in ("missing", "union_tag_not_found"):
        return _missing(fault, where)
    causes = [str(cause) for one in same if (cause := one.told.get("ctx", {}).get("error")) is not None]
    others = list(dict.fromkeys(_expected(one, root) for one in same if "error" not in one.told.get("ctx", {})))
    if causes:
        said = causes[0].rstrip(".") + "".join(f", or {other}" for other in others) + "."
        return said.replace("the value", where, 1) if "the value" in said else f"{where}: {said}" if where else said
    found = fault.told["input"]
    if fault.kind == "union_tag_invalid":
        where, found = ", ".join(filter(None, (where, _tag(fault)))), found[_tag(fault)]
        known = re.findall(r"'([^']+)'", fault.told["ctx"]["expected_tags"])
        if alike := difflib.get_close_matches(str(found), known, n=1):
            return f"{where} is {shown(found)}; did you mean {alike[0]!r}?"
        others = [f"one of {_listed(known)}"]
    return f"{where or 'it'} is {shown(found)}; it must be {' or '.join(others)}."


def _missing(fault: _Fault, where: str) -> str:
    if fault.kind == "missing" and isinstance(fault.path[-1], int):
        return f"{where} is missing; the list must have {fault.path[-1] + 1} or more."
    return (
        f"{where} is missing."
        if fault.kind == "missing"
        else f"{', '.join(filter(None, (where, _tag(fault))))} is missing."
    )


def _tag(fault: _Fault) -> str:
    return str(fault.told["ctx"]["discriminator"]).strip("'")


def _expected(fault: _Fault, root: object) -> str:
    """Return what the value should have been, in words."""
    if fault.kind == "tuple_type" and isinstance(fault.told["input"], Mapping):
        return f"several: write [[{'.'.join(step for step in fault.path if isinstance(step, str))}]] above each"
    if fault.kind in _KINDS:
        return _KINDS[fault.kind]
    if fault.kind in _LIMITS:
        return _LIMITS[fault.kind].format(**fault.told["ctx"])
    if fault.kind in _NO_TABLE:
        name = fault.told.get("ctx", {}).get("class_name")
        model = next((one for one in _models_in(root) if one.__name__ == name), None)
        return "a table" if model is None else f"a table with {_main_keys(model)}"
    return clipped(str(fault.told["msg"]), MOST_SHOWN)


def _place(path: Loc, data: object, near: Loc = ()) -> str:
    """Return a table path as people say it: `part 'fin', thickness`; from within that part just `thickness`."""
    words: list[str] = []
    here: Any = data
    for number, step in enumerate(path):
        if number == _told_from(path, near):
            words = []
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            here = None
        if isinstance(step, str):
            words.append(clipped(step, MOST_SHOWN))
            continue
        named = here.get("name") if isinstance(here, Mapping) else None
        word = f"{shown(named)}" if named and isinstance(named, str) else f"number {step + 1}"
        words[-1:] = [f"{words[-1]} {word}" if words else word]
    return ", ".join(words)


def _told_from(path: Loc, near: Loc) -> int:
    """Return how many steps of a path go without saying: those to where the reader is, but for the last key."""
    if path[: len(near)] != near:
        return 0
    return min(len(near), max(k for k, step in enumerate(path) if isinstance(step, str)))


def _unknown_key(fault: _Fault, where: str, root: object) -> str:
    model = _model_at(fault.path[:-1], fault.variants, root)
    keys = [] if model is None else _keys(model)
    near = difflib.get_close_matches(str(fault.path[-1]), keys, n=1, cutoff=0.5)
    hint = f"did you mean {near[0]!r}?" if near else f"known keys: {', '.join(keys)}."
    return f"{where} is not a known key; {hint}"


def _keys(model: Form) -> list[str]:
    return [field.alias or name for name, field in fields_in(model).items()]


def _main_keys(model: Form) -> str:
    """Return the keys that a table needs, or the first of those that it may have."""
    needed = [field.alias or name for name, field in fields_in(model).items() if field.is_required()]
    return _listed(needed or _keys(model))


def _listed(words: list[str]) -> str:
    return ", ".join(map(repr, words[:_MOST_LISTED])) + (" …" if len(words) > _MOST_LISTED else "")


def _model_at(path: Loc, variants: tuple[str, ...], root: object) -> Form | None:
    """Return the form of the table at `path`, of several variants the one that pydantic named."""
    form: object = root
    for step in path:
        if isinstance(step, str) and (model := _one_model(form, variants)) is not None:
            form = next((f.annotation for n, f in fields_in(model).items() if (f.alias or n) == step), None)
    return _one_model(form, variants)


def _one_model(form: object, variants: tuple[str, ...]) -> Form | None:
    models = _variants_in(form)
    named = [model for tag, model in models.items() if tag in variants]
    return named[0] if named else next(iter(models.values()), None)


def _variants_in(form: object) -> dict[str, Form]:
    """Return the models of a union by the word in `make` or `kind`, or by class name, by which pydantic names them."""
    if is_form(form):
        fields = fields_in(form)
        tag = fields.get("make") or fields.get("kind")
        words = get_args(tag.annotation) if tag is not None and tag.is_required() else ()
        return {str(word): form for word in words or (form.__name__,)} | {form.__name__: form}
    return {tag: model for inner in get_args(form) for tag, model in _variants_in(inner).items()}


def _models_in(form: object) -> Iterator[Form]:
    """Give every model that a form is made of, at any depth."""
    for model in dict.fromkeys(_variants_in(form).values()):
        yield model
        for field in fields_in(model).values():
            yield from _models_in(field.annotation)
