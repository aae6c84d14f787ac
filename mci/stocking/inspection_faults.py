"""What keeps an item of a cache out of service: one rule per kind of fault, and what mends it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.scenario.fitness import gauge_reasons, hydrostatic_reason
from mci.stocking.inspection_result import Fault, FaultKind

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.catalogue.model import Cylinder
    from mci.scenario.defaults import Defaults
    from mci.stocking.inspection_file import CylinderRow, EquipmentRow, Inventory, Listed

__all__ = ["Rules", "cylinder_faults", "equipment_faults", "twice_faults", "valve_fault"]

#: What is written where nothing is wrong.
_RIGHT = ("ok", "good", "fit", "in service", "serviceable", "new")
_MENDS = {
    FaultKind.LOW: "have it refilled",
    FaultKind.ABOVE_FULL: "read gauge and size again; where both are right, keep it out of use and ask the filler",
    FaultKind.NO_GAUGE: "read the gauge; refill or replace it where it cannot be read",
    FaultKind.NO_TEST: "find the date stamped on its shoulder, else have it tested",
    FaultKind.TEST_AHEAD: "read the test date again",
    FaultKind.TEST_OVERDUE: "have it tested and refilled",
    FaultKind.NO_SIZE: "read its size on label and shoulder",
    FaultKind.NO_SERIAL: "read the serial number on its shoulder",
    FaultKind.TWICE: "read both serial numbers again",
    FaultKind.WRONG_VALVE: "read valve and size again; where both are right, keep it where a regulator fits",
    FaultKind.NO_REGULATOR: "get a regulator that fits",
    FaultKind.CONDITION: "tag it, have it repaired or replaced",
    FaultKind.EXPIRED: "replace",
    FaultKind.NO_EXPIRY: "read the date on the pack, else replace",
}


@dataclass(frozen=True, slots=True)
class Rules:
    """By what is judged: the day, in-service minimum and residual [psi], defaults, and how pressures are written."""

    on: datetime.date
    minimum: float
    residual: float
    defaults: Defaults
    metric: bool

    def residual_of(self, row: CylinderRow) -> float:
        """Return the residual pressure of a cylinder [psi]."""
        return self.residual if row.residual is None else row.residual

    def years_of(self, row: CylinderRow) -> int:
        """Return the years between its hydrostatic tests: as listed, else by the star."""
        if row.interval is not None:
            return row.interval
        return self.defaults.starred_test_years if row.star else self.defaults.test_years


def _fault(kind: FaultKind, why: str) -> Fault:
    """Return a fault with what mends it."""
    return Fault(kind, why, _MENDS[kind])


def _serial_key(text: str) -> str:
    """Return a serial number as it is compared: without spaces, in small letters."""
    return "".join(text.split()).casefold()


def cylinder_faults(rules: Rules, row: CylinderRow, cylinder: Cylinder | None, gauge: float | None) -> list[Fault]:
    """Return what is wrong with a cylinder by itself, whatever else is in the cache."""
    faults = []
    if row.id is None:
        faults.append(_fault(FaultKind.NO_SERIAL, "its serial number is not listed or cannot be read"))
    if cylinder is None:
        faults.append(_fault(FaultKind.NO_SIZE, "its size is not listed or cannot be read"))
    if gauge is None:
        faults.append(_fault(FaultKind.NO_GAUGE, "its gauge was not read or cannot be read"))
    elif cylinder is not None:
        share, residual = rules.defaults.most_above_full, rules.residual_of(row)
        reasons = gauge_reasons(cylinder, gauge, rules.minimum, residual, share, metric=rules.metric)
        faults += [_fault(FaultKind(reason.kind.value), reason.why) for reason in reasons]
    tested = hydrostatic_reason(row.test_date, rules.years_of(row), rules.on)
    if tested is not None:
        faults.append(_fault(FaultKind(tested.kind.value), tested.why))
    return [*faults, *_condition_faults(row.condition)]


def _condition_faults(condition: str | None) -> list[Fault]:
    """Return the fault that a word about the condition tells; whatever does not say that all is well is one."""
    if condition is None or condition.strip().lower() in _RIGHT:
        return []
    return [_fault(FaultKind.CONDITION, f"condition: {condition}")]


def equipment_faults(rules: Rules, row: EquipmentRow) -> tuple[Fault, ...]:
    """Return what is wrong with regulators, manifolds or devices of one row; nothing where there are none."""
    if row.count == 0:
        return ()
    faults = _condition_faults(row.condition)
    if row.expiry == "unreadable":
        faults.append(_fault(FaultKind.NO_EXPIRY, "expiry date cannot be read"))
    elif row.expiry is not None and row.expiry < rules.on:
        faults.append(_fault(FaultKind.EXPIRED, f"expired on {row.expiry}"))
    return tuple(faults)


def twice_faults(inventory: Inventory) -> dict[Listed, Fault]:
    """Return the fault of every cylinder whose serial number stands further up already; the first one counts."""
    first: dict[str, Listed] = {}
    again: dict[Listed, Fault] = {}
    for listed, row in inventory.cylinders:
        if row.id is None:
            continue
        before = first.setdefault(_serial_key(row.id), listed)
        if before != listed:
            where = f"row {before.row}" + ("" if before.file == listed.file else f" of {before.file}")
            again[listed] = _fault(
                FaultKind.TWICE, f"serial {row.id} stands in {where} too; only one of the two is counted"
            )
    return again


def valve_fault(row: CylinderRow, cylinder: Cylinder | None, fitted: Mapping[str, bool]) -> Fault | None:
    """Return the fault of a cylinder that no regulator on hand fits.

    Parameters
    ----------
    fitted
        Valves that a regulator on hand fits, and whether one of these is fit for service itself.
    """
    valve = row.valve or (cylinder.valve if cylinder else "")
    own = row.valve in (None, "integral") and (cylinder is None or cylinder.built_in is not None)
    if own or fitted.get(valve, False):
        return None
    unfit = ", and what would fit is not fit for service" if valve in fitted else ""
    if cylinder is not None and row.valve is not None and row.valve != (cylinder.valve or "integral"):
        usual = f"its valve is {row.valve}, that of a {cylinder.key} is {cylinder.valve or 'integral'}"
        return _fault(FaultKind.WRONG_VALVE, f"{usual}; no regulator on hand fits it{unfit}")
    return _fault(FaultKind.NO_REGULATOR, f"no regulator on hand fits its valve ({valve}){unfit}")
