"""The floor: who is on what, what sits on what, and litres, whatever is done in whatever order."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from incidents import concentrators, cylinders, ladder, outlet_set, patients, regulator, scenario, vessel

from mci.catalogue.model import Basis, Cylinder, GasModel
from mci.catalogue.model import Source as Published
from mci.dispatch.floor import Floor, Link, Source, Tool, takes
from mci.scenario.model import PowerSupply, Scenario

MANIFOLD = outlet_set("manifold", outlets=3, strong=1, each=15, total=30)


def incident(**changes: object) -> Scenario:
    """Return three cylinders of 300 L and a vessel, two single regulators and a manifold."""
    made = scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(4, "l")],
        lots=[cylinders(3, 300, key="cyl"), vessel(500), concentrators(2)],
        regulators=[regulator(2), regulator(1, outlets=MANIFOLD)],
    )
    return dataclasses.replace(made, **changes)


def source(floor: Floor, key: str) -> Source:
    """Return a source by its name."""
    return next(each for each in floor.sources["a"] if each.supply.key == key)


def tool(floor: Floor, key: str) -> Tool:
    """Return a regulator by its name."""
    return next(each for each in floor.tools["a"] if each.thing.key == key)


def link(where: Source, flow: float = 10, *, strong: bool = False) -> Link:
    """Return a patient's link."""
    return Link(0, "mask", flow, strong, 1.0, where)


DONE = st.lists(
    st.one_of(
        st.tuples(st.just("connect"), st.sampled_from("pqrs"), st.integers(0, 2), st.booleans()),
        st.tuples(st.just("disconnect"), st.sampled_from("pqrs")),
        st.tuples(st.just("put on"), st.integers(0, 2), st.integers(0, 2)),
        st.tuples(st.just("swap"), st.integers(0, 2), st.integers(0, 2)),
        st.tuples(st.just("wait"), st.integers(1, 20)),
    ),
    max_size=25,
)


def _do(floor: Floor, what: tuple[object, ...]) -> None:
    cylinders_, tools = floor.sources["a"][:3], floor.tools["a"]
    name, *how = what
    if name == "connect":
        who, where, strong = how
        floor.connect(who, link(cylinders_[where], 4 + where, strong=strong))
    elif name == "disconnect":
        floor.disconnect(how[0])
    elif name == "put on":
        floor.put_on(tools[how[0]], cylinders_[how[1]])
    elif name == "swap":
        one, two = cylinders_[how[0]], cylinders_[how[1]]
        if one is not two and one.tool is not None and two.tool is not None:
            floor.swap_tools(one, two)
    else:
        floor.pass_time(floor.time + how[0])


@given(DONE)
def test_the_books_are_kept(done: list[tuple[object, ...]]) -> None:
    """Whatever is done: flows and outlets in use are those of the patients, tools and sources agree, gas adds up."""
    floor = Floor(incident())
    for what in done:
        _do(floor, what)
        for each in floor.sources["a"]:
            mine = {who: found for who, found in floor.links.items() if found.source is each}
            assert set(each.people) == set(mine)
            assert each.flow == pytest.approx(sum(found.flow for found in mine.values()))
            assert each.strong == sum(found.strong for found in mine.values())
            assert each.low == len(mine) - each.strong
            assert each.left >= 0
            assert each.tool is None or each.tool.source is each
        for each in floor.tools["a"]:
            assert each.source is None or each.source.tool is each
        for lot, sources in floor.lots.items():
            assert floor.lot_flow(lot) == pytest.approx(sum(each.flow for each in sources), abs=1e-9)
            if not sources[0].made:
                there = sum(each.supply.litres for each in sources) - sum(each.left for each in sources)
                assert floor.lot_drawn(lot) == pytest.approx(there)


def test_a_regulator_takes_its_patients_along() -> None:
    """Put on another cylinder, it leaves the old one with what is in it; everybody keeps device and flow."""
    floor = Floor(incident())
    floor.put_on(tool(floor, "a-manifold"), source(floor, "cyl 1"))
    for who, flow in (("p", 10), ("q", 4)):
        floor.connect(who, link(source(floor, "cyl 1"), flow))
    floor.pass_time(10)
    floor.put_on(tool(floor, "a-manifold"), source(floor, "cyl 2"))
    assert {who: (found.source.supply.key, found.flow) for who, found in floor.links.items()} == {
        "p": ("cyl 2", 10),
        "q": ("cyl 2", 4),
    }
    assert (source(floor, "cyl 1").left, source(floor, "cyl 1").tool) == (160, None)
    assert source(floor, "cyl 2").flow == 14


def test_patients_stay_on_their_regulators_when_cylinders_change_places() -> None:
    """Two regulators swap cylinders: who was at the large flow now empties the fuller one."""
    floor = Floor(incident())
    for n, flow in ((1, 10), (2, 4)):
        floor.put_on(tool(floor, f"a-reg {n}"), source(floor, f"cyl {n}"))
        floor.connect(f"p{n}", link(source(floor, f"cyl {n}"), flow))
    floor.pass_time(20)
    floor.swap_tools(source(floor, "cyl 1"), source(floor, "cyl 2"))
    assert floor.links["p1"].source is source(floor, "cyl 2")
    assert source(floor, "cyl 2").tool is tool(floor, "a-reg 1")
    floor.pass_time(30)
    assert (source(floor, "cyl 1").left, source(floor, "cyl 2").left) == (60, 120)


