"""A crew that goes on from how things stand: with what is in service, who is on what, and what has been handed out."""

from __future__ import annotations

from collections.abc import Iterable

from mci.dispatch.crew import Crew
from mci.dispatch.floor import HUNDREDTH, Link, least_litres
from mci.dispatch.policy import Here, Policy
from mci.plan.credit import ROUNDED, reached_rung
from mci.plan.orders import Action, Order
from mci.plan.things import find_supplies
from mci.replay.floor import TOLERANCE
from mci.replay.standing import Connection, Standing
from mci.scenario.model import Scenario

__all__ = ["ResumedCrew", "find_first"]


def find_first(standing: Standing, moments: Iterable[float]) -> float:
    """Return in how many minutes a crew gives its first orders: after those of the moment, before anything happens.

    Parameters
    ----------
    moments
        When something changes [min from the moment].
    """
    if not (standing.connected or standing.fitted or standing.owned or standing.orders):
        return 0.0
    flows: dict[str, float] = {}
    for each in standing.connected.values():
        flows[each.supply] = flows.get(each.supply, 0.0) + (each.flow_lpm if each.gas else 0.0)
    empty = [standing.litres[key] / flow for key, flow in flows.items() if key and flow > 0]
    return max(min([HUNDREDTH, *empty, *(m for m in moments if m > TOLERANCE)]), 1.1 * TOLERANCE)


class ResumedCrew(Crew):
    """A crew that takes an incident over.

    Parameters
    ----------
    scenario
        The whole incident.
    left
        What is left of it (:func:`mci.dispatch.rest.left_of`).
    standing
        How things stand.
    first
        When the crew gives its first orders [min from the moment].
    moments, policy
        As for :class:`Crew`, in the time of ``left``.

    Notes
    -----
    Who is connected but gets no oxygen, or a flow that is none of the ladder, is taken off first and then seen to like
    anybody who waits.
    """

    def __init__(
        self,
        scenario: Scenario,
        left: Scenario,
        standing: Standing,
        first: float,
        moments: Iterable[float],
        policy: Policy,
    ) -> None:
        super().__init__(left, moments, policy)
        self._sources = {each.supply.key: each for members in self.floor.sources.values() for each in members}
        for supply in find_supplies(scenario):
            if supply.key in self._sources:
                self._sources[supply.key].least = least_litres(scenario, supply)
        self._devices.begin_with(standing.owned, standing.handed_out)
        for person in [person for person in self._due if person.arrive <= 0]:
            self._due.remove(person)
            self.here[person.key] = Here(person, person.stays[0])
        self._fit(standing)
        for patient, connection in standing.connected.items():
            self._go_on(patient, connection, first)
        self.floor.pass_time(first)
        for source in self._sources.values():
            source.since = source.steady = first
        for tools in self.floor.tools.values():
            for tool in tools:
                tool.since = first

    def _fit(self, standing: Standing) -> None:
        """Put every regulator where it sits, those that serve somebody last."""
        serving = {each.regulator for each in standing.connected.values()}
        tools = {tool.thing.key: tool for members in self.floor.tools.values() for tool in members}
        for regulator, supply in sorted(standing.fitted.items(), key=lambda pair: pair[0] in serving):
            source = self._sources.get(supply)
            if source is not None and source.supply.lot.built_in is not None:
                source.opened = True
            elif source is not None and regulator in tools:
                self.floor.put_on(tools[regulator], source)

    def _go_on(self, patient: str, connection: Connection, first: float) -> None:
        """Let a patient go on as before, or take the patient off."""
        here = self.here.get(patient)
        if here is None:
            return
        link = self._link(here, connection)
        if link is not None:
            self._devices.take(patient, here.stay.area, self._device(link))
            self.floor.connect(patient, link)
            return
        reason = "no oxygen comes" if not connection.gas else "the flow is none of those that are wanted"
        self._journal.orders.append(
            Order(
                first,
                here.stay.area,
                Action.DISCONNECT,
                patient,
                supply=connection.supply,
                regulator=connection.regulator,
                reason=reason,
            )
        )

    def _link(self, here: Here, connection: Connection) -> Link | None:
        """Return the connection as a crew knows it; ``None`` where it does not do."""
        source, ladder = self._sources.get(connection.supply), self._scenario.ladders[here.stay.ladder]
        rung = reached_rung(ladder, connection.device, connection.flow_lpm)
        if source is None or rung is None or not connection.gas or not source.ready:
            return None
        regulator = source.tool.thing.key if source.tool is not None else ""
        elsewhere = regulator != connection.regulator or source.supply.lot.area != here.stay.area
        if elsewhere or abs(rung.flow_lpm - connection.flow_lpm) > ROUNDED:
            return None
        number = ladder.rungs.index(rung)
        return Link(number, connection.device, connection.flow_lpm, rung.device.high_pressure, rung.credit, source)
