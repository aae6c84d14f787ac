"""The crew: carries out wishes on the floor, event by event, and writes down the orders.

What patients should get is a policy's business (:mod:`mci.dispatch.follow`,
:mod:`mci.dispatch.usual`); which outlet they get is found in :mod:`mci.dispatch.outlets`, and cylinders
are changed in :mod:`mci.dispatch.changes`.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import replace
from functools import partial

from mci.catalogue.model import Device, Rung
from mci.demand.people import name_people
from mci.demand.stays import Stay
from mci.dispatch.changes import Changes
from mci.dispatch.devices import Devices
from mci.dispatch.floor import HUNDREDTH, Floor, Link, Source
from mci.dispatch.journal import Journal
from mci.dispatch.outlets import Outlets
from mci.dispatch.policy import Here, Policy
from mci.plan.orders import Order, sort_orders
from mci.scenario.model import Scenario

__all__ = ["Crew"]


class Crew:
    """An incident in the hands of a crew.

    Parameters
    ----------
    scenario
        The incident.
    moments
        Moments at which something changes [min]: the breakpoints of the grid.
    policy
        What to aim at.

    Attributes
    ----------
    floor, changes, outlets
        What is where, and what can be done with it.
    here
        Patients who are there, by name.
    """

    def __init__(self, scenario: Scenario, moments: Iterable[float], policy: Policy) -> None:
        self.floor = Floor(scenario)
        self.here: dict[str, Here] = {}
        self._scenario = scenario
        self._policy = policy
        self._moments = sorted({float(moment) for moment in moments} | {scenario.horizon})
        self._devices = Devices(scenario)
        self._journal = Journal(scenario, self.floor)
        self.changes = Changes(scenario, self.floor, self._journal, policy, self._let_go)
        self.outlets = Outlets(self.floor, self.changes, policy.pace, policy.rest)
        self._due = sorted(name_people(scenario), key=lambda person: person.arrive)

    def work(self) -> tuple[Order, ...]:
        """Work through the incident; return the orders."""
        while self.floor.time < self._moments[-1] - 1e-9:
            self._step()
            moment = self._moments[bisect_right(self._moments, self.floor.time + 1e-9)]
            empty = max(self.floor.next_empty(), self.floor.time + HUNDREDTH)
            free = self.changes.next_free() if self._policy.early > 0 else math.inf
            self.floor.pass_time(min(moment, self.changes.next_done(), empty, free))
        return sort_orders(self._journal.orders)

    def _step(self) -> None:
        time = self.floor.time
        self._journal.begin(self.here)
        self._see_who_is_here(time)
        self.changes.finish()
        self._leave_what_ended(time)
        self._policy.plan(self, time)
        self.outlets.look_again()
        self._lower()
        self.outlets.look_again()
        self._raise()
        self._policy.after(self, time)
        if self._policy.early > 0:
            for area in self.floor.sources:
                self.changes.begin_in_time(area)
        self._journal.write(time, self.here, partial(self._policy.why_less, self))

    def _see_who_is_here(self, time: float) -> None:
        for key in [key for key, here in self.here.items() if here.stay.end <= time + 1e-9]:
            before = self.here.pop(key)
            stay = before.person.stay_at(time + 1e-9)
            if stay is None or stay.area != before.stay.area:
                self._take_off(key, before.stay)
            if stay is not None:
                self.here[key] = Here(before.person, stay)
                self._match_rung(key, stay)
        while self._due and self._due[0].arrive <= time + 1e-9:
            person = self._due.pop(0)
            stay = person.stay_at(time + 1e-9)
            if stay is not None:
                self.here[person.key] = Here(person, stay)

    def _match_rung(self, key: str, stay: Stay) -> None:
        """Find the rung of a new ladder that a patient who stays connected is on; off, if there is none."""
        link = self.floor.links.get(key)
        if link is None:
            return
        for number, rung in enumerate(self._scenario.ladders[stay.ladder].rungs):
            if rung.device.key == link.device and abs(rung.flow_lpm - link.flow) < 1e-9:
                self.floor.links[key] = replace(link, rung=number, credit=rung.credit)
                return
        self._take_off(key, stay)

    def _take_off(self, key: str, stay: Stay) -> None:
        """Take a patient off oxygen; a reusable device goes back."""
        link = self.floor.links.get(key)
        if link is not None:
            self._devices.give_back(stay.area, self._device(link))
            self.floor.disconnect(key)

    def serve(self, here: Here, number: int) -> bool:
        """Put a patient on a rung now, if need be after a change of cylinder; tell whether that could be done."""
        self.outlets.look_again()
        return self._set_rung(here, number, crowd=1)

    def why_not(self, here: Here) -> str:
        """Say why a patient cannot be served as wished now."""
        area = here.stay.area
        if self.changes.under_way(area):
            return "the next cylinder is not on yet"
        if here.person.key in self.floor.links:
            return "no outlet is free that passes the flow wanted"
        if any(
            source.ready and source.left > 0 for source in self.floor.sources[area] if source.there(self.floor.time)
        ):
            return "every outlet with enough oxygen behind it is taken"
        return "no oxygen is left here that could be connected"

    def _device(self, link: Link) -> Device:
        return self._journal.device(link.device)

    def _let_go(self, source: Source) -> None:
        for key in list(source.people):
            self._take_off(key, self.here[key].stay)

    def _leave_what_ended(self, time: float) -> None:
        """See to what is empty, gone or without power: replace the cylinder, or let the patients go."""
        for area, sources in self.floor.sources.items():
            for tool in self.floor.tools[area]:
                if tool.source is not None and not tool.there(time):
                    self._let_go(tool.source)
                    self.floor.take_away(tool)
            for source in sources:
                if source.people and not source.there(time):
                    self._let_go(source)
                elif source.people and not source.made and source.left <= source.flow * HUNDREDTH + 1e-9:
                    self.changes.replace(source)
            while self.floor.overloaded(area):
                self._let_go(
                    min((s for s in sources if s.people and s.supply.lot.watts_each > 0), key=lambda s: s.flow)
                )

    def _rung(self, here: Here, number: int) -> Rung:
        return self._scenario.ladders[here.stay.ladder].rungs[number]

    def _lower(self) -> None:
        """See to everybody who should have less than now: it frees what others need."""
        for key, here in self.here.items():
            link = self.floor.links.get(key)
            if link is None:
                continue
            wish = self._policy.wish(here)
            if wish is None:
                self._take_off(key, here.stay)
            elif wish > link.rung:
                self._set_rung(here, wish)

    def _raise(self) -> None:
        """See to everybody who should have more than now, in turn."""
        waiting = []
        crowd: dict[str, int] = {}
        for key, here in self.here.items():
            wish, link = self._policy.wish(here), self.floor.links.get(key)
            if wish is not None and (link is None or wish < link.rung):
                waiting.append((self._policy.turn(here), key, wish))
                crowd[here.stay.area] = crowd.get(here.stay.area, 0) + (link is None)
        self.changes.forget_promises()
        for _, key, wish in sorted(waiting):
            here, waits = self.here[key], key not in self.floor.links
            self._serve(here, wish, crowd[here.stay.area])
            crowd[here.stay.area] -= waits and key in self.floor.links

    def _serve(self, here: Here, wish: int, crowd: int) -> None:
        """Give a patient the rung wished for, or the best lower one that can be had now; keep what is better."""
        key = here.person.key
        for number in range(wish, len(self._scenario.ladders[here.stay.ladder].rungs)):
            link = self.floor.links.get(key)
            if link is not None and number >= link.rung:
                return
            if self._set_rung(here, number, crowd=crowd if number == wish else 0):
                return

    def _set_rung(self, here: Here, number: int, *, crowd: int = 0) -> bool:
        """Put a patient on a rung: at the same outlet if that does, else at another one.

        ``crowd`` is how many wait for an outlet; with 0 no cylinder is changed for this.
        """
        key, rung, link = here.person.key, self._rung(here, number), self.floor.links.get(here.person.key)
        area, same = here.stay.area, link is not None and link.device == rung.device.key
        if not same and not self._devices.can_take(key, area, rung.device, self.floor.time):
            return False
        source = self._place(here, rung, link, crowd)
        if source is None:
            return False
        if not same:
            if link is not None:
                self._devices.give_back(area, self._device(link))
            self._devices.take(key, area, rung.device)
        strong = rung.device.high_pressure
        self.floor.connect(key, Link(number, rung.device.key, rung.flow_lpm, strong, rung.credit, source))
        return True

    def _place(self, here: Here, rung: Rung, link: Link | None, crowd: int) -> Source | None:
        flow, strong = rung.flow_lpm, rung.device.high_pressure
        if link is not None:
            self.floor.disconnect(here.person.key)  # the own outlet counts as free while looking
        try:
            if link is not None and self.outlets.can(link.source, flow, strong=strong):
                return link.source
            return self.outlets.find(here, flow, strong=strong, crowd=crowd)
        finally:
            if link is not None:
                self.floor.connect(here.person.key, link)
