"""Cylinders one by one: which are fit for service, and those that are, in lots of similar content.

A cylinder that is not fit is left out and listed with the reason, never silently dropped.
"""

from __future__ import annotations

import datetime
import math
from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

from mci.catalogue.model import GasModel
from mci.scenario.bench import PLANNER
from mci.scenario.build_supplies import cylinder_change_source, cylinder_litres
from mci.scenario.fitness import gauge_reasons, hydrostatic_reason
from mci.scenario.model import LeftOut, Lot, LotKind, Unit
from mci.units import format_duration

if TYPE_CHECKING:
    from mci.catalogue.model import Cylinder
    from mci.scenario.bench import Bench
    from mci.scenario.schema_supplies import InventoryRow
    from mci.scenario.yaml_positions import Where

__all__ = ["inventory_lots", "unfit"]

_BANDS = 10  # cylinders are pooled when their gauges lie in the same tenth of full


class _Pool(NamedTuple):
    """What the cylinders of one lot have in common."""

    area: str
    cylinder: str
    temperature_c: float | None
    band: int
    residual_psi: float
    gas_model: GasModel
    change_min: float | None


def inventory_lots(bench: Bench, inventories: dict[Where, list[InventoryRow]]) -> list[Lot]:
    """Return the lots of all inventories; pooled by area, how litres are reckoned, and tenth of the full pressure."""
    pools: dict[_Pool, list[Unit]] = defaultdict(list)
    first_use: dict[str, str] = {}
    for path, rows in inventories.items():
        table = bench.tables[path]
        for number, row in enumerate(rows):
            place = table.mistake((number, "id"), "this id is used twice", "", row.id)
            if row.id in first_use:
                fix = f"It was used in {first_use[row.id]}; every cylinder has its own."
                bench.mistakes.append(table.mistake((number, "id"), place.rule, fix, row.id))
            first_use.setdefault(row.id, f"{table.file} row {place.line}")
            cylinder = bench.cylinders[row.cylinder]
            gauge = cylinder.full_psi if row.pressure == "full" else row.pressure
            why = unfit(bench, cylinder, gauge, row)
            if why:
                bench.left_out.append(LeftOut(f"{row.id} ({cylinder.key})", row.area, why))
                continue
            residual = bench.residual if row.residual is None else row.residual
            model = GasModel(row.gas_model) if row.gas_model else cylinder.gas_model
            try:
                litres = cylinder_litres(bench, cylinder.key, gauge, residual, row.temperature, model)
            except ValueError as error:
                bench.mistakes.append(table.mistake((number, "pressure"), str(error), "", bench.pressure(gauge)))
                continue
            band = min(_BANDS - 1, math.floor(_BANDS * gauge / cylinder.full_psi))
            tested = None if row.test_date == "not asked" else row.test_date
            pool = _Pool(row.area, cylinder.key, row.temperature, band, residual, model, row.change)
            pools[pool].append(Unit(row.id, gauge, litres, tested, row.star))
    if inventories:
        _assume(bench)
    return [_lot(bench, pool, sorted(units, key=lambda u: u.id)) for pool, units in pools.items()]


def unfit(bench: Bench, cylinder: Cylinder, gauge: float, row: InventoryRow) -> str:
    """Return why a cylinder is not fit for service, or an empty text."""
    defaults, today = bench.defaults, bench.file.incident.inspection_date
    residual = bench.residual if row.residual is None else row.residual
    reasons = gauge_reasons(cylinder, gauge, bench.minimum, residual, defaults.most_above_full, metric=bench.bar)
    if row.test_date != "not asked" and (today is not None or row.test_date is None):
        years = defaults.starred_test_years if row.star else defaults.test_years
        tested = hydrostatic_reason(row.test_date, years, today or datetime.date.max)
        reasons += [tested] if tested else []
    return "; ".join(reason.why for reason in reasons)


def _assume(bench: Bench) -> None:
    defaults = bench.defaults
    bench.assume(defaults.what["test interval"], str(defaults.test_years), defaults.sources["test interval"])
    key = "starred test interval"
    bench.assume(defaults.what[key], str(defaults.starred_test_years), defaults.sources[key])
    bench.assume("day on which test dates are judged", str(bench.file.incident.inspection_date), PLANNER)
    key = "most above full"
    bench.assume(defaults.what[key], f"{100 * defaults.most_above_full:g} %", defaults.sources[key])


def _lot(bench: Bench, pool: _Pool, units: list[Unit]) -> Lot:
    key = pool.cylinder
    cylinder = bench.cylinders[key]
    low, high = (bench.pressure(f(u.gauge_psi for u in units)) for f in (min, max))
    change = cylinder.change_min if pool.change_min is None else pool.change_min
    bench.assume(f"time to change one {key}", format_duration(change), cylinder_change_source(pool.change_min))
    label = f"{len(units)} x {key} at {low if low == high else f'{low.split()[0]} to {high}'}"
    if pool.residual_psi != bench.residual:
        bench.assume(f"residual pressure of {label}", bench.pressure(pool.residual_psi), PLANNER)
    return Lot(
        key="",
        label=label,
        kind=LotKind.CYLINDER,
        area=pool.area,
        quantity=len(units),
        litres=sum(unit.litres for unit in units),
        litres_each=max(unit.litres for unit in units),
        valve="" if cylinder.built_in else cylinder.valve,
        built_in=cylinder.built_in,
        available_from=0.0,
        available_until=math.inf,
        change_min=change,
        watts_each=0.0,
        delivery="",
        cylinder=cylinder,
        gauge_psi=units[0].gauge_psi if len({round(unit.gauge_psi) for unit in units}) == 1 else None,
        residual_psi=pool.residual_psi,
        gas_model=pool.gas_model,
        temperature_c=pool.temperature_c,
        units=tuple(units),
    )
