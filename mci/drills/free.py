"""What lay idle at a moment of a replay: outlets in service, or a regulator, a cylinder and somebody to fit them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.drills.least_flow import devices_of
from mci.drills.trace import SAME
from mci.plan.orders import Action
from mci.plan.things import ANYONE, find_handlers, find_regulators, find_supplies
from mci.replay.gauge import find_scale

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.catalogue.model import OutletSet, Rung
    from mci.demand.stays import Stay
    from mci.drills.trace import Piece
    from mci.plan.orders import Order
    from mci.plan.things import Handler, Regulator, Supply
    from mci.replay.standing import Connection
    from mci.scenario.model import Lot, PowerSupply, RegulatorStock, Scenario, StaffShift

__all__ = ["Now", "Store"]

#: A cylinder that would not last so long is not counted as idle oxygen [min]: an assumption.
LASTS = 1.0
#: What a flow or a gauge may lack by rounding [L/min], [psi].
_NOISE, _NOISE_PSI = 1e-6, 1.0


class Store:
    """Everything that there is in an incident, looked up once; and who was at a change of cylinder when."""

    def __init__(self, scenario: Scenario, orders: Sequence[Order]) -> None:
        self.scenario = scenario
        self.devices = devices_of(scenario)
        self.supplies = {each.key: each for each in find_supplies(scenario)}
        self.regulators = {each.key: each for each in find_regulators(scenario)}
        self.handlers = find_handlers(scenario)
        self.changes = [(self._begin(each), each) for each in orders if each.action is Action.CHANGE]

    def _begin(self, order: Order) -> float:
        supply = self.supplies.get(order.supply)
        if order.begin < order.minute or supply is None:
            return order.begin
        return order.minute - supply.lot.change_min

    def fit_for_service(self, supply: Supply, litres: float) -> bool:
        """Tell whether a cylinder may be brought into service by its gauge."""
        scale = find_scale(supply)
        return scale is None or scale.gauge(litres) >= self.scenario.in_service_psi - _NOISE_PSI


@dataclass(frozen=True, slots=True)
class _Head:
    """Outlets on a supply, and who is on them."""

    supply: Supply
    outlets: OutletSet
    users: dict[str, Connection]


class Now:
    """What is free in one piece of a replay."""

    def __init__(self, store: Store, piece: Piece) -> None:
        self._store = store
        self._at = piece.start
        self._standing = piece.standing
        self._users: dict[tuple[str, str], dict[str, Connection]] = {}
        self._in_use: dict[tuple[str, str], set[str]] = {}
        for patient, each in piece.standing.connected.items():
            self._users.setdefault((each.regulator, each.supply), {})[patient] = each
            if patient in piece.present:
                self._in_use.setdefault((piece.present[patient].area, each.device), set()).add(patient)
        under_way = [each for begin, each in store.changes if begin <= self._at + SAME < each.minute]
        self._busy = {each.by for each in under_way} - {"", ANYONE}
        self._taken = {name for each in under_way for name in (each.supply, each.regulator) if name}
        self._heads = list(self._in_service())
        self._idle = list(self._not_in_service())

    def has_outlet(self, patient: str, stay: Stay, above: float) -> bool:
        """Tell whether an outlet in service could give a patient more credit than ``above``."""
        rungs = list(self._better(patient, stay, above))
        return any(
            head.supply.lot.area == stay.area and self._serves(head, patient, rung)
            for rung in rungs
            for head in self._heads
        )

    def has_regulator(self, patient: str, stay: Stay, above: float) -> bool:
        """Tell whether something idle could be brought into service to give a patient more credit than ``above``."""
        rungs = list(self._better(patient, stay, above))
        return any(
            head.supply.lot.area == stay.area and self._has_hands(head.supply.lot) and self._serves(head, patient, rung)
            for rung in rungs
            for head in self._idle
        )

    def _better(self, patient: str, stay: Stay, above: float) -> Iterator[Rung]:
        for rung in self._store.scenario.ladders[stay.ladder].rungs:
            if rung.credit > above + _NOISE and self._has_device(patient, stay.area, rung.device.key):
                yield rung

    def _is_there(self, thing: Lot | Regulator | RegulatorStock | Handler | StaffShift | PowerSupply) -> bool:
        return thing.available_from <= self._at + SAME < thing.available_until

    def _in_service(self) -> Iterator[_Head]:
        """Yield what patients can be connected to now."""
        fitted = self._standing.fitted
        for regulator, key in fitted.items():
            supply, tool = self._store.supplies[key], self._store.regulators.get(regulator)
            if tool is not None and self._is_there(tool) and self._is_there(supply.lot):
                yield _Head(supply, tool.outlets, self._users.get((regulator, key), {}))
        for supply in self._store.supplies.values():
            own = supply.lot.built_in
            opened = not supply.must_be_opened or supply.key in fitted
            if own is not None and opened and self._is_there(supply.lot) and self._has_power(supply):
                yield _Head(supply, own, self._users.get(("", supply.key), {}))

    def _not_in_service(self) -> Iterator[_Head]:
        """Yield what could be put together: an idle regulator with a fitting cylinder, or one that is not opened."""
        serving = {supply for (_, supply), users in self._users.items() if users}
        cylinders = [
            each
            for each in self._store.supplies.values()
            if each.must_be_opened
            and each.key not in serving | self._taken
            and self._is_there(each.lot)
            and self._store.fit_for_service(each, self._standing.litres[each.key])
        ]
        for each in cylinders:
            if each.lot.built_in is not None and each.key not in self._standing.fitted:
                yield _Head(each, each.lot.built_in, {})
        busy = {regulator for (regulator, _), users in self._users.items() if users} | self._taken
        kinds: dict[tuple[str, str], Regulator] = {}
        for tool in self._store.regulators.values():
            if tool.key not in busy and self._is_there(tool):
                kinds.setdefault((tool.area, tool.outlets.key), tool)  # one of a kind says it all
        for tool in kinds.values():
            for each in cylinders:
                if each.lot.built_in is None and each.lot.area == tool.area and each.lot.valve in tool.outlets.fits:
                    yield _Head(each, tool.outlets, {})

    def _serves(self, head: _Head, patient: str, rung: Rung) -> bool:
        """Tell whether outlets take a patient on a rung, beside those who are on them, with gas for a while."""
        others = [each for key, each in head.users.items() if key != patient]
        strong = sum(self._is_strong(each.device) for each in others)
        flow = sum(each.flow_lpm for each in others) + rung.flow_lpm
        limits = head.outlets
        if rung.device.high_pressure:
            has_place = strong < limits.high_pressure_outlets
        else:
            has_place = len(others) - strong < limits.outlets and rung.flow_lpm <= limits.outlet_max_lpm + _NOISE
        litres = self._standing.litres[head.supply.key]
        return has_place and flow <= limits.total_max_lpm + _NOISE and litres > 0 and litres >= LASTS * flow

    def _is_strong(self, device: str) -> bool:
        known = self._store.devices.get(device)
        return known is not None and known.high_pressure

    def _has_device(self, patient: str, area: str, device: str) -> bool:
        """Tell whether a patient has a device, or can get one."""
        if (patient, device) in self._standing.owned:
            return True
        stock = sum(
            each.quantity
            for each in self._store.scenario.devices
            if (each.area, each.device) == (area, device) and each.available_from <= self._at + SAME
        )
        if self._store.devices[device].single_use:
            return self._standing.handed_out.get((area, device), 0) < stock
        return len(self._in_use.get((area, device), set()) - {patient}) < stock

    def _has_power(self, supply: Supply) -> bool:
        """Tell whether a machine can be run beside those that are in use."""
        watts, area = supply.lot.watts_each, supply.lot.area
        if watts <= 0:
            return True
        running = {key for (_, key), users in self._users.items() if users and key in self._store.supplies} | {
            supply.key
        }
        lots = [self._store.supplies[key].lot for key in running]
        taken = sum(lot.watts_each for lot in lots if lot.area == area)
        there = sum(each.watts for each in self._store.scenario.power if each.area == area and self._is_there(each))
        return taken <= there + _NOISE

    def _has_hands(self, lot: Lot) -> bool:
        """Tell whether somebody is free who changes cylinders."""
        if lot.change_min <= 0:
            return True
        return any(
            each.area == lot.area and self._is_there(each) and each.key not in self._busy
            for each in self._store.handlers
        )
