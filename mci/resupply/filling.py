"""Empties at a fill station: in which order they are filled, and when each is full."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.resupply.hours import first_opening
from mci.scenario.network import ItemKind
from mci.scenario.reach import filled_item

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from mci.scenario.network import Filling, Item, Window

__all__ = ["FillQueue"]


@dataclass(frozen=True, slots=True)
class _Filled:
    """What becomes of one empty, and how long that takes [min]."""

    full: str
    minutes: float


class FillQueue:
    """Empties of one fill station, filled one after the other in the order of coming.

    One takes ``max(60 / cylinders an hour, 60 litres / litres an hour)`` minutes, within one opening: what
    cannot be full before the station closes is begun when it opens again.

    Parameters
    ----------
    filling
        What it fills, and how fast.
    hours
        When it is open.
    items
        Items of the network.

    Attributes
    ----------
    makes
        Per empty that it fills, what becomes of it.
    """

    def __init__(self, filling: Filling, hours: Sequence[Window], items: Mapping[str, Item]) -> None:
        self._hours = hours
        self._kinds: dict[str, _Filled] = {}
        self._came: list[tuple[float, tuple[tuple[str, int], ...]]] = []
        for item in items.values():
            full = filled_item(items, item.cylinder)
            if item.kind is ItemKind.EMPTY and item.cylinder in filling.cylinders and full and full.lot:
                minutes = max(60 / filling.per_hour, 60 * full.lot.litres_each / filling.litres_per_hour)
                self._kinds[item.key] = _Filled(full.key, minutes)

        self.makes = {empty: kind.full for empty, kind in self._kinds.items()}

    def add(self, at: float, empties: Iterable[tuple[str, int]]) -> None:
        """Add empties that come at a moment [min]."""
        self._came.append((at, tuple(empties)))

    def undo(self) -> None:
        """Take back what was added last."""
        self._came.pop()

    def minutes(self, empty: str) -> float:
        """Return how long one takes [min]."""
        return self._kinds[empty].minutes

    def filled(self, by: float = math.inf) -> dict[str, list[float]]:
        """Return when each that comes by a moment is full, per item that it has become [min].

        What never is, is left out.
        """
        done: defaultdict[str, list[float]] = defaultdict(list)
        moment = 0.0
        for at, empties in sorted(self._came, key=lambda come: come[0]):
            if at > by:
                break
            moment = max(moment, at)
            for empty, quantity in empties:
                kind = self._kinds[empty]
                for _ in range(quantity):
                    work = first_opening(self._hours, moment, kind.minutes)
                    if work is None:
                        break
                    moment = work.done
                    done[kind.full].append(moment)
        return dict(done)
