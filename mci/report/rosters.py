"""The incident's patients and cylinders one by one, in the columns that scenario files read as rosters and inventories.

A scenario that names these tables has the same people and the same litres.  Deliveries, other supplies, regulators,
devices and staff stay in the scenario file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.plan.things import find_supplies
from mci.report.table import Table
from mci.units import KPA_PER_PSI

if TYPE_CHECKING:
    from collections.abc import Iterator

    from mci.demand.people import Person
    from mci.plan.things import Supply
    from mci.scenario.model import Scenario

__all__ = ["ROSTER_NAMES", "cylinder_roster", "patient_roster"]

#: Names of the tables that can be read back.
ROSTER_NAMES = ("patients", "cylinders")

_PATIENT = ("patient", "category", "area", "ladder", "arrive", "change", "leave")
_CYLINDER = (
    "id",
    "cylinder",
    "pressure",
    "area",
    "test date",
    "star",
    "temperature",
    "residual",
    "gas model",
    "change",
)
_NOT_ASKED = "not asked"


def _number(value: float) -> str:
    """Write a number so that reading it gives the same to a billionth; never with an exponent."""
    return f"{value:.9f}".rstrip("0").rstrip(".")


def _moment(minutes: float) -> str:
    return f"T+{_number(minutes)}"


def patient_roster(scenario: Scenario) -> Table:
    """Return a row for every patient who arrives before the horizon, and one for each later change.

    How patients were hurt has a column where the scenario says it of anybody.
    """
    hurt = {batch.label: batch.mechanism for batch in scenario.patients if batch.mechanism}
    rows = []
    for person in name_people(scenario):
        for number, row in enumerate(_stays(person, scenario.horizon)):
            mechanism = hurt.get(person.stays[0].label) if number == 0 else None
            rows.append((*row, mechanism) if hurt else row)
    return Table("patients", (*_PATIENT, "mechanism") if hurt else _PATIENT, tuple(rows))


def _stays(person: Person, horizon: float) -> Iterator[tuple[str | None, ...]]:
    leave = _moment(person.leave) if person.leave < horizon else None
    for number, stay in enumerate(person.stays):
        what = (person.key, stay.category, stay.area, stay.ladder)
        begins = _moment(stay.start)
        yield (*what, None, begins, None) if number else (*what, begins, None, leave)


def cylinder_roster(scenario: Scenario) -> Table:
    """Return a row for every cylinder that is there from the start and fit for service."""
    cylinders = (supply for supply in find_supplies(scenario) if supply.must_be_opened and not supply.lot.delivery)
    rows = tuple(_cylinder(supply, metric=scenario.pressures_in_bar) for supply in cylinders)
    return Table("cylinders", _CYLINDER, rows)


def _cylinder(supply: Supply, *, metric: bool) -> tuple[str | None, ...]:
    lot = supply.lot
    unit = next((unit for unit in lot.units if unit.id == supply.key), None)
    kind, model = lot.cylinder, lot.gas_model
    return (
        supply.key,
        kind.key if kind else None,
        _pressure(supply.gauge_psi, metric=metric),
        lot.area,
        unit.tested.isoformat() if unit and unit.tested else _NOT_ASKED,
        "yes" if unit and unit.star else None,
        None if lot.temperature_c is None else f"{_number(lot.temperature_c)} C",
        _pressure(lot.residual_psi, metric=metric),
        None if model is None or (kind and model is kind.gas_model) else model.value,
        None if kind and lot.change_min == kind.change_min else f"{_number(lot.change_min)} min",
    )


def _pressure(psi: float | None, *, metric: bool) -> str | None:
    if psi is None:
        return None
    return f"{_number(psi * KPA_PER_PSI / 100)} bar" if metric else f"{_number(psi)} psi"
