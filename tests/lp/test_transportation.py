"""A published transportation problem through the same build-and-solve room as the programme."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from mci.lp.build import write
from mci.lp.names import make_name
from mci.lp.outcome import Status
from mci.lp.programme import Columns, RowWriter
from mci.lp.solve import Solver

REFERENCE = Path(__file__).parents[1] / "reference" / "transportation.csv"
PUBLISHED_COST = 1020.0


def _published() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return costs, supplies and demands."""
    with REFERENCE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(line for line in file if not line.startswith("#")))[1:]
    plants = np.array([[float(cell) for cell in row[1:]] for row in rows[:-1]])
    demand = np.array([float(cell) for cell in rows[-1][1:-1]])
    return plants[:, :-1], plants[:, -1], demand


def test_powerco_costs_what_winston_publishes() -> None:
    """Supply at most, demand exactly, at the least cost: 1020 (Winston, Operations Research)."""
    costs, supply, demand = _published()
    columns = Columns()
    sent = columns.add("sent", np.ones(costs.shape, dtype=bool))
    leaves, reaches = RowWriter(), RowWriter()
    for plant in range(len(supply)):
        leaves.add(plant, sent[plant], 1.0)
    for city in range(len(demand)):
        reaches.add(city, sent[:, city], 1.0)
    families = [
        leaves.finish([make_name("supply", plant) for plant in range(len(supply))], supply),
        reaches.finish([make_name("demand", city) for city in range(len(demand))], demand, equal=True),
    ]
    solver = Solver(write(columns, families, [-costs.ravel()]))
    solution = solver.minimise(costs.ravel())
    assert solution.status is Status.OPTIMAL
    assert costs.ravel() @ solution.values == pytest.approx(PUBLISHED_COST, rel=1e-9)
    assert solution.values[sent].sum(axis=0) == pytest.approx(demand)


def test_a_row_can_be_changed_and_comes_back() -> None:
    """Ten more at plant 1 save 3 each on ten units (dual -3 of the published optimum); then it costs 1020 again."""
    costs, supply, demand = _published()
    columns = Columns()
    sent = columns.add("sent", np.ones(costs.shape, dtype=bool))
    leaves, reaches = RowWriter(), RowWriter()
    for plant in range(len(supply)):
        leaves.add(plant, sent[plant], 1.0)
    for city in range(len(demand)):
        reaches.add(city, sent[:, city], -1.0)  # at least the demand, as a row of the package's form
    families = [leaves.finish(["supply_0", "supply_1", "supply_2"], supply)]
    families.append(reaches.finish([make_name("demand", city) for city in range(len(demand))], -demand))
    solver = Solver(write(columns, families, [-costs.ravel()]))
    first = costs.ravel() @ solver.minimise(costs.ravel()).values
    more = costs.ravel() @ solver.with_limits(np.array([0]), np.array([10.0])).values
    again = costs.ravel() @ solver.with_limits(np.array([0]), np.array([0.0])).values
    assert (first, again) == pytest.approx((PUBLISHED_COST, PUBLISHED_COST))
    assert more == pytest.approx(PUBLISHED_COST - 10 * 3)
