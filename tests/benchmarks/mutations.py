"""Rules that spoil a file as people, programs and disks do: texts, JSON, bytes, and the folder itself.

Every rule takes a source of chance and the content, and returns another content. The same seed gives the same file.
"""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Callable, Sequence
from pathlib import Path
from random import Random
from typing import Any

NUMBERS = (
    "0", "-0.0", "-1", "1", "2", "0.5", "1e-12", "1e-300", "5e-324", "1e9", "2e9", "-2e9", "1e15", "1e308", "-1e308",
    "2147483648", "99999999999999999999", "nan", "inf", "-inf", "1.234,5", "0x10", "1_000", "٣", "1/0", "3/32",
)  # fmt: skip
WORDS = (
    "", " ", "0", "0 mm", "-1 mm", "3 mm", "3", "1/0 in", "3/32 in", "1e400 mm", "1e-400 mm", "nan mm", "inf g",
    "-inf mm", "1e12 mm", "45 deg", "1e9 deg", "-5 %", "1e6 %", "2 g", "free", "auto", "left", "pair", "plate", "fin",
    "doubler", "B1", "P1", "balsa", "birch ply", "sheet", "plan.png", "../job.toml", "/etc/passwd", ".", "..", "rack",
    "a\\u0000b", "a\\nb", "\\u001b[31mred", "\\u202egnp.nalp", "é½Ø漢", "con", "x" * 300, "x" * 70_000, "%s{0}", "<b>",
)  # fmt: skip
VALUES = (
    '""', '"text"', "[]", "{}", "[[]]", "[[[[[[]]]]]]", "true", "1979-05-27", "[1, 2]", "[1, 2, 3]", "[nan, nan]",
    "[1e308, -1e308]", '["a", "b"]', '{ station = "1 mm" }', '{ station = "1 mm", height = "1e9 mm" }',
    "[[0, 0], [0, 0]]", "[[1, 2], [3, 4], [5, 6]]", "-1", "0", "1e308", "99999999999999999999999",
)  # fmt: skip
_NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?:e-?\d+)?")
_QUOTED = re.compile(r'"[^"\n]*"')
_ODD = "\x00\x01\x07\x1b\x7f\u0085\u2028\ufeff\ufffd,;\t\"'[]{}=#\\%&<>é"


# ---- texts ------------------------------------------------------------------------------------------------------


def other_number(chance: Random, text: str) -> str:
    """Put an extreme number in the place of one that is there."""
    return _at_one(chance, _NUMBER, text, lambda old: chance.choice((*NUMBERS, _near(chance, old))))


def _near(chance: Random, old: str) -> str:
    value = float(old)
    return repr(chance.choice((value * 1000, -value, value / 1000, value + 1, value * (1 + 1e-9), value * 10)))


def other_word(chance: Random, text: str) -> str:
    """Put another text between two quotation marks."""
    return _at_one(chance, _QUOTED, text, lambda old: f'"{chance.choice(WORDS)}"')


def other_value(chance: Random, text: str) -> str:
    """Give a key a value of another kind, or the value that another key has."""
    lines = text.split("\n")
    keys = [n for n, line in enumerate(lines) if "=" in line]
    if not keys:
        return text
    at = chance.choice(keys)
    borrowed = lines[chance.choice(keys)].split("=", 1)[1]
    value = chance.choice((borrowed, f" {chance.choice(VALUES)}", f" {chance.choice(VALUES)}"))
    lines[at] = lines[at].split("=", 1)[0] + "=" + value
    return "\n".join(lines)


def other_line(chance: Random, text: str) -> str:
    """Drop, repeat, move or comment out a line."""
    lines = text.split("\n")
    at = chance.randrange(len(lines))
    line = lines[at]
    match chance.choice(("drop", "repeat", "move", "empty", "mark")):
        case "drop":
            del lines[at]
        case "repeat":
            lines[at:at] = [line] * chance.choice((1, 2, 500))
        case "move":
            lines.insert(chance.randrange(len(lines)), lines.pop(at))
        case "empty":
            lines[at] = line.split("=")[0] + "=" if "=" in line else ""
        case _:
            lines[at] = "#" + line
    return "\n".join(lines)


def other_block(chance: Random, text: str) -> str:
    """Drop or repeat a table, or whatever stands between two empty lines."""
    blocks = text.split("\n\n")
    at = chance.randrange(len(blocks))
    if chance.random() < 0.5 and len(blocks) > 1:
        del blocks[at]
    else:
        blocks.insert(chance.randrange(len(blocks) + 1), blocks[at])
    return "\n\n".join(blocks)


