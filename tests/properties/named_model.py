"""The oracle: the same incident with every patient by name, from the scenario alone, solved with GLPK.

Nothing of ``mci.demand`` or ``mci.lp`` is used here: arrivals, periods, sources and limits are
worked out again, in the plainest way, one patient and one moment after the other.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from glpk import Glpk

from mci.catalogue.model import OutletSet, Rung
from mci.scenario.model import DeviceStock, Lot, Patients, Pattern, RegulatorStock, Scenario

__all__ = ["best_by_name", "least_cost_by_name", "named_patients"]

Terms = dict[object, float]


@dataclass(frozen=True)
class Named:
    """One patient: spells as (start, end, area, category, ladder)."""

    name: str
    spells: tuple[tuple[float, float, str, str, str], ...]


@dataclass(frozen=True)
class Outlets:
    """A lot with one way to draw from it; ``kind`` is the regulator's key, empty where built in."""

    lot: Lot
    kind: str
    outlets: OutletSet


def _arrivals(batch: Patients) -> list[float]:
    arrival = batch.arrival
    if arrival.pattern is Pattern.TOGETHER:
        return [arrival.at] * batch.count
    if arrival.pattern is not Pattern.EVEN:
        raise NotImplementedError(arrival.pattern)
    shares = [(number + 0.5) / batch.count for number in range(batch.count)]
    return [arrival.at + math.floor(share * arrival.over / arrival.step + 1e-9) * arrival.step for share in shares]


def named_patients(scenario: Scenario) -> list[Named]:
    """Return every patient by name with the spells that lie before the horizon."""
    found = []
    for batch, course in enumerate(scenario.patients):
        for number, arrive in enumerate(_arrivals(course)):
            leave = min(arrive + course.stay, course.leave, scenario.horizon)
            starts = [arrive + spell.after for spell in course.course]
            ends = [min(end, leave) for end in [*starts[1:], leave]]
            spells = tuple(
                (start, end, spell.area, spell.category, spell.ladder)
                for spell, start, end in zip(course.course, starts, ends, strict=True)
                if start < end
            )
            found.append(Named(f"{batch}/{number}", spells))
    return found


def _periods(scenario: Scenario, patients: list[Named]) -> list[tuple[float, float]]:
    moments = {0.0, scenario.horizon}
    moments |= {moment for patient in patients for spell in patient.spells for moment in spell[:2]}
    for thing in (*scenario.lots, *scenario.staff, *scenario.power, *scenario.regulators):
        moments |= {thing.available_from, thing.available_until}
    moments |= {stock.available_from for stock in scenario.devices}
    return list(itertools.pairwise(sorted(moment for moment in moments if 0 <= moment <= scenario.horizon)))


def _ways_to_draw(scenario: Scenario) -> list[Outlets]:
    ways = [Outlets(lot, "", lot.built_in) for lot in scenario.lots if lot.built_in is not None]
    kinds = {(stock.area, stock.outlets.key): stock.outlets for stock in scenario.regulators}
    ways += [
        Outlets(lot, key, outlets)
        for lot in scenario.lots
        if lot.built_in is None
        for (area, key), outlets in kinds.items()
        if area == lot.area and lot.valve in outlets.fits
    ]
    return ways


def _suits(way: Outlets, rung: Rung) -> bool:
    if rung.device.high_pressure:
        return way.outlets.high_pressure_outlets > 0 and rung.flow_lpm <= way.outlets.total_max_lpm
    most = min(way.outlets.outlet_max_lpm, way.outlets.total_max_lpm)
    return way.outlets.outlets > 0 and rung.flow_lpm <= most


def _there(things: Iterable[RegulatorStock | DeviceStock], moment: float) -> dict[tuple[str, str], float]:
    """Return the stock per area and kind at a moment."""
    stock: dict[tuple[str, str], float] = defaultdict(float)
    for thing in things:
        if isinstance(thing, DeviceStock) and thing.available_from <= moment:
            stock[thing.area, thing.device] += thing.quantity
        if isinstance(thing, RegulatorStock) and thing.available_from <= moment < thing.available_until:
            stock[thing.area, thing.outlets.key] += thing.quantity
    return stock


@dataclass(frozen=True)
class _Connected:
    """Who is connected to each way to draw, in one period: by kind of outlet, and the flow."""

    low: dict[int, Terms]
    strong: dict[int, Terms]
    flow: dict[int, Terms]


