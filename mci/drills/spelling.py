"""Spelling that does not matter, and how far two spellings are apart.

What people write on tape and in logs differs in capitals, dashes, spaces and leading zeros.  Numbers are what tells
things alike apart, so they are never corrected: only letters may be a slip of the pen.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

__all__ = ["fold", "mend_digits", "numbers_of", "slips", "slips_allowed", "words_of"]

_PIECES = re.compile(r"\d+|[^\W\d_]+")
_NUMBER = re.compile(r"\d+")
_FAR = 99
_MOST = 6  # slips beyond which nobody asks: twice what is ever allowed
_SAME = {"aluminum": "aluminium", "pediatric": "paediatric", "gray": "grey", "centre": "center"}


def words_of(text: str) -> tuple[str, ...]:
    """Return the words and numbers of a text, small, without accents, leading zeros and everything between.

    A ``P07`` is ``("p", "7")``; words that are spelled in two ways are one.
    """
    plain = "".join(each for each in unicodedata.normalize("NFKD", text) if not unicodedata.combining(each))
    pieces = _PIECES.findall(plain.casefold())
    return tuple(each.lstrip("0") or "0" if each.isdigit() else _SAME.get(each, each) for each in pieces)


def fold(text: str) -> str:
    """Return a text as it is compared: words run together, numbers after each other kept apart."""
    joined = ""
    for piece in words_of(text):
        between = " " if joined[-1:].isdigit() and piece[0].isdigit() else ""
        joined += between + piece
    return joined


def numbers_of(folded: str) -> tuple[str, ...]:
    """Return the numbers in a folded text."""
    return tuple(_NUMBER.findall(folded))


def mend_digits(text: str) -> str:
    """Return a text with letters beside digits that look like digits read as such: ``PO7``, ``P1O``, ``Rl2``."""
    zeros = re.sub(r"(?<=\d)[oO]|[oO](?=\d)", "0", text)
    return re.sub(r"(?<=\d)[lI]|[lI](?=\d)", "1", zeros)


def slips_allowed(folded: str) -> int:
    """Return how many slips of the pen a folded text may have: none in three letters, one in seven, three at most."""
    letters = sum(not each.isdigit() and each != " " for each in folded)
    return 0 if letters < 4 else 1 if letters < 8 else 2 if letters < 12 else 3


@lru_cache(maxsize=65536)
def slips(one: str, other: str) -> int:
    """Return the slips of the pen between two folded texts: a letter too many, too few, another one, or two swapped.

    Texts with different numbers, or of very different lengths, are as far apart as can be.
    """
    if abs(len(one) - len(other)) > _MOST or numbers_of(one) != numbers_of(other):
        return _FAR
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(one, start=1):
        last, before, row = before, row, [i]
        for j, against in enumerate(other, start=1):
            best = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != against))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == against:
                best = min(best, last[j - 2] + 1)
            row.append(best)
    return row[-1]
