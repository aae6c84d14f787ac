"""Values of the programme turned into tidy tables."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.catalogue.model import Ladder
from mci.lp.index import Index
from mci.lp.programme import ABSENT
from mci.lp.variables import Variables
from mci.scenario.model import Scenario

__all__ = ["SMALLEST", "column_values", "draw_table", "need_table", "service_table"]

Floats = npt.NDArray[np.float64]

#: Patients and litres below this are the solver's rounding and are not reported.
SMALLEST = 1e-6


def _per_period(index: Index, labels: dict[str, list[object]], values: Floats) -> pd.DataFrame:
    """Return one row per label and period in which the value is not nothing."""
    row, period = np.nonzero(values > SMALLEST)
    table = {name: np.asarray(column, dtype=object)[row] for name, column in labels.items()}
    return pd.DataFrame(
        {
            **table,
            "start_min": index.grid.starts[period],
            "end_min": index.grid.ends[period],
            "value": values[row, period],
        }
    ).infer_objects()


def column_values(columns: npt.NDArray[np.intp], values: Floats) -> Floats:
    """Return the value of each column of a block; 0 where there is no column."""
    return np.where(columns == ABSENT, 0.0, values[columns])


def service_table(index: Index, variables: Variables, values: Floats, scenario: Scenario) -> pd.DataFrame:
    """Return patients per rung and period (see :class:`mci.lp.outcome.Outcome`)."""
    groups = [index.demand.groups[option.group] for option in index.options]
    ladders: list[Ladder] = [scenario.ladders[group.ladder] for group in groups]
    rungs = [ladder.rungs[option.rung] for ladder, option in zip(ladders, index.options, strict=True)]
    labels: dict[str, list[object]] = {
        "area": [group.area for group in groups],
        "category": [group.category for group in groups],
        "ladder": [group.ladder for group in groups],
        "rung": [option.rung for option in index.options],
        "device": [rung.device.key for rung in rungs],
        "setting": [rung.setting for rung in rungs],
        "flow_lpm": [rung.flow_lpm for rung in rungs],
        "credit": [rung.credit for rung in rungs],
    }
    return _per_period(index, labels, column_values(variables.serve, values)).rename(columns={"value": "patients"})


def need_table(index: Index) -> pd.DataFrame:
    """Return patients present per care group and period."""
    labels: dict[str, list[object]] = {
        "area": [group.area for group in index.demand.groups],
        "category": [group.category for group in index.demand.groups],
        "ladder": [group.ladder for group in index.demand.groups],
    }
    return _per_period(index, labels, index.demand.present).rename(columns={"value": "patients"})


def draw_table(index: Index, variables: Variables, values: Floats) -> pd.DataFrame:
    """Return litres drawn per lot and period."""
    drawn = np.zeros((len(index.lots), index.grid.periods))
    connected = column_values(variables.connect, values)
    for number, link in enumerate(variables.links):
        flow = index.levels[link.level].flow
        drawn[index.sources[link.source].lot] += flow * index.grid.lengths * connected[number]
    labels: dict[str, list[object]] = {
        "lot": [lot.key for lot in index.lots],
        "area": [lot.area for lot in index.lots],
    }
    return _per_period(index, labels, drawn).rename(columns={"value": "litres"})