class _Model:
    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.patients = named_patients(scenario)
        self.periods = _periods(scenario, self.patients)
        self.ways = _ways_to_draw(scenario)
        self.glpk = Glpk()
        self.earns: Terms = {}
        self.drawn: dict[tuple[str, float], Terms] = defaultdict(dict)  # litres per lot and period start
        self.wearing: dict[tuple[str, str, float], Terms] = defaultdict(dict)  # per patient, device, start
        self.places: dict[tuple[str, float], str] = {}  # area of a patient in a period

    def care(self) -> None:
        """Each patient: at most whole on the ladder, connected for what is drawn."""
        for start, end in self.periods:
            on: dict[tuple[str, str], Terms] = defaultdict(dict)  # per area and device
            connected = _Connected(defaultdict(dict), defaultdict(dict), defaultdict(dict))
            for patient in self.patients:
                here = [spell for spell in patient.spells if spell[0] <= start and end <= spell[1]]
                for _, _, area, category, ladder in here:
                    self.places[patient.name, start] = area
                    served: Terms = {}
                    for rank, rung in enumerate(self.scenario.ladders[ladder].rungs):
                        x = ("x", patient.name, rank, start)
                        served[x] = 1.0
                        self.earns[x] = self.scenario.weights[category] * rung.credit * (end - start)
                        on[area, rung.device.key][x] = 1.0
                        self.wearing[patient.name, rung.device.key, start][x] = 1.0
                        if rung.flow_lpm > 0:
                            self._connect(x, rung, area, (start, end), connected)
                    self.glpk.row(served, high=1)
            self._units(start, connected)
            self._reusable(start, on)

    def _connect(self, x: tuple, rung: Rung, area: str, period: tuple[float, float], connected: _Connected) -> None:
        start, end = period
        balance: Terms = {x: -1.0}
        for number, way in enumerate(self.ways):
            lot = way.lot
            open_now = lot.available_from <= start and end <= lot.available_until
            if lot.area == area and open_now and _suits(way, rung):
                u = ("u", *x, number)
                balance[u] = 1.0
                (connected.strong if rung.device.high_pressure else connected.low)[number][u] = 1.0
                connected.flow[number][u] = rung.flow_lpm
                self.drawn[lot.key, start][u] = rung.flow_lpm * (end - start)
        self.glpk.row(balance, low=0, high=0)

    def _units(self, start: float, connected: _Connected) -> None:
        in_use: dict[str, Terms] = defaultdict(dict)
        regulated: dict[tuple[str, str], Terms] = defaultdict(dict)
        powered: dict[str, Terms] = defaultdict(dict)
        for number, way in enumerate(self.ways):
            c = ("c", number, start)
            self.glpk.row({**connected.low[number], c: -way.outlets.outlets}, high=0)
            self.glpk.row({**connected.strong[number], c: -way.outlets.high_pressure_outlets}, high=0)
            self.glpk.row({**connected.flow[number], c: -way.outlets.total_max_lpm}, high=0)
            in_use[way.lot.key][c] = 1.0
            if way.kind:
                regulated[way.lot.area, way.kind][c] = 1.0
            powered[way.lot.area][c] = way.lot.watts_each
        for lot in self.scenario.lots:
            self.glpk.row(in_use[lot.key], high=lot.quantity)
        stock = _there(self.scenario.regulators, start)
        for kind, terms in regulated.items():
            self.glpk.row(terms, high=stock[kind])
        for area, terms in powered.items():
            watts = sum(p.watts for p in self.scenario.power if self._open(p, area, start))
            each = {lot.watts_each for lot in self.scenario.lots if lot.area == area and lot.watts_each > 0}
            if len(each) == 1:  # machines run or do not run
                watts = max((n * min(each) for n in range(100) if n * min(each) <= watts), default=0)
            self.glpk.row(terms, high=watts)

    def _reusable(self, start: float, on: dict[tuple[str, str], Terms]) -> None:
        single_use = {
            rung.device.key: rung.device.single_use for each in self.scenario.ladders.values() for rung in each.rungs
        }
        stock = _there(self.scenario.devices, start)
        for kind, terms in on.items():
            if not single_use[kind[1]]:
                self.glpk.row(terms, high=stock[kind])

    @staticmethod
    def _open(window: object, area: str, start: float) -> bool:
        return window.area == area and window.available_from <= start < window.available_until

    def gas(self) -> None:
        """Each lot gives at most what it holds; areas keep their reserve; people's time is enough so far."""
        horizon = self.scenario.horizon
        for lot in self.scenario.lots:
            drawn = {u: v for start, _ in self.periods for u, v in self.drawn[lot.key, start].items()}
            self.glpk.row(drawn, high=lot.litres)
        for area, litres in self.scenario.reserve.items():
            kept = [
                lot
                for lot in self.scenario.lots
                if lot.area == area
                and math.isfinite(lot.litres)
                and lot.available_from <= horizon <= lot.available_until
            ]
            drawn = {u: v for lot in kept for start, _ in self.periods for u, v in self.drawn[lot.key, start].items()}
            if litres > 0:
                self.glpk.row(drawn, high=sum(lot.litres for lot in kept) - litres)
        for area in self.scenario.areas:
            minutes: Terms = {}
            so_far = 0.0
            for start, end in self.periods:
                shifts = [s.people for s in self.scenario.staff if self._open(s, area.key, start)]
                so_far += sum(shifts) * (end - start) if shifts else 0.0
                for lot in self.scenario.lots:
                    if lot.area == area.key and math.isfinite(lot.litres):
                        for u, litres in self.drawn[lot.key, start].items():
                            minutes[u] = litres / lot.litres_each * lot.change_min
                self.glpk.row(minutes, high=so_far)

    def owners(self) -> None:
        """A single-use device, once handed out, stays with its patient, wherever that patient goes.

        ``o`` is the share of a device of its own that a patient has had handed out; it never
        falls.  What is handed out comes from the stock of the area where the patient then is, and only
        to patients whose ladder then has the device.
        """
        single_use = {
            rung.device.key
            for ladder in self.scenario.ladders.values()
            for rung in ladder.rungs
            if rung.device.single_use
        }
        handed: dict[tuple[str, str], Terms] = defaultdict(lambda: defaultdict(float))
        for device in sorted(single_use):
            before: dict[str, object] = {}
            for start, _ in self.periods:
                for patient in self.patients:
                    area = self.places.get((patient.name, start))
                    if area is None:
                        continue
                    o = ("o", patient.name, device, start)
                    self.glpk.row({**self.wearing[patient.name, device, start], o: -1.0}, high=0)
                    handed[area, device][o] += 1.0
                    last: Terms = {before[patient.name]: 1.0} if patient.name in before else {}
                    usable = bool(self.wearing[patient.name, device, start])
                    self.glpk.row({**last, o: -1.0}, low=None if usable else 0, high=0)
                    for owned in last:
                        handed[area, device][owned] -= 1.0
                    before[patient.name] = o
                stock = _there(self.scenario.devices, start)
                for area in self.scenario.areas:
                    self.glpk.row(handed[area.key, device], high=stock[area.key, device])

    def step_downs(self) -> Terms:
        """Count, per patient and rung, who had it or a better one before and has not now; return what each costs.

        Only where nothing about the patient's need or place changes in between.
        """
        costs: Terms = {}
        for (before, _), (now, end) in itertools.pairwise(self.periods):
            for patient in self.patients:
                for begin, leave, _, category, ladder in patient.spells:
                    if not (begin <= before and end <= leave):
                        continue
                    rungs = range(len(self.scenario.ladders[ladder].rungs))
                    for rank in rungs:
                        d = ("d", patient.name, rank, now)
                        had: Terms = {("x", patient.name, better, before): 1.0 for better in rungs[: rank + 1]}
                        has: Terms = {("x", patient.name, better, now): -1.0 for better in rungs[: rank + 1]}
                        self.glpk.row({**had, **has, d: -1.0}, high=0)
                        costs[d] = self.scenario.weights[category]
        return costs


def _written(scenario: Scenario) -> _Model:
    model = _Model(scenario)
    model.care()
    model.gas()
    model.owners()
    return model


def best_by_name(scenario: Scenario) -> float:
    """Return the best weighted coverage of the incident with every patient by name [weighted credit-minutes]."""
    model = _written(scenario)
    return model.glpk.maximise(model.earns)


def least_cost_by_name(scenario: Scenario, wait_cost: float, litre_cost: float, coverage: float) -> float:
    """Return the least cost of any plan by name with at least this coverage: weighted step-downs, waiting, litres."""
    model = _written(scenario)
    costs = model.step_downs()
    middle = {start: (start + end) / 2 for start, end in model.periods}
    for x, earned in model.earns.items():
        costs[x] = wait_cost * earned * middle[x[-1]] / 60
    for drawn in model.drawn.values():
        costs |= {u: litre_cost * litres for u, litres in drawn.items()}
    model.glpk.row(model.earns, low=coverage)
    return -model.glpk.maximise({name: -cost for name, cost in costs.items()})
