"""The words of plans, by language, from tables that a builder can extend.

Words are compared in capitals, without accents, full stops and apostrophes, and with figures that a reader of letters
takes for letters put right: `Req'd.`, `REQD` and `REO'D` of a worn print are one word, `0FF` is `OFF`.
"""

from __future__ import annotations

import tomllib
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from vectorize.basics.errors import CallError
from vectorize.basics.plain_file import read_plain
from vectorize.basics.wording import listed, shown

LANGUAGES = ("en", "de", "fr", "es", "it", "ja")

LEAST_FUZZY = 5
"""A word of so many letters may have one of them read wrongly."""

LEAST_SLIM = 3
"""A phrase of so many letters is known with each L read as an I."""

Phrase = tuple[str, ...]
Meaning = tuple[str, str]
"""What a phrase is, such as 'material' or 'off', and for a material which."""

_SLIPS = str.maketrans({"0": "O", "1": "I", "5": "S", "|": "I"})
_SHAPES: Mapping[str, tuple[str, ...]] = {
    "material": (),
    "words": (
        "sheet", "thick", "off", "make", "pair", "left", "right", "grain", "radius", "full", "half", "scale", "square",
    ),
    "heads": ("mark", "name", "wood", "thickness", "count"),
    "names": ("parts", "beside"),
    "remarks": ("words",),
}  # fmt: skip


def plain_word(word: str) -> str:
    """Return a word as it is compared: capitals without accents, full stops and apostrophes."""
    parts = unicodedata.normalize("NFKD", word.replace("ß", "SS")).upper()
    is_kana = any("\u3040" <= c <= "\u30ff" for c in word)
    kept = "".join(c for c in parts if not unicodedata.combining(c) or is_kana)
    kept = unicodedata.normalize("NFC", kept) if is_kana else kept
    return "".join(c for c in kept.translate(_SLIPS) if c.isalnum() or c == "&")


def plain_phrase(text: str) -> Phrase:
    """Return the words of a phrase as they are compared."""
    pieces = text.replace("/", " ").replace("-", " ").split()
    return tuple(word for word in map(plain_word, pieces) if word)


@dataclass(frozen=True, slots=True, eq=False)
class Vocabulary:
    """What phrases mean: `meanings` of what is said of a part, `heads` of a list, `names`, `beside` and `remarks`.

    `slim` holds the meanings by words in which an L is written I, as it is read where its foot is short.
    """

    meanings: Mapping[Phrase, Meaning]
    heads: Mapping[Phrase, str]
    names: frozenset[Phrase]
    beside: frozenset[str]
    remarks: frozenset[Phrase]
    longest: int
    slim: Mapping[Phrase, Meaning]

    def meaning(self, words: Phrase) -> Meaning | None:
        """Return what a phrase means; a long single word may have one letter wrong."""
        found = self.meanings.get(words)
        is_other = words in self.names or words in self.remarks
        if found is None and not is_other:
            found = self.slim.get(_slim(words))
        is_near_name = found is None and self.is_name(words)
        if found is None and not (is_other or is_near_name) and len(words) == 1 and len(words[0]) >= LEAST_FUZZY - 1:
            near = {self.meanings[p] for p in self.meanings if len(p) == 1 and is_near(words[0], p[0])}
            found = next(iter(near)) if len(near) == 1 else None
        return found

    def is_listed(self, words: Phrase) -> bool:
        """Return whether a phrase is what a kind of part is called, also in the plural."""
        return words in self.names or (len(words) > 0 and (*words[:-1], words[-1].rstrip("S")) in self.names)

    def is_name(self, words: Phrase) -> bool:
        """Return whether a phrase is what a kind of part is called, also in the plural or with one letter wrong."""
        return self.is_listed(words) or (
            len(words) == 1
            and len(words[0]) > LEAST_FUZZY
            and any(len(name) == 1 and is_near(words[0], name[0]) for name in self.names)
        )

    def known_word(self, word: str) -> str | None:
        """Return the only name of one word that a word differs from by a misread letter; None where it has an ending.

        A plural, or another language's ending, is no misreading.
        """
        near = {name[0] for name in self.names if len(name) == 1 and is_near(word, name[0])}
        if len(word) <= LEAST_FUZZY or (word,) in self.names or any(word.startswith(name) for name in near):
            return None
        return near.pop() if len(near) == 1 else None

    def has_remark(self, words: Phrase) -> bool:
        """Return whether a line has a word that no name has."""
        spans = ((i, i + n) for n in range(1, self.longest + 1) for i in range(len(words) - n + 1))
        return any(
            words[a:b] in self.remarks
            or (b == a + 1 and any(len(one) == 1 and is_near(words[a], one[0]) for one in self.remarks))
            for a, b in spans
            if not self.is_name(words[a:b])
        )


