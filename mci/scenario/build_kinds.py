"""The planner's own ladders, regulators, machines and cylinders, in the catalogue's shape."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.catalogue.model import Basis, Cylinder, GasModel, Ladder, Machine, MachineKind, OutletSet, Source
from mci.catalogue.rungs import SETTING_NAMES, make_rung
from mci.scenario.schema import BlendedRung, FlowRung

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from mci.catalogue.model import Device, Rung
    from mci.scenario.schema import CylinderKind, LadderKind, RegulatorKind, VentilatorRung
    from mci.scenario.schema import MachineKind as OwnMachine
    from mci.scenario.schema_outlets import OutletNumbers

    Complain = Callable[[int, str], None]

__all__ = ["outlet_set", "own_cylinder", "own_ladder", "own_machine", "own_regulator"]


def outlet_set(key: str, written: OutletNumbers, source: Source, fits: Iterable[str] = ()) -> OutletSet:
    """Return outlets as written."""
    return OutletSet(
        key=key,
        fits=frozenset(fits),
        outlets=written.outlets,
        high_pressure_outlets=written.high_pressure_outlets,
        outlet_max_lpm=written.outlet_flow,
        total_max_lpm=written.total_flow,
        source=source,
    )


def own_regulator(key: str, kind: RegulatorKind) -> OutletSet:
    """Return the planner's own regulator or manifold."""
    return outlet_set(key, kind, Source(kind.source, Basis.ASSUMPTION), kind.fits)


def own_machine(key: str, kind: OwnMachine) -> Machine:
    """Return the planner's own concentrator or plant."""
    source = Source(kind.source, Basis.ASSUMPTION)
    outlets = outlet_set(key, kind, source)
    return Machine(
        key=key,
        kind=MachineKind.CONCENTRATOR,
        max_lpm=kind.total_flow,
        watts=kind.power,
        oxygen_share_low=1.0,
        outlets=outlets,
        connect_min=kind.connect or 0.0,
        mass_kg=None,
        source=source,
    )


def own_cylinder(key: str, kind: CylinderKind) -> Cylinder:
    """Return the planner's own kind of cylinder."""
    return Cylinder(
        key=key,
        region="",
        letter=key,
        variant="",
        water_volume_l=kind.water_volume,
        content_l=kind.content,
        reference_c=kind.reference,
        full_psi=kind.full_pressure,
        factor_l_per_psi=None,
        gas_model=GasModel(kind.gas_model),
        valve=kind.valve,
        built_in=None,
        change_min=kind.change,
        full_kg=None,
        source=Source(kind.source, Basis.ASSUMPTION),
    )


def own_ladder(key: str, kind: LadderKind, devices: Mapping[str, Device], complain: Complain) -> Ladder | None:
    """Return the planner's own ladder; ``complain`` takes the number of a rung and what is wrong with it."""
    rungs: list[Rung] = []
    for index, written in enumerate(kind.rungs):
        device = devices[written.device]
        word, flow, fio2 = _setting(written)
        if SETTING_NAMES[device.rule] != word:
            needs = SETTING_NAMES[device.rule] + ("" if word != "flow" else " and fio2")
            complain(index, f"what is set on {device.key} is its {needs}, not its {word}")
            continue
        try:
            rungs.append(make_rung(device, flow, written.credit, fio2))
        except ValueError as error:
            risk = f": {device.below_min_risk}" if flow < device.min_lpm and device.below_min_risk else ""
            complain(index, f"this rung {error}{risk}")
    if len(rungs) < len(kind.rungs):
        return None
    return Ladder(key, kind.title, tuple(rungs), Source(kind.source, Basis.ASSUMPTION))


def _setting(rung: FlowRung | BlendedRung | VentilatorRung) -> tuple[str, float, float | None]:
    if isinstance(rung, FlowRung):
        return "flow", rung.flow, None
    if isinstance(rung, BlendedRung):
        return "total flow", rung.total_flow, rung.fio2
    return "minute volume", rung.minute_volume, rung.fio2
