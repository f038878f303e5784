"""What one line of lettering says: name, wood, thickness, count, hand, grain or the size that the plan is drawn in.

Every reading of the line is taken apart by itself. A value is as probable as the readings that give it, so that a lost
space or an O for a 0 elsewhere in the line costs it nothing.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from nesting.job.draft.drafted import Said, Value
from nesting.job.draft.tokens import Token, tokens
from nesting.job.draft.vocabulary import Phrase, Vocabulary, plain_phrase, plain_word
from vectorize.marks.figures import lengths
from vectorize.marks.lettering import Reading, Text

THINNEST_MM, THICKEST_MM = 0.3, 26.0
"""Sheet wood of models lies between (common practice, no source)."""

MOST_COUNT = 60
"""More of one part than this is a misread figure."""

LEAST_TOTAL_SIGNS = 2.0
"""A line's probability is spread over ways to space it; it counts to the power of this over its number of signs."""

KNOWN_NAME, NAMED_SO, SLIPPED_MARK, UNKNOWN_NAME, LETTER_NAME = 0.97, 0.85, 0.7, 0.4, 0.2
"""How surely a line is a name: all words are; one is; a mark with a letter for 1 or 0; unknown words; one letter."""
BARE_FIGURE = 0.3
"""How surely a lone whole number without a unit is a length, or a lone fraction on a sheet in millimetres: a cross in a
ring looks like one."""

LEAST_SURE = 0.02
"""What is less sure than this is noise."""

NO_WORD = 0.1
"""What a reading in letters that no list has counts beside one that is a word of plans: most names are such words, and
most misread ones are none. 0.05 gave the same names on the
four hands that it was chosen on, 0.2 one fewer."""

_ONE_MARK = r"[A-Z]{1,2}[ .\-]?[0-9]{1,2}[A-Z]?"
_MARK = re.compile(rf"{_ONE_MARK}(?:\s?[&+]\s?{_ONE_MARK})*", re.IGNORECASE)
_RINGED = re.compile(r"[OQD][A-Z]", re.IGNORECASE)
"""A circle beside a mark is read with it as a letter."""
_LETTER = re.compile(r"[A-HJ-NP-Z]")
_SLIPPED = re.compile(r"[A-HJ-NP-Za-hj-np-z][ .\-]?[IlO|]{1,2}")
MISSPELLED = 0.8
"""What a word that is put right leaves of a name: it may be one that no list has."""

_PART_OF_INCH = re.compile(r"0?[.,][0-9]+")

T = TypeVar("T", bound=Hashable)


@dataclass(slots=True)
class _Parsed:
    """What one reading says."""

    values: dict[str, Any] = field(default_factory=dict)
    shares: dict[str, float] = field(default_factory=dict)
    flags: set[str] = field(default_factory=set)

    def put(self, key: str, value: object, share: float = 1.0) -> None:
        if key not in self.values:
            self.values[key], self.shares[key] = value, share


def said(index: int, text: Text, words: Vocabulary, *, is_metric: bool) -> Said:
    """Return what a line says, every value with its other readings.

    Args:
        index: The number of the text.
        text: The line.
        words: The words of plans.
        is_metric: Whether the sheet states its sizes in millimetres, so that bare figures are.
    """
    total = sum(reading.sure for reading in text.readings)
    if total <= 0:
        return Said(index)
    length = max(len(text.text.replace(" ", "")), 1)
    trust = total ** min(1.0, LEAST_TOTAL_SIGNS / length)
    parsed = [(_parsed(r.text, words, is_metric=is_metric), r.sure / total, r.text) for r in text.readings]
    values: dict[str, Any] = {
        key: _voted(index, key, parsed, trust, _KEYS.get(key, lambda value: value)) for key in _FIELDS
    }
    values["name"], name_read = _named(index, parsed, trust)
    flags = {flag for one, _, _ in parsed[:1] for flag in one.flags}
    return Said(
        index,
        **values,
        is_sheet="sheet" in flags,
        is_grain="grain" in flags,
        is_remark="remark" in flags,
        name_read=name_read,
    )