def is_near(first: str, second: str) -> bool:
    """Return whether two words of some length differ in one letter at most."""
    if max(len(first), len(second)) < LEAST_FUZZY or abs(len(first) - len(second)) > 1:
        return False
    if len(first) > len(second):
        first, second = second, first
    at = next((k for k, (a, b) in enumerate(zip(first, second, strict=False)) if a != b), len(first))
    return first[at + (len(first) == len(second)) :] == second[at + 1 :]


@cache
def _shipped() -> tuple[Mapping[str, Any], ...]:
    folder = resources.files("nesting.job.draft.words")
    return tuple(tomllib.loads((folder / f"{language}.toml").read_text("utf-8")) for language in LANGUAGES)


def load_vocabulary(*files: Path) -> Vocabulary:
    """Return the words of all languages, and those of a builder's own tables, which come first.

    Raises:
        CallError: A table cannot be read, or holds something else than lists of words.
    """
    return _merged([*map(_own_table, files), *_shipped()])


def _own_table(file: Path) -> Mapping[str, Any]:
    try:
        table = tomllib.loads(read_plain(file).decode("utf-8"))
    except (OSError, ValueError) as error:
        raise CallError(f"the table of words {file} cannot be read: {error}.") from error
    for section, lists in table.items():
        known = _SHAPES.get(section)
        if known is None or not isinstance(lists, dict):
            raise CallError(f"{file}: {shown(section)} is no table of words; there are {listed(_SHAPES)}.")
        for key, words in lists.items():
            if known and key not in known:
                raise CallError(f"{file}: [{section}] has no list {shown(key)}; there are {listed(known)}.")
            if not (isinstance(words, list) and all(isinstance(word, str) and plain_phrase(word) for word in words)):
                raise CallError(f'{file}: {shown(key)} in [{section}] is no list of words; write it as ["one", "two"].')
    return table


def _merged(tables: Iterable[Mapping[str, Any]]) -> Vocabulary:
    meanings: dict[Phrase, Meaning] = {}
    heads: dict[Phrase, str] = {}
    sets: dict[str, set[Phrase]] = defaultdict(set)
    for table in tables:
        for material, words in table.get("material", {}).items():
            for word in words:
                meanings.setdefault(plain_phrase(word), ("material", material))
        for kind, words in table.get("words", {}).items():
            for word in words:
                meanings.setdefault(plain_phrase(word), (kind, ""))
        for kind, words in table.get("heads", {}).items():
            for word in words:
                heads.setdefault(plain_phrase(word), kind)
        for section, key in (("names", "parts"), ("names", "beside"), ("remarks", "words")):
            sets[key].update(map(plain_phrase, table.get(section, {}).get(key, ())))
    phrases = [*meanings, *heads, *sets["parts"], *sets["words"]]
    return Vocabulary(
        meanings,
        heads,
        frozenset(sets["parts"]),
        frozenset(word for phrase in sets["beside"] for word in phrase),
        frozenset(sets["words"]),
        max(map(len, phrases)),
        {slim: meanings[phrase] for phrase in meanings if len("".join(slim := _slim(phrase))) >= LEAST_SLIM},
    )


def _slim(phrase: Phrase) -> Phrase:
    return tuple(word.replace("L", "I") for word in phrase)
