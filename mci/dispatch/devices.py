"""Delivery devices while time passes: who owns a single-use one, how many reusable ones are in use."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from mci.catalogue.model import Device
from mci.scenario.model import Scenario

__all__ = ["Devices"]


class Devices:
    """Stocks of devices per area, and who has what."""

    def __init__(self, scenario: Scenario) -> None:
        self._stocks = scenario.devices
        self._owned: set[tuple[str, str]] = set()
        self._handed: dict[tuple[str, str], int] = defaultdict(int)
        self._used: dict[tuple[str, str], int] = defaultdict(int)

    def _come(self, area: str, device: str, time: float) -> float:
        return sum(
            stock.quantity
            for stock in self._stocks
            if (stock.area, stock.device) == (area, device) and stock.available_from <= time + 1e-9
        )

    def learn(self, scenario: Scenario) -> None:
        """Take in the devices that have come."""
        self._stocks = scenario.devices

    def for_those_here(self, area: str, device: str, time: float, here: Iterable[str]) -> float:
        """Return how many there are for given patients: in stock, in use, and single-use ones that they own."""
        owned = sum(self.owns(patient, device) for patient in here)
        return self._come(area, device, time) - self._handed[area, device] + owned

    def owns(self, patient: str, device: str) -> bool:
        """Tell whether a patient has a single-use device of this kind."""
        return (patient, device) in self._owned

    def begin_with(self, owned: Iterable[tuple[str, str]], handed_out: Mapping[tuple[str, str], int]) -> None:
        """Take in what patients own and what was handed out per area and device before the crew begins."""
        self._owned.update(owned)
        self._handed.update(handed_out)

    def can_take(self, patient: str, area: str, device: Device, time: float) -> bool:
        """Tell whether a patient who is not on it could be put on a device."""
        if device.single_use:
            return self.owns(patient, device.key) or self._handed[area, device.key] < self._come(area, device.key, time)
        return self._used[area, device.key] < self._come(area, device.key, time)

    def take(self, patient: str, area: str, device: Device) -> None:
        """Hand a device out, or count it as in use."""
        if not device.single_use:
            self._used[area, device.key] += 1
        elif not self.owns(patient, device.key):
            self._owned.add((patient, device.key))
            self._handed[area, device.key] += 1

    def give_back(self, area: str, device: Device) -> None:
        """Put a reusable device back; whoever had a single-use one keeps it."""
        if not device.single_use:
            self._used[area, device.key] -= 1