def other_letters(chance: Random, text: str) -> str:
    """Put an odd character in, take some out, or cut the text off."""
    at = chance.randrange(len(text) + 1)
    match chance.choice(("in", "in", "out", "cut", "case")):
        case "in":
            return text[:at] + chance.choice(_ODD) * chance.choice((1, 1, 3)) + text[at:]
        case "out":
            return text[:at] + text[at + chance.choice((1, 1, 2, 10, 100)) :]
        case "cut":
            return text[:at]
        case _:
            return text[:at] + text[at : at + 20].swapcase() + text[at + 20 :]


def other_names(chance: Random, text: str) -> str:
    """Call one thing everywhere in the file what another one is called."""
    names = sorted(set(re.findall(r"[A-Za-z]\w*", text)))
    if len(names) < 2:
        return text
    old, new = chance.sample(names, 2)
    return re.sub(rf"\b{old}\b", new, text)


def nested(chance: Random, text: str) -> str:
    """Open more brackets than any reader takes."""
    at = chance.randrange(len(text) + 1)
    return text[:at] + chance.choice(("[", "{", "(", "<g>", "[[a")) * chance.choice((50, 3_000, 100_000)) + text[at:]


def other_cell(chance: Random, text: str) -> str:
    """Change one cell of a table, or its number of cells."""
    rows = [line.split(",") for line in text.split("\n")]
    row = chance.choice(rows)
    at = chance.randrange(len(row))
    word = chance.choice((*NUMBERS, *WORDS, '"', "'", "=1+1", "B1", "b1"))
    match chance.choice(("set", "set", "set", "drop", "add", "swap")):
        case "set":
            row[at] = word
        case "drop":
            del row[at]
        case "add":
            row.insert(at, word)
        case _:
            row.reverse()
    return chance.choice(("\n", "\n", "\n", "\r", "\r\n")).join(",".join(row) for row in rows)


# ---- JSON -------------------------------------------------------------------------------------------------------


def other_node(chance: Random, text: str) -> str:
    """Change one node of a JSON file: its value, its kind, its place, or how often it is there."""
    try:
        data = json.loads(text)
    except ValueError:
        return other_letters(chance, text)
    holders = [node for node in _nodes(data) if node]
    if not holders:
        return json.dumps(chance.choice((None, [], {}, 1, "text", True)))
    if chance.random() < 0.05:
        return json.dumps(chance.choice((None, [], {}, 1, "text", [data], {"outline": data})))
    holder = chance.choice(holders)
    key = chance.choice(list(holder) if isinstance(holder, dict) else range(len(holder)))
    match chance.choice(("set", "set", "set", "drop", "copy", "repeat")):
        case "set":
            holder[key] = _other(chance, holder[key])
        case "drop":
            del holder[key]
        case "copy":
            holder[key] = json.loads(json.dumps(chance.choice(holders)))
        case _ if isinstance(holder, list):
            holder.insert(chance.randrange(len(holder) + 1), holder[key])
        case _:
            holder[f"{key}2"] = holder[key]
    return json.dumps(data)


def _nodes(data: Any) -> list[Any]:
    if not isinstance(data, dict | list):
        return []
    inner = data.values() if isinstance(data, dict) else data
    return [data, *(node for value in inner for node in _nodes(value))]


def _other(chance: Random, value: Any) -> Any:
    if isinstance(value, bool | None) or chance.random() < 0.3:
        return chance.choice((None, True, [], {}, "", "text", 0, -1, 1.5, [[]], [None], "0" * 5000, "a\x00b"))
    if isinstance(value, int | float):
        near = (0, -value, value + 1, value * 1000, value + 1e-9, int(value))
        far = (1e308, -1e308, 2e9, float("nan"), float("inf"), 10**30)
        return chance.choice((*near, *far))
    if isinstance(value, str):
        return chance.choice((*WORDS, value.upper(), value + "x"))
    if isinstance(value, list):
        return chance.choice((value[::-1], value[:1], value * 2, value[1:], sorted(map(str, value))))
    return chance.choice(({}, list(value.values()), {**value, "more": 1}))


# ---- bytes ------------------------------------------------------------------------------------------------------


