"""From the scenario as written to the scenario as used: the planner's kinds, then patients, supplies and resources."""

from __future__ import annotations

import dataclasses
from types import MappingProxyType
from typing import TYPE_CHECKING

from mci.catalogue.model import Basis, Source
from mci.catalogue.usable import usable_litres
from mci.errors import InputError
from mci.physics.constants import IN_SERVICE_PSI, IN_SERVICE_SOURCE, RESIDUAL_PSI, RESIDUAL_SOURCE
from mci.scenario.bench import PLANNER, Bench, Keys, ladder_assumption
from mci.scenario.build_exercise import build_exercise
from mci.scenario.build_kinds import own_cylinder, own_ladder, own_machine, own_regulator
from mci.scenario.build_network import build_network
from mci.scenario.build_patients import build_patients
from mci.scenario.build_resources import build_devices, build_power, build_regulators, build_staff
from mci.scenario.build_rules import apply_rules
from mci.scenario.build_stocking import build_stocking
from mci.scenario.build_supplies import brought_lots, own_lots
from mci.scenario.defaults import load_defaults
from mci.scenario.inventory import inventory_lots
from mci.scenario.model import CATEGORIES, Area, Lot, Resupply, Scenario, Spell
from mci.scenario.possible import all_spells

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.catalogue.model import Catalogue, Ladder
    from mci.scenario.schema import ScenarioFile
    from mci.scenario.schema_patients import ChangeRow, RosterRow
    from mci.scenario.schema_supplies import InventoryRow
    from mci.scenario.table import Table
    from mci.scenario.yaml_positions import Positions, Where

__all__ = ["build_scenario"]


def build_scenario(
    file: ScenarioFile,
    positions: Positions,
    tables: Mapping[Where, Table],
    rosters: dict[Where, list[RosterRow | ChangeRow]],
    inventories: dict[Where, list[InventoryRow]],
    catalogue: Catalogue,
    sha256: str,
) -> Scenario:
    """Return the scenario in the program's shape.

    Raises
    ------
    InputError
        With every mistake that the parts make together.
    """
    bench = _bench(file, positions, tables, catalogue)
    lots = _keyed(bench, [*own_lots(bench), *brought_lots(bench), *inventory_lots(bench, inventories)])
    regulators, devices = build_regulators(bench), build_devices(bench)
    network = build_network(bench, lots, regulators, devices)
    stocking = build_stocking(bench, network)
    listed = build_patients(bench, rosters)
    exercise, drawn = build_exercise(bench, listed, lots, regulators)
    patients = (*listed, *drawn)
    resupply = _resupply(bench)
    if bench.mistakes:
        raise InputError(bench.mistakes)
    spells = tuple(all_spells(patients, exercise))
    scenario = Scenario(
        name=file.incident.name,
        summary=file.incident.summary,
        start=file.incident.start,
        horizon=bench.horizon,
        areas=tuple(Area(key, title) for key, title in file.areas.items()),
        ladders=_ladders_used(bench, spells),
        weights=_weights(bench, spells),
        patients=patients,
        lots=lots,
        regulators=regulators,
        devices=devices,
        staff=build_staff(bench),
        power=build_power(bench),
        reserve=MappingProxyType({area: file.reserve.get(area, 0.0) for area in file.areas}),
        resupply=resupply,
        left_out=tuple(bench.left_out),
        assumptions=(),
        file=positions.file,
        sha256=sha256,
        pressures_in_bar=bench.bar,
        in_service_psi=bench.minimum,
        network=network,
        stocking=stocking,
        exercise=exercise,
    )
    apply_rules(bench, scenario)
    if bench.mistakes:
        raise InputError(bench.mistakes)
    return dataclasses.replace(scenario, assumptions=tuple(bench.assumptions.values()))


def _bench(file: ScenarioFile, positions: Positions, tables: Mapping[Where, Table], catalogue: Catalogue) -> Bench:
    residual = RESIDUAL_PSI if file.residual is None else file.residual
    minimum = IN_SERVICE_PSI if file.in_service_minimum is None else file.in_service_minimum
    bench = Bench(
        file=file,
        positions=positions,
        tables=tables,
        cylinders={**catalogue.cylinders, **{k: own_cylinder(k, v) for k, v in file.cylinder_kinds.items()}},
        regulators={**catalogue.outlet_sets, **{k: own_regulator(k, v) for k, v in file.regulator_kinds.items()}},
        machines={**catalogue.machines, **{k: own_machine(k, v) for k, v in file.machine_kinds.items()}},
        devices=catalogue.devices,
        ladders=catalogue.ladders,
        defaults=load_defaults(),
        horizon=file.incident.horizon,
        residual=residual,
        minimum=minimum,
    )
    bench.ladders = {**catalogue.ladders, **_own_ladders(bench)}
    source = Source(RESIDUAL_SOURCE, Basis.VERIFIED) if file.residual is None else PLANNER
    bench.assume("residual pressure, kept in every cylinder", bench.pressure(residual), source)
    source = Source(IN_SERVICE_SOURCE, Basis.VERIFIED) if file.in_service_minimum is None else PLANNER
    bench.assume("in-service minimum, below which a cylinder is left out", bench.pressure(minimum), source)
    return bench