def _named(index: int, parsed: Sequence[tuple[_Parsed, float, str]], trust: float) -> tuple[Value[str] | None, float]:
    """Return the likeliest name and how surely its letters are right, by how often lettering is a word of plans.

    Bayes' rule: what the reader saw, times how usual such lettering is. Of words that also holds for the readings that
    were not kept; a mark may be any other mark in them.
    """
    same = _KEYS["name"]
    weights, sures = defaultdict[Hashable, float](float), defaultdict[Hashable, float](float)
    first: dict[Hashable, tuple[float, str, str]] = {}
    others = 0.0
    for one, share, written in parsed:
        if (name := one.values.get("name")) is None:
            others += trust * share
            continue
        key, is_name = same(name), one.shares["name"]
        weights[key] += (weight := trust * share * _usual(is_name))
        sures[key] += weight * is_name
        first[key] = max(first.get(key, (0.0, "", "")), (is_name, name, written), key=_of_name)
    seen = sum(weights.values()) + others
    all_of = {key: seen + (1 - trust) * (NO_WORD if _is_word(*first[key][:2]) else 1.0) for key in weights}
    best = _ranked(
        index,
        {key: sure / all_of[key] for key, sure in sures.items()},
        {key: (name, written) for key, (_, name, written) in first.items()},
    )
    return best, 0.0 if best is None else weights[same(best.value)] / all_of[same(best.value)]


def _is_word(share: float, name: str) -> bool:
    return _usual(share) == 1.0 and not any(map(str.isdecimal, name))


def _of_name(named: tuple[float, str, str]) -> float:
    return named[0]


def _usual(share: float) -> float:
    return 1.0 if share > UNKNOWN_NAME else NO_WORD


_FIELDS = ("material", "thickness_mm", "count", "hand", "length_mm", "number", "size")
_KEYS: dict[str, Callable[[Any], Hashable]] = {
    "name": lambda name: "".join(plain_phrase(name)),
    "thickness_mm": lambda mm: round(mm, 3),
    "length_mm": lambda mm: round(mm, 3),
}


def _voted(
    index: int, key: str, parsed: Sequence[tuple[_Parsed, float, str]], trust: float, same: Callable[[Any], Hashable]
) -> Value[Any] | None:
    """Return the value that the readings give with the greatest probability, and the others."""
    shares: dict[Hashable, float] = defaultdict(float)
    first: dict[Hashable, tuple[Any, str]] = {}
    for one, share, written in parsed:
        if key in one.values:
            value = one.values[key]
            shares[same(value)] += share * one.shares[key]
            first.setdefault(same(value), (value, written))
    return _ranked(index, {key: trust * share for key, share in shares.items()}, first)


def _ranked(
    index: int, sures: Mapping[Hashable, float], first: Mapping[Hashable, tuple[Any, str]]
) -> Value[Any] | None:
    """Return the surest of several values with the others; `first` holds each with the reading that it stands in."""
    best, *others = [*sorted((k for k in sures if sures[k] >= LEAST_SURE), key=lambda k: -sures[k]), None]
    if best is None:
        return None
    value, written = first[best]
    return Value(
        value,
        sures[best],
        index,
        " ".join(written.split()),
        tuple((first[k][0], sures[k]) for k in others if k is not None),
    )


def _parsed(text: str, words: Vocabulary, *, is_metric: bool) -> _Parsed:
    line = tokens(text, words)
    parsed = _Parsed()
    used = [False] * len(line)
    for step in (_sizes, _wood, _counts, _hands):
        step(line, used, parsed, is_metric)
    _bare(line, parsed, is_metric)
    _names(line, used, parsed, words)
    if "stock" in parsed.flags:
        for key in ("thickness_mm", "length_mm", "count", "material"):
            parsed.values.pop(key, None)
    return parsed


def _is(token: Token | None, *kinds: str) -> bool:
    return token is not None and token.kind == "meaning" and token.meaning[0] in kinds