def other_bytes(chance: Random, data: bytes) -> bytes:
    """Change, drop, repeat or overwrite some bytes."""
    at = chance.randrange(len(data) + 1)
    size = chance.choice((1, 1, 2, 4, 16, 200))
    match chance.choice(("flip", "flip", "set", "drop", "repeat", "cut", "zero", "add")):
        case "flip" if at < len(data):
            return data[:at] + bytes([data[at] ^ (1 << chance.randrange(8))]) + data[at + 1 :]
        case "set":
            return data[:at] + chance.randbytes(size) + data[at + size :]
        case "drop":
            return data[:at] + data[at + size :]
        case "repeat":
            return data[: at + size] + data[at:]
        case "cut":
            return data[:at]
        case "zero":
            return data[:at] + chance.choice((b"\0", b"\xff")) * size + data[at + size :]
        case _:
            return data[:at] + chance.randbytes(size) + data[at:]


def other_head(chance: Random, data: bytes) -> bytes:
    """Change a number in the first half kilobyte, where formats keep sizes and counts."""
    at = chance.randrange(max(1, min(512, len(data))))
    number = chance.choice((0, 1, 2, 0x7F, 0xFF, 0x7FFF, 0xFFFF, 0x10000, 0x7FFFFFFF, 0xFFFFFFFF))
    field = number.to_bytes(chance.choice((4, 4, 8)), chance.choice(("big", "little")))
    field = field[: chance.choice((1, 2, 4))] if number < 0x100 else field
    return data[:at] + field + data[at + len(field) :]


def other_encoding(chance: Random, data: bytes) -> bytes:
    """Save a text as another program would."""
    text = data.decode("utf-8", errors="replace")
    return chance.choice(
        (
            b"\xef\xbb\xbf" + data,
            text.encode("utf-16"),
            text.encode("utf-32"),
            text.encode("cp1252", errors="replace"),
            data.replace(b"\n", b"\r\n"),
            data.replace(b"\n", b"\r"),
            data + b"\x1a",
            b"",
            b"\n\n",
        )
    )


# ---- the folder -------------------------------------------------------------------------------------------------


def other_file(chance: Random, path: Path, outside: Path) -> str:
    """Make of a file what no program would: nothing, a folder, a pipe, a link elsewhere, far too much of it."""
    kind = chance.choice(("gone", "folder", "pipe", "loop", "dangling", "outside", "folder is a file", "huge"))
    if kind == "folder is a file" and path.parent.name not in ("rack", "corrected", "outlines", "out", ".desk"):
        kind = "gone"
    if kind == "folder is a file":
        shutil.rmtree(path.parent)
        path.parent.write_bytes(b"not a folder")
        return kind
    data = path.read_bytes()
    path.unlink()
    match kind:
        case "folder":
            path.mkdir()
        case "pipe":
            os.mkfifo(path)
        case "loop":
            path.symlink_to(path.name)
        case "dangling":
            path.symlink_to("no such file")
        case "huge":
            path.write_bytes(data * max(1, 3_000_000 // max(1, len(data))))
        case "outside":
            path.symlink_to(outside)
    return kind


TEXT_RULES: Sequence[Callable[[Random, str], str]] = (
    other_number, other_number, other_number, other_word, other_word, other_value, other_value, other_line, other_block,
    other_letters, other_letters, other_names, nested,
)  # fmt: skip
BYTE_RULES: Sequence[Callable[[Random, bytes], bytes]] = (other_bytes, other_bytes, other_head)


def mutated(chance: Random, data: bytes, ending: str) -> tuple[str, bytes]:
    """Return the name of one rule that suits a file with that ending, and what it made of `data`."""
    if ending in ("png", "jpg", "tif"):
        rule = chance.choice(BYTE_RULES)
        return rule.__name__, rule(chance, data)
    if ending == "pdf" and chance.random() < 0.5:
        byte_rule = chance.choice(BYTE_RULES)
        return byte_rule.__name__, byte_rule(chance, data)
    if chance.random() < 0.06:
        byte_rule = chance.choice((*BYTE_RULES, other_encoding, other_encoding))
        return byte_rule.__name__, byte_rule(chance, data)
    # Bytes that are no UTF-8 pass through a text rule unchanged.
    code = "latin-1" if ending == "pdf" else "utf-8"
    text = data.decode(code, errors="surrogateescape")
    own = {"json": other_node, "csv": other_cell}.get(ending)
    text_rule = own if own and chance.random() < 0.6 else chance.choice(TEXT_RULES)
    errors = "replace" if code == "latin-1" else "surrogateescape"
    return text_rule.__name__, text_rule(chance, text).encode(code, errors=errors)


def _at_one(chance: Random, pattern: re.Pattern[str], text: str, new: Callable[[str], str]) -> str:
    found = list(pattern.finditer(text))
    if not found:
        return text
    hit = chance.choice(found)
    return text[: hit.start()] + new(hit.group()) + text[hit.end() :]
