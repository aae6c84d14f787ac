"""The rows of transport against published transportation problems and against flows over time by networkx."""

from __future__ import annotations

import csv
import itertools
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from incidents import patients
from joint import ITEMS, area, depot, errand, joint, truck

from mci.lp.haul_plan import Joint
from mci.lp.programme import ABSENT
from mci.lp.solve import Solver
from mci.scenario.network import Place, PlaceKind, Road, Stock, Vehicle

REFERENCE = Path(__file__).parents[1] / "reference"
ONE_ITEM = {"small full": ITEMS["small full"]}
STEP = 10
#: What a cylinder that is given is worth: more than any way to bring it costs.
WORTH = 100


def _ask_for(made: Joint, solver: Solver, wanted: dict[str, float]) -> None:
    """Require so many cylinders to be given at each area by the end, no more and no fewer."""
    last = made.given.number[:, -1]
    amounts = np.array([float(wanted.get(grant.area, 0)) for grant in made.given.grants])
    solver.limit(last, amounts, amounts)


def _published(name: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return costs, supplies and demands."""
    with (REFERENCE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(line for line in file if not line.startswith("#")))[1:]
    plants = np.array([[float(cell) for cell in row[1:]] for row in rows[:-1]])
    return plants[:, :-1], plants[:, -1], np.array([float(cell) for cell in rows[-1][1:-1]])


@pytest.mark.parametrize(("name", "published"), [("transportation", 1020.0), ("canning", 153.675)])
def test_a_published_transportation_problem(name: str, published: float) -> None:
    """Plants are depots, markets areas, with a one-way road between each two and a truck large enough on each of them.

    What a case costs is put on what is carried on its road: Winston's Powerco 1020, Dantzig's canning plants 153.675.
    """
    costs, supply, demand = _published(name)
    plants, markets = ([f"{kind}{n}" for n in range(size)] for kind, size in zip("pm", costs.shape, strict=True))
    incident = errand(
        horizon=2 * STEP,
        people=[patients(1, "one", area=each) for each in markets],
        places=(*map(area, markets), *map(depot, plants)),
        roads=tuple(Road(f"{p} {m}", p, m, STEP) for p, m in itertools.product(plants, markets)),
        vehicles=tuple(truck(f"{p} {m}", p, slots={"small": 1000}) for p, m in itertools.product(plants, markets)),
        items=ONE_ITEM,
        stock=tuple(Stock(p, "small full", int(cases), 0) for p, cases in zip(plants, supply, strict=True)),
    )
    made = joint(incident, STEP)
    price = np.zeros(len(made.costs))
    for number, hop in enumerate(made.haulage.hops):
        columns = made.hauls.carry[0, number]
        price[columns[columns != ABSENT]] = costs[plants.index(hop.start), markets.index(hop.end)]
    solver = Solver(made.built)
    _ask_for(made, solver, dict(zip(markets, demand.tolist(), strict=True)))
    assert price @ solver.minimise(price).values == pytest.approx(published, rel=1e-9)


@dataclass(frozen=True)
class Case:
    """Cylinders at places from a step on, at most so many wanted at the areas ``a`` and ``b`` by the end.

    Parameters
    ----------
    ways
        Per way: start, end, minutes, cost of each cylinder, vehicles that may leave in each step.
    """

    steps: int
    ways: tuple[tuple[str, str, int, int, tuple[int, ...]], ...]
    stock: tuple[tuple[str, int, int], ...]
    wanted: dict[str, int]
    slots: int


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """Draw four places with one-way roads of any length, some closed in some steps for want of a vehicle."""
    steps = draw(st.integers(2, 5))
    pairs = draw(
        st.lists(st.sampled_from(list(itertools.permutations("abde", 2))), min_size=3, max_size=8, unique=True)
    )
    leave = st.tuples(*[st.sampled_from([0, 1, 1, 2])] * steps)
    ways = tuple((*pair, draw(st.integers(1, 25)), draw(st.integers(0, 9)), draw(leave)) for pair in pairs)
    heap = st.tuples(st.sampled_from("deb"), st.integers(1, 5), st.integers(0, steps - 1))
    return Case(
        steps=steps,
        ways=ways,
        stock=tuple(draw(st.lists(heap, min_size=1, max_size=3))),
        wanted={key: draw(st.integers(0, 5)) for key in "ab"},
        slots=draw(st.integers(1, 3)),
    )


def _over_time(case: Case) -> nx.DiGraph[object]:
    """Return places over steps; what is over at the end goes to ``rest``."""
    graph: nx.DiGraph[object] = nx.DiGraph()
    last = case.steps - 1
    for place, step in itertools.product("abde", range(last)):
        graph.add_edge((place, step), (place, step + 1), weight=0)
    for number, (start, end, minutes, cost, vehicles) in enumerate(case.ways):
        for step, most in enumerate(vehicles):
            there = (STEP * step + minutes) // STEP
            if there <= last:  # a node of its own keeps ways apart that begin and end alike
                graph.add_edge((start, step), (number, step), weight=cost, capacity=most * case.slots)
                graph.add_edge((number, step), (end, there), weight=0)
    for place in "abde":
        graph.add_edge((place, last), "rest", weight=0)
    for place, wanted in case.wanted.items():
        graph.add_edge((place, last), (place, "given"), weight=-WORTH, capacity=wanted)
        graph.add_edge((place, "given"), "rest", weight=0)
    return graph


def _by_networkx(case: Case) -> int:
    """Return the least cost of a flow over places and steps, less what is given is worth."""
    graph = _over_time(case)
    demand: Counter[object] = Counter()
    for place, count, step in case.stock:
        demand[place, step] -= count
    demand["rest"] = -demand.total()
    nx.set_node_attributes(graph, demand, "demand")
    return int(nx.network_simplex(graph)[0])


def _by_rows(case: Case) -> float:
    """Return the same from the rows of the programme, where vehicles for every way stand ready at every place."""
    vehicles: tuple[Vehicle, ...] = tuple(
        truck(f"{place} {n}", place, slots={"small": case.slots})
        for place in "abde"
        for n in range(2 * len(case.ways) * case.steps)
    )
    incident = errand(
        horizon=STEP * case.steps,
        people=[patients(1, "one"), patients(1, "one", area="b")],
        places=(area("a"), area("b"), depot("d"), Place("e", "e", PlaceKind.STAGING, depot().open)),
        roads=tuple(Road(f"{start}{end}", start, end, minutes) for start, end, minutes, *_ in case.ways),
        vehicles=vehicles,
        items=ONE_ITEM,
        stock=tuple(Stock(place, "small full", count, STEP * step) for place, count, step in case.stock),
    )
    made = joint(incident, STEP)
    solver = Solver(made.built)
    price = np.zeros(len(made.costs))
    ways = {(start, end): (cost, most) for start, end, _, cost, most in case.ways}
    for number, hop in enumerate(made.haulage.hops):  # nobody takes two roads at once
        cost, most = ways.get((hop.start, hop.end), (0, (0,) * case.steps))
        go, carry = made.hauls.go[0, number], made.hauls.carry[0, number]
        solver.limit(go[go != ABSENT], np.array(most, dtype=float)[go != ABSENT])
        price[carry[carry != ABSENT]] = cost
    last = made.given.number[:, -1]
    solver.limit(last, np.array([float(case.wanted[grant.area]) for grant in made.given.grants]))
    price[last] = -WORTH
    return float(price @ solver.minimise(price).values)


def _no_way_round(case: Case) -> bool:
    """Tell whether no road is longer than a way round it: then the programme has each road as one hop."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    for start, end, minutes, *_ in case.ways:
        graph.add_edge(start, end, minutes=minutes)
    return all(
        nx.shortest_path_length(graph, start, end, weight="minutes") == minutes for start, end, minutes, *_ in case.ways
    )


@given(cases().filter(_no_way_round))
def test_a_flow_over_time_costs_what_networkx_says(case: Case) -> None:
    """One kind of cylinder over places and steps, so many vehicles a step on each way: network simplex, whole data."""
    assert _by_rows(case) == pytest.approx(_by_networkx(case), abs=1e-6)
