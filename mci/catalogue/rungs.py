"""A rung from what is set on a device: the draw, the words, and whether the device can do it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.catalogue.model import DrawRule, Rung
from mci.physics.draw import AIR_FRACTION, blended_draw, ventilator_draw
from mci.units import format_flow

if TYPE_CHECKING:
    from mci.catalogue.model import Device

__all__ = ["SETTING_NAMES", "make_rung"]

#: What the flow that is set on a device is called, by rule.
SETTING_NAMES = {
    DrawRule.SET_FLOW: "flow",
    DrawRule.BLENDED: "total flow",
    DrawRule.VENTILATOR: "minute volume",
}


def make_rung(device: Device, set_lpm: float, credit: float, fio2: float | None = None) -> Rung:
    """Return the rung of a device at a setting.

    Parameters
    ----------
    set_lpm
        Flow that is set [L/min]: oxygen, total flow or minute volume, by the device's rule.
    credit
        Share of the need that it meets, 0 to 1.
    fio2
        Inspired oxygen fraction: needed by blended devices and ventilators, refused by others.

    Raises
    ------
    ValueError
        If the device cannot be set so; the text continues "this rung ...".
    """
    name = SETTING_NAMES[device.rule]
    if not 0 <= credit <= 1:
        raise ValueError(f"has a credit of {credit:g}; a credit lies between 0 and 1")
    if not device.min_lpm <= set_lpm <= device.max_lpm:
        raise ValueError(
            f"sets a {name} of {format_flow(set_lpm)} on {device.key}, "
            f"whose range is {device.min_lpm:g} to {device.max_lpm:g} L/min"
        )
    if device.rule is DrawRule.SET_FLOW:
        if fio2 is not None:
            raise ValueError(f"gives an fio2 for {device.key}, where only the oxygen flow is set")
        return Rung(device, set_lpm, credit, format_flow(set_lpm))
    if fio2 is None:
        raise ValueError(f"needs an fio2, because {device.key} mixes oxygen with air")
    low = max(device.fio2_low, AIR_FRACTION)
    if not low <= fio2 <= device.fio2_high:
        raise ValueError(f"sets an fio2 of {fio2:g} on {device.key}, whose range is {low:g} to {device.fio2_high:g}")
    if device.rule is DrawRule.BLENDED:
        draw = blended_draw(set_lpm, fio2)
        return Rung(device, draw, credit, f"{format_flow(set_lpm)} at FiO2 {fio2:.2f}")
    draw = ventilator_draw(set_lpm, fio2, device.driving_lpm)
    return Rung(device, draw, credit, f"minute volume {format_flow(set_lpm)} at FiO2 {fio2:.2f}")
