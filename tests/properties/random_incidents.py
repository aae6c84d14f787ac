"""Random small incidents for Hypothesis: few patients, and every kind of supply and limit that the planner knows."""

from __future__ import annotations

import dataclasses
import math

from hypothesis import strategies as st
from incidents import (
    MADE_UP,
    concentrators,
    cylinders,
    device,
    outlet_set,
    patients,
    piped,
    regulator,
    scenario,
    vessel,
)

from mci.catalogue.model import Ladder, Rung
from mci.scenario.model import (
    DeviceStock,
    Lot,
    Patients,
    PowerSupply,
    RegulatorStock,
    Scenario,
    Spell,
    StaffShift,
)

__all__ = ["HORIZON", "incidents"]

INF = math.inf
HORIZON = 60.0
#: Moments on a coarse grid, so that things happen together as well as apart.
MOMENTS = (0.0, 10.0, 15.0, 30.0, 45.0)
FITTED = outlet_set("fitted", outlets=1, each=8, total=8)
SINGLE = outlet_set("single", outlets=1, each=15, total=15)
MANIFOLD = outlet_set("manifold", outlets=3, strong=1, each=15, total=25)


def ladders(*, single_use: bool) -> list[Ladder]:
    """Return four ladders; masks and cannulas are single use or not, ventilators are always reusable."""
    mask, cannula = device("mask", single_use=single_use), device("cannula", single_use=single_use)
    vent = device("vent", high_pressure=True)

    def rung(kind: object, flow: float, credit: float) -> Rung:
        return Rung(kind, flow, credit, f"{flow:g} L/min")

    return [
        Ladder("high", "", (rung(mask, 15, 1), rung(mask, 10, 0.8), rung(cannula, 4, 0.4)), MADE_UP),
        Ladder("low", "", (rung(cannula, 4, 1), rung(cannula, 2, 0.6)), MADE_UP),
        Ladder("vent", "", (rung(vent, 12, 1), rung(mask, 15, 0.5)), MADE_UP),
        Ladder("steep", "", (rung(mask, 8, 0.9), rung(cannula, 5, 0.7), rung(vent, 6, 0.3)), MADE_UP),
    ]


LADDERS = st.sampled_from(["high", "low", "vent", "steep"])
CATEGORIES = st.sampled_from(["immediate", "delayed", "minimal"])


@st.composite
def _batches(draw: st.DrawFn, areas: tuple[str, ...], *, moving: bool) -> Patients:
    first, then = draw(st.sampled_from(areas)), ()
    if draw(st.booleans()):
        after, area = draw(st.sampled_from([10.0, 20.0])), draw(st.sampled_from(areas)) if moving else first
        then = (Spell(after, area, draw(CATEGORIES), draw(LADDERS)),)
    return patients(
        draw(st.integers(1, 3)),
        draw(LADDERS),
        area=first,
        category=draw(CATEGORIES),
        arrive=draw(st.sampled_from(MOMENTS)),
        over=draw(st.sampled_from([0.0, 20.0])),
        step=10,
        stay=draw(st.sampled_from([INF, 25.0])),
        then=then,
    )


@st.composite
def _lots(draw: st.DrawFn, areas: tuple[str, ...], number: int) -> Lot:
    area, key = draw(st.sampled_from(areas)), f"lot-{number}"
    kind = draw(st.sampled_from(["cylinders", "cylinders", "cylinders", "concentrators", "piped", "vessel"]))
    if kind == "concentrators":
        return concentrators(draw(st.integers(1, 3)), area=area, key=key, watts=draw(st.sampled_from([0, 300])))
    if kind == "piped":
        lot = piped(draw(st.integers(1, 2)), area=area, key=key, strong=draw(st.integers(0, 1)), total=20)
        return dataclasses.replace(lot, available_until=draw(st.sampled_from([INF, 30.0])))
    if kind == "vessel":
        lot = vessel(draw(st.sampled_from([200, 900])), area=area, key=key, total=20)
        return dataclasses.replace(lot, available_until=draw(st.sampled_from([INF, 45.0])))
    return cylinders(
        draw(st.integers(1, 3)),
        draw(st.sampled_from([60, 150, 400])),
        area=area,
        key=key,
        arrive=draw(st.sampled_from([*MOMENTS, 90.0])),
        built_in=draw(st.sampled_from([None, None, FITTED])),
        change=draw(st.sampled_from([0, 2, 5])),
    )


