"""A line of lettering cut into numbers with their units, marks, words and signs."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from nesting.job.draft.vocabulary import Meaning, Vocabulary, plain_word
from vectorize.marks.figures import Length, lengths
from vectorize.marks.lettering import Reading

MOST_SIGNS = 160
"""What is longer than this is no label; the rest of such a line is left unread."""

_DIGIT = r"""(?:[0-9]|[OIl|](?=[0-9/.,\s"]|$|mm|MM|in\b|IN\b))"""
_UNIT = r"""(?:\s?(?:mm|cm|inch(?:es)?|ins?(?![^\W\d_])|"|''))?"""
_TOKEN = re.compile(
    rf"""(?P<number>
            (?:{_DIGIT}+[\s\-])?{_DIGIT}+\s?/\s?{_DIGIT}+{_UNIT}
          | (?:{_DIGIT}*[.,](?!{_DIGIT}+[.,][0-9]))?{_DIGIT}*[0-9]{_DIGIT}*(?:[.,][0-9]+)?{_UNIT}
          | (?<![^\W\d_])[Il|](?=\s)
        )
      | (?P<mark>(?<![^\W\d_])[A-Za-z]{{1,3}}[.\-]?[0-9]{{1,2}}[A-Za-z]?(?![^\W_]))
      | (?P<word>[^\W\d_][^\W_]*(?:['.´`\-]?[^\W\d_]+)*)
      | (?P<sign>[^\s\w]|_)""",
    re.VERBOSE | re.IGNORECASE,
)
_LETTER_O = re.compile(r"(?<![^\W\d_])0(?=(?!MM|CM|IN|O)[A-Z]{2})", re.IGNORECASE)
"""A nought before two letters is an O, unless they are a unit: `20FF` is 2 OFF."""

_STROKE = re.compile(r"(?<=[a-z])\|l?(?=[a-z])|(?<=[a-z])l\|(?=[a-z])")
"""A plain stroke within a small-lettered word, also where it was seen twice, is an L; between capitals it is a line."""

_BRACKET = re.compile(r"^([A-HJ-NP-Za-hj-np-z])\s?\]$")
"""The 1 of a mark, with its foot and its head, looks like a bracket."""

_DIAMETER = re.compile(r"(?<![^\W\d_])[Øø](?![^\W\d_])")
"""An O with a stroke that stands alone is the sign of a diameter, and no letter."""

_O_STROKES = "\u00d8\u00f8"
"""It may also have run together with a word that is one without it."""

_TIMES_BETWEEN = re.compile(r"(?<=[0-9])\s?[x×]\s?(?=[0-9.])", re.IGNORECASE)
_CROSSED_S = re.compile(r"(?<=[^\W\d_])\$(?=[^\W\d_])")
"""An S with a line through it, in a word."""

_MARK_THEN_SIZE = re.compile(r"(?<![^\W_])([^\W\d_]{1,2}[0-9])(?=[0-9](?:[.,][0-9]+)?\s?mm\b)", re.IGNORECASE)
"""A mark that the space before a thickness was lost after: R32 mm is R3, 2 mm."""

_WORD_THEN_FIGURE = re.compile(r"(?<=[^\W\d_]{4})(?=[0-9])")

_TIMES = frozenset({"X", "×"})

Kind = Literal["number", "mark", "word", "meaning", "times", "sign"]


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of a line; a `number` has the lengths that it may state, a `meaning` what its words mean."""

    kind: Kind
    text: str
    lengths: tuple[Length, ...] = ()
    meaning: Meaning = ("", "")

    @property
    def whole(self) -> int | None:
        """Return a plain whole number, None for all else."""
        plain = self.text.translate(str.maketrans("OIl|", "0111")).strip()
        return (
            int(plain) if self.kind == "number" and plain.isascii() and plain.isdecimal() and len(plain) < 5 else None
        )

    @property
    def share(self) -> Fraction | None:
        """Return a fraction without a unit, such as 1/2."""
        above, _, below = self.text.partition("/")
        is_plain = above.strip().isdecimal() and below.strip().isdecimal() and int(below) > 0
        return Fraction(int(above), int(below)) if self.kind == "number" and is_plain else None


def tokens(text: str, words: Vocabulary) -> list[Token]:
    """Return the pieces of a line, phrases that mean something as one piece each."""
    pieces: list[Token] = []
    line = _LETTER_O.sub("O", " ".join(text[:MOST_SIGNS].replace("_", " ").split()))
    line = _BRACKET.sub(r"\g<1>I", line)
    line = _STROKE.sub("l", line)
    line = _MARK_THEN_SIZE.sub(r"\1 ", _CROSSED_S.sub("S", line))
    line = _DIAMETER.sub("\u2300", line)
    line = _WORD_THEN_FIGURE.sub(" ", _TIMES_BETWEEN.sub(" x ", line))
    for match in _TOKEN.finditer(line):
        pieces += _pieces(match, words)
    return _with_meanings(pieces, words)


def _pieces(match: re.Match[str], words: Vocabulary) -> list[Token]:
    text = match.group().strip()
    if match["number"] is not None:
        return [Token("number", text, lengths((Reading(text, 1.0),)))]
    if match["sign"] is not None:
        return [Token("times" if text in _TIMES else "sign", text)]
    letters = text.rstrip("0123456789")
    means = len(letters) < len(text) and (letters.upper() in _TIMES or (plain_word(letters),) in words.meanings)
    if means:
        number = text[len(letters) :]
        return [*_words(letters, words), Token("number", number, lengths((Reading(number, 1.0),)))]
    return [Token("mark", text)] if match["mark"] is not None else _words(text, words)


def _words(text: str, words: Vocabulary) -> list[Token]:
    """Return a word, or the two known ones that have run together in it, or that a hyphen joins."""
    if text.upper() in _TIMES:
        return [Token("times", text)]
    halves = text.split("-")
    if len(halves) > 1 and any((plain_word(half),) in words.meanings for half in halves):
        return [Token("word", half) for half in halves]
    plain = plain_word(text)
    if text[0] in _O_STROKES and _is_word(plain[1:], words):
        return [Token("sign", text[0]), Token("word", text[1:])]
    if (plain,) not in words.meanings and not words.is_name((plain,)):
        for cut in range(2, len(text) - 1):
            first, second = text[:cut], text[cut:]
            if _are_known(plain_word(first), plain_word(second), words):
                return [Token("word", first), Token("word", second)]
    return [Token("word", text)]


def _are_known(first: str, second: str, words: Vocabulary) -> bool:
    """Return whether two words both mean something, or are a name of two words: GEAR PLATE."""
    if (first,) in words.meanings and (second,) in words.meanings:
        return True
    return len(first) > 2 < len(second) and _is_word(first, words) and (second,) in words.names


def _is_word(plain: str, words: Vocabulary) -> bool:
    """Return whether names are made of a word."""
    return (plain,) in words.names or plain in words.beside


def _with_meanings(pieces: list[Token], words: Vocabulary) -> list[Token]:
    """Return the pieces with the longest phrases that mean something made one."""
    found: list[Token] = []
    at = 0
    while at < len(pieces):
        for length in range(min(words.longest + 2, len(pieces) - at), 0, -1):
            run = pieces[at : at + length]
            phrase = tuple(word for word in (plain_word(piece.text) for piece in run) if word)
            is_phrase = run[0].kind == run[-1].kind == "word" or (length > 1 and run[0].kind == "number")
            meaning = words.meaning(phrase) if phrase and is_phrase and _is_close(run) else None
            if meaning is not None:
                found.append(Token("meaning", " ".join(piece.text for piece in run), meaning=meaning))
                at += length
                break
        else:
            found.append(pieces[at])
            at += 1
    return found


def _is_close(run: list[Token]) -> bool:
    """Return whether nothing but full stops, hyphens and ampersands stands between the words of a phrase."""
    inner = [piece for piece in run if piece.kind == "sign"]
    doubled = any(a.kind == b.kind == "sign" for a, b in pairwise(run))
    return all(piece.text in ".-&/'" for piece in inner) and not doubled and run[-1].kind != "sign"