def _at(line: Sequence[Token], index: int) -> Token | None:
    return line[index] if 0 <= index < len(line) else None


def _sizes(line: Sequence[Token], used: list[bool], parsed: _Parsed, is_metric: bool) -> None:
    """Read the size that the plan is drawn in, and flags: grain, radius, stock that is no sheet."""
    for k, token in enumerate(line):
        if _is(token, "full", "half"):
            parsed.put("size", "1:1" if token.meaning[0] == "full" else "1:2")
            used[k] = True
        if _is(token, "grain"):
            parsed.flags.add("grain")
            used[k] = True
        if _is(token, "square", "radius"):
            parsed.flags.update(("stock", "remark"))
            used[k] = True
        next_token, last = _at(line, k + 1), _at(line, k + 2)
        if token.whole is not None and next_token is not None and next_token.text == ":" and last and last.whole:
            parsed.put("size", f"{token.whole}:{last.whole}")
            used[k : k + 3] = [True] * 3
        if token.share is not None and next_token is not None and next_token.text.upper() in ("SIZE", "SCALE"):
            parsed.put("size", f"{token.share.numerator}:{token.share.denominator}")
            used[k : k + 2] = [True] * 2
        if _is(token, "scale"):
            used[k] = True


def _wood(line: Sequence[Token], used: list[bool], parsed: _Parsed, is_metric: bool) -> None:
    """Read material and thickness: the number that stands before or after the words for wood."""
    wood = [k for k, token in enumerate(line) if _is(token, "material", "sheet", "thick")]
    for k in wood:
        used[k] = True
        if _is(line[k], "material"):
            parsed.put("material", line[k].meaning[1])
        parsed.flags.update({"sheet"} if _is(line[k], "sheet") else ())
    for word in wood:
        before = _number_beside(line, word, -1)
        number = before if before is not None else _number_beside(line, word, 1)
        if number is not None and not used[number]:
            _sheet_thickness(line, number, used, parsed, is_metric=is_metric, stands_after=before is None)


def _sheet_thickness(
    line: Sequence[Token], k: int, used: list[bool], parsed: _Parsed, *, is_metric: bool, stands_after: bool
) -> None:
    """Take a number beside words for wood for the thickness, and one that multiplies it for the count."""
    mm = _likely_mm(line[k], is_metric=is_metric)
    is_numbered = stands_after and line[k].whole is not None and "material" not in parsed.values
    if mm is None or is_numbered:  # SHEET 1 is the first of several
        return
    used[k] = True
    times, number = _at(line, k - 1), _at(line, k - 2)
    if times is not None and times.kind == "times" and number is not None:
        if number.whole is None or not 0 < number.whole <= MOST_COUNT:
            parsed.flags.add("stock")  # 1/8 x 1/4: a strip, not a sheet
            return
        parsed.put("count", number.whole)
        used[k - 2 : k] = [True, True]
    parsed.put("thickness_mm", mm)


def _number_beside(line: Sequence[Token], at: int, way: int) -> int | None:
    """Return the number next to words for wood, over signs and further such words, None where another word stands."""
    k = at + way
    while 0 <= k < len(line):
        token = line[k]
        if token.kind == "number":
            has_count = _is(_at(line, k + 1), "off", "pair") or _is(_at(line, k - 1), "make")
            return None if has_count and not (way < 0 and _is(_at(line, k + 1), "sheet")) else k
        if not (_is(token, "material", "sheet", "thick") or (token.kind == "sign" and token.text in ".-,;:|\"'")):
            return None
        k += way
    return None


def _likely_mm(token: Token, *, is_metric: bool) -> float | None:
    """Return the thickness that a number states; a bare decimal below 1 is in the sheet's own unit."""
    found = token.lengths
    if not is_metric and _PART_OF_INCH.fullmatch(token.text):
        found = lengths((Reading(f'{token.text}"', 1.0),))
    return next((length.mm for length in found if THINNEST_MM <= length.mm <= THICKEST_MM), None)


