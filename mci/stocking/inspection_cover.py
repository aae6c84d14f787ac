"""How long a cache carries a load: minutes until somebody of it is left without, as far as litres and outlets go.

Everything is divided freely, so this is the best that a crew could do, and no fault that is mended ever lowers it.
With T the time, x the minutes of regulators r on cylinders c, and y those of patients at flow f through them:

    T largest, with, for all f: sum_rc y_rcf = n_f T       (everybody of the load, all the time)
    sum_f y_rcf <= outlets_r x_rc                           (a patient needs an outlet)
    sum_f f y_rcf <= flow_r x_rc                            (what all outlets of a regulator pass)
    sum_c x_rc <= count_r T,  sum_r x_rc <= count_c T       (one regulator, one cylinder, at a time)
    sum_rf f y_rcf <= litres_c                              (what is in them)
"""

from __future__ import annotations

import functools
import math
import re
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import coo_array

from mci.errors import UsageError
from mci.physics.duration import duration_min
from mci.units import UnitError, format_flow, parse_flow

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from mci.catalogue.model import OutletSet
    from mci.stocking.inspection_result import CylinderItem

__all__ = ["DEFAULT_LOAD", "Cover", "Load", "find_cover", "parse_load"]

#: What is asked where the planner says nothing: an assumption, no rule of the trade.
DEFAULT_LOAD = "6 x 15 L/min, 4 x 2 L/min"
_BANDS = 10  # cylinders of a kind are taken together when their litres lie in the same tenth of its content
_NOISE = 1e-6
_MOST = 10_000  # patients


@dataclass(frozen=True, slots=True)
class Load:
    """Patients at flows: numbers by flow [L/min]."""

    patients: tuple[tuple[int, float], ...]

    @property
    def count(self) -> int:
        """Patients in all."""
        return sum(count for count, _ in self.patients)

    @property
    def flow_lpm(self) -> float:
        """Flow of all together [L/min]."""
        return sum(count * flow for count, flow in self.patients)

    def __str__(self) -> str:
        return ", ".join(f"{count} × {format_flow(flow)}" for count, flow in self.patients)


@dataclass(frozen=True, slots=True)
class Cover:
    """How long a load is carried.

    Parameters
    ----------
    minutes
        Until somebody of it is left without [min]; 0 where not everybody gets an outlet.
    by_litres
        The same as if there were outlets enough [min].
    connected
        Patients of the load who can be on oxygen at once.
    """

    minutes: float
    by_litres: float
    connected: int


def parse_load(text: str) -> Load:
    """Read a load such as ``6 x 15 L/min, 4 x 2 L/min``.

    Raises
    ------
    UsageError
        Saying what cannot be read.
    """
    counts: dict[float, int] = defaultdict(int)
    for part in text.split(","):
        match = re.fullmatch(r"\s*(\d{1,5})\s*[x×*]\s*(.+?)\s*", part)
        if match is None or int(match[1]) == 0:
            raise UsageError(f"{part.strip()!r} is no load: write patients and flow, such as {DEFAULT_LOAD}")
        try:
            flow = parse_flow(match[2])
        except UnitError as error:
            raise UsageError(f"{match[2]!r} in the load {error}") from None
        if flow <= 0:
            raise UsageError(f"the flow in {part.strip()!r} must be above 0 L/min")
        counts[flow] += int(match[1])
    if sum(counts.values()) > _MOST:
        raise UsageError(f"a load of more than {_MOST} patients is not looked at")
    return Load(tuple((counts[flow], flow) for flow in sorted(counts, reverse=True)))


@dataclass(frozen=True, slots=True)
class _Heap:
    """Cylinders that are alike, with what all of them hold [L]."""

    valve: str
    built_in: OutletSet | None
    count: int
    litres: float


@dataclass(frozen=True, slots=True)
class _Pair:
    """A way to draw: outlets by number, cylinders by number, and their outlets."""

    outlets: int | None
    heap: int
    which: OutletSet


def find_cover(load: Load, cylinders: Iterable[CylinderItem], regulators: Sequence[tuple[int, OutletSet]]) -> Cover:
    """Return how long cylinders carry a load with so many regulators of each kind."""
    return _cover_of(load, _heaps(cylinders), tuple(regulators))


@functools.lru_cache(maxsize=4096)  # mending either of two alike cylinders comes to the same
def _cover_of(load: Load, heaps: tuple[_Heap, ...], regulators: tuple[tuple[int, OutletSet], ...]) -> Cover:
    pairs = [
        _Pair(number, index, which)
        for index, heap in enumerate(heaps)
        for number, (_, which) in enumerate(regulators)
        if heap.built_in is None and heap.valve in which.fits
    ] + [_Pair(None, index, heap.built_in) for index, heap in enumerate(heaps) if heap.built_in is not None]
    by_litres = duration_min(sum(heap.litres for heap in heaps), load.flow_lpm)
    connected = _most_connected(load, heaps, regulators, pairs)
    if connected < load.count:
        return Cover(0.0, by_litres, connected)
    return Cover(min(by_litres, _longest(load, heaps, regulators, pairs)), by_litres, connected)


