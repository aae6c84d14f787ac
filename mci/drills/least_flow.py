"""The least oxygen flow that a device may be run at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.catalogue.load import load_catalogue
from mci.catalogue.model import DrawRule
from mci.physics.draw import AIR_FRACTION, blended_draw

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.catalogue.model import Device
    from mci.scenario.model import Scenario

__all__ = ["devices_of", "is_below_least"]

#: Half of the last digit that tables show [L/min].
_ROUNDED = 0.005


def devices_of(scenario: Scenario) -> Mapping[str, Device]:
    """Return every device by its key: those of the catalogue, and the scenario's own."""
    own = {rung.device.key: rung.device for ladder in scenario.ladders.values() for rung in ladder.rungs}
    return {**load_catalogue().devices, **own}


def is_below_least(device: Device | None, flow_lpm: float) -> bool:
    """Tell whether a flow is below the least that a device needs; no oxygen at all, as on room air, is not."""
    if device is None or flow_lpm <= 0:
        return False
    least = device.min_lpm
    if device.rule is not DrawRule.SET_FLOW:
        least = blended_draw(device.min_lpm, max(device.fio2_low, AIR_FRACTION)) + device.driving_lpm
    return flow_lpm < least - _ROUNDED