def _counts(line: Sequence[Token], used: list[bool], parsed: _Parsed, is_metric: bool) -> None:
    for k, token in enumerate(line):
        number = token.whole
        if number is None or not 0 < number <= MOST_COUNT or used[k]:
            continue
        before, after = _at(line, k - 1), _at(line, k + 1)
        colon = before is not None and before.text in (":", "=", ".", "-") and _is(_at(line, k - 2), "make", "off")
        if _is(after, "off") or _is(before, "make") or colon:
            span = (k, k + 1) if _is(after, "off") else (k - 2 if colon else k - 1, k)
        elif before is not None and after is not None and (before.text, after.text) in (("(", ")"), ("[", "]")):
            span = (k - 1, k + 1)
        elif after is not None and after.kind == "times" and not (next_ := _at(line, k + 2)):
            span = (k, k + 1)
        elif before is not None and before.kind == "times" and not _follows_number(line, k - 1):
            span = (k - 1, k)
        elif (
            before is None and after is not None and after.kind == "times" and next_ and next_.kind in ("word", "mark")
        ):
            span = (k, k + 1)
        elif _is(after, "pair"):
            span = (k, k)
        else:
            continue
        parsed.put("count", number)
        used[span[0] : span[1] + 1] = [True] * (span[1] + 1 - span[0])


def _follows_number(line: Sequence[Token], at: int) -> bool:
    before = _at(line, at - 1)
    return before is not None and before.kind == "number"


def _hands(line: Sequence[Token], used: list[bool], parsed: _Parsed, is_metric: bool) -> None:
    kinds = {token.meaning[0] for token in line if _is(token, "left", "right", "pair")}
    if not kinds:
        return
    is_pair = "pair" in kinds or len(kinds) == 2
    parsed.put("hand", "pair" if is_pair else kinds.pop())
    for k, token in enumerate(line):
        if is_pair and _is(token, "left", "right", "pair", "off"):
            used[k] = True
    if (
        is_pair
        and parsed.values.get("count", 1) == 2
        and not any(_is(t, "pair") and "PAIR" in t.text.upper() for t in line)
    ):
        parsed.values["count"] = 1  # '2 OFF, L.H. & R.H.': one pair


def _bare(line: Sequence[Token], parsed: _Parsed, is_metric: bool) -> None:
    """Read a line that is nothing but a length, or nothing but a number or a mark."""
    inner = [token for token in line if token.kind != "sign"]
    if len(inner) != 1:
        return
    (token,) = inner
    if token.kind == "number" and "count" not in parsed.values:
        if (mm := _likely_mm(token, is_metric=is_metric)) is not None:
            is_odd = token.whole is not None or (is_metric and "/" in token.text)
            parsed.put("length_mm", mm, BARE_FIGURE if is_odd else 1.0)
        if token.whole is not None and 0 < token.whole <= 99:
            parsed.put("number", str(token.whole))


def _names(line: Sequence[Token], used: list[bool], parsed: _Parsed, words: Vocabulary) -> None:
    """Read the name: what is left of the line between signs and all that has another meaning."""
    runs: list[list[Token]] = [[]]
    for k, (token, is_used) in enumerate(zip(line, used, strict=True)):
        is_dot = token.text in (".", "'", "&", "+") or (token.text in "-/" and _joins(line, k))
        is_other = token.kind == "meaning" and token.meaning[0] not in ("left", "right")
        is_size = token.kind == "number" and token.whole is None  # a name may end in a whole number only
        if is_used or is_other or is_size or (token.kind == "sign" and not is_dot):
            runs.append([])
        else:
            runs[-1].append(token)
    best: tuple[float, str] = (0.0, "")
    for run in runs:
        lettered = _spelled(run)
        name = _put_right(lettered, words)
        share = _name_share(name, run, words) * (1.0 if name == lettered else MISSPELLED)
        name = _as_mark(name)
        if share < 0:
            parsed.flags.add("remark")
        best = max(best, (share, name), key=lambda pair: pair[0])
    if "remark" not in parsed.flags and best[0] > 0:
        parsed.put("name", best[1], best[0])


