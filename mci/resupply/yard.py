"""Stock of every place over time: what comes, what is promised to trips, what is still free."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from typing import TYPE_CHECKING

from mci.resupply.filling import FillQueue
from mci.scenario.network import ItemKind, PlaceKind
from mci.timegrid import RESOLUTION

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from mci.resupply.needs import Spent
    from mci.scenario.network import Network

__all__ = ["Ledger", "Yard"]


class Ledger:
    """Things of one kind at one place.

    Trips are not planned in the order of time, so what is free at a moment is the least that is there from then
    on: taking more would take it from a later trip.
    """

    def __init__(self) -> None:
        self._changes: list[tuple[float, int]] = []
        self._filled: list[float] = []
        self._times: list[float] = []
        self._free: list[int] = []

    def change(self, at: float, quantity: int) -> None:
        """Enter that things come (more than 0) or are taken (less than 0) at a moment [min]."""
        self._changes.append((at, quantity))
        self._times.clear()

    def fill(self, moments: list[float]) -> bool:
        """Enter anew when cylinders are filled; return whether every promise can be kept then."""
        self._filled = moments
        self._count()
        return not self._free or self._free[0] >= 0

    def _count(self) -> None:
        self._times, self._free = [], []
        level = 0
        for at, quantity in sorted([*self._changes, *((moment, 1) for moment in self._filled)]):
            level += quantity
            if self._times and at - self._times[-1] <= RESOLUTION:
                self._free[-1] = level
            else:
                self._times.append(at)
                self._free.append(level)
        for place in range(len(self._free) - 2, -1, -1):
            self._free[place] = min(self._free[place], self._free[place + 1])

    def free(self, at: float) -> int:
        """Return how many can be taken at a moment [min]."""
        if not self._times:
            self._count()
        place = bisect_right(self._times, at + RESOLUTION) - 1
        return self._free[place] if place >= 0 else 0

    def when(self, quantity: int) -> float:
        """Return the first moment at which so many can be taken [min]; ``inf`` if never."""
        if not self._times:
            self._count()
        place = bisect_left(self._free, quantity)
        return self._times[place] if place < len(self._times) else float("inf")


class Yard:
    """Stock of a network.

    Depots, suppliers, fill stations and staging give what they have; areas give what they lend, and empties.  An
    area that needs a thing itself lends none of it.

    Parameters
    ----------
    network
        The network.
    needed
        Area and item of everything that is needed.
    spent
        Empties that come at areas.
    """

    def __init__(self, network: Network, needed: Collection[tuple[str, str]], spent: Sequence[Spent]) -> None:
        kinds = {place.key: place.kind for place in network.places}
        self._books: defaultdict[tuple[str, str], Ledger] = defaultdict(Ledger)
        self._givers: defaultdict[str, dict[str, None]] = defaultdict(dict)
        self.queues = {
            place.key: FillQueue(place.filling, place.open, network.items) for place in network.places if place.filling
        }
        for stock in network.stock:
            lends = bool(stock.source) and (stock.place, stock.item) not in needed
            if kinds[stock.place] is not PlaceKind.AREA or lends or network.items[stock.item].kind is ItemKind.EMPTY:
                self._come(stock.place, stock.item, stock.quantity, stock.available_from)
        for empties in spent:
            for at in empties.at:
                self._come(empties.area, empties.item, 1, at)

    def _come(self, place: str, item: str, quantity: int, at: float) -> None:
        if place in self.queues and item in self.queues[place].makes:
            self.bring(place, [(item, quantity)], at)
        else:
            self._books[place, item].change(at, quantity)
            self._givers[item][place] = None

    def givers(self, item: str) -> Iterator[str]:
        """Yield the places that have, or will have, one that is free."""
        return (place for place in self._givers[item] if self.left(place, item) > 0)

    def left(self, place: str, item: str) -> int:
        """Return how many are free in the end."""
        return self._books[place, item].free(float("inf"))

    def free(self, place: str, item: str, at: float) -> int:
        """Return how many can be taken at a moment [min]."""
        return self._books[place, item].free(at)

    def when(self, place: str, item: str, quantity: int) -> float:
        """Return the first moment at which so many can be taken [min]; ``inf`` if never."""
        return self._books[place, item].when(quantity)

    def take(self, place: str, item: str, quantity: int, at: float) -> None:
        """Promise things to a trip that loads them at a moment [min]."""
        self._books[place, item].change(at, -quantity)

    def bring(self, station: str, empties: Iterable[tuple[str, int]], at: float) -> bool:
        """Queue empties at a fill station, unless a full cylinder that is promised would then come too late.

        Returns
        -------
        done
            Whether they are queued.
        """
        self.queues[station].add(at, empties)
        if self._refill(station):
            return True
        self._take_back(station)
        return False

    def full_by(self, station: str, empties: Iterable[tuple[str, int]], at: float) -> float:
        """Return when empties that come at a moment would all be full [min]; ``inf`` if they cannot be queued."""
        if not self.bring(station, empties, at):
            return float("inf")
        moments = self.queues[station].filled(by=at)
        self._take_back(station)
        return max((times[-1] for times in moments.values()), default=float("inf"))

    def _take_back(self, station: str) -> None:
        self.queues[station].undo()
        self._refill(station)

    def _refill(self, station: str) -> bool:
        """Enter anew what a fill station makes; return whether every promise can be kept."""
        filled = self.queues[station].filled()
        kept = True
        for full in dict.fromkeys(self.queues[station].makes.values()):
            kept &= self._books[station, full].fill(filled.get(full, []))
            self._givers[full][station] = None
        return kept
