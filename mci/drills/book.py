"""A book of names: what a written name can mean, and how sure that is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches
from enum import StrEnum

from mci.drills.spelling import fold, mend_digits, numbers_of, slips, slips_allowed, words_of

__all__ = ["Book", "Entry", "Found", "How"]

_NEAREST = 3  # how many names are told where none is meant for sure


class How(StrEnum):
    """How a name was found, the surest first."""

    WRITTEN = "as written"
    SPELLED = "but for capitals, spaces, dashes or zeros"
    MARK = "by its mark"
    SHORT = "by a short form of the trade"
    PART = "by a part of its name"
    NEAR = "by its spelling"
    NOT = "not found"
    SEVERAL = "several are meant alike"


@dataclass(frozen=True, slots=True)
class Found:
    """What a written name means.

    Parameters
    ----------
    name
        The name as orders use it; empty where nothing is meant for sure.
    how
        How it was found.
    near
        Where nothing is: those that may be meant, the nearest first.
    alike
        Where several are meant alike: how they were found.
    """

    name: str
    how: How
    near: tuple[str, ...] = ()
    alike: How = How.NOT

    @property
    def is_sure(self) -> bool:
        """Whether it is the name, a mark or a short form, not a reading of something else."""
        return self.how in (How.WRITTEN, How.SPELLED, How.MARK, How.SHORT)


@dataclass(frozen=True, slots=True)
class Entry:
    """A thing of a book: its name in orders, the area where it is, its mark, other names, and the short ones."""

    name: str
    area: str = ""
    mark: str = ""
    others: tuple[str, ...] = ()
    short: tuple[str, ...] = ()


@dataclass(slots=True)
class Book:
    """Names of one kind of thing."""

    entries: tuple[Entry, ...]
    _names: dict[str, Entry] = field(init=False)
    _ways: tuple[tuple[How, dict[str, list[Entry]]], ...] = field(init=False)
    _alike: dict[tuple[str, ...], list[tuple[str, list[Entry]]]] = field(init=False, default_factory=dict)
    _words: list[tuple[Entry, tuple[str, ...]]] = field(init=False)
    _by_word: dict[str, dict[str, None]] = field(init=False, default_factory=dict)
    _keys: dict[str, list[Entry]] = field(init=False, default_factory=dict)
    _told: dict[str, str] = field(init=False)
    _kept: dict[tuple[str, str], Found] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self._names = {each.name: each for each in self.entries}
        self._ways = (
            (How.SPELLED, self._index(lambda each: (each.name, *each.others))),
            (How.MARK, self._index(lambda each: (each.mark, f"{each.area} {each.mark}") if each.mark else ())),
            (How.SHORT, self._index(lambda each: each.short)),
        )
        for _, index in self._ways:
            for key, entries in index.items():
                self._alike.setdefault(numbers_of(key), []).append((key, entries))
                self._keys.setdefault(key, []).extend(entries)
        self._words = [(entry, words_of(entry.name)) for entry in self.entries]
        self._told = {entry.name: entry.mark or entry.name for entry in self.entries}
        for entry, whole in self._words:
            for word in (*words_of(entry.mark), *whole):
                self._by_word.setdefault(word, {})[entry.name] = None

    def _index(self, names: Callable[[Entry], Iterable[str]]) -> dict[str, list[Entry]]:
        made: dict[str, list[Entry]] = {}
        for entry in self.entries:
            for key in {fold(name) for name in names(entry)} - {""}:
                made.setdefault(key, []).append(entry)
        return made

    def find(self, text: str, area: str = "") -> Found:
        """Return what a written name means.

        Parameters
        ----------
        area
            Where it should be: of several alike, the one there is meant.
        """
        key = (text, area)
        if key not in self._kept:
            self._kept[key] = self._find(text.strip(), area)
        return self._kept[key]

    def _find(self, text: str, area: str) -> Found:
        if text in self._names:
            return Found(text, How.WRITTEN)
        folded = fold(text)
        if not folded:
            return Found("", How.NOT)
        for how, index in self._ways:
            if index.get(folded):
                return _one_of(index[folded], area, how)
        mended = mend_digits(text)
        if mended != text and any(index.get(fold(mended)) for _, index in self._ways):
            found = self._find(mended, area)
            return Found(found.name, How.NEAR, found.near) if found.name else found
        words = words_of(text)
        parts = [entry for entry, whole in self._words if _is_part(words, whole)]
        if parts:
            return _one_of(parts, area, How.PART)
        return self._nearest(folded, words, area)

    def _nearest(self, folded: str, words: tuple[str, ...], area: str) -> Found:
        """Read a slip of the pen: one thing that near, and nothing else half as near."""
        far: dict[str, tuple[int, Entry]] = {}
        for key, entries in self._alike.get(numbers_of(folded), ()):
            apart = slips(folded, key)
            for entry in entries:
                if entry.name not in far or apart < far[entry.name][0]:
                    far[entry.name] = (apart, entry)
        nearest = min((apart for apart, _ in far.values()), default=slips_allowed(folded) + 1)
        if nearest <= slips_allowed(folded):
            near = [entry for apart, entry in far.values() if apart <= 2 * nearest]
            alike = all(far[entry.name][0] == nearest for entry in near)
            return _one_of(near, area if alike else "", How.NEAR)
        return Found("", How.NOT, tuple(self._listed(folded, words)))

    def _listed(self, folded: str, words: tuple[str, ...]) -> list[str]:
        """List the names that look most alike, to be told: those that share most words, or else most letters."""
        shared = Counter(name for word in words for name in self._by_word.get(word, ()))
        if shared:
            most = max(shared.values())
            return list(dict.fromkeys(self._told[name] for name, count in shared.items() if count == most))[:_NEAREST]
        close = get_close_matches(folded, self._keys, n=_NEAREST, cutoff=0.5)
        return list(dict.fromkeys(self._told[each.name] for key in close for each in self._keys[key]))[:_NEAREST]


def _one_of(entries: list[Entry], area: str, how: How) -> Found:
    """Return the only entry, or the only one at the area."""
    names = list(dict.fromkeys(each.name for each in entries))
    here = list(dict.fromkeys(each.name for each in entries if area and each.area == area))
    for meant in (names, here):
        if len(meant) == 1:
            return Found(meant[0], how)
    return Found("", How.SEVERAL, tuple((here or names)[:_NEAREST]), how)


def _is_part(words: tuple[str, ...], whole: tuple[str, ...]) -> bool:
    """Tell whether words stand in a name in their order; where both end with a number, it must be the same.

    One word alone must have four letters: ``D 4`` may be a part of a name, ``D`` may not.
    """
    if len(words) == 1 and not (words[0].isalpha() and len(words[0]) > 3):
        return False
    if all(each.isdigit() for each in words):
        return False
    if words[-1].isdigit() and words[-1] != whole[-1]:
        return False
    rest = iter(whole)
    return all(each in rest for each in words)
