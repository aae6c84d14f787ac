"""Roles of cases: the scenario as written comes first, and every number swings alone between the ends of its range.

Which case shows a swing is found, not remembered: one that was asked for serves as well as one made for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from mci.scenario.numbers import Number
from mci.scenario.quantity import read_value
from mci.surge.cases import Case, Role

__all__ = ["AS_WRITTEN", "Swing", "add_swings", "find_swings"]

#: Key of the case that is the scenario itself.
AS_WRITTEN = "as written"

#: What makes a case: the value of every number that is not as written.
_Point = frozenset[tuple[str, float | str]]


@dataclass(frozen=True, slots=True)
class Swing:
    """One number at an end of its range, or a word, the others as written.

    Parameters
    ----------
    path, text
        The number and its value as a planner would write it.
    value
        In the unit of the number; NaN for words and for ``full``.
    key
        The case that shows it.
    """

    path: str
    text: str
    value: float
    key: str


def add_swings(cases: Sequence[Case], numbers: Mapping[str, Number], *, start: int | None = None) -> tuple[Case, ...]:
    """Return the scenario as written, the cases, and the swings that no case shows yet.

    A number swings to its lowest and its highest value in the cases; a word, and a pressure that says ``full``, to
    each that occurs.

    Parameters
    ----------
    numbers
        The numbers of the scenario, by path.
    start
        Clock time of T+0 [min after midnight].
    """
    whole = [Case(AS_WRITTEN, role=Role.AS_WRITTEN), *cases]
    reader = _Reader(numbers, start)
    there, keys = {reader.point(case.values) for case in whole}, {case.key for case in whole}
    for path, text, _ in reader.ends(whole):
        values = {path: text}
        if reader.point(values) not in there:
            key = f"{path} = {text}"
            while key in keys:
                key += " alone"
            keys.add(key)
            whole.append(Case(key, values, Role.SWING))
    return tuple(whole)


def find_swings(cases: Sequence[Case], numbers: Mapping[str, Number], *, start: int | None = None) -> tuple[Swing, ...]:
    """Return the swings that cases show, by number; parameters as in :func:`add_swings`."""
    reader = _Reader(numbers, start)
    shown: dict[_Point, str] = {}
    for case in cases:
        shown.setdefault(reader.point(case.values), case.key)
    found = ((path, text, value, shown.get(reader.point({path: text}))) for path, text, value in reader.ends(cases))
    return tuple(Swing(path, text, value, key) for path, text, value, key in found if key is not None)


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads what cases say, so that 2 h and 120 min are one value."""

    numbers: Mapping[str, Number]
    start: int | None

    def value(self, path: str, text: str) -> float:
        return read_value(self.numbers[path].kind, text, self.start)

    def point(self, values: Mapping[str, str]) -> _Point:
        return frozenset(
            (path, found)
            for path, text in values.items()
            if (found := _plain(text, self.value(path, text))) != self._written(path)
        )

    def _written(self, path: str) -> float | str:
        return _plain(self.numbers[path].text, self.numbers[path].value)

    def ends(self, cases: Sequence[Case]) -> Iterator[tuple[str, str, float]]:
        """Yield path, text and value of what every number swings to."""
        paths = list(dict.fromkeys(path for case in cases for path in case.values))
        for path in paths:
            texts = dict.fromkeys(case.values[path] for case in cases if path in case.values)
            values = {text: self.value(path, text) for text in texts}
            real = {text: value for text, value in values.items() if not math.isnan(value)}
            words = {text.lower(): text for text in values if text not in real}
            chosen = (
                [*dict.fromkeys((min(real, key=real.__getitem__), max(real, key=real.__getitem__)))] if real else []
            )
            yield from ((path, text, values[text]) for text in (*chosen, *words.values()))


def _plain(text: str, value: float) -> float | str:
    return text.lower() if math.isnan(value) else value