@st.composite
def _regulators(draw: st.DrawFn, areas: tuple[str, ...]) -> list[RegulatorStock]:
    found = [
        regulator(draw(st.integers(0, 2)), area=area, outlets=kind, arrive=draw(st.sampled_from([0.0, 0.0, 30.0])))
        for area in areas
        for kind in (SINGLE, MANIFOLD, SINGLE)
        if draw(st.booleans())
    ]
    return [
        dataclasses.replace(
            stock, key=f"{stock.key}-{number}", available_until=draw(st.sampled_from([INF, INF, INF, 40.0]))
        )
        for number, stock in enumerate(found)
    ]


@st.composite
def _staff(draw: st.DrawFn, areas: tuple[str, ...]) -> list[StaffShift]:
    return [
        StaffShift(f"staff-{area}-{number}", area, draw(st.sampled_from([0.05, 0.2, 1.0, INF])), *hours)
        for area in areas
        for number, hours in enumerate(draw(st.sampled_from([[(0, INF)], [(0, 30), (15, INF)], [(15, 30)]])))
    ]


@st.composite
def _power(draw: st.DrawFn, areas: tuple[str, ...]) -> list[PowerSupply]:
    return [
        PowerSupply(f"power-{area}-{number}", area, draw(st.sampled_from([0, 350, 700, INF])), *hours)
        for area in areas
        for number, hours in enumerate(draw(st.sampled_from([[(0, INF)], [(0, 30), (30, INF)]])))
    ]


@st.composite
def _devices(draw: st.DrawFn, areas: tuple[str, ...], kinds: dict[str, list[float]]) -> list[DeviceStock]:
    return [
        DeviceStock(f"{area}-{kind}-{arrive}", area, kind, draw(st.sampled_from(counts)), arrive, "")
        for area in areas
        for kind, counts in kinds.items()
        for arrive in draw(st.sampled_from([(0.0,), (0.0,), (0.0, 30.0)]))
    ]


@st.composite
def incidents(draw: st.DrawFn, *, memory: bool = False, moving: bool = True) -> Scenario:
    """Draw an incident.

    Parameters
    ----------
    memory
        Whether single-use devices may run out, so that it matters who had one before.
    moving
        Whether patients may move to another area; they may change category and need in any case.
    """
    areas = draw(st.sampled_from([("a",), ("a", "b")]))
    few = [0.0, 1.0, 2.0, INF]
    worn = few if memory else [INF]
    reusable = not memory and draw(st.booleans())
    kinds = {"mask": few if reusable else worn, "cannula": few if reusable else worn, "vent": few}
    made = scenario(
        horizon=HORIZON,
        ladders=ladders(single_use=not reusable),
        patients=draw(st.lists(_batches(areas, moving=moving), min_size=1, max_size=3)),
        lots=[draw(_lots(areas, number)) for number in range(draw(st.integers(1, 4)))],
        regulators=draw(_regulators(areas)),
        areas=areas,
    )
    made = dataclasses.replace(
        made,
        staff=tuple(draw(_staff(areas))),
        power=tuple(draw(_power(areas))),
        devices=tuple(draw(_devices(areas, kinds))),
    )
    return dataclasses.replace(
        made, reserve={area: draw(st.sampled_from([0.0, 0.5])) * _left(made, area) for area in areas}
    )


def _left(made: Scenario, area: str) -> float:
    """Return the litres at an area that could be left at the horizon."""
    return sum(
        lot.litres
        for lot in made.lots
        if lot.area == area and math.isfinite(lot.litres) and lot.available_from <= made.horizon <= lot.available_until
    )
