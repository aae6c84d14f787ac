"""Things of a lot, stock or batch counted one by one, under the names that they have in orders."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from mci.demand.arrivals import cohorts
from mci.demand.people import name_people
from mci.scenario.model import Arrival, Unit
from mci.scenario.names import lot_names, numbered

if TYPE_CHECKING:
    from mci.scenario.model import Lot, Patients, RegulatorStock, Scenario

__all__ = ["single_patients", "single_regulators", "single_units"]


def single_regulators(stocks: Iterable[RegulatorStock], names: Collection[str]) -> tuple[RegulatorStock, ...]:
    """Return stocks, those with one of the regulators named taken apart into single ones."""

    def apart(stock: RegulatorStock) -> Iterator[RegulatorStock]:
        keys = numbered(stock.key, stock.quantity)
        if not set(keys) & set(names):
            yield stock
            return
        for key in keys:
            yield replace(stock, key=key, quantity=1)

    return tuple(single for stock in stocks for single in apart(stock))


def single_units(lots: Iterable[Lot], names: Collection[str]) -> tuple[Lot, ...]:
    """Return lots, those with one of the cylinders named with each cylinder as a unit of its own."""

    def apart(lot: Lot) -> Lot:
        keys = lot_names(lot)
        if lot.units or lot.gauge_psi is None or not set(keys) & set(names):
            return lot
        each = lot.litres / lot.quantity
        return replace(lot, units=tuple(Unit(key, lot.gauge_psi, each) for key in keys))

    return tuple(apart(lot) for lot in lots)


def single_patients(scenario: Scenario, names: Collection[str]) -> tuple[Patients, ...]:
    """Return patients, batches with one of those named taken apart into single patients."""
    everybody = name_people(scenario)
    labels = {person.stays[0].label for person in everybody if person.key in names}
    people = iter(everybody)

    def apart(batch: Patients) -> Iterator[Patients]:
        moments, counts = cohorts(batch.arrival, batch.count)
        for moment, count in zip(moments.tolist(), counts.tolist(), strict=True):
            for _ in range(count if moment < min(moment + batch.stay, batch.leave, scenario.horizon) else 0):
                key = next(people).key
                yield replace(batch, label=key, count=1, arrival=Arrival.together(moment))

    found: list[Patients] = []
    for batch in scenario.patients:
        single = list(apart(batch))
        found.extend(single if batch.label in labels else [batch])
    return tuple(found)
