"""The journal: what changed at a moment, written down as orders."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from mci.catalogue.model import Device
from mci.dispatch.floor import Floor, Link, Source, Tool
from mci.dispatch.hands import Booking
from mci.dispatch.policy import Here
from mci.plan.gauge import expected_gauge
from mci.plan.orders import Action, Order
from mci.scenario.model import Scenario

__all__ = ["Journal"]


class Journal:
    """Compares the floor before and after a moment; what differs becomes orders."""

    def __init__(self, scenario: Scenario, floor: Floor) -> None:
        self.orders: list[Order] = []
        self._floor = floor
        self._titles = {area.key: area.title for area in scenario.areas}
        self._devices = {rung.device.key: rung.device for each in scenario.ladders.values() for rung in each.rungs}
        self._before: dict[str, tuple[Link, str, str, Here]] = {}

    def device(self, key: str) -> Device:
        """Return a device by its key."""
        return self._devices[key]

    def begin(self, here: Mapping[str, Here]) -> None:
        """Remember how it is before anything is done."""
        self._before = {key: (link, *self._outlet(link.source), here[key]) for key, link in self._floor.links.items()}

    @staticmethod
    def _outlet(source: Source) -> tuple[str, str]:
        return source.supply.key, source.tool.thing.key if source.tool else ""

    def changed(self, tool: Tool | None, source: Source, booking: Booking) -> None:
        """Write down a change of cylinder."""
        if not source.supply.must_be_opened:
            return
        self.orders.append(
            Order(
                minute=booking.end,
                begin=booking.begin,
                area=source.supply.lot.area,
                action=Action.CHANGE,
                supply=source.supply.key,
                regulator=tool.thing.key if tool else "",
                gauge_psi=expected_gauge(source.supply, source.left + source.kept),
                by=booking.by,
            )
        )

    def write(self, time: float, here: Mapping[str, Here], why_less: Callable[[Here], str]) -> None:
        """Write down what differs from before."""
        for key, (link, supply, tool, then) in self._before.items():
            now = self._floor.links.get(key)
            there = here.get(key)
            moved = there is None or there.stay.area != then.stay.area
            if now is None or moved:
                if there is None:
                    reason = "leaves"
                elif moved:
                    reason = f"moves to {self._titles[there.stay.area]}"
                else:
                    reason = why_less(there)
                self._add(time, then, Action.DISCONNECT, supply=supply, regulator=tool, reason=reason)
                if now is not None and there is not None:
                    self._patient(time, there, Action.CONNECT, now)
            elif there is not None:
                self._compare(time, there, link, (supply, tool), now, why_less, same_stay=there.stay == then.stay)
        for key, link in self._floor.links.items():
            if key not in self._before:
                self._patient(time, here[key], Action.CONNECT, link)

    def _compare(
        self,
        time: float,
        here: Here,
        old: Link,
        outlet: tuple[str, str],
        now: Link,
        why_less: Callable[[Here], str],
        *,
        same_stay: bool,
    ) -> None:
        supply, tool = self._outlet(now.source)
        moved = (tool != outlet[1]) if tool else ((supply, tool) != outlet)
        differs = (old.device, old.flow) != (now.device, now.flow)
        lower = same_stay and now.credit < old.credit - 1e-12
        if moved:
            kept = old if lower else now
            self._patient(time, here, Action.MOVE, now, device=kept.device, flow=kept.flow)
        if lower:
            self._patient(time, here, Action.STEP_DOWN, now, reason=why_less(here))
        elif differs and not moved:
            self._patient(time, here, Action.SET_FLOW, now)

    def _patient(
        self,
        time: float,
        here: Here,
        action: Action,
        link: Link,
        *,
        device: str = "",
        flow: float = 0.0,
        reason: str = "",
    ) -> None:
        supply, tool = self._outlet(link.source)
        self._add(
            time,
            here,
            action,
            device=device or link.device,
            flow=flow or link.flow,
            supply=supply,
            regulator=tool,
            gauge=expected_gauge(link.source.supply, link.source.left + link.source.kept),
            reason=reason,
        )

    def _add(
        self,
        time: float,
        here: Here,
        action: Action,
        *,
        supply: str,
        regulator: str,
        device: str = "",
        flow: float = 0.0,
        gauge: float | None = None,
        reason: str = "",
    ) -> None:
        self.orders.append(
            Order(
                minute=time,
                area=here.stay.area,
                action=action,
                patient=here.person.key,
                device=device,
                flow_lpm=flow,
                supply=supply,
                regulator=regulator,
                gauge_psi=gauge,
                reason=reason,
            )
        )
