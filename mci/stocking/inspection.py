"""An oxygen cache inspected item by item: what is fit, how far it goes, and what to mend first."""

from __future__ import annotations

import datetime
from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from mci.catalogue.load import load_catalogue
from mci.catalogue.model import Basis, GasModel, Source
from mci.catalogue.usable import usable_litres
from mci.errors import InputError, Mistake
from mci.physics.constants import IN_SERVICE_PSI, IN_SERVICE_SOURCE, RESIDUAL_PSI, RESIDUAL_SOURCE
from mci.scenario.defaults import load_defaults
from mci.scenario.fitness import due_date
from mci.scenario.model import Assumption
from mci.stocking.inspection_cover import DEFAULT_LOAD, Cover, Load, find_cover, parse_load
from mci.stocking.inspection_faults import Rules, cylinder_faults, equipment_faults, twice_faults, valve_fault
from mci.stocking.inspection_result import CylinderItem, EquipmentItem, Fault, FaultKind, Fix, Inspection, Soon
from mci.units import format_litres, format_pressure

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.catalogue.model import Cylinder, OutletSet
    from mci.stocking.inspection_file import CylinderRow, EquipmentRow, Inventory, Listed

__all__ = ["SOON_DAYS", "Asked", "inspect"]

SOON_DAYS = 90
#: Mending these means that the cylinder comes back full.
_REFILLED = {FaultKind.LOW, FaultKind.TEST_OVERDUE, FaultKind.NO_GAUGE, FaultKind.CONDITION}
_NO_SOURCE = Source("choice of whoever inspects", Basis.ASSUMPTION)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of an inspection; whatever is ``None`` is as usual.

    Parameters
    ----------
    on
        Day on which dates are judged; ``None`` is today.
    load
        Patients and flows whose cover is asked.
    soon_days
        Tests and expiry dates within so many days are told beforehand.
    minimum, residual
        In-service minimum and residual pressure [psi].
    metric
        Whether pressures are written in bar; ``None`` is as in the files.
    """

    on: datetime.date | None = None
    load: Load | None = None
    soon_days: int = SOON_DAYS
    minimum: float | None = None
    residual: float | None = None
    metric: bool | None = None


def inspect(inventory: Inventory, asked: Asked | None = None) -> Inspection:
    """Inspect a cache.

    Raises
    ------
    InputError
        Where the litres of a cylinder cannot be reckoned.
    """
    asked = asked or Asked()
    metric = inventory.metric if asked.metric is None else asked.metric
    rules = Rules(
        on=asked.on or datetime.date.today(),
        minimum=IN_SERVICE_PSI if asked.minimum is None else asked.minimum,
        residual=RESIDUAL_PSI if asked.residual is None else asked.residual,
        defaults=load_defaults(),
        metric=metric,
    )
    equipment = None if inventory.equipment is None else tuple(_equipment(rules, *row) for row in inventory.equipment)
    cylinders = _cylinders(rules, inventory, equipment)
    load = asked.load or parse_load(DEFAULT_LOAD)
    return Inspection(
        inventory=inventory,
        on=rules.on,
        is_today=asked.on is None,
        soon_days=asked.soon_days,
        metric=metric,
        cylinders=cylinders,
        equipment=equipment,
        load=load,
        cover=_cover(load, cylinders, equipment),
        cover_mended=_cover(load, _mended(cylinders), None if equipment is None else _in_order(equipment)),
        fixes=_fixes(load, cylinders, equipment),
        soon=_soon(rules, asked.soon_days, cylinders, equipment or ()),
        assumptions=_assumptions(rules, asked, load, inventory, cylinders),
    )


def _equipment(rules: Rules, listed: Listed, row: EquipmentRow) -> EquipmentItem:
    catalogue = load_catalogue()
    return EquipmentItem(
        listed=listed,
        name=row.item,
        area=row.area or "",
        count=row.count,
        expiry=row.expiry if isinstance(row.expiry, datetime.date) else None,
        outlets=catalogue.outlet_sets.get(row.item),
        device=catalogue.devices.get(row.item),
        faults=equipment_faults(rules, row),
    )


def _cylinders(
    rules: Rules, inventory: Inventory, equipment: tuple[EquipmentItem, ...] | None
) -> tuple[CylinderItem, ...]:
    fitted: dict[str, bool] = defaultdict(bool)
    for regulators in equipment or ():
        for fits in regulators.outlets.fits if regulators.outlets and regulators.count else ():
            fitted[fits] |= not regulators.faults
    twice = twice_faults(inventory)
    mistakes: list[Mistake] = []
    found: list[CylinderItem] = []
    for listed, row in inventory.cylinders:
        try:
            item = _cylinder(rules, listed, row)
        except ValueError as error:
            fix = "Name another gas model, or correct pressure and temperature."
            mistakes.append(Mistake(str(error), fix, listed.file, listed.row))
            continue
        more = [twice[listed]] if listed in twice else []
        valve = None if equipment is None else valve_fault(row, item.cylinder, fitted)
        found.append(replace(item, faults=(*item.faults, *more, *([valve] if valve else []))))
    if mistakes:
        raise InputError(mistakes)
    return tuple(found)


def _cylinder(rules: Rules, listed: Listed, row: CylinderRow) -> CylinderItem:
    """Return a cylinder with the faults that it has by itself."""
    cylinder = load_catalogue().cylinders[row.cylinder] if row.cylinder else None
    gauge = cylinder.full_psi if cylinder and row.pressure == "full" else row.pressure
    read = gauge if isinstance(gauge, float) else None
    faults = tuple(cylinder_faults(rules, row, cylinder, read))
    counted = cylinder.full_psi if cylinder and any(f.kind is FaultKind.ABOVE_FULL for f in faults) else read
    litres, full = (0.0, 0.0) if cylinder is None else _litres(rules, row, cylinder, counted)
    built_in = cylinder.built_in if cylinder and row.valve in (None, "integral") else None
    believed = None if any(f.kind is FaultKind.TEST_AHEAD for f in faults) else row.test_date
    return CylinderItem(
        listed=listed,
        name=row.id or f"row {listed.row}",
        area=row.area or "",
        cylinder=cylinder,
        gauge_psi=read,
        valve="" if built_in else row.valve or (cylinder.valve if cylinder else ""),
        built_in=built_in,
        tested=row.test_date,
        due=None if believed is None else due_date(believed, rules.years_of(row)),
        litres=litres,
        litres_mended=full if {fault.kind for fault in faults} & _REFILLED else litres,
        faults=faults,
    )


def _litres(rules: Rules, row: CylinderRow, cylinder: Cylinder, gauge: float | None) -> tuple[float, float]:
    """Return the usable litres of a cylinder at a gauge [psi], and when full [L]."""
    model = GasModel(row.gas_model) if row.gas_model else None
    residual = rules.residual_of(row)
    full = usable_litres(cylinder, cylinder.full_psi, residual, None, model)
    return (0.0 if gauge is None else usable_litres(cylinder, gauge, residual, row.temperature, model)), full


def _regulators(equipment: Sequence[EquipmentItem]) -> list[tuple[int, OutletSet]]:
    return [(item.count, item.outlets) for item in equipment if item.outlets and item.count and not item.faults]


def _cover(load: Load, cylinders: Sequence[CylinderItem], equipment: Sequence[EquipmentItem] | None) -> Cover:
    """Return how long what is fit carries a load; outlets are no limit where equipment was not listed."""
    fit = [item for item in cylinders if not item.faults]
    if equipment is None:
        by_litres = find_cover(load, fit, []).by_litres
        return Cover(by_litres, by_litres, load.count)
    return find_cover(load, fit, _regulators(equipment))


def _mended(cylinders: Sequence[CylinderItem]) -> list[CylinderItem]:
    """Return cylinders as they are, at most, once everything is mended."""
    return [_once_mended(item) for item in cylinders]


def _once_mended(item: CylinderItem) -> CylinderItem:
    usual = any(fault.kind is FaultKind.WRONG_VALVE for fault in item.faults) and item.cylinder is not None
    valve = item.cylinder.valve if usual and item.cylinder else item.valve
    built_in = item.cylinder.built_in if usual and item.cylinder else item.built_in
    return replace(item, litres=item.litres_mended, faults=(), valve=valve, built_in=built_in)


def _in_order(equipment: Sequence[EquipmentItem]) -> list[EquipmentItem]:
    return [replace(item, faults=()) for item in equipment]


def _fixes(
    load: Load, cylinders: tuple[CylinderItem, ...], equipment: tuple[EquipmentItem, ...] | None
) -> tuple[Fix, ...]:
    """Return what to mend, what gives the load most minutes first; then most patients an outlet; then most litres."""
    now = _cover(load, cylinders, equipment)
    fixes = [_fix_cylinder(load, cylinders, equipment, item, now) for item in cylinders if _is_own(item)]
    fixes += _fix_valves(load, cylinders, equipment, now)
    fixes += [_fix_equipment(load, cylinders, equipment or (), item, now) for item in equipment or () if item.faults]
    return tuple(sorted(fixes, key=lambda fix: (-round(fix.minutes, 6), -fix.patients, -round(fix.litres, 6))))


def _is_own(item: CylinderItem) -> bool:
    """Return whether a cylinder has a fault of its own, besides the lack of a regulator."""
    return any(fault.kind is not FaultKind.NO_REGULATOR for fault in item.faults)


def _mend_words(faults: Sequence[Fault]) -> str:
    return "; ".join(dict.fromkeys(fault.mend for fault in faults))


def _fix_cylinder(
    load: Load,
    cylinders: tuple[CylinderItem, ...],
    equipment: tuple[EquipmentItem, ...] | None,
    item: CylinderItem,
    now: Cover,
) -> Fix:
    then = _cover(load, [_once_mended(other) if other is item else other for other in cylinders], equipment)
    return Fix(
        items=f"{item.name} ({item.kind})",
        faults=item.faults,
        mend=_mend_words(item.faults),
        where=(item.listed,),
        litres=item.litres_mended,
        minutes=max(0.0, then.minutes - now.minutes),
        patients=then.connected - now.connected,
        count=1,
    )


def _fix_valves(
    load: Load, cylinders: tuple[CylinderItem, ...], equipment: tuple[EquipmentItem, ...] | None, now: Cover
) -> list[Fix]:
    """Return what one more regulator brings, for each valve that none on hand fits."""
    without: dict[str, list[CylinderItem]] = defaultdict(list)
    for item in cylinders:
        if item.faults and not _is_own(item):
            without[item.valve].append(item)
    fixes = []
    for valve, items in without.items():
        sets = load_catalogue().outlet_sets.values()
        least = min((o for o in sets if valve in o.fits), key=lambda o: (o.outlets, o.total_max_lpm), default=None)
        then = _free(cylinders, items)
        more = [] if least is None else [EquipmentItem(items[0].listed, least.key, "", 1, None, least, None)]
        cover = _cover(load, then, [*(equipment or ()), *more])
        fixes.append(
            Fix(
                items=f"{len(items)} × cylinder with valve {valve}: {', '.join(item.name for item in items)}",
                faults=items[0].faults,
                mend=f"get a regulator for {valve}" + (f", such as one {least.key}" if least else ""),
                where=tuple(item.listed for item in items),
                litres=sum(item.litres for item in items),
                minutes=max(0.0, cover.minutes - now.minutes),
                patients=cover.connected - now.connected,
                count=1,
            )
        )
    return fixes


def _free(cylinders: Sequence[CylinderItem], items: Sequence[CylinderItem]) -> list[CylinderItem]:
    """Return cylinders, some of them without their faults."""
    freed = {item.listed for item in items}
    return [replace(other, faults=()) if other.listed in freed else other for other in cylinders]


def _fix_equipment(
    load: Load,
    cylinders: tuple[CylinderItem, ...],
    equipment: tuple[EquipmentItem, ...],
    item: EquipmentItem,
    now: Cover,
) -> Fix:
    then, freed = now, []
    if item.outlets:
        freed = [other for other in cylinders if _lacks_only(other, item.outlets)]
        free = _free(cylinders, freed)
        then = _cover(load, free, [replace(other, faults=()) if other is item else other for other in equipment])
    return Fix(
        items=f"{item.count} × {item.name}",
        faults=item.faults,
        mend=_mend_words(item.faults),
        where=(item.listed,),
        litres=sum(other.litres for other in freed),
        minutes=max(0.0, then.minutes - now.minutes),
        patients=then.connected - now.connected,
        count=item.count,
    )


def _lacks_only(item: CylinderItem, outlets: OutletSet) -> bool:
    """Return whether a cylinder is unfit for want of such a regulator alone."""
    kinds = {fault.kind for fault in item.faults}
    return bool(kinds) and kinds <= {FaultKind.NO_REGULATOR, FaultKind.WRONG_VALVE} and item.valve in outlets.fits


def _soon(
    rules: Rules, within: int, cylinders: Sequence[CylinderItem], equipment: Sequence[EquipmentItem]
) -> tuple[Soon, ...]:
    """Return what is due within so many days and not overdue yet, the first first."""
    tests = [(i.listed, f"{i.name} ({i.kind})", "hydrostatic test", i.due) for i in cylinders]
    dates = [(i.listed, f"{i.count} × {i.name}", "expiry", i.expiry) for i in equipment if i.count]
    found = [
        Soon(listed, name, what, due, (due - rules.on).days)
        for listed, name, what, due in (*tests, *dates)
        if due is not None and 0 <= (due - rules.on).days <= within
    ]
    return tuple(sorted(found, key=lambda one: one.due))


def _assumptions(
    rules: Rules, asked: Asked, load: Load, inventory: Inventory, cylinders: Sequence[CylinderItem]
) -> tuple[Assumption, ...]:
    """Return what the inspection rests on."""
    defaults = rules.defaults

    def pressure(psi: float) -> str:
        return format_pressure(psi, metric=rules.metric)

    minimum = Source(IN_SERVICE_SOURCE, Basis.VERIFIED) if asked.minimum is None else _NO_SOURCE
    residual = Source(RESIDUAL_SOURCE, Basis.VERIFIED) if asked.residual is None else _NO_SOURCE
    chosen = Source("no rule of the trade: give your own load", Basis.ASSUMPTION) if asked.load is None else _NO_SOURCE
    told = [
        Assumption("day on which dates are judged", str(rules.on), _NO_SOURCE),
        Assumption("reference load" + (" (none was given)" if asked.load is None else ""), str(load), chosen),
        Assumption("in-service minimum", pressure(rules.minimum), minimum),
        Assumption("residual pressure", pressure(rules.residual), residual),
        *(
            Assumption(defaults.what[key], value, defaults.sources[key])
            for key, value in (
                ("most above full", f"{100 * defaults.most_above_full:g} %"),
                ("test interval", str(defaults.test_years)),
                ("starred test interval", str(defaults.starred_test_years)),
            )
        ),
        Assumption("told beforehand", f"tests and expiry dates within {asked.soon_days} days", _NO_SOURCE),
    ]
    models = {row.cylinder: row.gas_model for _, row in inventory.cylinders if row.gas_model}
    for cylinder in dict.fromkeys(item.cylinder for item in cylinders if item.cylinder):
        model = models.get(cylinder.key, cylinder.gas_model.value)
        full = usable_litres(cylinder, cylinder.full_psi, rules.residual, None, GasModel(model))
        value = f"full {format_litres(full)} above {pressure(rules.residual)}, free gas at {cylinder.reference_c:g} °C"
        told.append(Assumption(f"litres in {cylinder.key} by {model}", value, cylinder.source))
    sets = [load_catalogue().outlet_sets.get(row.item) for _, row in inventory.equipment or ()]
    for which in dict.fromkeys(one for one in sets if one):
        flows = f"{which.outlets} × {which.outlet_max_lpm:g} L/min, {which.total_max_lpm:g} L/min in all"
        told.append(Assumption(f"outlets of {which.key}", flows, which.source))
    return tuple(told)
