"""Cylinders, machines, piped outlets, liquid vessels and deliveries as lots."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from mci.catalogue.model import Basis, GasModel, MachineKind, Source
from mci.catalogue.usable import usable_litres
from mci.physics.liquid import (
    UNUSABLE_SHARE,
    UNUSABLE_SOURCE,
    litres_per_kg,
    litres_per_litre,
    usable_liquid_litres,
)
from mci.scenario.bench import PLANNER
from mci.scenario.build_kinds import outlet_set
from mci.scenario.model import LeftOut, Lot, LotKind
from mci.scenario.schema_supplies import (
    BroughtConcentrators,
    BroughtCylinders,
    Concentrators,
    CylinderLine,
    Cylinders,
    Liquid,
    Piped,
    Plant,
)
from mci.units import UnitError, format_duration, format_litres, parse_mass, parse_volume

if TYPE_CHECKING:
    from mci.scenario.bench import Bench
    from mci.scenario.yaml_positions import Where

__all__ = ["LIQUID_REFERENCE_C", "brought_lots", "concentrator_lot", "cylinder_litres", "cylinder_lot", "own_lots"]

#: Temperature at which the gas of a liquid vessel is counted [°C] (70 °F, as for US cylinders).
LIQUID_REFERENCE_C = 21.1


def own_lots(bench: Bench) -> list[Lot]:
    """Return the lots that are there without any delivery, inventories apart; keys are given later."""
    lots: list[Lot | None] = []
    for index, line in enumerate(bench.file.supplies):
        path: Where = ("supplies", index)
        if isinstance(line, Cylinders):
            lots.append(cylinder_lot(bench, path, line, line.area))
        elif isinstance(line, Concentrators):
            lots.append(concentrator_lot(bench, path, line, line.area, line.from_ or 0.0, _end(line.until)))
        elif isinstance(line, Plant):
            lots.append(_plant(bench, path, line))
        elif isinstance(line, Piped):
            lots.append(_piped(line))
        elif isinstance(line, Liquid):
            lots.append(_liquid(bench, line))
    return [lot for lot in lots if lot is not None]


def brought_lots(bench: Bench) -> list[Lot]:
    """Return the lots that deliveries bring."""
    lots: list[Lot | None] = []
    for index, delivery in enumerate(bench.file.deliveries):
        for number, line in enumerate(delivery.brings):
            path: Where = ("deliveries", index, "brings", number)
            if isinstance(line, BroughtCylinders):
                lots.append(cylinder_lot(bench, path, line, delivery.area, delivery.at, delivery.delivery))
            elif isinstance(line, BroughtConcentrators):
                name = delivery.delivery
                lots.append(concentrator_lot(bench, path, line, delivery.area, delivery.at, math.inf, name))
    return [lot for lot in lots if lot is not None]


def _end(until: float | None) -> float:
    return math.inf if until is None else until


def cylinder_lot(
    bench: Bench,
    path: Where,
    line: CylinderLine,
    area: str,
    available_from: float = 0.0,
    delivery: str = "",
) -> Lot | None:
    """Return the cylinders of a line as a lot; ``None`` where they are not fit or misread, which is noted."""
    cylinder = bench.cylinders[line.cylinder]
    gauge = cylinder.full_psi if line.pressure == "full" else line.pressure
    residual = bench.residual if line.residual is None else line.residual
    model = GasModel(line.gas_model) if line.gas_model else cylinder.gas_model
    label = f"{line.count} x {cylinder.key} at {bench.pressure(gauge)}"
    if bench.misread(cylinder, gauge):
        most = f"{100 * bench.defaults.most_above_full:g} %"
        rule = f"is more than {most} above the {bench.pressure(cylinder.full_psi)} of a full {cylinder.key}"
        bench.wrong((*path, "pressure"), rule, "Check the kind and the gauge.", bench.pressure(gauge))
        return None
    why = bench.too_low(gauge, residual)
    if why:
        bench.left_out.append(LeftOut(label, area, why))
        return None
    try:
        litres_each = cylinder_litres(bench, cylinder.key, gauge, residual, line.temperature, model)
    except ValueError as error:
        bench.wrong(path, str(error), "Name another gas model, or correct pressure and temperature.")
        return None
    if line.residual is not None:
        bench.assume(f"residual pressure of {label}", bench.pressure(residual), PLANNER)
    change = cylinder.change_min if line.change is None else line.change
    bench.assume(f"time to change one {cylinder.key}", format_duration(change), cylinder_change_source(line.change))
    return Lot(
        key="",
        label=label,
        kind=LotKind.CYLINDER,
        area=area,
        quantity=line.count,
        litres=litres_each * line.count,
        litres_each=litres_each,
        valve="" if cylinder.built_in else cylinder.valve,
        built_in=cylinder.built_in,
        available_from=available_from,
        available_until=math.inf,
        change_min=change,
        watts_each=0.0,
        delivery=delivery,
        cylinder=cylinder,
        gauge_psi=gauge,
        residual_psi=residual,
        gas_model=model,
        temperature_c=line.temperature,
    )


def cylinder_change_source(written: float | None) -> Source:
    """Return where the time to change a cylinder comes from."""
    if written is not None:
        return PLANNER
    return Source("no published value was found; catalogue value by size", Basis.ASSUMPTION)


def cylinder_litres(
    bench: Bench, key: str, gauge: float, residual: float, temperature: float | None, model: GasModel
) -> float:
    """Return the usable litres of one cylinder and note by which model they were reckoned."""
    cylinder = bench.cylinders[key]
    litres = usable_litres(cylinder, gauge, residual, temperature, model)
    full = usable_litres(cylinder, cylinder.full_psi, residual, None, model)
    value = f"full {format_litres(full)} above {bench.pressure(residual)}, free gas at {cylinder.reference_c:g} °C"
    bench.assume(f"litres in {key} by {model.value}", value, cylinder.source)
    return litres


def concentrator_lot(
    bench: Bench,
    path: Where,
    line: Concentrators | BroughtConcentrators,
    area: str,
    available_from: float,
    available_until: float,
    delivery: str = "",
) -> Lot | None:
    """Return the concentrators of a line as a lot; ``None`` where they are plants, which is noted."""
    machine = bench.machines[line.concentrator]
    own = line.concentrator in bench.file.machine_kinds
    if not own and machine.kind is not MachineKind.CONCENTRATOR:
        bench.wrong((*path, "concentrator"), "is a plant", f"Write plant: {machine.key}.", machine.key)
        return None
    change = machine.connect_min if line.change is None else line.change
    return _machine_lot(
        bench, LotKind.CONCENTRATOR, machine.key, line.count, area, available_from, available_until, change, delivery
    )


def _plant(bench: Bench, path: Where, line: Plant) -> Lot | None:
    machine = bench.machines[line.plant]
    if line.plant not in bench.file.machine_kinds and machine.kind is not MachineKind.PLANT:
        bench.wrong((*path, "plant"), "is a concentrator", f"Write concentrator: {machine.key}.", machine.key)
        return None
    start, end = line.from_ or 0.0, _end(line.until)
    return _machine_lot(bench, LotKind.PLANT, machine.key, line.count, line.area, start, end, machine.connect_min, "")


def _machine_lot(
    bench: Bench,
    kind: LotKind,
    key: str,
    count: int,
    area: str,
    available_from: float,
    available_until: float,
    change: float,
    delivery: str,
) -> Lot:
    machine = bench.machines[key]
    outlets = dataclasses.replace(
        machine.outlets,
        outlet_max_lpm=min(machine.outlets.outlet_max_lpm, machine.max_lpm),
        total_max_lpm=min(machine.outlets.total_max_lpm, machine.max_lpm),
    )
    bench.assume(f"{key}", f"{machine.max_lpm:g} L/min, {machine.watts:g} W", machine.source)
    share = "counted as oxygen litre for litre"
    if machine.oxygen_share_low < 1:  # the planner's own machines do not say
        share += f" (at least {100 * machine.oxygen_share_low:g} % oxygen)"
    bench.assume(f"gas from {key}", share, machine.source)
    return Lot(
        key="",
        label=f"{count} x {key}",
        kind=kind,
        area=area,
        quantity=count,
        litres=math.inf,
        litres_each=math.inf,
        valve="",
        built_in=outlets,
        available_from=available_from,
        available_until=available_until,
        change_min=change,
        watts_each=machine.watts,
        delivery=delivery,
    )


def _piped(line: Piped) -> Lot:
    return Lot(
        key="",
        label=line.piped,
        kind=LotKind.PIPED,
        area=line.area,
        quantity=1,
        litres=math.inf,
        litres_each=math.inf,
        valve="",
        built_in=outlet_set(line.piped, line, PLANNER),
        available_from=line.from_ or 0.0,
        available_until=_end(line.until),
        change_min=0.0,
        watts_each=0.0,
        delivery="",
    )


def _liquid(bench: Bench, line: Liquid) -> Lot:
    """Return a vessel with what can be planned: evaporation up to the end of its use is set aside at once.

    No more than that can be lost, so a plan never counts on gas that has boiled off; a vessel in
    steady use loses less.
    """
    unusable = UNUSABLE_SHARE if line.unusable is None else line.unusable
    start, end = line.from_ or 0.0, min(_end(line.until), bench.horizon)
    gas = gas_of_liquid(line.contents)
    lost = line.evaporation * max(0.0, end)
    each = max(0.0, usable_liquid_litres(gas, unusable) - lost)
    source = Source(UNUSABLE_SOURCE, Basis.VERIFIED) if line.unusable is None else PLANNER
    bench.assume(f"{line.liquid}: share that cannot be used", f"{100 * unusable:g} %", source)
    bench.assume(
        f"{line.liquid}: lost by evaporation, set aside from the start", format_litres(lost) + " per vessel", PLANNER
    )
    bench.assume(
        "litres of gas from liquid oxygen",
        f"{litres_per_litre(LIQUID_REFERENCE_C):.0f} L per litre of liquid, {litres_per_kg(LIQUID_REFERENCE_C):.0f} L "
        f"per kg, at {LIQUID_REFERENCE_C} °C",
        Source("liquid density: Schmidt and Wagner 1985; 2018 International Fire Code table G101.2", Basis.VERIFIED),
    )
    return Lot(
        key="",
        label=f"{line.liquid} ({line.contents})",
        kind=LotKind.LIQUID,
        area=line.area,
        quantity=line.count,
        litres=each * line.count,
        litres_each=each,
        valve="",
        built_in=outlet_set(line.liquid, line, PLANNER),
        available_from=start,
        available_until=_end(line.until),
        change_min=0.0,
        watts_each=0.0,
        delivery="",
    )


def gas_of_liquid(contents: str) -> float:
    """Return the litres of gas in liquid oxygen given as a mass or as litres of liquid [L]."""
    try:
        return parse_mass(contents) * litres_per_kg(LIQUID_REFERENCE_C)
    except UnitError:
        return parse_volume(contents) * litres_per_litre(LIQUID_REFERENCE_C)