def _own_ladders(bench: Bench) -> dict[str, Ladder]:
    own: dict[str, Ladder] = {}
    for key, kind in bench.file.ladders.items():

        def complain(rung: int, rule: str, key: str = key) -> None:
            bench.wrong(("ladders", key, "rungs", rung), rule)

        ladder = own_ladder(key, kind, bench.devices, complain)
        if ladder is not None:
            own[key] = ladder
    return own


def _ladders_used(bench: Bench, spells: tuple[Spell, ...]) -> Mapping[str, Ladder]:
    used = sorted({spell.ladder for spell in spells})
    for key in used:
        ladder = bench.ladders[key]
        rungs = "; ".join(f"{r.device.key} {r.setting} credit {r.credit:g}" for r in ladder.rungs)
        bench.assume(ladder_assumption(key), rungs, ladder.source)
    return MappingProxyType({key: bench.ladders[key] for key in used})


def _weights(bench: Bench, spells: tuple[Spell, ...]) -> Mapping[str, float]:
    occurring = {spell.category for spell in spells}
    weights = {}
    for category in CATEGORIES:
        if category in occurring:
            own = bench.file.weights.get(category)
            weights[category] = bench.defaults.weights[category] if own is None else own
            source = bench.defaults.sources["weights"] if own is None else PLANNER
            bench.assume(f"weight of {category}", f"{weights[category]:g}", source)
    return MappingProxyType(weights)


def _keyed(bench: Bench, lots: list[Lot]) -> tuple[Lot, ...]:
    """Order the lots so that the order of lines in the file does not matter, and name them."""
    areas = list(bench.file.areas)

    def order(lot: Lot) -> tuple[object, ...]:
        kinds = (lot.kind.value, _short(lot), lot.label, lot.litres, lot.temperature_c or 0.0, lot.residual_psi or 0.0)
        return (areas.index(lot.area), lot.available_from, lot.delivery, *kinds, lot.available_until)

    keys = Keys()
    return tuple(
        dataclasses.replace(lot, key=keys.make(lot.area, _short(lot), lot.delivery)) for lot in sorted(lots, key=order)
    )


def _short(lot: Lot) -> str:
    if lot.cylinder is not None:
        return lot.cylinder.key
    if lot.watts_each > 0 or lot.built_in is None:
        return lot.label.partition(" x ")[2] or lot.label
    return lot.built_in.key


def _resupply(bench: Bench) -> Resupply:
    size = bench.file.resupply
    cylinder = bench.cylinders[size.cylinder]
    outlets = cylinder.built_in
    if outlets is not None and size.regulator is not None:
        rule = f"{cylinder.key} has an integral valve and takes no regulator"
        bench.wrong(("resupply", "regulator"), rule, "Remove the line.", size.regulator)
    if outlets is None:
        if size.regulator is None:
            rule = f"{cylinder.key} needs a regulator for its {cylinder.valve} valve"
            bench.wrong(("resupply",), rule, f"Add a line such as regulator: {_fitting(bench, cylinder.valve)}.")
            outlets = next(iter(bench.regulators.values()))
        else:
            outlets = bench.regulators[size.regulator]
            if cylinder.valve not in outlets.fits:
                rule = f"does not fit the {cylinder.valve} valve of {cylinder.key}"
                fix = f"One that fits: {_fitting(bench, cylinder.valve)}."
                bench.wrong(("resupply", "regulator"), rule, fix, size.regulator)
    if cylinder.full_psi <= bench.residual:
        rule = f"a full {cylinder.key} is not above the residual pressure of {bench.pressure(bench.residual)}"
        bench.wrong(("resupply", "cylinder"), rule, "Check 'residual'.", size.cylinder)
    litres = usable_litres(cylinder, cylinder.full_psi, bench.residual)
    return Resupply(cylinder, litres, outlets)


def _fitting(bench: Bench, valve: str) -> str:
    return next((key for key, outlets in bench.regulators.items() if valve in outlets.fits), "one of your own")