@given(st.floats(0.5, 15), st.integers(1, 3))
def test_the_next_one_empty_is_a_hundredth_too_early_at_most(flow: float, count: int) -> None:
    """The first that runs out counts, rounded down so that nothing is drawn that is not there."""
    floor = Floor(incident())
    floor.pass_time(7)
    for number in range(count):
        floor.connect(f"p{number}", link(source(floor, f"cyl {number + 1}"), flow * (number + 1)))
    exact = 7 + 300 / (flow * count)
    assert exact - 0.01 - 1e-9 <= floor.next_empty() <= exact + 1e-9
    floor.pass_time(floor.next_empty())
    assert min(each.left for each in floor.sources["a"]) <= flow * count * 0.011


def test_what_never_runs_out_is_never_empty() -> None:
    """A concentrator makes gas; with nobody on cylinders nothing runs empty."""
    floor = Floor(incident())
    floor.connect("p", link(source(floor, "conc 1"), 5))
    assert floor.next_empty() == math.inf
    floor.pass_time(60)
    assert source(floor, "conc 1").made


def test_the_reserve_is_set_aside_in_the_fullest() -> None:
    """Fewest supplies are touched by it; what is kept is not counted as left."""
    floor = Floor(incident(reserve={"a": 600}))
    assert [(each.left, each.kept) for each in floor.sources["a"] if not each.made] == [
        (200, 100),
        (300, 0),
        (300, 0),
        (0, 500),
    ]


@pytest.mark.parametrize(
    ("flow", "strong", "could"),
    [(15, False, True), (15.1, False, False), (30, True, True), (30.1, True, False)],
)
def test_an_outlet_passes_so_much(flow: float, strong: bool, could: bool) -> None:
    """A flow outlet up to its own limit, a high-pressure outlet up to that of the whole set."""
    assert MANIFOLD.passes(flow, high_pressure=strong) is could


def test_outlets_are_taken_one_by_one() -> None:
    """Three flow outlets and one of high pressure, 30 L/min together."""
    floor = Floor(incident())
    where = source(floor, "cyl 1")
    floor.put_on(tool(floor, "a-manifold"), where)
    for who in "pq":
        assert takes(MANIFOLD, where, 8, strong=False)
        floor.connect(who, link(where, 8))
    assert not takes(MANIFOLD, where, 15, strong=False)  # 31 L/min
    assert takes(MANIFOLD, where, 14, strong=True)
    floor.connect("r", link(where, 4, strong=True))
    assert not takes(MANIFOLD, where, 4, strong=True)
    assert takes(MANIFOLD, where, 4, strong=False)
    floor.connect("s", link(where, 4))
    assert not takes(MANIFOLD, where, 1, strong=False)


def test_power_is_for_so_many_machines() -> None:
    """A machine that is in use may serve more; another one only if there is power left; a cut overloads."""
    cut = (PowerSupply("p", "a", 400, 0, 30),)
    floor = Floor(incident(power=cut))
    assert floor.powered(source(floor, "conc 1"))
    floor.connect("p", link(source(floor, "conc 1"), 4))
    assert floor.powered(source(floor, "conc 1"))
    assert not floor.powered(source(floor, "conc 2"))
    assert floor.powered(source(floor, "cyl 1"))
    assert not floor.overloaded("a")
    floor.pass_time(30)
    assert floor.overloaded("a")


def test_free_regulators_are_there_and_serve_nobody() -> None:
    """Not before their delivery, not while a change is under way, not with a patient on them."""
    floor = Floor(incident(regulators=(regulator(3), regulator(1, outlets=outlet_set("late"), arrive=20))))
    tool(floor, "a-reg 2").busy = True
    floor.put_on(tool(floor, "a-reg 3"), source(floor, "cyl 1"))
    floor.connect("p", link(source(floor, "cyl 1")))
    assert [each.thing.key for each in floor.free_tools("a")] == ["a-reg 1"]
    floor.pass_time(20)
    assert [each.thing.key for each in floor.free_tools("a")] == ["a-reg 1", "a-late"]


def test_what_is_too_low_is_not_brought_into_service_again() -> None:
    """0.28 L/psi from 2000 to 200 psi are 504 L; at 500 psi 84 L are left: with less a cylinder is not fit."""
    course = Published("US Army course MD0542", Basis.VERIFIED)
    kind = Cylinder("X", "", "X", "", None, 560, 21.1, 2000, 0.28, GasModel.FACTOR, "v", None, 0, None, course)
    lot = dataclasses.replace(
        cylinders(1, 504), cylinder=kind, gauge_psi=2000.0, residual_psi=200.0, gas_model=GasModel.FACTOR
    )
    made = scenario(horizon=60, ladders=[ladder("l", ("mask", 10, 1.0))], patients=[patients(1, "l")], lots=[lot])
    (one,) = Floor(dataclasses.replace(made, in_service_psi=500.0)).sources["a"]
    for left, fit in ((504.0, True), (84.0, True), (83.9, False)):
        one.left = left
        assert one.fit is fit
