"""The budget: what the plan draws from every lot, period by period, and how much of it is left to draw."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.dispatch.balance import Pool, Profile
from mci.dispatch.floor import Floor, Source
from mci.timegrid import TimeGrid

__all__ = ["Budget"]

Floats = npt.NDArray[np.float64]


class Budget:
    """A pace (:class:`mci.dispatch.policy.Pace`) after a plan of whole patients.

    Parameters
    ----------
    grid
        Periods of the plan.
    service, draw
        Whole patients per rung and litres per lot, as :class:`mci.lp.whole.Whole` has them.
    before
        What had been drawn from each lot when the plan begins [L]; nothing where there is no entry.
    """

    def __init__(
        self, grid: TimeGrid, service: pd.DataFrame, draw: pd.DataFrame, before: Mapping[str, float] | None = None
    ) -> None:
        self._grid = grid
        self._before = before or {}
        self._period = 0
        self._litres: dict[str, Floats] = {}
        for lot, rows in draw.groupby("lot"):
            self._litres[str(lot)] = self._sum(rows, rows["litres"])
        self._so_far = {lot: np.cumsum(litres) for lot, litres in self._litres.items()}
        drawn = draw[draw["litres"] > 1e-3]
        self._emptied = {str(lot): float(end) for lot, end in drawn.groupby("lot")["end_min"].max().items()}
        self._flows: dict[str, tuple[Floats, Floats]] = {}
        self._usual: dict[str, tuple[float, float]] = {}
        for area, rows in service[service["flow_lpm"] > 0].groupby("area"):
            self._add_area(str(area), rows)

    def _places(self, rows: pd.DataFrame) -> npt.NDArray[np.intp]:
        return self._grid.index(rows["start_min"].to_numpy())

    def _sum(self, rows: pd.DataFrame, values: pd.Series) -> Floats:
        total = np.zeros(self._grid.periods)
        np.add.at(total, self._places(rows), values.to_numpy(dtype=float))
        return total

    def _add_area(self, area: str, rows: pd.DataFrame) -> None:
        flow, people = self._sum(rows, rows["flow_lpm"] * rows["patients"]), self._sum(rows, rows["patients"])
        largest = np.zeros(self._grid.periods)
        np.maximum.at(largest, self._places(rows), rows["flow_lpm"].to_numpy(dtype=float))
        self._flows[area] = flow / np.maximum(people, 1e-9), largest
        lengths = self._grid.lengths
        self._usual[area] = float(rows["end_min"].max()), float(flow @ lengths / (people @ lengths))

    def enter(self, time: float) -> int:
        """Enter the period of a moment; return its number."""
        self._period = int(np.searchsorted(self._grid.starts, time + 1e-6)) - 1
        return self._period

    def empty_by(self, source: Source) -> tuple[float, float]:
        """Return when the plan has drawn all it draws from a lot [min], and the mean flow at the area [L/min]."""
        lot = source.supply.lot
        until, flow = self._usual.get(lot.area, (float(self._grid.points[-1]), 1.0))
        return self._emptied.get(lot.key, until), flow

    def spare(self, floor: Floor, source: Source) -> float:
        """Return how much more may be drawn from a lot until the period ends, over what is drawn now [L/min]."""
        if source.made:
            return math.inf
        lot = source.supply.lot.key
        if lot not in self._so_far:
            return 0.0
        left = float(self._so_far[lot][self._period]) - (floor.lot_drawn(lot) - self._before.get(lot, 0.0))
        return left / self.minutes_left(floor.time) - floor.lot_flow(lot)

    def left_over(self, floor: Floor, area: str) -> float:
        """Return what may be drawn at an area beyond the plan, which can still be kept at every moment [L]."""
        share = min(1.0, self.minutes_left(floor.time) / float(self._grid.lengths[self._period]))
        planned, held = np.zeros(self._grid.periods - self._period), np.zeros(self._grid.periods - self._period)
        starts = self._grid.starts[self._period :]
        for source in floor.sources[area]:
            if not source.made:
                held += source.left * (source.supply.lot.available_from <= np.maximum(starts, floor.time) + 1e-9)
        for lot in sorted({source.supply.lot.key for source in floor.sources[area]} & self._litres.keys()):
            planned += self._litres[lot][self._period :]
        planned[0] *= share
        return float((held - np.cumsum(planned)).min())

    def minutes_left(self, time: float) -> float:
        """Return how long the period still is [min]."""
        return max(float(self._grid.ends[self._period]) - time, 0.01)

    def pools(self, floor: Floor, largest: float) -> list[Pool]:
        """Group the cylinders of each area by what fits them; where one is alone there is nothing to balance."""
        pools = []
        for area, flows in self._flows.items():
            kinds: dict[tuple[str, str], list[Source]] = defaultdict(list)
            for source in floor.sources[area]:
                lot = source.supply.lot
                if source.supply.must_be_opened:
                    kinds[lot.valve, lot.key if lot.built_in else ""].append(source)
            for (valve, _), members in kinds.items():
                lots = {source.supply.lot.key for source in members}
                litres = sum(
                    (self._litres[lot] for lot in sorted(lots & self._litres.keys())), np.zeros(self._grid.periods)
                )
                profile = Profile(self._grid.starts, self._grid.lengths, litres, *flows)
                tools = [tool for tool in floor.tools[area] if valve in tool.thing.outlets.fits]
                if len(members) > 1:
                    pools.append(Pool(members, tools, profile, largest))
        return pools
