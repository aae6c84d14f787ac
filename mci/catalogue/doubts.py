"""What is doubtful about using a cylinder or a device in some way, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.catalogue.load import load_catalogue
from mci.catalogue.model import DrawRule
from mci.physics.constants import IN_SERVICE_PSI, IN_SERVICE_SOURCE
from mci.physics.gas import gauge_at
from mci.units import format_flow, format_pressure

if TYPE_CHECKING:
    from collections.abc import Iterator

    from mci.catalogue.model import Catalogue, Cylinder, Device, OutletSet

__all__ = ["cylinder_doubts", "device_doubts", "outlet_doubts", "usual_outlets"]

_OVER_FULL = 1.02  # assumption: gauges and rounded catalogue pressures differ by as much


def cylinder_doubts(
    cylinder: Cylinder,
    gauge_psi: float,
    residual_psi: float,
    temperature_c: float | None = None,
    *,
    metric: bool = False,
) -> Iterator[str]:
    """Yield what is doubtful about a gauge reading on a cylinder.

    Parameters
    ----------
    gauge_psi, residual_psi
        Reading now, and the reading at which the cylinder is changed [psi].
    temperature_c
        The cylinder's temperature [°C]; ``None`` means its reference temperature.
    metric
        Say pressures in bar.
    """

    def pressure(psi: float) -> str:
        return format_pressure(psi, metric=metric)

    if gauge_psi <= residual_psi:
        yield f"the gauge is not above the residual pressure of {pressure(residual_psi)}: nothing is left to use"
    if gauge_psi < IN_SERVICE_PSI:
        yield (
            f"the gauge is below {pressure(IN_SERVICE_PSI)}, the least at which a cylinder goes into service "
            f"({IN_SERVICE_SOURCE}; your own procedures decide)"
        )
    at_c = cylinder.reference_c if temperature_c is None else temperature_c
    at_reference = gauge_at(gauge_psi, at_c, cylinder.reference_c)
    if at_reference > _OVER_FULL * cylinder.full_psi:
        full = f"{pressure(cylinder.full_psi)} at {cylinder.reference_c:g} °C"
        if temperature_c is None:
            yield (
                f"the gauge is above that of a full one ({full}): "
                "a warm cylinder, one filled beyond its rating, or another kind of cylinder"
            )
        else:
            yield (
                f"at {cylinder.reference_c:g} °C the gauge would read {pressure(at_reference)}, above that of a full "
                f"one ({full}): one filled beyond its rating, or another kind of cylinder"
            )


def usual_outlets(cylinder: Cylinder, catalogue: Catalogue | None = None) -> OutletSet:
    """Return the built-in outlets of a cylinder, or the catalogue's first regulator that fits its valve."""
    if cylinder.built_in is not None:
        return cylinder.built_in
    return next(_fitting(cylinder, catalogue or load_catalogue()))


def outlet_doubts(
    cylinder: Cylinder, flow_lpm: float, device: Device | None = None, catalogue: Catalogue | None = None
) -> Iterator[str]:
    """Yield what is doubtful about one patient's flow through the usual outlets of a cylinder.

    Parameters
    ----------
    flow_lpm
        Oxygen flow [L/min].
    device
        What the patient is on, if known: some need a high-pressure outlet.
    catalogue
        Where regulators are looked up; the bundled one if not given.
    """
    catalogue = catalogue or load_catalogue()
    usual = usual_outlets(cylinder, catalogue)
    if device is not None and device.high_pressure:
        if usual.high_pressure_outlets == 0:
            yield f"{device.key} needs a 50 psi (4 bar) outlet, which the usual {usual.key} does not have"
        return
    if flow_lpm > usual.outlet_max_lpm:
        larger = [o.key for o in _fitting(cylinder, catalogue) if flow_lpm <= o.outlet_max_lpm]
        yield (
            f"{format_flow(flow_lpm)} is more than one flow outlet of the usual {usual.key} passes "
            f"({format_flow(usual.outlet_max_lpm)})" + (f"; a {larger[0]} passes it" if larger else "")
        )


def device_doubts(device: Device, flow_lpm: float) -> Iterator[str]:
    """Yield what is doubtful about an oxygen flow [L/min] on a device."""
    limits = f"{device.min_lpm:g} to {format_flow(device.max_lpm)}"
    if device.rule is not DrawRule.SET_FLOW:
        if flow_lpm > device.max_lpm + device.driving_lpm:
            yield f"{format_flow(flow_lpm)} of oxygen is more than {device.key} can use (range {limits} in all)"
        return
    if flow_lpm < device.min_lpm:
        risk = f": {device.below_min_risk}" if device.below_min_risk else ""
        yield f"{format_flow(flow_lpm)} is below the range of {device.key} ({limits}){risk}"
    if flow_lpm > device.max_lpm:
        yield f"{format_flow(flow_lpm)} is above the range of {device.key} ({limits})"


def _fitting(cylinder: Cylinder, catalogue: Catalogue) -> Iterator[OutletSet]:
    return (outlets for outlets in catalogue.outlet_sets.values() if cylinder.valve in outlets.fits)
