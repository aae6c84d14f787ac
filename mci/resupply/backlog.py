"""Needs that no trip serves yet, in the order of their urgency."""

from __future__ import annotations

import heapq
from bisect import bisect_right
from collections import Counter, defaultdict
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from mci.resupply.needs import Need
    from mci.scenario.network import Network

__all__ = ["Backlog"]


class Backlog:
    """Needs grouped by area and item.

    Parameters
    ----------
    network
        Whose areas and items are in order, which decides between needs that are due and matter alike.
    needs
        What is needed.
    """

    def __init__(self, network: Network, needs: Sequence[Need]) -> None:
        found: defaultdict[tuple[str, str], list[tuple[float, float]]] = defaultdict(list)
        for need in needs:
            found[need.area, need.item].append((need.due, -need.weight))
        self._dues: dict[tuple[str, str], list[tuple[float, float]]] = {
            (place.key, item): sorted(found[place.key, item])
            for place in network.places
            for item in network.items
            if (place.key, item) in found
        }
        self._next = dict.fromkeys(self._dues, 0)
        self._given_up: set[tuple[str, str]] = set()

    @property
    def kinds(self) -> set[tuple[str, str]]:
        """Area and item of everything that was needed."""
        return set(self._dues)

    def _open(self) -> Iterator[tuple[str, str]]:
        return (key for key, dues in self._dues.items() if self._next[key] < len(dues) and key not in self._given_up)

    def most_urgent(self) -> tuple[str, str, float] | None:
        """Return area, item and moment [min] of the need that is due first; ``None`` if none is left."""
        key = min(self._open(), key=lambda key: self._dues[key][self._next[key]], default=None)
        return None if key is None else (*key, self._dues[key][self._next[key]][0])

    def areas(self) -> dict[str, list[str]]:
        """Return what is needed, per area where something is."""
        found: defaultdict[str, list[str]] = defaultdict(list)
        for area, item in self._open():
            found[area].append(item)
        return dict(found)

    def wanted(self, area: str, item: str, by: float) -> int:
        """Return how many are due by a moment [min]."""
        if (area, item) in self._given_up:
            return 0
        return bisect_right(self._dues[area, item], by, key=lambda due: due[0]) - self._next[area, item]

    def left(self, item: str) -> int:
        """Return how many are needed anywhere."""
        return sum(len(self._dues[key]) - self._next[key] for key in self._open() if key[1] == item)

    def first_due(self, area: str) -> float:
        """Return when the first thing is due at an area [min]; ``inf`` if nothing is needed."""
        return min(
            (self._dues[key][self._next[key]][0] for key in self._open() if key[0] == area), default=float("inf")
        )

    def pick(self, area: str, by: float, take: Callable[[str], bool]) -> tuple[Counter[str], float]:
        """Return what to bring to an area, in the order of dues, and when the first of it is due.

        Parameters
        ----------
        by
            What is due later is left [min].
        take
            Whether one more of an item can be taken along; asked again and again until it cannot.
        """
        picked: Counter[str] = Counter()
        first = float("inf")
        full: set[str] = set()
        for (due, _), item in heapq.merge(*(self._from(key) for key in self._open() if key[0] == area)):
            if due > by:
                break
            if item not in full and take(item):
                picked[item] += 1
                first = min(first, due)
            else:
                full.add(item)
        return picked, first

    def _from(self, key: tuple[str, str]) -> Iterator[tuple[tuple[float, float], str]]:
        dues = self._dues[key]
        return ((dues[number], key[1]) for number in range(self._next[key], len(dues)))

    def serve(self, area: str, picked: Counter[str]) -> None:
        """Strike what a trip brings."""
        for item, quantity in picked.items():
            self._next[area, item] += quantity

    def give_up(self, area: str, item: str) -> None:
        """Set a need aside that no trip can serve."""
        self._given_up.add((area, item))

    def revive(self, item: str) -> None:
        """Take needs up again, of something of which more will come."""
        self._given_up = {key for key in self._given_up if key[1] != item}
