"""Doubts about supplies, regulators, power and deliveries; one function per rule."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.catalogue.doubts import cylinder_doubts
from mci.scenario.doubt import Doubt, Question
from mci.scenario.model import LotKind
from mci.scenario.presence import most_at_once, peak
from mci.units import format_flow, format_litres, format_moment, format_pressure

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.catalogue.model import OutletSet
    from mci.scenario.model import DeviceStock, Lot, RegulatorStock, Scenario
    from mci.scenario.network import Item
    from mci.scenario.presence import StayLike
    from mci.scenario.stocking import Candidate

__all__ = ["GAS_RULES", "is_short", "litres_at", "litres_wanted"]


def _carried(scenario: Scenario) -> list[Item]:
    """Return what the network can bring."""
    return list(scenario.network.items.values()) if scenario.network else []


def _brought(scenario: Scenario) -> list[Item | Candidate]:
    """Return what the network or caches can bring."""
    return [*_carried(scenario), *(scenario.stocking.candidates if scenario.stocking else ())]


def _fitting(scenario: Scenario, lot: Lot) -> list[RegulatorStock]:
    return [r for r in scenario.regulators if r.area == lot.area and lot.valve in r.outlets.fits]


def _outlets_at(scenario: Scenario, area: str, lots: Sequence[Lot]) -> list[tuple[OutletSet, int]]:
    """Return the outlet sets that can be in use at once at an area at best, ever, each with its number."""
    built_in = [(lot.built_in, lot.quantity) for lot in lots if lot.built_in is not None]
    valves = {lot.valve: 0 for lot in lots if lot.built_in is None}
    for lot in lots:
        if lot.built_in is None:
            valves[lot.valve] += lot.quantity
    regulators = []
    for stock in scenario.regulators:
        cylinders = sum(valves.get(valve, 0) for valve in stock.outlets.fits)
        if stock.area == area and stock.available_from < scenario.horizon and cylinders:
            regulators.append((stock.outlets, min(stock.quantity, cylinders)))
    return built_in + regulators


def no_supply(q: Question) -> Iterator[Doubt]:
    """Patients are there before any oxygen is."""
    for area, stays, lots in q.areas():
        if not stays:
            continue
        first = min(stay.start for stay in stays)
        if not lots:
            yield Doubt("no-supply", "there are patients and no supply of oxygen", area)
        elif min(lot.available_from for lot in lots) > first:
            soon = format_moment(min(lot.available_from for lot in lots))
            what = f"the first patients are there at {format_moment(first)}, the first oxygen at {soon}"
            yield Doubt("no-supply", what, area)


def no_regulator_fits(q: Question) -> Iterator[Doubt]:
    """Cylinders are at an area where no regulator fits their valve."""
    carried = [thing.outlets for thing in _brought(q.scenario) if thing.outlets is not None]
    for lot in q.scenario.lots:
        fits = _fitting(q.scenario, lot) or any(lot.valve in outlets.fits for outlets in carried)
        if lot.built_in is None and not fits:
            what = f"no regulator there fits the {lot.valve} valve of {lot.label}: they cannot be used"
            yield Doubt("no-regulator-fits", what, lot.area)


def idle_regulators(q: Question) -> Iterator[Doubt]:
    """Regulators are at an area where no cylinder has their valve."""
    carried = {thing.lot.valve for thing in _brought(q.scenario) if thing.lot is not None}
    for stock in q.scenario.regulators:
        valves = carried | {lot.valve for lot in q.scenario.lots if lot.area == stock.area and lot.built_in is None}
        if not valves & stock.outlets.fits:
            what = f"no cylinder there has a valve for {stock.quantity} x {stock.outlets.key}"
            yield Doubt("idle-regulators", what, stock.area)


def few_outlets(q: Question) -> Iterator[Doubt]:
    """More patients are there at one time than outlets can serve, whatever the gas."""
    for area, stays, lots in q.areas():
        if not lots:
            continue
        most, when = most_at_once(stays)
        sets = _outlets_at(q.scenario, area, lots)
        outlets = sum((o.outlets + o.high_pressure_outlets) * number for o, number in sets)
        if most > outlets:
            what = f"at {format_moment(when)} there are {most} patients; regulators and outlets serve {outlets} at once"
            yield Doubt("few-outlets", what, area)
            yield from _few_regulators(q.scenario, area, lots)


def _few_regulators(scenario: Scenario, area: str, lots: Sequence[Lot]) -> Iterator[Doubt]:
    """Fewer regulators that fit than cylinders of a valve: only a doubt where patients wait for an outlet."""
    for valve in sorted({lot.valve for lot in lots if lot.built_in is None}):
        cylinders = sum(lot.quantity for lot in lots if lot.built_in is None and lot.valve == valve)
        fitting = sum(r.quantity for r in scenario.regulators if r.area == area and valve in r.outlets.fits)
        if 0 < fitting < cylinders:
            kind = f"{cylinders} cylinders with {valve} valves"
            what = f"{fitting} regulator{'s' if fitting > 1 else ''} for {kind}: the others wait their turn"
            yield Doubt("few-regulators", what, area)


def no_high_pressure(q: Question) -> Iterator[Doubt]:
    """A ladder has a device that needs a 50 psi (4 bar) outlet where there is none."""
    for area, stays, lots in q.areas():
        if any(o.high_pressure_outlets for o, _ in _outlets_at(q.scenario, area, lots)):
            continue
        for key in sorted({stay.ladder for stay in stays}):
            needs = sorted({r.device.key for r in q.scenario.ladders[key].rungs if r.device.high_pressure})
            if needs and lots:
                what = f"ladder '{key}' uses {' and '.join(needs)}, and no outlet of 50 psi (4 bar) is there"
                yield Doubt("no-high-pressure", what, area)


def flow_above_outlets(q: Question) -> Iterator[Doubt]:
    """A rung needs more than one flow outlet there passes."""
    for area, stays, lots in q.areas():
        largest = max((o.outlet_max_lpm for o, _ in _outlets_at(q.scenario, area, lots) if o.outlets), default=math.inf)
        for key in sorted({stay.ladder for stay in stays}):
            flows = [r.flow_lpm for r in q.scenario.ladders[key].rungs if not r.device.high_pressure]
            if flows and max(flows) > largest:
                what = f"ladder '{key}' draws up to {format_flow(max(flows))}; no flow outlet there passes more than "
                yield Doubt("flow-above-outlets", what + format_flow(largest), area)


def litres_wanted(scenario: Scenario, stays: Sequence[StayLike]) -> float:
    """Return the litres that the top rungs draw over the given stays [L]."""
    return sum(scenario.ladders[s.ladder].rungs[0].flow_lpm * s.count * (s.end - s.start) for s in stays)


def litres_at(scenario: Scenario, lots: Sequence[Lot]) -> float:
    """Return the most litres that lots can give before the horizon: what they hold, or flow times time [L]."""
    total = 0.0
    for lot in lots:
        if math.isfinite(lot.litres):
            total += lot.litres
        elif lot.built_in is not None:
            time = min(lot.available_until, scenario.horizon) - lot.available_from
            total += lot.quantity * lot.built_in.total_max_lpm * max(0.0, time)
    return total


def is_short(scenario: Scenario, area: str, stays: Sequence[StayLike], lots: Sequence[Lot]) -> bool:
    """Return whether the top rungs draw more than is there: litres in all, or flow that patients share at a moment.

    Too few outlets alone are something else: an outlet is worth most where weight x credit is highest,
    whatever the flow.
    """
    if litres_wanted(scenario, stays) > litres_at(scenario, lots):
        return True
    sets = _outlets_at(scenario, area, lots)
    if not any(outlets.total_max_lpm < outlets.outlets * outlets.outlet_max_lpm for outlets, _ in sets):
        return False
    flows = [(s, scenario.ladders[s.ladder].rungs[0].flow_lpm * s.count) for s in stays]
    drawn, _ = peak(change for s, flow in flows for change in ((s.start, flow), (s.end, -flow)))
    return drawn > sum(outlets.total_max_lpm * number for outlets, number in sets)


def less_than_wanted(q: Question) -> Iterator[Doubt]:
    """All oxygen there is less than the top rungs would draw: a shortage is certain."""
    for area, stays, lots in q.areas():
        wanted, there = litres_wanted(q.scenario, stays), litres_at(q.scenario, lots)
        if lots and wanted > there:
            what = f"the top rungs draw {format_litres(wanted)} by the end of the plan; at most {format_litres(there)}"
            come = "are or come there" + (" without the network" if q.scenario.network else "")
            yield Doubt("less-than-wanted", f"{what} {come}", area)


def late_delivery(q: Question) -> Iterator[Doubt]:
    """A delivery comes when the plan is over."""
    stocks: list[Lot | RegulatorStock | DeviceStock] = [
        *q.scenario.lots,
        *q.scenario.regulators,
        *q.scenario.devices,
    ]
    late = {s.delivery: s.available_from for s in stocks if s.delivery and s.available_from >= q.scenario.horizon}
    for name, at in late.items():
        end = format_moment(q.scenario.horizon)
        yield Doubt("late-delivery", f"delivery '{name}' comes at {format_moment(at)}, when the plan is over ({end})")


def never_used(q: Question) -> Iterator[Doubt]:
    """A supply is only there when no patient is."""
    for area, stays, lots in q.areas():
        for lot in lots:
            if stays and not any(s.end > lot.available_from and s.start < lot.available_until for s in stays):
                yield Doubt("never-used", f"no patient is there while {lot.label} can be used", area)


def little_power(q: Question) -> Iterator[Doubt]:
    """The machines of an area need more power than it has."""
    for area, _, lots in q.areas():
        machines = [lot for lot in lots if lot.watts_each > 0]
        supplies = [p for p in q.scenario.power if p.area == area]
        for moment in sorted({m.available_from for m in machines} | {p.available_until for p in supplies}):
            if not moment < q.scenario.horizon:
                continue
            running = [m for m in machines if m.available_from <= moment < m.available_until]
            need = sum(m.quantity * m.watts_each for m in running)
            there = sum(p.watts for p in supplies if p.available_from <= moment < p.available_until)
            if need > there:
                what = f"from {format_moment(moment)} the machines there need {need / 1000:g} kW; there are "
                yield Doubt("little-power", f"{what}{there / 1000:g} kW", area)
                break


def reserve_above_stock(q: Question) -> Iterator[Doubt]:
    """A reserve is more than the cylinders and vessels of the area hold."""
    for area, _, lots in q.areas():
        held = sum(lot.litres for lot in lots if math.isfinite(lot.litres))
        reserve = q.scenario.reserve.get(area, 0.0)
        if reserve > held:
            what = f"the reserve of {format_litres(reserve)} is more than cylinders and vessels hold"
            yield Doubt("reserve-above-stock", f"{what} ({format_litres(held)})", area)


def odd_gauges(q: Question) -> Iterator[Doubt]:
    """A gauge, with its temperature, does not go with the kind of cylinder."""
    for lot in q.scenario.lots:
        if lot.kind is not LotKind.CYLINDER or lot.cylinder is None or lot.residual_psi is None:
            continue
        gauges = {f"{u.id} ({lot.cylinder.key})": u.gauge_psi for u in lot.units}
        if lot.gauge_psi is not None and not lot.units:
            gauges = {lot.label: lot.gauge_psi}
        metric = q.scenario.pressures_in_bar
        for which, gauge in gauges.items():
            for what in cylinder_doubts(lot.cylinder, gauge, lot.residual_psi, lot.temperature_c, metric=metric):
                read = f" at {format_pressure(gauge, metric=metric)}" if lot.units else ""
                yield Doubt("odd-gauge", f"{which}{read}: {what}", lot.area)


def left_out(q: Question) -> Iterator[Doubt]:
    """Cylinders were listed that are not fit for service."""
    places = [area.key for area in q.scenario.areas] + [item.area for item in q.scenario.left_out]
    for place in dict.fromkeys(places):
        count = sum(1 for item in q.scenario.left_out if item.area == place)
        if count:
            lines = "line of cylinders is" if count == 1 else "lines of cylinders are"
            yield Doubt("left-out", f"{count} {lines} left out as not fit for service, for the reasons told", place)


GAS_RULES = (
    no_supply,
    no_regulator_fits,
    idle_regulators,
    few_outlets,
    no_high_pressure,
    flow_above_outlets,
    less_than_wanted,
    late_delivery,
    never_used,
    little_power,
    reserve_above_stock,
    odd_gauges,
    left_out,
)