def _as_mark(name: str) -> str:
    """Return a mark whose number was read as a letter with its number: RI is R1."""
    is_one = _SLIPPED.fullmatch(name) is not None
    return name[0] + name[1:].translate(str.maketrans("Il|", "111")) if is_one else name


def _joins(line: Sequence[Token], k: int) -> bool:
    """Return whether a hyphen stands between the letter and the number of a mark."""
    before, after = _at(line, k - 1), _at(line, k + 1)
    return before is not None and after is not None and len(before.text) <= 2 and after.kind == "number"


def _spelled(run: Sequence[Token]) -> str:
    text = " ".join(token.text for token in run)
    text = re.sub(r"\s*([.\-/'])\s*", r"\1", text).strip(" .-/'&+")
    return re.sub(
        r"[^\W\d_]*[05|][^\W\d_]+|[^\W\d_]{2,}[05|]", lambda m: m[0].translate(str.maketrans("05|", "OSI")), text
    )


def _put_right(name: str, words: Vocabulary) -> str:
    """Return a name with words that have one letter wrong as they are spelled."""
    spelled = []
    for word in name.split(" "):
        known = words.known_word(plain_word(word)) if word.isalpha() else None
        spelled.append(word if known is None else known if word.isupper() else known.lower())
    return " ".join(spelled)


def _name_share(name: str, run: Sequence[Token], words: Vocabulary) -> float:
    """Return how surely a piece of a line is a name; below 0 where it is a remark."""
    phrase = plain_phrase(name)
    if not phrase:
        return 0.0
    if not any(token.kind in ("word", "mark", "meaning") for token in run):
        return 0.0
    if _MARK.fullmatch(name):
        return SLIPPED_MARK if _RINGED.match(name) else KNOWN_NAME
    if _SLIPPED.fullmatch(name):
        return SLIPPED_MARK
    if _LETTER.fullmatch(name):
        return LETTER_NAME
    if words.has_remark(phrase):
        return -1.0
    *first, last = [token for token in run if token.kind != "sign"] or [run[0]]
    numbered = last.kind in ("number", "mark") or (last.kind == "word" and len(last.text) == 1)
    spoken = phrase[:-1] if numbered and first else phrase
    if any(token.kind == "number" for token in first) or sum(c.isalpha() for word in spoken for c in word) < 2:
        return 0.0
    return _spoken_share(spoken, words)


def _spoken_share(phrase: Phrase, words: Vocabulary) -> float:
    """Return how surely words are a name; those with a strange ending are less so: it may be a misread letter."""
    return max(_share_by(words.is_listed, phrase, words), MISSPELLED * _share_by(words.is_name, phrase, words))


def _share_by(is_name: Callable[[Phrase], bool], phrase: Phrase, words: Vocabulary) -> float:
    if is_name(phrase):
        return KNOWN_NAME
    heads = [n for n in range(1, len(phrase) + 1) if is_name(phrase[-n:]) or is_name(phrase[:n])]
    known = sum(word in words.beside or is_name((word,)) or (word,) in words.meanings for word in phrase)
    if heads and known == len(phrase):
        return KNOWN_NAME
    if heads and len(phrase) <= 4:
        return NAMED_SO
    return UNKNOWN_NAME if len(phrase) <= 3 else 0.0


def is_metric(texts: Sequence[Text]) -> bool:
    """Return whether a sheet states its sizes in millimetres: more of its lettering does than has inches."""
    votes = 0.0
    for text in texts:
        line = text.text
        votes += bool(re.search(r"\d\s?mm\b", line, re.IGNORECASE))
        votes -= bool(re.search(r"\d\s?(?:\"|''|ins?\b)|\b\d{1,2}/(?:2|4|8|16|32|64)\b", line, re.IGNORECASE))
    return votes >= 0