def _heaps(cylinders: Iterable[CylinderItem]) -> tuple[_Heap, ...]:
    """Gather cylinders of one kind, valve and tenth of their content."""
    found: dict[tuple[str, str, int], list[CylinderItem]] = defaultdict(list)
    for item in cylinders:
        if item.litres > 0 and item.cylinder is not None:
            band = math.floor(_BANDS * item.litres / item.cylinder.content_l)
            found[item.kind, item.valve, band].append(item)
    return tuple(
        _Heap(items[0].valve, items[0].built_in, len(items), round(sum(item.litres for item in items), 9))
        for _, items in sorted(found.items())
    )


class _Rows:
    """Rows of a linear programme, filled entry by entry."""

    def __init__(self) -> None:
        self.entries: list[tuple[int, int, float]] = []
        self.most: list[float] = []

    def add(self, entries: Iterable[tuple[int, float]], most: float = 0.0) -> None:
        self.entries += [(len(self.most), column, value) for column, value in entries]
        self.most.append(most)

    def matrix(self, columns: int) -> coo_array:
        rows, at, values = zip(*self.entries, strict=True)
        return coo_array((values, (rows, at)), shape=(len(self.most), columns))


def _columns(load: Load, pairs: Sequence[_Pair]) -> tuple[list[list[tuple[int, float]]], int]:
    """Return, for each pair, its columns of patients with their flows; those of regulators come first."""
    at, found = len(pairs), []
    for pair in pairs:
        flows = [flow for _, flow in load.patients if pair.which.passes(flow, high_pressure=False)]
        found.append([(at + place, flow) for place, flow in enumerate(flows)])
        at += len(flows)
    return found, at


def _outlet_rows(
    rows: _Rows,
    columns: Sequence[Sequence[tuple[int, float]]],
    heaps: Sequence[_Heap],
    regulators: Sequence[tuple[int, OutletSet]],
    pairs: Sequence[_Pair],
    time: int | None,
) -> None:
    """Add what outlets, regulators and cylinders allow: in the time of a column, or at one moment."""

    def limit(entries: list[tuple[int, float]], most: int) -> None:
        rows.add([*entries, *([(time, -most)] if time is not None else [])], 0.0 if time is not None else most)

    for number, (pair, mine) in enumerate(zip(pairs, columns, strict=True)):
        rows.add([*((column, 1.0) for column, _ in mine), (number, -pair.which.outlets)])
        rows.add([*mine, (number, -pair.which.total_max_lpm)])
    for index, (count, _) in enumerate(regulators):
        limit([(number, 1.0) for number, pair in enumerate(pairs) if pair.outlets == index], count)
    for index, heap in enumerate(heaps):
        limit([(number, 1.0) for number, pair in enumerate(pairs) if pair.heap == index], heap.count)


def _most_connected(
    load: Load, heaps: Sequence[_Heap], regulators: Sequence[tuple[int, OutletSet]], pairs: Sequence[_Pair]
) -> int:
    """Return how many patients of a load can be on oxygen at one moment."""
    columns, width = _columns(load, pairs)
    if not any(columns):
        return 0
    rows = _Rows()
    _outlet_rows(rows, columns, heaps, regulators, pairs, None)
    for count, flow in load.patients:
        rows.add([(column, 1.0) for mine in columns for column, at in mine if at == flow], count)
    aims = np.zeros(width)
    aims[len(pairs) :] = -1.0
    found = linprog(aims, A_ub=rows.matrix(width), b_ub=rows.most, method="highs")
    return math.floor(-float(found.fun) + _NOISE)


def _longest(
    load: Load, heaps: Sequence[_Heap], regulators: Sequence[tuple[int, OutletSet]], pairs: Sequence[_Pair]
) -> float:
    """Return the longest time for which everybody of a load is on oxygen [min]."""
    columns, time = _columns(load, pairs)
    rows, equal = _Rows(), _Rows()
    _outlet_rows(rows, columns, heaps, regulators, pairs, time)
    for index, heap in enumerate(heaps):
        drawn = [entry for pair, mine in zip(pairs, columns, strict=True) if pair.heap == index for entry in mine]
        rows.add(drawn, heap.litres)
    for count, flow in load.patients:
        equal.add([*((column, 1.0) for mine in columns for column, at in mine if at == flow), (time, -count)])
    aims = np.zeros(time + 1)
    aims[time] = -1.0
    found = linprog(
        aims,
        A_ub=rows.matrix(time + 1),
        b_ub=rows.most,
        A_eq=equal.matrix(time + 1),
        b_eq=equal.most,
        method="highs",
    )
    return float(-found.fun)
